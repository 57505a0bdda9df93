//! An analysis of the water that is off: against solutions made with other waters.

use crate::common::{Uniform, answer, number};
use serde_json::{Value, json};

/// How far each figure of the analysis may be off, percent.
const OFF_PCT: f64 = 5.0;

/// A hard water (invented), every figure of its analysis off by what comes next, in percent.
fn water(mut off_pct: impl FnMut() -> f64) -> Value {
    let mut off = |figure: f64| figure * (1.0 + off_pct() / 100.0);
    json!({"holds": {"Ca": off(80.0), "Mg": off(12.0), "Na": off(9.0), "Cl": off(14.0),
                     "S": off(8.0)},
           "alkalinity_meq_l": off(4.5), "ph": 7.4})
}

/// With a salt and an acid that are exactly what they say.
fn made(water: &Value, ranges: &Value) -> Value {
    answer(&json!({"job": "predict", "water": water, "ranges": ranges,
        "fertilizers": [{"id": "salt", "formula": "KNO3", "tolerance_pct": 0},
                        {"id": "acid", "formula": "HNO3", "strength_pct": 38, "tolerance_pct": 0}],
        "mix": [{"id": "salt", "g_per_l": 0.4}, {"id": "acid", "g_per_l": 0.5}]}))
}

/// Every figure of the analysis by itself anywhere within its tolerance: the range of the EC is
/// twice the standard deviation (JCGM 100:2008, 4.3.7 and 6.2), and nothing leaves the worst case.
#[test]
fn a_water_that_is_off_moves_the_ec_as_other_waters_do() {
    let told = made(&water(|| 0.0), &json!({"water_pct": OFF_PCT}));
    let end = |key: &str| number(&told, &format!("/ec/{key}_ms_cm"));
    let causes = told["causes"].as_array().expect("causes");
    let of_analysis = causes
        .iter()
        .find(|row| row["figure"] == "EC" && row["cause"] == "water analysis")
        .expect("a cause");
    let half = 0.5 * (end("high") - end("low"));
    let half = half * (number(of_analysis, "/share_pct") / 100.0).sqrt();
    let ec = |water: &Value| number(&made(water, &json!(false)), "/ec/predicted_ms_cm");

    let mut uniform = Uniform::seeded(5);
    let drawn: Vec<f64> = (0..2000)
        .map(|_| ec(&water(|| OFF_PCT * uniform.draw())))
        .collect();
    let count = f64::from(u32::try_from(drawn.len()).expect("few"));
    let mean = drawn.iter().sum::<f64>() / count;
    let variance = drawn.iter().map(|ec| (ec - mean).powi(2)).sum::<f64>() / count;
    println!(
        "EC by the water: {half} told, {} drawn",
        2.0 * variance.sqrt()
    );
    assert!((half / (2.0 * variance.sqrt()) - 1.0).abs() < 0.06);

    let at_once = [-OFF_PCT, OFF_PCT].map(|off| ec(&water(|| off)));
    for found in drawn.iter().chain(&at_once) {
        assert!(
            end("worst_low") <= *found && *found <= end("worst_high"),
            "{found}"
        );
    }
}
