//! What a laboratory found against what the label promises.

use super::*;

/// Sources: `tests/data/sources.csv`, LABEL-…; P published, others computed from the tables read.
#[test]
fn verdicts_of_laboratory_findings() {
    let table = include_str!("../data/label_verdicts.csv");
    let (mut cases, mut verdicts) = (0, 0);
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [id, convention, form, guarantee, found, expected, points] = cells[..] else {
            panic!("{line}");
        };
        let report = judge(convention, form, guarantee, found);
        cases += 1;
        for want in expected.split(' ') {
            let (key, want) = want.split_once(':').expect("key:verdict");
            verdicts += 1;
            if let Some((verdict, value)) = want.split_once('=') {
                let value: f64 = value.parse().expect("a number");
                let got = number(&report, &format!("/{key}/value"));
                assert!((got - value).abs() < 0.005, "{id} {key}: {got} for {value}");
                assert_eq!(report[key]["verdict"], verdict, "{id} {key}");
                continue;
            }
            let row = row(&report, key);
            let (verdict, differs) = want.split_once('+').unwrap_or((want, ""));
            assert_eq!(row["verdict"], verdict, "{id} {key}: {row}");
            let others = row["readings"].as_array().expect("a list");
            for other in others {
                let name = other["name"].as_str().expect("a name");
                let same = other["verdict"] == row["verdict"];
                assert_eq!(same, name != differs, "{id} {key}: {row}");
            }
            if !differs.is_empty() {
                let told = row["reading"].as_str().expect("the reading used");
                assert!(told.contains(&format!("differ: {differs}")), "{id}: {told}");
            }
        }
        let (below, above) = points.split_once('/').unwrap_or((points, ""));
        if let Ok(below) = below.parse::<f64>() {
            let key = expected.split(':').next().expect("a key");
            let row = row(&report, key);
            let got = row["allowance"].as_f64().expect("points");
            assert!((got - below).abs() < 6e-5, "{id}: {got} for {below}");
            if let Ok(above) = above.parse::<f64>() {
                let got = row["allowance_above"].as_f64().expect("points");
                assert!((got - above).abs() < 6e-5, "{id}: {got} for {above}");
            }
        }
    }
    println!("{cases} labels, {verdicts} verdicts as published or computed from the tables");
    assert_eq!(cases, 67);
}

#[test]
fn what_was_not_read_is_not_judged() {
    for (convention, key) in [
        ("de", "N"),
        ("uk", "N"),
        ("au", "N"),
        ("ca", "N"),
        ("elements", "N"),
        ("eu", "Cl"),
        ("us", "Ni"),
        ("us-md", "NO3-N"),
        ("eu-2003", "N"),
    ] {
        let report = judge(
            convention,
            "solid",
            &format!("{key}=5"),
            &format!("{key}=1"),
        );
        assert_eq!(row(&report, key)["verdict"], "not-judged", "{convention}");
        assert!(row(&report, key)["allowance"].is_null(), "{convention}");
    }
    // EC 2003/2003 judges a straight fertilizer by its type: urea 0.4 points.
    let urea = answer(&json!({
        "job": "label", "convention": "eu-2003", "guarantee": {"N": 46}, "found": {"N": 45.5},
        "ingredients": ["urea"],
    }));
    assert_eq!(row(&urea, "N")["verdict"], "deficient");
    // Above its last row the statute's table is frozen, and the report says so.
    let above = judge("us", "solid", "P2O5=52 K2O=34", "P2O5=51.5");
    let told = row(&above, "P2O5")["reading"].as_str().expect("a reading");
    assert!(told.contains("32 or more"), "{told}");
}

/// 10-5-5 found as 9-5-5: (3 x 9 + 2 x 5 + 5)/(3 x 10 + 2 x 5 + 5) = 93.3 % of the value promised.
/// Weights from memory; limit as in tests/data/label_verdicts.csv.
#[test]
fn the_whole_may_be_deficient() {
    let overall = |found: &str| judge("us", "solid", "N=10 P2O5=5 K2O=5", found)["index"].clone();
    let short = overall("N=9 P2O5=5 K2O=5");
    assert!(
        (number(&short, "/value") - 100.0 * 42.0 / 45.0).abs() < 1e-6,
        "{short}"
    );
    assert_eq!(short["verdict"], "deficient");
    assert_eq!(overall("N=10 P2O5=5 K2O=5")["verdict"], "within");
    // Exactly at the limit is enough.
    assert_eq!(overall("N=9.7 P2O5=5 K2O=5")["verdict"], "within");
}

/// What a meter may have meant: 2 % of 1.3 mS/cm and a digit of 0.01 either way.
#[test]
fn a_reading_is_as_wide_as_its_meter_and_its_digit() {
    let report = answer(&json!({"job": "label", "convention": "us",
        "guarantee": {"N": 10, "P2O5": 5, "K2O": 5},
        "meter": {"g_per_l": 1, "ec_ms_cm": 1.3, "meter_pct": 2}}));
    let end = |key: &str| number(&report, &format!("/meter/reading_{key}ms_cm"));
    assert!((end("low_") - 1.264).abs() < 1e-9 && (end("high_") - 1.336).abs() < 1e-9);
    assert!((end("") - 1.3).abs() < 1e-12);
}

/// A dose by mass and by volume has to be one dose: 2 mL of 1.25 g/mL are 2.5 g.
#[test]
fn a_dose_in_grams_and_millilitres_is_one() {
    let ask = |g_per_l: f64| {
        answer(
            &json!({"job": "label", "convention": "us", "form": "liquid",
            "guarantee": {"N": 3, "P2O5": 2, "K2O": 4}, "density_g_per_ml": 1.25,
            "meter": {"g_per_l": g_per_l, "ml_per_l": 2, "ec_ms_cm": 0.5}}),
        )
    };
    assert!(ask(2.5)["refusal"].is_null(), "{}", ask(2.5));
    let refused = ask(3.0);
    assert_eq!(refused["refusal"]["where"], "meter.ml_per_l", "{refused}");
}
