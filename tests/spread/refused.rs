//! What is wrong with what is stated of tolerances, and in which words it is refused.

use crate::common::{answer, number, row};
use serde_json::{Value, json};

fn ask(more: &Value) -> Value {
    let mut request = json!({"job": "formulate", "water": "larch-hollow-spring",
                             "recipe": "sonneveld-modified-lettuce"});
    for (key, value) in more.as_object().unwrap() {
        request[key] = value.clone();
    }
    answer(&request)
}

#[test]
fn bad_tolerances_are_refused_by_name() {
    for (ranges, kind, field) in [
        (
            json!({"tolerance_pct": -1}),
            "negative",
            "ranges.tolerance_pct",
        ),
        (
            json!({"purity_pct": 101}),
            "over-100-percent",
            "ranges.purity_pct",
        ),
        (json!({"volume_pct": 51}), "too-large", "ranges.volume_pct"),
        (json!({"scale_g": -0.1}), "negative", "ranges.scale_g"),
        (json!({"scale_g": 0.1}), "contradiction", "ranges.scale_g"),
        (
            json!({"cylinder_ml": 1}),
            "contradiction",
            "ranges.cylinder_ml",
        ),
        (
            json!({"meter_pct": "often"}),
            "not-a-number",
            "ranges.meter_pct",
        ),
        (json!({"scale": 0.1}), "unknown-name", "ranges.scale"),
        (json!("yes"), "unreadable", "ranges"),
    ] {
        let refused = ask(&json!({"ranges": ranges}));
        assert_eq!(refused["refusal"]["kind"], kind, "{refused}");
        assert_eq!(refused["refusal"]["where"], field, "{refused}");
    }
    let bag = json!({"id": "odd", "formula": "KNO3", "tolerance_pct": 120});
    let refused = ask(&json!({"ranges": true, "fertilizers": [bag]}));
    assert_eq!(refused["refusal"]["kind"], "over-100-percent", "{refused}");
}

/// By hand: one salt with two figures of its label, t = 3 %. u = t/3^½ of each, N from one form
/// only; k = 2; the worst case t itself.
#[test]
fn one_bag_by_hand() {
    let bag = json!({"id": "mine", "formula": "KNO3", "tolerance_pct": 3,
                     "assay_pct": {"NO3-N": 13.5, "K": 38.0}});
    let report = answer(
        &json!({"job": "predict", "fertilizers": [bag], "ranges": true,
                                "mix": [{"id": "mine", "g_per_l": 1.0}]}),
    );
    for (nutrient, mg_l) in [("K", 380.0), ("NO3-N", 135.0), ("N", 135.0)] {
        let found = row(&report, nutrient);
        let reach = 2.0 * 0.03 / 3.0_f64.sqrt() * mg_l;
        for (key, expected) in [
            ("low", mg_l - reach),
            ("high", mg_l + reach),
            ("worst_low", 0.97 * mg_l),
            ("worst_high", 1.03 * mg_l),
        ] {
            let found = found[key].as_f64().unwrap();
            assert!((found - expected).abs() < 1e-9, "{nutrient} {key}: {found}");
        }
    }
    let causes = report["causes"].as_array().unwrap();
    let of_k: Vec<&Value> = causes.iter().filter(|c| c["figure"] == "K").collect();
    assert_eq!(of_k.len(), 1);
    assert_eq!(of_k[0]["cause"], "mine");
    assert!((number(of_k[0], "/share_pct") - 100.0).abs() < 1e-9);
}

/// What is off together adds up before it is squared: one scale, one tank.
#[test]
fn correlations_are_kept() {
    let two = json!([{"id": "a", "formula": "KNO3"}, {"id": "b", "formula": "KCl"}]);
    let mix = json!([{"id": "a", "g_per_l": 1.0}, {"id": "b", "g_per_l": 0.5}]);
    let reach = |ranges: &Value| {
        let report = answer(&json!({"job": "predict", "fertilizers": two, "mix": mix,
                                    "litres": 10, "ranges": ranges}));
        let k = row(&report, "K");
        (
            number(k, "/high") - number(k, "/delivered"),
            number(k, "/delivered"),
            report,
        )
    };
    let root = 3.0_f64.sqrt();
    let (scale, k, _) = reach(&json!({"scale_pct": 1}));
    assert!(
        (scale - 2.0 * 0.01 * k / root).abs() < 1e-9,
        "all of K together"
    );
    let (volume, k, report) = reach(&json!({"volume_pct": 2}));
    assert!((volume - 2.0 * 0.02 * k / root).abs() < 1e-9);
    let worst = number(row(&report, "K"), "/worst_high");
    assert!((worst - k / 0.98).abs() < 1e-9, "the tank holds 2 % less");
    // Each weighing by itself: half a division of 1 g in 10 g and in 5 g.
    let (division, _, _) = reach(&json!({"scale_g": 1}));
    let parts = [386.7 * 0.05, 262.2 * 0.1];
    let by_hand = 2.0 / root * parts.map(|p: f64| p * p).iter().sum::<f64>().sqrt();
    assert!(
        (division / by_hand - 1.0).abs() < 1e-3,
        "{division} {by_hand}"
    );
}

#[test]
fn an_unstated_tolerance_is_told() {
    let bag = json!([{"id": "odd", "formula": "KNO3"}]);
    let ask = |ranges: &Value| {
        answer(
            &json!({"job": "predict", "fertilizers": bag, "ranges": ranges,
                       "mix": [{"id": "odd", "g_per_l": 1}]}),
        )
    };
    let silent = ask(&json!(true));
    assert!(
        silent["cautions"]
            .to_string()
            .contains("No tolerance is stated for odd")
    );
    assert_eq!(row(&silent, "K")["low"], row(&silent, "K")["high"]);
    let stated = ask(&json!({"tolerance_pct": 2}));
    assert!(!stated["cautions"].to_string().contains("No tolerance"));
    assert!(number(row(&stated, "K"), "/worst_high") > number(row(&stated, "K"), "/delivered"));
}

/// The range widens with what is stated, and the verdict follows it.
#[test]
fn the_ec_verdict_is_judged_by_the_range() {
    let plain = ask(&json!({}));
    let read = number(&plain, "/ec/predicted_ms_cm");
    let high = number(&plain, "/ec/high_ms_cm");
    let aim = json!(high + 0.3 * (high - read));
    let narrow = ask(&json!({"ec_ms_cm": aim}));
    assert_eq!(narrow["ec"]["verdict"], "below");
    let wide = ask(&json!({"ec_ms_cm": aim, "ranges": {"purity_pct": 5, "meter_pct": 5}}));
    assert_eq!(wide["ec"]["verdict"], "agrees");
    assert_eq!(
        wide["ec"]["predicted_ms_cm"],
        plain["ec"]["predicted_ms_cm"]
    );
    let next = wide["measure_next"].as_array().unwrap();
    let of_ec = next.iter().find(|row| row["figure"] == "EC").unwrap();
    assert_eq!(of_ec["cause"], "EC meter");
    assert!(number(of_ec, "/at_best") < number(of_ec, "/half_width"));
}

#[test]
fn without_ranges_nothing_is_added() {
    let plain = ask(&json!({"ranges": false}));
    assert!(plain.get("causes").is_none());
    assert!(row(&plain, "K").get("low").is_none());
}

/// A stock has the ranges of what it makes; the scale counts for the smallest tank.
#[test]
fn stocks_have_the_ranges_of_what_they_make() {
    let mix = json!([{"id": "potassium-nitrate", "g_per_l": 0.5},
                     {"id": "boric-acid", "g_per_l": 0.001}]);
    let ask = |more: &Value| {
        let mut request = json!({"job": "stock", "mix": mix, "ratio": 100, "tank_litres": 10});
        for (key, value) in more.as_object().unwrap() {
            request[key] = value.clone();
        }
        answer(&request)
    };
    assert!(ask(&json!({})).get("finished").is_none());
    let plain = ask(&json!({"ranges": true}));
    let direct = answer(&json!({"job": "predict", "mix": mix, "ranges": true}));
    assert_eq!(plain["finished"]["nutrients"], direct["nutrients"]);
    assert_eq!(plain["finished"]["causes"], direct["causes"]);
    // 1 g of boric acid for 1,000 L on a scale of 0.1 g: 5 % either way beside its tolerance of 2 %.
    let weighed = ask(&json!({"ranges": true, "scale_g": 0.1}));
    let boron = row(&weighed["finished"], "B");
    let half = number(boron, "/high") - number(boron, "/delivered");
    let by_hand = 2.0 * (0.05_f64.powi(2) + 0.02_f64.powi(2)).sqrt() / 3.0_f64.sqrt();
    assert!((half / number(boron, "/delivered") / by_hand - 1.0).abs() < 1e-9);
    // What the ranges say of the scale goes before.
    let coarse = ask(&json!({"ranges": {"scale_g": 1}, "scale_g": 0.1}));
    let by_ranges = ask(&json!({"ranges": {"scale_g": 1}}));
    assert_eq!(
        coarse["finished"]["nutrients"],
        by_ranges["finished"]["nutrients"]
    );
    assert!(number(row(&coarse["finished"], "B"), "/high") > number(boron, "/high"));
    let refused = ask(&json!({"ranges": {"meter_pct": -1}}));
    assert_eq!(refused["refusal"]["where"], "ranges.meter_pct");
}
