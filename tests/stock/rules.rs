//! Rules of practice that must come out of the chemistry, not out of a list.

use super::{set, stock_of};
use crate::common::{answer, number};
use serde_json::{Value, json};

/// Whether two fertilizers, each as a grower has it in a 1:100 stock, stay clear in one tank.
fn together(one: (&str, f64), other: (&str, f64)) -> Value {
    let more = json!({"tanks": 1, "ratio": 100, "acid_tank": false});
    stock_of(&[one, other], &more)["tanks"][0].clone()
}

/// Sources: North Carolina State Extension and others ("calcium apart from sulfate and phosphate",
/// read); nitrates together, magnesium sulfate with phosphates, nitric acid with calcium: common
/// practice, from memory. Amounts are those of a usual feed, g/L.
#[test]
fn calcium_apart_from_sulfate_and_phosphate() {
    let calcium = ("Ca(NO3)2.4H2O", 0.9);
    for other in [
        ("MgSO4.7H2O", 0.4),
        ("K2SO4", 0.2),
        ("(NH4)2SO4", 0.1),
        ("KH2PO4", 0.2),
        ("NH4H2PO4", 0.1),
        ("H2SO4", 0.1),
    ] {
        let tank = together(calcium, other);
        println!(
            "{} with {}: {} {}",
            calcium.0, other.0, tank["first_solid"], tank["index"]
        );
        assert_eq!(tank["clear"], json!(false), "{}", other.0);
    }
    for other in [
        ("KNO3", 0.5),
        ("NH4NO3", 0.1),
        ("Mg(NO3)2.6H2O", 0.4),
        ("CO(NH2)2", 0.1),
        ("KCl", 0.1),
        ("HNO3", 0.1),
        // Against the usual rule: as long as the acid keeps the pH near 1, brushite stays far off.
        // It would form as soon as the acid is spent, so acids stand apart unless asked.
        ("H3PO4", 0.1),
    ] {
        assert_eq!(
            together(calcium, other)["clear"],
            json!(true),
            "{}",
            other.0
        );
    }
    for (one, other) in [
        (("MgSO4.7H2O", 0.4), ("KH2PO4", 0.2)),
        (("MgSO4.7H2O", 0.4), ("NH4H2PO4", 0.1)),
        (("MgSO4.7H2O", 0.4), ("KNO3", 0.5)),
        (("K2SO4", 0.2), ("KH2PO4", 0.2)),
    ] {
        assert_eq!(
            together(one, other)["clear"],
            json!(true),
            "{} with {}",
            one.0,
            other.0
        );
    }
}

/// Two tanks for whatever the shipped recipes come to: no tank gets calcium beside sulfate or
/// phosphate, though nothing forbids it.
#[test]
fn divisions_of_shipped_recipes_keep_calcium_apart() {
    let library = saltwright_recipes::Library::shipped().expect("sound");
    let mut seen = 0;
    for recipe in &library.recipes {
        let mix = answer(&json!({"job": "formulate", "recipe": recipe.id}));
        let Some(lines) = mix["mix"].as_array().filter(|lines| lines.len() > 2) else {
            continue;
        };
        let report = answer(&json!({"job": "stock", "mix": lines, "ratio": 50}));
        let holds = |tank: &Value, nutrient: &str| {
            tank["mix"].as_array().expect("a list").iter().any(|line| {
                let id = line["id"].as_str().expect("an id");
                let row = library.fertilizers.get(id).expect("shipped");
                let nutrient = saltwright_fertilizers::Nutrient::from_key(nutrient).expect("known");
                row.assay_pct[nutrient] > 0.0
            })
        };
        for tank in report["tanks"].as_array().expect("tanks") {
            let clash = holds(tank, "Ca") && (holds(tank, "S") || holds(tank, "P"));
            assert!(!clash, "{}: {tank}", recipe.id);
        }
        let off = number(&report, "/diluted/largest_deviation");
        assert!(off < 1e-9, "{}: {off}", recipe.id);
        seen += 1;
    }
    assert!(seen > 30, "{seen}");
}

/// Source: the same tanks as in common tables of pure salts: one salt alone is the handbook's.
#[test]
fn what_is_not_computed_is_said() {
    let mix = json!([
        {"id": "calcium-nitrate-fertilizer", "g_per_l": 0.8},
        {"id": "fe-edta-13", "g_per_l": 0.015},
        {"id": "manganese-sulfate-monohydrate", "g_per_l": 0.002},
        {"id": "sodium-molybdate-dihydrate", "g_per_l": 0.0001},
        {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.4},
        {"id": "potassium-silicate-liquid", "g_per_l": 0.2},
        {"id": "potassium-hydroxide", "g_per_l": 0.05},
        {"id": "nitric-acid-38", "ml_per_l": 0.1},
    ]);
    let report = answer(&json!({"job": "stock", "mix": mix, "ratio": 100}));
    let tanks = report["tanks"].as_array().expect("tanks");
    let names: Vec<&str> = tanks
        .iter()
        .map(|tank| tank["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["A", "B", "acid", "base", "silicate"]);
    let holds = |tank: usize, id: &str| tanks[tank]["mix"].to_string().contains(id);
    assert!(holds(0, "fe-edta-13") && holds(1, "manganese") && holds(1, "molybdate"));
    for id in [
        "fe-edta-13",
        "sodium-molybdate-dihydrate",
        "potassium-hydroxide",
    ] {
        assert!(report["not_computed"].to_string().contains(id), "{id}");
    }
    assert!(
        report["cautions"]
            .to_string()
            .contains("never meet undiluted")
    );
}

#[test]
fn a_fertilizer_known_by_its_label_only_has_no_ratio() {
    let mut request = json!({"job": "stock",
        "fertilizers": [{"id": "mystery", "assay_pct": {"NO3-N": 5, "P": 4, "K": 20, "Mg": 2}}],
        "mix": [{"id": "mystery", "g_per_l": 1.0}, {"id": "potassium-nitrate", "g_per_l": 0.3}]});
    let report = answer(&request);
    assert!(
        report["largest_ratio"].is_null() && report["ratio"].is_null(),
        "{report}"
    );
    assert_eq!(
        report["limited_by"],
        json!({"kind": "rule", "name": "mystery", "tank": null})
    );
    assert!(
        report["cautions"]
            .to_string()
            .contains("known by its label only")
    );
    set(&mut request, &json!({"ratio": 100}));
    let report = answer(&request);
    let lines = report["tanks"].to_string();
    assert!(lines.contains("\"g_per_l_stock\":100.0"), "{lines}");
}

#[test]
fn alkaline_water_is_told() {
    let mix = json!([{"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.4},
        {"id": "monopotassium-phosphate", "g_per_l": 0.2}]);
    let ask = |water: &str| {
        answer(&json!({"job": "stock", "mix": mix, "water": water, "ratio": 100, "tanks": 1}))
    };
    let (pure, hard) = (ask("pure-water"), ask("quarry-end-well"));
    let ph = |report: &Value| number(report, "/tanks/0/ph");
    assert!(ph(&hard) > ph(&pure) + 0.3, "{} {}", ph(&hard), ph(&pure));
    assert!(hard["cautions"].to_string().contains("Alkaline water"));
}

/// Gypsum in a sulfate and phosphate stock made with water that holds calcium, 1:100, 10 °C.
/// Reference: another implementation, -1.46, -0.76, -0.56 at 0.5, 2.5 and 4 mmol/L.
#[test]
fn calcium_of_the_water_meets_the_sulfate() {
    let feed = [
        ("MgSO4.7H2O", 0.49294),
        ("KH2PO4", 0.204_135),
        ("K2SO4", 0.17426),
        ("KNO3", 0.2022),
        ("H3BO3", 0.0029),
    ];
    for (mmol, index) in [(0.5, -1.46), (2.5, -0.76), (4.0, -0.56)] {
        let water = json!({"holds": {"Ca": 40.078 * mmol, "Cl": 70.9 * mmol},
            "alkalinity_meq_l": 0});
        let more = json!({"tanks": 1, "coldest_c": 10, "hottest_c": 10, "ratio": 100,
            "water": water});
        let report = stock_of(&feed, &more);
        let rows = report["tanks"][0]["indices"].as_array().expect("a list");
        let gypsum = rows.iter().find(|row| row["solid"] == "CaSO4.2H2O");
        let found = number(gypsum.expect("gypsum"), "/coldest");
        assert!((found - index).abs() < 0.01, "{mmol} mmol/L: {found}");
    }
}

/// Boron and manganese sulfate get a tank of their own beside calcium, where there is one.
#[test]
fn micronutrients_keep_away_from_calcium() {
    let mix = json!([{"id": "calcium-nitrate-fertilizer", "g_per_l": 0.8},
        {"id": "boric-acid", "g_per_l": 0.001},
        {"id": "borax", "g_per_l": 0.0005},
        {"id": "manganese-sulfate-monohydrate", "g_per_l": 0.001}]);
    let report = answer(&json!({"job": "stock", "mix": mix, "ratio": 100}));
    let tanks = report["tanks"].as_array().expect("tanks");
    assert_eq!(tanks.len(), 2, "{report}");
    assert_eq!(tanks[0]["mix"].as_array().map(Vec::len), Some(1));
}

/// A pinch of borax is a base on paper only; one of potash lye is one.
#[test]
fn a_pinch_of_lye_stands_by_itself() {
    let mix = json!([{"id": "potassium-nitrate", "g_per_l": 0.8},
        {"id": "borax", "g_per_l": 0.0005},
        {"id": "potassium-hydroxide", "g_per_l": 0.0005}]);
    let report = answer(&json!({"job": "stock", "mix": mix, "ratio": 100}));
    let tanks = report["tanks"].as_array().expect("tanks");
    let of = |id: &str| {
        let holds = |tank: &&Value| tank["mix"].to_string().contains(id);
        tanks.iter().find(holds).expect("in a tank")["name"].clone()
    };
    assert_eq!(of("potassium-hydroxide"), "base");
    assert_eq!(of("borax"), of("potassium-nitrate"));
}

/// What has no constants dissolves to 0.8 of its solubility (common practice, no source) in the water
/// that is left beside it: 1,080 g/L for urea (the shipped table), a mole of which takes the room of
/// 44.2 mL (partial molar volume at 25 °C, from memory), so that 5 r = 864 (1 - 5 r 0.736/1000).
#[test]
fn what_has_no_constants_dissolves_by_rule() {
    let ask = |ratio: Option<f64>| {
        answer(&json!({"job": "stock", "ratio": ratio, "tanks": 1,
                       "mix": [{"id": "urea", "g_per_l": 5.0}]}))
    };
    let largest = number(&ask(None), "/largest_ratio");
    println!("urea, 5 g/L: up to 1:{largest:.1}");
    let told = |ratio: f64| {
        ask(Some(ratio))["tanks"][0]["words"]
            .as_str()
            .expect("words")
            .to_owned()
    };
    assert!(told(largest * 1.01).contains("urea does not dissolve at this strength"));
    assert!(!told(largest * 0.99).contains("urea does not dissolve"));
    let by_hand = 864.0 / (1.0 + 0.864 * 0.736) / 5.0;
    assert!(
        (largest / by_hand - 1.0).abs() < 0.02,
        "{largest} {by_hand}"
    );
}

#[test]
fn much_sulfate_beside_ammonium_is_cautioned() {
    // Sulfate in the stock: 0.6 of magnesium sulfate by mass would be 0.39 x 60 g/L = 23 g/L, of
    // 2.3 g/L of ammonium sulfate 0.727 x 230 g/L = 167 g/L.
    let said = |id: &str, g_per_l: f64| {
        let mix = json!([{"id": "monoammonium-phosphate", "g_per_l": 0.2},
                         {"id": id, "g_per_l": g_per_l}]);
        let report = answer(&json!({"job": "stock", "mix": mix, "ratio": 100}));
        report["cautions"]
            .to_string()
            .contains("ammonium beside much sulfate")
    };
    assert!(!said("magnesium-sulfate-heptahydrate", 0.6));
    assert!(said("ammonium-sulfate", 2.3));
}
