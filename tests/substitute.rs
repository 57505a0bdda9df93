//! Cheaper salts, asked as a request: what is told of a list against the same question asked again.

use crate::common::{answer, number};
use serde_json::{Value, json};

/// Invented prices per kg.
fn ask(aims: &Value) -> Value {
    answer(
        &json!({"job": "substitute", "recipe": {"aims": aims}, "prices": {
        "calcium-nitrate-fertilizer": 1.0, "potassium-nitrate": 1.9,
        "magnesium-sulfate-heptahydrate": 0.5, "monopotassium-phosphate": 2.5,
        "monoammonium-phosphate": 1.4, "potassium-sulfate": 1.3, "ammonium-sulfate": 0.4}}),
    )
}

/// What loosening an end of a band is told to save, the list with that end saves.
#[test]
fn a_loosened_end_saves_what_the_looser_list_costs_less() {
    let aims = json!({
        "NO3-N": {"min": 100.0, "max": 150.0}, "NH4-N": {"min": 0.0, "max": 20.0},
        "P": {"min": 25.0, "max": 45.0}, "K": {"min": 150.0, "max": 250.0},
        "Ca": {"min": 70.0, "max": 130.0}, "Mg": {"min": 15.0, "max": 40.0},
        "S": {"min": 15.0, "max": 100.0},
    });
    let report = ask(&aims);
    let cost = |report: &Value| number(report, "/cheapest/cost_per_m3");
    let rows = report["loosened"].as_array().expect("rows");
    assert!(rows.len() > 2, "{rows:?}");
    for row in rows {
        let (nutrient, side) = (row["nutrient"].as_str(), row["side"].as_str());
        let (nutrient, side) = (nutrient.expect("a name"), side.expect("a side"));
        let by = number(row, "/by_mg_l") * if side == "min" { -1.0 } else { 1.0 };
        let mut looser = aims.clone();
        looser[nutrient][side] = json!(number(&aims[nutrient], &format!("/{side}")) + by);
        let saved = cost(&report) - cost(&ask(&looser));
        let told = number(row, "/saves_per_m3");
        println!("{side} of {nutrient} by {by} mg/L: {told} told, {saved} saved");
        assert!(told > 0.0 && (told - saved).abs() < 1e-7, "{row}: {saved}");
    }
}

/// Today's mix is judged as it is: one made for the list is within its bands, half of it is not.
#[test]
fn todays_mix_is_held_against_the_bands() {
    let aims = json!({"NO3-N": {"min": 60, "max": 80}, "K": {"min": 170, "max": 220}});
    let outcome = |g_per_l: f64| {
        let report = answer(&json!({"job": "substitute", "recipe": {"aims": aims},
            "now": [{"id": "potassium-nitrate", "g_per_l": g_per_l}],
            "prices": {"potassium-nitrate": 1.9, "calcium-nitrate-fertilizer": 1.0}}));
        report["now"]["outcome"].clone()
    };
    assert_eq!(
        [outcome(0.5), outcome(0.25)],
        ["within-bands", "outside-bands"]
    );
}
