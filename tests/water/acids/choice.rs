//! Which acid or base is offered, what it leads away, what is not computed.

use super::*;

/// A residual alkalinity is arithmetic: equivalents of the acid, one proton of phosphoric acid, two
/// of sulfuric acid.
#[test]
fn a_residual_takes_its_equivalents() {
    // mmol of acid for a meq
    for (id, formula, mass, protons) in [
        ("nitric-acid-38", "HNO3", 63.012, 1.0),
        ("phosphoric-acid-85", "H3PO4", 97.994, 1.0),
        ("sulfuric-acid-96", "H2SO4", 98.072, 2.0),
    ] {
        let pct: f64 = id
            .rsplit('-')
            .next()
            .expect("a strength")
            .parse()
            .expect("a number");
        let report = water(&json!({"water": "quarry-end-well", "acid": id,
            "residual_alkalinity_meq_l": 1.3}));
        let meq = number(&report, "/dose/g_per_l") * pct / 100.0 / mass * protons * 1000.0;
        assert!((meq - 3.5).abs() < 0.002, "{formula}: {meq}");
        assert!((number(&report, "/residual_meq_l") - 1.3).abs() < 1e-9);
    }
    // The half meq/L that is usually left is the default.
    let report = water(&json!({"water": "quarry-end-well", "acid": "nitric-acid-38"}));
    assert!((number(&report, "/residual_meq_l") - 0.5).abs() < 1e-9);
}

/// The acidity row of `formulate` leaves what `water` leaves, with the same dose where nothing else
/// brings acid.
#[test]
fn formulate_doses_the_same_acid() {
    let dose = water(&json!({"water": "quarry-end-well", "acid": "phosphoric-acid-75"}));
    let report = crate::common::answer(&json!({"job": "formulate", "water": "quarry-end-well",
        "recipe": {"aims": {"Zn": {"min": 0.05}}},
        "fertilizers": ["phosphoric-acid-75", "zinc-sulfate-monohydrate"]}));
    let (a, b) = (
        number(&dose, "/dose/g_per_l"),
        crate::common::grams(&report, "phosphoric-acid-75"),
    );
    assert!((a / b - 1.0).abs() < 1e-6, "{a} {b} {report}");
}

/// Bases, where the water is too acid; by the equivalents of their formula, and to a pH.
#[test]
fn a_water_that_is_too_acid_gets_a_base() {
    let soft = json!({"holds": {"Na": 2.3, "Cl": 2.0}, "alkalinity_meq_l": 0.045, "ph": 5.5});
    // (id, mass for a meq in mg, purity of the shipped row)
    for (id, mass, purity) in [
        ("potassium-hydroxide", 56.105, 0.90),
        ("potassium-carbonate", 69.102, 0.99),
        ("potassium-bicarbonate", 100.114, 0.99),
    ] {
        let report = water(&json!({"water": soft, "acid": id, "residual_alkalinity_meq_l": 0.545}));
        let meq = 1000.0 * number(&report, "/dose/g_per_l") * purity / mass;
        assert!((meq - 0.5).abs() < 0.001, "{id}: {meq}");
        assert!(number(&report, "/dose/acid_meq_l") < 0.0);
        assert!(number(&report, "/ph/closed") > number(&report, "/ph_before/closed"));
        assert!(cautions(&report).contains("never"), "{}", cautions(&report));
        let to_ph = water(&json!({"water": soft, "acid": id, "ph": 6.3}));
        assert!((number(&to_ph, "/ph/closed") - 6.3).abs() < 1e-4, "{id}");
    }
    // Asked for without a name, bases of the table are offered, and the one that is chosen stays
    // inside the range of the model: with hardly any carbon in the water lye goes beyond pH 10.
    let report = water(&json!({"water": "rain-barrel", "residual_alkalinity_meq_l": 0.5}));
    assert_eq!(
        report["dose"]["id"], "potassium-bicarbonate",
        "{}",
        report["dose"]
    );
    assert!(report["doses"].as_array().expect("a list").len() >= 4);
    // Nobody asked: a soft water is left as it is, and that is said.
    let report = water(&json!({"water": soft}));
    assert!(report["dose"].is_null() && report["doses"] == json!([]));
    assert!(
        cautions(&report).contains("needs no acid"),
        "{}",
        cautions(&report)
    );
}

/// What would go the wrong way is no dose, and that is said.
#[test]
fn what_leads_away_is_said() {
    for (request, words) in [
        (
            json!({"acid": "nitric-acid-38", "residual_alkalinity_meq_l": 6}),
            "a base would raise it",
        ),
        (
            json!({"acid": "potassium-hydroxide"}),
            "nothing that is named takes it away",
        ),
        (
            json!({"acid": "potassium-hydroxide", "ph": 5.8}),
            "Nothing that is named brings",
        ),
        (
            json!({"acid": "nitric-acid-38", "ph": 9}),
            "Nothing that is named brings",
        ),
        (
            json!({"acid": "potassium-bicarbonate", "ph": 11}),
            "Nothing that is named brings",
        ),
    ] {
        let mut request = request;
        request["water"] = json!("quarry-end-well");
        let report = water(&request);
        assert!(report["dose"].is_null(), "{request}: {}", report["dose"]);
        assert!(
            cautions(&report).contains(words),
            "{request}: {}",
            cautions(&report)
        );
        let (a, b) = (
            number(&report, "/ph/closed"),
            number(&report, "/ph_before/closed"),
        );
        assert!((a - b).abs() < 1e-12);
    }
}

/// Citric acid has no constants here: named as not computed, with no figure.
#[test]
fn citric_acid_is_not_computed() {
    let report = water(&json!({"water": "quarry-end-well", "acid": "citric-acid-monohydrate"}));
    assert!(report["dose"].is_null());
    assert_eq!(report["not_computed"], json!(["citric-acid-monohydrate"]));
    assert!(cautions(&report).contains("Not computed"));
    let report = water(&json!({"water": "quarry-end-well"}));
    let rows = report["doses"].as_array().expect("a list");
    assert!(
        rows.iter()
            .all(|row| row["id"] != "citric-acid-monohydrate")
    );
    // Every mineral acid of the table, at its strength.
    assert_eq!(rows.len(), 9);
    assert!(report["not_computed"].to_string().contains("citric"));
}

/// A list of fertilizers takes the place of the table: only its acids are offered.
#[test]
fn only_acids_of_a_given_list_are_offered() {
    let report = water(&json!({"water": "quarry-end-well",
        "fertilizers": ["sulfuric-acid-35", "potassium-nitrate"]}));
    let ids: Vec<&Value> = report["doses"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|row| &row["id"])
        .collect();
    assert_eq!(ids, [&json!("sulfuric-acid-35")]);
    assert_eq!(report["not_computed"], json!([]));
}

/// Why a pH of 5.8 just after dosing drifts up: the alkalinity that is left decides, whatever the
/// acid; with all of it gone the pH stays low.
#[test]
fn a_ph_drifts_to_what_its_alkalinity_says() {
    let to = |ph: f64| {
        water(
            &json!({"water": "quarry-end-well", "acid": "nitric-acid-38",
        "ph": ph, "temperature_c": 25}),
        )
    };
    let report = to(5.8);
    let (closed, open) = (number(&report, "/ph/closed"), number(&report, "/ph/open"));
    assert!((closed - 5.8).abs() < 1e-4 && open > 8.0, "{closed} {open}");
    assert!(cautions(&report).contains("will not stay at 5.8"));
    // Open, pH follows from what is left: log10(meq/L) + 8.2 within the ions' activity (Henry 1.47,
    // pK1 6.35, 10^-3.38 bar).
    let left = number(&report, "/residual_meq_l");
    let expected = (left / 1000.0).log10() + 6.35 + 1.47 + 3.38;
    assert!((open - expected).abs() < 0.1, "{open} {expected}");
    let low = to(3.5);
    assert!((number(&low, "/ph/open") - 3.5).abs() < 0.05);
    assert!(!cautions(&low).contains("will not stay"));
}
