//! What may be used: the shelf, a list, prices, what is sold for something else.

use super::*;

/// Nickel sulfate for nothing, beside everything else at a price, to a list that asks for sulfur.
fn with_free_nickel(nickel: Option<Value>) -> Value {
    let mut aims = json!({
        "NO3-N": {"min": 130, "max": 160}, "P": {"min": 28, "max": 34},
        "K": {"min": 190, "max": 230}, "Ca": {"min": 81, "max": 99},
        "Mg": {"min": 22, "max": 26}, "S": {"min": 60, "max": 70},
    });
    if let Some(nickel) = nickel {
        aims["Ni"] = nickel;
    }
    let report = formulate(json!({
        "recipe": {"aims": aims}, "fertilizers": everything(),
        "prices": prices(&[("nickel-sulfate-hexahydrate", 0.0)]),
    }));
    assert_eq!(report["outcome"], "within-bands");
    report
}

/// Source of the 0.1 mg/L: the shipped bands (common practice, no source).
#[test]
fn free_nickel_sulfate_does_not_become_a_dose() {
    let report = with_free_nickel(None);
    let nickel = delivered(&report, "Ni");
    assert!(nickel <= 0.1 + 1e-9, "{nickel} mg/L Ni");
    assert_eq!(row(&report, "Ni")["default_max"], true);
    // It is the default maximum that holds it: nickel sulfate is used as far as that lets it.
    assert!(nickel > 0.1 - 1e-6, "{nickel} mg/L Ni");
    let control = with_free_nickel(Some(json!({"min": 0, "max": 100})));
    assert!(
        delivered(&control, "Ni") > 10.0,
        "{}",
        delivered(&control, "Ni")
    );
}

/// Whatever the recipe and the water: without a list of fertilizers only the common shelf is used.
#[test]
fn without_a_list_only_the_common_shelf_is_used() {
    let library = library();
    let common = |id: &str| library.fertilizers.get(id).is_some_and(|row| row.common);
    let mut used = 0;
    for recipe in &library.recipes {
        for water in ["pure-water", "quarry-end-well"] {
            let report = formulate(json!({"recipe": recipe.id, "water": water}));
            for id in mix_ids(&report) {
                assert!(common(id), "{}: {id} is not on the common shelf", recipe.id);
                used += 1;
            }
        }
    }
    assert!(used > 500, "only {used} lines of mixes were looked at");
}

/// The control: a list that names another row uses it.
#[test]
fn a_list_replaces_the_common_shelf() {
    let report = formulate(json!({
        "recipe": {"aims": {"K": 100}}, "fertilizers": ["potassium-chloride"],
    }));
    assert_eq!(mix_ids(&report), ["potassium-chloride"]);
}

/// A list that calcium nitrate (unpriced) would serve best.
fn with_prices(change: &Value) -> Value {
    let mut request = json!({
        "recipe": {"aims": {"NO3-N": 100, "K": 150, "Ca": 80}},
        "fertilizers": ["calcium-nitrate-tetrahydrate", "potassium-nitrate",
            "calcium-chloride-dihydrate", "ammonium-nitrate"],
        "prices": {"potassium-nitrate": 1.9, "calcium-chloride-dihydrate": 1.0},
    });
    for (key, value) in change.as_object().expect("keys") {
        request[key] = value.clone();
    }
    formulate(request)
}

#[test]
fn what_has_no_price_stays_out_once_one_is_given() {
    let report = with_prices(&json!({}));
    assert!(!mix_ids(&report).contains(&"calcium-nitrate-tetrahydrate"));
    assert!(number(&report, "/cost_per_m3") > 0.0);
    assert_eq!(stages(&report), ["closest", "cheapest", "simplest"]);
    let said = cautions(&report)
        .into_iter()
        .find(|text| text.contains("no price"));
    assert!(
        said.is_some_and(|text| text.contains("calcium-nitrate-tetrahydrate")),
        "{said:?}"
    );
    // Control: with no price at all nothing stays out.
    let control = with_prices(&json!({"prices": {}}));
    assert!(grams(&control, "calcium-nitrate-tetrahydrate") > 0.1);
}

#[test]
fn what_is_named_comes_back_and_nothing_is_called_cheapest() {
    let report =
        with_prices(&json!({"only": ["calcium-nitrate-tetrahydrate", "potassium-nitrate"]}));
    assert!(grams(&report, "calcium-nitrate-tetrahydrate") > 0.1);
    assert!(report["cost_per_m3"].is_null());
    assert_eq!(stages(&report), ["closest", "simplest"]);
    for row in report["nutrients"].as_array().expect("rows") {
        assert!(row["price_per_mg_l_m3"].is_null(), "{row}");
    }
}
