//! One thing off at a time: ranges by hand, twice the standard deviation of what lies anywhere within
//! its tolerance (JCGM 100:2008, 4.3.7 and 6.2).

use crate::common::{answer, number, row};
use serde_json::{Value, json};

const SPREAD: f64 = 1.154_700_538_379_251_5;

/// Two exact salts in pure water, 100 L of it.
fn predict(ranges: &Value) -> Value {
    answer(&json!({"job": "predict", "litres": 100, "ranges": ranges,
        "prices": {"nitrate": 2.0, "sulfate": 3.0},
        "fertilizers": [{"id": "nitrate", "formula": "KNO3", "tolerance_pct": 0},
                        {"id": "sulfate", "formula": "MgSO4(H2O)7", "tolerance_pct": 0}],
        "mix": [{"id": "nitrate", "g_per_l": 0.5}, {"id": "sulfate", "g_per_l": 0.2}]}))
}

#[test]
fn what_is_off_as_a_whole_moves_every_nutrient_alike() {
    for key in [
        "scale_pct",
        "volume_pct",
        "ratio_pct",
        "stock_pct",
        "purity_pct",
    ] {
        let report = predict(&json!({key: 1.5}));
        for nutrient in ["K", "Mg", "NO3-N", "S"] {
            let found = row(&report, nutrient);
            let delivered = number(found, "/delivered");
            let half = number(found, "/high") - delivered;
            let by_hand = SPREAD * 0.015 * delivered;
            assert!(
                (half / by_hand - 1.0).abs() < 1e-9,
                "{key}, {nutrient}: {half} {by_hand}"
            );
        }
    }
}

#[test]
fn prices_are_off_each_by_itself() {
    let report = predict(&json!({"price_pct": 10}));
    // 0.5 kg at 2 and 0.2 kg at 3 for 1000 L.
    let cost = number(&report, "/cost_per_m3");
    assert!((cost - 1.6).abs() < 1e-12, "{cost}");
    let by_hand = SPREAD * 0.1 * 1.0_f64.hypot(0.6);
    let half = number(&report, "/cost_range/high") - cost;
    assert!((half / by_hand - 1.0).abs() < 1e-9, "{half} {by_hand}");
}

#[test]
fn a_formulation_costs_what_its_prices_may_come_to() {
    let report = answer(
        &json!({"job": "formulate", "recipe": "yamazaki-lettuce", "acid": null,
        "ranges": {"price_pct": 10}, "only": ["potassium-nitrate", "calcium-nitrate-fertilizer",
            "magnesium-sulfate-heptahydrate", "monoammonium-phosphate"], "micros": null,
        "prices": {"potassium-nitrate": 1.9, "calcium-nitrate-fertilizer": 1.0,
            "magnesium-sulfate-heptahydrate": 0.5, "monoammonium-phosphate": 1.4}}),
    );
    let mix = report["mix"].as_array().expect("a mix");
    let costs: Vec<f64> = mix.iter().map(|row| number(row, "/cost_per_m3")).collect();
    assert!(costs.len() > 2, "{report}");
    let by_hand = SPREAD * 0.1 * costs.iter().map(|cost| cost * cost).sum::<f64>().sqrt();
    let half = number(&report, "/cost_range/high") - number(&report, "/cost_per_m3");
    assert!((half / by_hand - 1.0).abs() < 1e-9, "{half} {by_hand}");
}
