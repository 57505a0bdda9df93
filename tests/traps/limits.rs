//! Maxima that hold at any strength, and a tank that is too strong already.

use super::*;

/// A tank with `g_per_l` of a salt of 40 % K, in water with 20 mg/L K, for at most 210 mg/L.
fn with_tank(g_per_l: f64, water_k: f64) -> Value {
    formulate(json!({
        "recipe": {"aims": {"K": {"max": 210}}},
        "water": {"holds": {"K": water_k}, "alkalinity_meq_l": 0},
        "fertilizers": [{"id": "salt", "assay_pct": {"K": 40, "Cl": 36}}],
        "already": [{"id": "salt", "g_per_l": g_per_l}], "litres": 50,
    }))
}

/// 20 + 400 mg/L, thinned with x litres of 20 mg/L to a litre: (420 + 20 x)/(1 + x) = 210 gives
/// x = 210/190.
#[test]
fn what_is_too_strong_is_thinned_by_hand_arithmetic() {
    let report = with_tank(1.0, 20.0);
    assert_eq!(report["outcome"], "outside-bands");
    let litres = number(&report, "/dilute_l_per_l");
    assert!((litres - 210.0 / 190.0).abs() < 1e-12, "{litres}");
    let said = cautions(&report)
        .into_iter()
        .find(|text| text.contains("too strong"));
    // 50 L x 1.10526.
    assert!(said.is_some_and(|text| text.contains("55.3 L")), "{said:?}");
    let thinned = answer(&json!({
        "job": "predict", "fertilizers": [{"id": "salt", "assay_pct": {"K": 40, "Cl": 36}}],
        "water": {"holds": {"K": 20}}, "mix": [{"id": "salt", "g_per_l": 1.0 / (1.0 + litres)}],
    }));
    assert!((delivered(&thinned, "K") - 210.0).abs() < 1e-9);
}

#[test]
fn what_is_not_too_strong_or_cannot_be_thinned_says_so() {
    // 20 + 160 mg/L is below 210.
    assert!(with_tank(0.4, 20.0)["dilute_l_per_l"].is_null());
    // No amount of a water with 250 mg/L brings a tank below 210.
    let report = with_tank(1.0, 250.0);
    assert_eq!(report["outcome"], "outside-bands");
    assert!(report["dilute_l_per_l"].is_null());
}

/// Sodium and chloride as bare numbers, at a strength.
fn with_ballast(strength: f64) -> Value {
    formulate(json!({
        "recipe": {"aims": {"NO3-N": 100, "K": 200, "Ca": 80, "Na": 40, "Cl": 70}},
        "strength": strength,
    }))
}

#[test]
fn sodium_and_chloride_are_maxima_at_any_strength() {
    for strength in [0.5, 1.0, 1.5] {
        let report = with_ballast(strength);
        for (nutrient, most) in [("Na", 40.0), ("Cl", 70.0)] {
            let row = row(&report, nutrient);
            assert!(row["aim"].is_null() && row["min"].is_null(), "{row}");
            assert!(
                (number(row, "/max") - most).abs() < 1e-12,
                "{strength}: {row}"
            );
        }
        // Control: an aim does follow the strength.
        let potassium = number(row(&report, "K"), "/aim");
        assert!((potassium - 200.0 * strength).abs() < 1e-9, "{potassium}");
    }
}

/// Potassium from its chloride alone: the maximum of chloride holds at every strength. 70 mg/L of Cl
/// go with 70 x 39.098/35.45 = 77.20 mg/L of K.
#[test]
fn a_maximum_of_chloride_binds_at_any_strength() {
    for strength in [0.5, 1.0] {
        let report = formulate(json!({
            "recipe": {"aims": {"K": 200, "Cl": 70}}, "strength": strength,
            "fertilizers": [{"id": "kcl", "formula": "KCl"}],
        }));
        assert_eq!(report["outcome"], "outside-bands");
        let conflict = report["conflict"].as_array().expect("rows");
        let potassium = conflict
            .iter()
            .find(|row| row["nutrient"] == "K")
            .expect("K");
        let reachable = number(potassium, "/reachable_mg_l");
        assert!((reachable - 77.20).abs() < 0.01, "{strength}: {reachable}");
    }
}

/// Macronutrients alone, from everything there is, in a water.
fn without_micros(water: &Value) -> Value {
    formulate(json!({
        "recipe": {"aims": {
            "NO3-N": 137, "NH4-N": 13, "P": 31, "K": 210, "Ca": 90, "Mg": 24, "S": 32,
        }},
        "water": water, "fertilizers": everything(),
    }))
}

/// Source of the maxima: the shipped bands, each with its own.
#[test]
fn micronutrients_that_nobody_named_keep_their_maxima() {
    let bands = &library().bands;
    let report = without_micros(&json!("pure-water"));
    let unnamed = Nutrient::MICROS.into_iter().chain([
        Nutrient::Ni,
        Nutrient::Cl,
        Nutrient::Na,
        Nutrient::Si,
        Nutrient::UreaN,
    ]);
    for nutrient in unnamed {
        let row = row(&report, nutrient.key());
        let band = bands.of(saltwright_fertilizers::Aimed::Form(nutrient));
        assert_eq!(row["max"].as_f64(), band.default_max_mg_l, "{row}");
        assert_eq!(row["default_max"], true, "{row}");
        assert!(
            number(row, "/delivered") <= number(row, "/max") + 1e-9,
            "{row}"
        );
    }
    // Control: a macronutrient that nobody named is free.
    let report = formulate(json!({"recipe": {"aims": {"K": 210}}}));
    assert!(row(&report, "Ca")["max"].is_null());
}

/// A zinc fertilizer that brings the wanted sulfur cheaply, and one that does not.
fn sulfur_with_zinc(zinc: Option<Value>) -> Value {
    let mut aims = json!({"S": {"min": 20}});
    if let Some(zinc) = zinc {
        aims["Zn"] = zinc;
    }
    formulate(json!({
        "recipe": {"aims": aims},
        "fertilizers": [{"id": "zinc", "formula": "ZnSO4.7H2O"}, {"id": "epsom", "formula": "MgSO4.7H2O"}],
        "prices": {"zinc": 0.1, "epsom": 10},
    }))
}

#[test]
fn a_cheap_impurity_does_not_become_a_dose() {
    let report = sulfur_with_zinc(None);
    assert!((delivered(&report, "Zn") - 0.5).abs() < 1e-9);
    let control = sulfur_with_zinc(Some(json!({"max": 1000})));
    assert!(delivered(&control, "Zn") > 20.0);
}

/// Boron of the water above the usual 0.7 mg/L (FAO Irrigation and Drainage Paper 29 rev. 1, Table
/// 1, seen in secondary tables) is nobody's choice: it is said, and no conflict.
#[test]
fn a_water_above_a_default_maximum_cautions_without_conflict() {
    let water = json!({"holds": {"B": 2.0, "Na": 23}, "alkalinity_meq_l": 1});
    let report = without_micros(&water);
    assert_eq!(report["outcome"], "within-bands");
    assert_eq!(report["conflict"], json!([]));
    let boron = row(&report, "B");
    assert!((number(boron, "/delivered") - 2.0).abs() < 1e-9, "{boron}");
    assert!((number(boron, "/max") - 2.0).abs() < 1e-12, "{boron}");
    assert!(
        cautions(&report)
            .iter()
            .any(|text| text.contains("boron; 2 mg/L")),
        "{report}"
    );
    // Control: the same as the recipe's own maximum is a conflict.
    let report = formulate(json!({
        "recipe": {"aims": {"K": 100, "B": {"max": 0.7}}}, "water": water,
    }));
    assert_eq!(report["outcome"], "outside-bands");
    assert_eq!(report["conflict"][0]["nutrient"], "B");
}

/// A band with one end, kept and missed.
#[test]
fn a_band_with_one_end_is_kept_or_left() {
    let outcome = |band: Value, most: f64| {
        let report = formulate(json!({
            "recipe": {"aims": {"K": band}}, "acid": null,
            "fertilizers": [{"id": "salt", "assay_pct": {"K": 40, "NO3-N": 14.3}}],
            "litres": 100, "at_most_g": {"salt": 100.0 * most},
        }));
        report["outcome"].as_str().expect("an outcome").to_owned()
    };
    // 0.5 g/L brings 200 mg/L of potassium, 0.2 g/L brings 80.
    assert_eq!(outcome(json!({"min": 190}), 0.5), "within-bands");
    assert_eq!(outcome(json!({"min": 190}), 0.2), "outside-bands");
    assert_eq!(
        outcome(json!({"aim": 150, "min": 140}), 0.5),
        "within-bands"
    );
}

/// Aims in charges by hand: K 10, Ca 6, Mg 3 meq/L beside NO3 14, P 1, S 4.
#[test]
fn aims_that_balance_are_not_complained_about() {
    let said = |potassium: f64| {
        let report = formulate(json!({"recipe": {"aims": {
            "K": potassium, "Ca": 120.23, "Mg": 36.46, "NO3-N": 196.1, "P": 30.97, "S": 64.12,
        }}}));
        let found = cautions(&report)
            .into_iter()
            .find(|text| text.contains("do not balance"));
        found.map(str::to_owned)
    };
    // 0.1 meq/L of 38 is 0.3 %, 4 meq/L is 10 %.
    assert_eq!(said(395.0), None);
    let much = said(547.4).expect("said");
    assert!(
        much.contains("cations 23") && much.contains("anions 19"),
        "{much}"
    );
}
