//! An acid in portions: what is read between them.

use crate::common::answer;
use serde_json::json;

#[test]
fn between_portions_the_meter_says_when_to_stop() {
    let water = "quarry-end-well";
    let mix = answer(&json!({"job": "formulate", "recipe": "yamazaki-lettuce", "water": water}));
    let stock = answer(&json!({"job": "stock", "mix": mix["mix"], "water": water}));
    let report = answer(&json!({
        "job": "correct", "recipe": "yamazaki-lettuce", "water": water, "stock": stock,
        "litres": 100, "capacity_l": 120, "reading": {"ec_ms_cm": 1.9, "ph": 8.0},
        "acid": "nitric-acid-38",
    }));
    let steps = report["steps"].as_array().expect("steps");
    let is_acid = |step: &serde_json::Value| step["do"] == "add-acid";
    let after: Vec<&str> = steps
        .windows(2)
        .filter(|pair| is_acid(&pair[0]))
        .map(|pair| pair[1]["words"].as_str().expect("words"))
        .collect();
    let (last, before) = after.split_last().expect("a portion");
    assert!(before.len() > 1, "{report}");
    assert!(
        before
            .iter()
            .all(|words| words.contains("Stop when it reads")),
        "{before:?}"
    );
    assert!(
        last.contains("if not, correct from the new reading"),
        "{last}"
    );
}
