//! Between the steps of a correction: what is waited for and read.

use crate::common::{answer, number};
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
    assert!(!report["cautions"].to_string().contains("No acid was named"));
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

#[test]
fn stocks_do_not_meet_and_a_scale_that_is_off_shows_in_the_ph() {
    let water = "larch-hollow-spring";
    let mix = answer(&json!({"job": "formulate", "recipe": "yamazaki-lettuce", "water": water}));
    let stock = answer(&json!({"job": "stock", "mix": mix["mix"], "water": water}));
    let ask = |reading: serde_json::Value, scale_pct: f64| {
        answer(&json!({
            "job": "correct", "recipe": "yamazaki-lettuce", "water": water, "stock": stock,
            "litres": 100, "capacity_l": 120, "reading": reading, "base": "potassium-bicarbonate",
            "ph": [5.5, 6.5], "ranges": {"scale_pct": scale_pct},
        }))
    };
    let weak = ask(json!({"ec_ms_cm": 0.6, "ph": 6.0}), 0.0);
    let steps = weak["steps"].as_array().expect("steps");
    let does = |at: usize| steps[at]["do"].as_str().expect("a word");
    assert_eq!(
        [does(0), does(1), does(2)],
        ["add-stock", "wait", "add-stock"]
    );
    let words = steps[1]["words"].as_str().expect("words");
    assert!(words.contains("before the next stock"), "{words}");

    // Sour, and nothing at hand against it.
    let sour = answer(&json!({
        "job": "correct", "recipe": "yamazaki-lettuce", "water": water, "stock": stock,
        "litres": 100, "reading": {"ec_ms_cm": 1.0, "ph": 4.2}, "base": null,
    }));
    let why = sour["why_not"].as_str().expect("a reason");
    assert!(why.contains("No base is named that raises the pH"), "{why}");

    let half = |scale_pct: f64| {
        let sour = ask(json!({"ec_ms_cm": 1.0, "ph": 4.6}), scale_pct);
        0.5 * (number(&sour, "/after/ph_high") - number(&sour, "/after/ph_low"))
    };
    let exact = half(0.0);
    let by_scale = |scale_pct: f64| (half(scale_pct).powi(2) - exact.powi(2)).sqrt();
    // A scale that is off by a tenth puts in a tenth more or less; the dose moves the pH by one.
    let (small, large) = (by_scale(5.0), by_scale(10.0));
    println!("pH by the scale: {small} for 5 %, {large} for 10 %");
    assert!((0.02..0.15).contains(&large), "{large}");
    assert!((large / small - 2.0).abs() < 0.05, "{small} {large}");
}
