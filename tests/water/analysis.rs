//! What an analysis says: units of hardness and alkalinity, charges that close or not, limits.

use super::{cautions, water};
use crate::common::{answer, number};
use serde_json::{Value, json};

/// (key, figure) pairs of hardness or alkalinity, within a relative tolerance.
fn holds(amount: &Value, figures: &[(&str, f64)], relative: f64) {
    for (key, wanted) in figures {
        let found = amount[key].as_f64().expect(key);
        assert!(
            (found / wanted - 1.0).abs() <= relative,
            "{key}: {found} for {wanted}"
        );
    }
}

/// 1 °dH is 10 mg/L of CaO, 1 °fH 10 mg/L of CaCO3, 1 gpg a grain (64.79891 mg) in a US gallon
/// (3.785411784 L): definitions. 1 meq/L is 50.043 mg/L CaCO3 and 61.016 mg/L HCO3 (CIAAW 2021
/// weights). 1 mmol/L of hardness is 5.608 °dH and 10.009 °fH (DIN 38409-6, from memory).
#[test]
fn hardness_and_alkalinity_in_the_units_of_laboratories() {
    let report = water(&json!({"water":
        {"unit": "mmol/L", "holds": {"Ca": 0.75, "Mg": 0.25, "Cl": 1.0}, "alkalinity_meq_l": 1.0}}));
    let hard = [
        ("meq_l", 2.0),
        ("mg_l_caco3", 100.086),
        ("dh", 5.608),
        ("fh", 10.009),
        ("gpg", 5.847),
    ];
    holds(&report["hardness"], &hard, 2e-4);
    let bound = [
        ("meq_l", 1.0),
        ("mg_l_caco3", 50.043),
        ("mg_l_hco3", 61.016),
        ("dh", 2.804),
        ("fh", 5.0043),
        ("gpg", 2.9235),
    ];
    holds(&report["alkalinity"], &bound, 2e-4);
}

/// The same water in each unit that a laboratory prints its alkalinity in.
#[test]
fn alkalinity_is_read_in_three_units() {
    let ask = |key: &str, value: f64| {
        let mut analysis = json!({"holds": {"Ca": 60, "Cl": 17.7}, "ph": 7.5});
        analysis[key] = json!(value);
        water(&json!({"water": analysis}))
    };
    let meq = ask("alkalinity_meq_l", 2.5);
    for (key, value) in [("alkalinity_mg_l_caco3", 125.1075), ("hco3_mg_l", 152.54)] {
        let other = ask(key, value);
        for path in [
            "/alkalinity/meq_l",
            "/ec_ms_cm",
            "/ph_before/open",
            "/dose/g_per_l",
        ] {
            let (a, b) = (number(&meq, path), number(&other, path));
            assert!((a / b - 1.0).abs() < 1e-9, "{key} {path}: {a} and {b}");
        }
    }
}

/// Median of 4,306 samples of North American greenhouse water (1995, four laboratories): pH 7.1,
/// EC 0.4, alkalinity 130 mg/L CaCO3, Ca 40, Mg 11, SO4-S 8, Na 13, Cl 14, B 0.02 mg/L. Medians of
/// single figures need not belong to one water, yet they close within 0.7 %. The EC is printed with
/// one digit and is that of other medians: ours of these ions is 15 % lower.
#[test]
fn the_median_greenhouse_water() {
    let report = water(&json!({"water": {"alkalinity_mg_l_caco3": 130, "ph": 7.1,
        "holds": {"Ca": 40, "Mg": 11, "S": 8, "Na": 13, "Cl": 14, "B": 0.02}}}));
    let balance = &report["balance"];
    assert!(
        (number(balance, "/cations_meq_l") - 3.47).abs() < 0.01,
        "{balance}"
    );
    assert!(
        (number(balance, "/anions_meq_l") - 3.49).abs() < 0.01,
        "{balance}"
    );
    assert!(number(balance, "/error_pct").abs() < 0.7, "{balance}");
    let ec = number(&report, "/ec_ms_cm");
    println!("median greenhouse water: EC {ec:.3} of its ions, 0.4 mS/cm printed");
    assert!((ec / 0.4 - 1.0).abs() < 0.2, "{ec}");
    // At 25 °C the water stands at the pH that was measured.
    assert!((number(&report, "/ph_before/closed") - 7.1).abs() < 1e-6);
    // 130 mg/L CaCO3 is 2.6 meq/L of bicarbonate: two guides have a limit below that.
    let limits = report["limits"].as_array().expect("a list").iter();
    let limits: Vec<(&Value, f64)> = limits
        .map(|row| (&row["what"], number(row, "/limit")))
        .collect();
    assert_eq!(
        limits,
        [(&json!("bicarbonate"), 1.5), (&json!("bicarbonate"), 2.5)]
    );
}

/// Limits as the guides print them, told from just beyond the figure, each with its guide; FAO
/// limits of sodium, chloride and bicarbonate are meq/L (printed mg/L in some copies).
#[test]
fn limits_are_told_from_their_figure_on() {
    // (nutrient, mg/L, what, limit, start of the source)
    let cases = [
        ("Na", 50.0, "sodium", 50.0, "Oklahoma State"),
        ("Cl", 140.0, "chloride", 140.0, "Oklahoma State"),
        ("Cl", 4.0 * 35.45, "chloride", 4.0, "Ayers and Westcot"),
        ("Cl", 10.0 * 35.45, "chloride", 10.0, "Ayers and Westcot"),
        ("Ca", 150.0, "calcium", 150.0, "Oklahoma State"),
        ("Mg", 50.0, "magnesium", 50.0, "Oklahoma State"),
        ("S", 100.0 / 2.9963, "sulfate", 100.0, "Oklahoma State"),
        ("B", 0.7, "boron", 0.7, "Ayers and Westcot"),
        ("B", 3.0, "boron", 3.0, "Ayers and Westcot"),
        ("NO3-N", 5.0, "nitrate nitrogen", 5.0, "Ayers and Westcot"),
        ("NO3-N", 30.0, "nitrate nitrogen", 30.0, "Ayers and Westcot"),
        ("Fe", 0.1, "iron", 0.1, "classes of Bucks"),
        ("Mn", 1.5, "manganese", 1.5, "classes of Bucks"),
    ];
    for (key, mg_l, what, at, source) in cases {
        let crossed = |mg_l: f64| {
            let report = water(&json!({"water": {"holds": {key: mg_l}}}));
            let rows = report["limits"].as_array().expect("a list").clone();
            rows.into_iter()
                .find(|row| row["what"] == what && row["limit"] == json!(at))
        };
        assert_eq!(crossed(mg_l * 0.999), None, "{what} {at}");
        let row = crossed(mg_l * 1.001).unwrap_or_else(|| panic!("{what} {at}"));
        assert!(
            row["source"]
                .as_str()
                .expect("a source")
                .starts_with(source)
        );
        assert!(!row["words"].as_str().expect("words").is_empty());
    }
}

/// Cations and anions of `half` meq/L each, apart by `open` meq/L.
fn apart(half: f64, open: f64) -> Value {
    json!({"unit": "meq/L", "alkalinity_meq_l": 0.0, "ph": 6.5,
        "holds": {"Na": half + open / 2.0, "Cl": half - open / 2.0}})
}

/// Doubted beyond 5 % of all charges, broken beyond 10 %, and neither within 0.05 meq/L, whatever
/// the percentage (common practice, no source).
#[test]
fn charges_are_judged_at_their_thresholds() {
    // (charges of either sign, open charge, percent, doubted, EC and pH told)
    for (half, open, percent, doubted, told) in [
        (1.0, 0.0998, 4.99, false, true),
        (1.0, 0.1002, 5.01, true, true),
        (1.0, -0.1002, -5.01, true, true),
        (1.0, 0.1998, 9.99, true, true),
        (1.0, 0.2002, 10.01, true, false),
        (1.0, -0.2002, -10.01, true, false),
        (0.1, 0.0499, 24.95, false, true),
        (0.1, 0.0501, 25.05, true, false),
    ] {
        let report = water(&json!({"water": apart(half, open)}));
        let case = format!("{half} {open}");
        let error = number(&report, "/balance/error_pct");
        assert!((error - percent).abs() < 1e-9, "{case}: {error}");
        let words = report["balance"]["words"].as_str().expect("words");
        assert_eq!(words.contains("without"), doubted, "{case}: {words}");
        assert_eq!(
            words == "cations and anions balance",
            !doubted,
            "{case}: {words}"
        );
        if doubted {
            let missing = if open > 0.0 { "sulfate" } else { "sodium" };
            assert!(words.contains(missing), "{case}: {words}");
        }
        assert_eq!(
            cautions(&report).contains("does not balance"),
            doubted,
            "{case}"
        );
        for path in [
            "/ec_ms_cm",
            "/ph_before/closed",
            "/ph_before/open",
            "/ph/closed",
            "/ph/open",
        ] {
            let is_told = report.pointer(path).is_some_and(Value::is_number);
            assert_eq!(is_told, told, "{case} {path}");
        }
        let said = cautions(&report).contains("EC and pH are not told");
        assert_eq!(said, !told, "{case}");
    }
}

/// Where the analysis does not name an alkalinity, that is what is looked for first.
#[test]
fn an_alkalinity_that_is_missing_is_asked_for() {
    let report = water(&json!({"water": {"holds": {"Ca": 96, "Mg": 19, "Cl": 33}, "ph": 7.4}}));
    let words = report["balance"]["words"].as_str().expect("words");
    assert!(
        words.contains("the alkalinity is missing, and is likely about that"),
        "{words}"
    );
    assert!(cautions(&report).contains("Ask the laboratory"));
    assert!(report["ec_ms_cm"].is_null());
    // Named as nothing, it is believed.
    let report = water(&json!({"water":
        {"holds": {"Ca": 96, "Mg": 19, "Cl": 33}, "ph": 7.4, "alkalinity_meq_l": 0}}));
    assert!(
        !report["balance"]["words"]
            .to_string()
            .contains("likely about that")
    );
}

/// No pH is told of a water that does not balance, also not beside a dose.
#[test]
fn a_dose_for_a_water_that_does_not_balance_has_no_ph() {
    let report = water(&json!({"acid": "nitric-acid-38", "water":
        {"holds": {"Ca": 96, "Na": 60}, "alkalinity_meq_l": 4.8, "ph": 7.4}}));
    assert!(number(&report, "/dose/ml_per_l") > 0.0);
    for path in [
        "/dose/ph/closed",
        "/dose/ph/open",
        "/doses/0/ph/closed",
        "/ph/closed",
    ] {
        assert_eq!(report.pointer(path), Some(&Value::Null), "{path}");
    }
}

/// The pH told is that of the temperature asked for, else of the water's own, else of 25 °C.
#[test]
fn ph_is_told_at_its_temperature() {
    let ask = |own: Value, asked: Value| {
        let mut request = json!({"acid": null, "water":
            {"holds": {"Ca": 50.1}, "alkalinity_meq_l": 2.5, "ph": 7.5, "temperature_c": own}});
        request["temperature_c"] = asked;
        water(&request)
    };
    let usual = ask(Value::Null, Value::Null);
    assert!((number(&usual, "/temperature_c") - 25.0).abs() < 1e-12);
    assert!((number(&usual, "/ph_before/closed") - 7.5).abs() < 1e-6);
    let cold = ask(json!(5), Value::Null);
    assert!((number(&cold, "/temperature_c") - 5.0).abs() < 1e-12);
    let warm = ask(json!(5), json!(35));
    assert!((number(&warm, "/temperature_c") - 35.0).abs() < 1e-12);
    // Cold carbonic acid is weaker: pK1 is 6.52 at 5 °C, 6.35 at 25, 6.31 at 35 (Plummer and
    // Busenberg 1982), and the pH moves with it.
    let ph = |report| number(report, "/ph_before/closed");
    let rise = ph(&cold) - ph(&usual);
    assert!((0.10..0.20).contains(&rise), "{rise}");
    let fall = ph(&usual) - ph(&warm);
    assert!((0.01..0.08).contains(&fall), "{fall}");
    // EC is told at 25 °C whatever the temperature.
    assert!((number(&cold, "/ec_ms_cm") / number(&warm, "/ec_ms_cm") - 1.0).abs() < 1e-12);
}

#[test]
fn pure_water_has_nothing_to_balance() {
    let report = answer(&json!({"job": "water", "water": "pure-water"}));
    assert_eq!(report["balance"]["words"], "nothing is dissolved in it");
    assert!(report["balance"]["error_pct"].is_null());
}
