//! Published dilution arithmetic: reproduced where it holds, and how far it is off elsewhere.
//!
//! EC is not linear in strength: ions hold each other back the more, the more there are. So
//! C1 V1 = C2 V2 in mS/cm is off, even where the water's own EC is counted.

use crate::common::{answer, number};
use serde_json::{Value, json};

/// A solution weak enough that EC is nearly straight in strength, in a water with an EC of its own.
fn corrected(reads: f64, aim: f64, room: f64) -> Value {
    answer(&json!({
        "job": "correct", "recipe": "hoagland-2", "water": "larch-hollow-spring",
        "stock": {"ratio": 100, "tanks": [
            {"name": "A", "mix": [{"id": "calcium-nitrate-tetrahydrate", "g_per_l_stock": 50}]},
            {"name": "B", "mix": [{"id": "potassium-nitrate", "g_per_l_stock": 50}]}]},
        "litres": 100, "capacity_l": 100.0 + room, "reading": {"ec_ms_cm": reads, "ph": 6.0},
        "ec_ms_cm": aim, "ph": [3, 9],
    }))
}

fn step(report: &Value, what: &str, key: &str) -> f64 {
    let steps = report["steps"].as_array().expect("steps");
    let found = steps.iter().find(|step| step["do"] == what);
    found
        .and_then(|step| step[key].as_f64())
        .unwrap_or_else(|| panic!("{what} in {report}"))
}

/// The EC of the water beside these stocks, its pH at 6 like that of the tank.
fn water_ec() -> f64 {
    let water = answer(&json!({"job": "predict", "mix": [], "water": "larch-hollow-spring"}));
    number(&water, "/ec/predicted_ms_cm")
}

/// Water to add: V0 (E0 - Et)/(Et - Ew); volume fixed, drained and replaced: V0 (E0 - Et)/(E0 - Ew).
/// Source: mixing of two liquids, as horticultural extension sheets print it; recomputed. It is
/// taken at face value for a hundredth of the strength, and grows off with it.
#[test]
fn water_to_add_and_to_replace() {
    let ew = water_ec();
    // (reads, aim, how far the straight rule may be from the ions)
    for (reads, aim, most_pct) in [(0.165, 0.15, 6.0), (0.5, 0.4, 8.0), (2.4, 1.8, 14.0)] {
        let straight = 100.0 * (reads - aim) / (aim - ew);
        let added = step(&corrected(reads, aim, 1000.0), "add-water", "litres");
        let off = 100.0 * (straight / added - 1.0);
        println!(
            "{reads} to {aim} mS/cm: {added:.2} L, straight rule {straight:.2} L, {off:+.1} %"
        );
        assert!(off.abs() < most_pct, "{off}");
        let straight = 100.0 * (reads - aim) / (reads - ew);
        let report = corrected(reads, aim, 0.0);
        let drained = step(&report, "drain", "litres");
        let off = 100.0 * (straight / drained - 1.0);
        println!("  replaced: {drained:.2} L, straight rule {straight:.2} L, {off:+.1} %");
        assert!(off.abs() < most_pct, "{off}");
        assert!((drained - step(&report, "add-water", "litres")).abs() < 1e-9);
    }
}

/// Forgetting the water's own EC: V0 (E0 - Et)/Et leaves the tank too strong.
/// Source: the same sheets; 100 L at 2.4 to 1.8 with water of 0.3 gives 33.3 L and 1.875, 4 % high.
#[test]
fn forgetting_the_water_leaves_it_too_strong() {
    let (v0, e0, et, ew) = (100.0, 2.4, 1.8, 0.3);
    let forgotten: f64 = v0 * (e0 - et) / et;
    assert!((forgotten - 33.333).abs() < 1e-3);
    let reached = (v0 * e0 + forgotten * ew) / (v0 + forgotten);
    assert!((reached - 1.875_f64).abs() < 1e-9);
    let right = step(&corrected(2.4, 1.8, 1000.0), "add-water", "litres");
    assert!(right > forgotten, "{right} L for {forgotten}");
}
