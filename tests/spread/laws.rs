//! Laws of ranges and of sure bands, on random mixes and shelves.

use crate::common::{answer, number, row};
use proptest::prelude::*;
use serde_json::{Value, json};

/// Salts with their formulas; their tolerances are drawn.
const SALTS: [(&str, &str); 6] = [
    ("nitrate-of-potash", "KNO3"),
    ("nitrate-of-lime", "Ca(NO3)2(H2O)4"),
    ("phosphate-of-potash", "KH2PO4"),
    ("sulfate-of-magnesia", "MgSO4(H2O)7"),
    ("sulfate-of-potash", "K2SO4"),
    ("nitrate-of-ammonia", "NH4NO3"),
];

fn bags(tolerances: &[f64], scale: f64) -> Value {
    let bags = SALTS.iter().zip(tolerances);
    bags.map(|((id, formula), tolerance)| {
        json!({"id": id, "formula": formula, "tolerance_pct": tolerance * scale})
    })
    .collect()
}

fn mix(grams: &[f64]) -> Value {
    let lines = SALTS.iter().zip(grams);
    lines
        .map(|((id, _), grams)| json!({"id": id, "g_per_l": grams}))
        .collect()
}

fn predict(bags: &Value, mix: &Value, ranges: &Value) -> Value {
    answer(
        &json!({"job": "predict", "fertilizers": bags, "mix": mix, "litres": 100,
                   "ranges": ranges, "water": "larch-hollow-spring"}),
    )
}

/// A figure's half-widths: of its range, and to its worst case.
fn halves(report: &Value, nutrient: &str) -> (f64, f64) {
    let found = row(report, nutrient);
    let middle = number(found, "/delivered");
    (
        number(found, "/high") - middle,
        number(found, "/worst_high") - middle,
    )
}

const NUTRIENTS: [&str; 7] = ["NO3-N", "NH4-N", "N", "P", "K", "Ca", "Mg"];

/// Mixes and tolerances; all together stay below the ionic strength up to which an EC is told.
fn drawn() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    (
        prop::collection::vec(0.05..0.75_f64, SALTS.len()),
        prop::collection::vec(0.5..8.0_f64, SALTS.len()),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Half-widths go with the tolerances; without any there are none.
    #[test]
    fn ranges_scale_with_tolerances((grams, tolerances) in drawn(), scale in 0.1..4.0_f64) {
        let mix = mix(&grams);
        let one = predict(&bags(&tolerances, 1.0), &mix, &json!(true));
        let other = predict(&bags(&tolerances, scale), &mix, &json!(true));
        let none = predict(&bags(&tolerances, 0.0), &mix, &json!(true));
        for nutrient in NUTRIENTS {
            let (half, worst) = halves(&one, nutrient);
            let (half_scaled, worst_scaled) = halves(&other, nutrient);
            prop_assert!((half_scaled - scale * half).abs() <= 1e-9 * (1.0 + half_scaled));
            prop_assert!((worst_scaled - scale * worst).abs() <= 1e-9 * (1.0 + worst_scaled));
            let (half, worst) = halves(&none, nutrient);
            prop_assert!(half.abs() < 1e-9 && worst.abs() < 1e-9, "{nutrient} {half} {worst}");
        }
        let ec = &none["ec"];
        let middle = number(ec, "/predicted_ms_cm");
        for key in ["/worst_low_ms_cm", "/worst_high_ms_cm"] {
            prop_assert!((number(ec, key) - middle).abs() < 1e-6);
        }
    }

    /// Shares of a figure's causes sum to all of it but for what is too small to list, largest
    /// first; and the range is never wider than 2/3^1/2 of the worst case, as for a single cause.
    #[test]
    fn shares_sum_and_worst_cases_hold((grams, tolerances) in drawn()) {
        let stated = json!({"scale_g": 1, "scale_pct": 0.5, "volume_pct": 2, "water_pct": 5,
                            "meter_pct": 2, "temperature_c": 0.5, "meter_ph": 0.1});
        let report = predict(&bags(&tolerances, 1.0), &mix(&grams), &stated);
        for figure in NUTRIENTS.into_iter().chain(["EC", "pH"]) {
            let causes = report["causes"].as_array().expect("causes").iter();
            let shares: Vec<f64> = causes
                .filter(|row| row["figure"] == figure)
                .map(|row| number(row, "/share_pct"))
                .collect();
            let sum: f64 = shares.iter().sum();
            prop_assert!(sum > 99.0 && sum < 100.0 + 1e-9, "{figure} {sum}");
            prop_assert!(shares.windows(2).all(|pair| pair[0] >= pair[1]), "{shares:?}");
        }
        for nutrient in NUTRIENTS {
            let (half, worst) = halves(&report, nutrient);
            prop_assert!(half <= 2.0 / 3.0_f64.sqrt() * worst * (1.0 + 1e-9), "{half} {worst}");
        }
        let ec = &report["ec"];
        let inside = number(ec, "/worst_low_ms_cm") < number(ec, "/predicted_ms_cm")
            && number(ec, "/predicted_ms_cm") < number(ec, "/worst_high_ms_cm");
        prop_assert!(inside, "{ec}");
    }

    /// One bag taken twice is off once: as wide as one line of both, and wider than two bags of the
    /// same salt, whose errors average; the worst case of both is the same.
    #[test]
    fn a_bag_is_off_once(grams in 0.1..1.0_f64, share in 0.2..0.8_f64, tolerance in 0.5..5.0_f64) {
        let bag = |id: &str| json!({"id": id, "formula": "KNO3", "tolerance_pct": tolerance});
        let line = |id: &str, share: f64| json!({"id": id, "g_per_l": grams * share});
        let shelf = json!([bag("a"), bag("b")]);
        let once = predict(&shelf, &json!([line("a", 1.0)]), &json!(true));
        let apart = predict(&shelf, &json!([line("a", share), line("b", 1.0 - share)]), &json!(true));
        // The tank holds a part of it already: the same bag.
        let again = |id: &str| answer(&json!({"job": "formulate", "fertilizers": shelf,
            "only": [id], "already": [line("a", share)], "ranges": true, "acid": null,
            "recipe": {"aims": {"K": {"aim": 386.7 * grams, "min": 0.0, "max": 1e4}}}}));
        let (whole, worst) = halves(&once, "K");
        let (less, same) = halves(&apart, "K");
        prop_assert!(less < whole * 0.99 && (worst - same).abs() < 1e-9 * worst);
        let (together, _) = halves(&again("a"), "K");
        let (two, _) = halves(&again("b"), "K");
        prop_assert!(two < together * 0.99, "{two} {together}");
        prop_assert!((together / whole - 1.0).abs() < 1e-3, "{together} {whole}");
    }
}

/// Bands alone, so that the answer is the cheapest mix within them.
fn bands(low: f64) -> Value {
    json!({"aims": {
        "NO3-N": {"min": low * 150.0, "max": 190.0}, "NH4-N": {"max": 25.0},
        "P": {"min": low * 30.0, "max": 45.0}, "K": {"min": low * 190.0, "max": 260.0},
        "Ca": {"min": low * 110.0, "max": 170.0}, "Mg": {"min": low * 25.0, "max": 45.0},
        "S": {"max": 130.0},
    }})
}

fn formulate(tolerances: &[f64], scale: f64, prices: &[f64], low: f64, sure: &Value) -> Value {
    let prices = SALTS.iter().zip(prices);
    let prices: serde_json::Map<String, Value> = prices
        .map(|((id, _), price)| ((*id).to_owned(), json!(price)))
        .collect();
    answer(
        &json!({"job": "formulate", "fertilizers": bags(tolerances, scale), "prices": prices,
                   "recipe": bands(low), "sure": sure, "acid": null}),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// A mix that is sure keeps the bands by the stated assays, and costs no less; the more may be
    /// off and the surer it is to be, the more it costs.
    #[test]
    fn safety_is_inside_and_never_cheaper(
        tolerances in prop::collection::vec(0.5..4.0_f64, SALTS.len()),
        prices in prop::collection::vec(0.2..3.0_f64, SALTS.len()),
        low in 0.8..1.0_f64,
    ) {
        let ask = |scale: f64, sure: Value| formulate(&tolerances, scale, &prices, low, &sure);
        let plain = ask(1.0, Value::Null);
        prop_assume!(plain["outcome"] == "within-bands");
        let mut last = number(&plain, "/cost_per_m3");
        let cheaper = |now: f64, before: f64| now < before * (1.0 - 1e-7);
        for scale in [0.25, 0.5, 1.0] {
            let safe = ask(scale, json!("worst-case"));
            if safe["outcome"] != "within-bands" {
                break;
            }
            let cost = number(&safe, "/cost_per_m3");
            prop_assert!(!cheaper(cost, last), "{scale}: {cost} after {last}");
            last = cost;
            for found in safe["nutrients"].as_array().expect("nutrients") {
                let delivered = number(found, "/delivered");
                let slack = 1e-7 * (1.0 + delivered);
                if let Some(min) = found["min"].as_f64() {
                    prop_assert!(delivered >= min - slack, "{found}");
                }
                if let Some(max) = found["max"].as_f64() {
                    prop_assert!(delivered <= max + slack, "{found}");
                }
            }
        }
        let mut last = number(&plain, "/cost_per_m3");
        for sure in [json!(0.8), json!(0.9), json!(0.95), json!("worst-case")] {
            let safe = ask(1.0, sure.clone());
            if safe["outcome"] != "within-bands" {
                break;
            }
            let cost = number(&safe, "/cost_per_m3");
            prop_assert!(!cheaper(cost, last), "{sure}: {cost} after {last}");
            last = cost;
        }
    }
}
