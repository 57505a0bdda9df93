//! Robust formulations: ten thousand random sets of assays each, and what safety costs.

use crate::common::{Uniform, answer, library, number, row};
use saltwright_fertilizers::{Aimed, Nutrient};
use serde_json::{Value, json};

const DRAWS: usize = 10_000;

/// A priced request in a soft water, with bands wide enough to be safe within.
fn ask(recipe: &str, sure: &Value) -> Value {
    let prices: serde_json::Map<String, Value> = library()
        .fertilizers
        .iter()
        .filter(|row| row.common)
        .zip(0_u8..)
        .map(|(row, at)| (row.id.clone(), json!(0.6 + f64::from(at * 7 % 11))))
        .collect();
    answer(
        &json!({"job": "formulate", "recipe": recipe, "water": "larch-hollow-spring",
                   "prices": prices, "sure": sure}),
    )
}

/// Share of draws in which every band of the report holds.
fn held(report: &Value, seed: u64) -> f64 {
    let mut uniform = Uniform::seeded(seed);
    let mix: Vec<_> = report["mix"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| {
            let bag = library()
                .fertilizers
                .get(line["id"].as_str().unwrap())
                .unwrap();
            (bag.clone(), number(line, "/g_per_l"))
        })
        .collect();
    let bands: Vec<(Aimed, f64, f64, f64)> = report["nutrients"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let end = |key: &str, otherwise: f64| row[key].as_f64().unwrap_or(otherwise);
            let aimed = Aimed::from_key(row["nutrient"].as_str().unwrap()).unwrap();
            (
                aimed,
                number(row, "/water"),
                end("min", 0.0),
                end("max", f64::INFINITY),
            )
        })
        .collect();
    let mut kept = 0_u32;
    for _ in 0..DRAWS {
        let mut added = saltwright_fertilizers::Composition::ZERO;
        for (bag, g_per_l) in &mix {
            for nutrient in Nutrient::ALL {
                let tolerance = bag.tolerance_pct.unwrap() / 100.0;
                let assay = bag.mg_per_g()[nutrient] * (1.0 + tolerance * uniform.draw());
                added[nutrient] += assay * g_per_l;
            }
        }
        let holds = bands.iter().all(|(aimed, water, min, max)| {
            let mg_l = water + added.aimed(*aimed);
            let slack = 1e-7 * mg_l;
            mg_l >= min - slack && mg_l <= max + slack
        });
        kept += u32::from(holds);
    }
    f64::from(kept) / 10_000.0
}

const RECIPES: [&str; 5] = [
    "sonneveld-modified-lettuce",
    "hoagland-2",
    "steiner",
    "yamazaki-lettuce",
    "enshi",
];

#[test]
fn the_worst_case_always_holds() {
    for recipe in RECIPES {
        let report = ask(recipe, &json!("worst-case"));
        assert_eq!(
            report["outcome"], "within-bands",
            "{recipe}: {}",
            report["sure"]
        );
        assert_eq!(report["sure"]["kind"], "worst-case");
        assert!((held(&report, 1) - 1.0).abs() < 1e-12, "{recipe}");
        for row in report["nutrients"].as_array().unwrap() {
            let slack = 1e-7 * number(row, "/delivered");
            if let Some(min) = row["min"].as_f64() {
                assert!(number(row, "/worst_low") >= min - slack, "{recipe}: {row}");
            }
            if let Some(max) = row["max"].as_f64() {
                assert!(number(row, "/worst_high") <= max + slack, "{recipe}: {row}");
            }
        }
        let sure = &report["sure"];
        println!("{recipe}: {}", sure["words"]);
        // Safety never comes closer to the aims; what it costs is told beside it.
        let (safe, plain) = (
            number(sure, "/closeness"),
            number(sure, "/nominal_closeness"),
        );
        assert!(safe >= plain - 1e-9, "{recipe}: {safe} {plain}");
        let plain = ask(recipe, &Value::Null);
        assert_eq!(
            sure["nominal_cost_per_m3"], plain["cost_per_m3"],
            "{recipe}"
        );
        assert_eq!(sure["cost_per_m3"], report["cost_per_m3"], "{recipe}");
        let curve = sure["curve"].as_array().unwrap();
        let closeness: Vec<f64> = curve.iter().map(|at| number(at, "/closeness")).collect();
        assert!(
            closeness.windows(2).all(|pair| pair[1] >= pair[0] - 1e-9),
            "{closeness:?}"
        );
    }
}

#[test]
fn a_probability_is_kept() {
    for (recipe, asked) in RECIPES.into_iter().zip([0.9, 0.95, 0.99, 0.8, 0.95]) {
        // Bands narrow enough for assays to matter.
        let report = ask(recipe, &json!(asked));
        assert_eq!(report["outcome"], "within-bands", "{recipe}");
        let found = held(&report, 2);
        let told = number(&report, "/sure/reached");
        println!("{recipe}: {asked} asked, {told:.4} told, {found:.4} found");
        assert!(told >= asked, "{recipe}: {told}");
        // Three standard deviations of a share of ten thousand.
        let noise = 3.0 * (told * (1.0 - told) / 10_000.0).sqrt();
        assert!(
            found >= told - noise - 1e-3,
            "{recipe}: {found} against {told}"
        );
    }
}

/// Cheapest within the bands: a band end is where the money is, so the budget decides.
#[test]
fn a_budget_costs_less_than_the_worst_case() {
    let aims = json!({"NO3-N": {"min": 120, "max": 160}, "K": {"min": 190, "max": 230},
                      "Ca": {"min": 80, "max": 110}, "P": {"min": 28, "max": 36},
                      "Mg": {"min": 20, "max": 30}, "S": {"min": 20, "max": 70}});
    let ask = |sure: Value| {
        let recipe = json!({"aims": aims});
        let prices: Value = serde_json::from_str(
            r#"{"calcium-nitrate-fertilizer": 1.1, "potassium-nitrate": 1.9, "potassium-sulfate": 1.3,
                "monopotassium-phosphate": 2.4, "magnesium-sulfate-heptahydrate": 0.7,
                "monoammonium-phosphate": 1.8}"#,
        )
        .unwrap();
        answer(&json!({"job": "formulate", "recipe": recipe, "prices": prices, "sure": sure}))
    };
    let cost = |report: &Value| number(report, "/cost_per_m3");
    let plain = ask(Value::Null);
    let nine = ask(json!(0.9));
    let most = ask(json!(0.99));
    let worst = ask(json!("worst-case"));
    let costs = [&plain, &nine, &most, &worst].map(cost);
    println!("plain, 90 %, 99 %, worst case: {costs:?}");
    assert!(
        costs
            .windows(2)
            .all(|pair| pair[0] <= pair[1] * (1.0 + 1e-9)),
        "{costs:?}"
    );
    assert!(costs[1] < costs[3], "a budget costs less");
    assert!(
        held(&plain, 3) < 0.5,
        "the cheapest stands at its band ends"
    );
    for (report, asked) in [(&nine, 0.9), (&most, 0.99)] {
        let found = held(report, 4);
        let told = number(report, "/sure/reached");
        println!("{asked} asked, {told:.4} told, {found:.4} found");
        assert!(told >= asked && found >= told - 0.01, "{told} {found}");
        // Not much surer than asked: the money is not thrown away.
        assert!(told < asked + 0.75 * (1.0 - asked), "{told}");
    }
    assert!((held(&worst, 5) - 1.0).abs() < 1e-12);
}

#[test]
fn what_makes_it_impossible_is_told() {
    let bags = json!([
        {"id": "wild", "assay_pct": {"K": 40, "Cl": 36}, "tolerance_pct": 12},
        {"id": "tame", "assay_pct": {"Ca": 19, "NO3-N": 15.5}, "tolerance_pct": 2}]);
    let recipe = json!({"aims": {"K": {"aim": 200, "min": 185, "max": 215}, "Cl": {"max": 400},
                                 "Ca": {"aim": 100, "min": 90, "max": 110}}});
    let ask = |sure: Value| {
        answer(&json!({"job": "formulate", "recipe": recipe, "fertilizers": bags, "sure": sure}))
    };
    let report = ask(json!("worst-case"));
    assert_eq!(report["outcome"], "outside-bands");
    let sure = &report["sure"];
    assert_eq!(sure["stands_in_the_way"], json!(["wild"]));
    // By hand: 185/(1 - t) <= 215/(1 + t) up to t = 7.5 %.
    let possible = number(sure, "/possible_share_pct");
    assert!((possible - 100.0 * 0.075 / 0.12).abs() < 0.2, "{possible}");
    let words = sure["words"].as_str().unwrap();
    assert!(
        words.contains("62 % of every tolerance") && words.contains("wild"),
        "{words}"
    );
    let likely = ask(json!(0.9));
    let words = likely["sure"]["words"].as_str().unwrap();
    assert!(words.contains("with a probability of 90 %"), "{words}");
    assert!(!report["conflict"].as_array().unwrap().is_empty());
    assert!(number(row(&report, "K"), "/worst_low") < 185.0);
}

#[test]
fn a_probability_may_be_text() {
    let [number, text] = [json!(0.9), json!("0.9")].map(|sure| ask("yamazaki-lettuce", &sure));
    assert_eq!(number["mix"], text["mix"]);
    assert!(number["sure"]["reached"].is_number(), "{number}");
}

#[test]
fn bad_ways_to_be_sure_are_refused() {
    for (sure, kind) in [
        (json!("always"), "unknown-name"),
        (json!(95), "too-large"),
        (json!(0.2), "too-small"),
        (json!(-0.9), "negative"),
        (json!(true), "not-a-number"),
    ] {
        let refused = answer(&json!({"job": "formulate", "recipe": "hoagland-2", "sure": sure}));
        assert_eq!(refused["refusal"]["kind"], kind, "{refused}");
        assert_eq!(refused["refusal"]["where"], "sure", "{refused}");
    }
}
