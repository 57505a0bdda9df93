//! Acid to a pH: reached, refused, and never farther with more acid.

use super::*;

/// A pH, right after mixing or in balance with air, for every recipe in every water: reached within
/// 0.005 where acid and base are at hand.
#[test]
fn every_recipe_reaches_its_ph_in_every_water() {
    let library = library();
    let mut shelf: Vec<String> = library
        .fertilizers
        .iter()
        .filter(|row| row.common)
        .map(|row| row.id.clone())
        .collect();
    shelf.push("potassium-hydroxide".into());
    shelf.push("potassium-bicarbonate".into());
    let (mut reached, mut all) = (0, 0);
    for water in waters(library) {
        for recipe in recipes(library) {
            for (end, ph) in [
                ("closed", 5.5),
                ("closed", 5.8),
                ("closed", 6.2),
                ("open", 5.5),
                ("open", 6.2),
            ] {
                let case = format!("{recipe} in {water} to {ph} {end}");
                let report = formulate(json!({"recipe": recipe, "water": water,
                    "fertilizers": shelf, "acid_to": {"ph": ph, "end": end}}));
                assert!(report["refusal"].is_null(), "{case}: {report}");
                all += 1;
                let found = number(&report, &format!("/ph/{end}"));
                if (found - ph).abs() <= 0.005 {
                    reached += 1;
                } else {
                    println!(
                        "{case}: {found} {} {} {}",
                        report["outcome"], report["acidity"], report["conflict"]
                    );
                }
            }
        }
    }
    println!("{reached} of {all} reached the pH");
    assert_eq!(reached, all);
}

/// With the acids of the common shelf and no base, a pH is reached or the acidity is the conflict,
/// in words; never is another pH passed off as the one asked for.
#[test]
fn a_ph_is_reached_or_a_conflict() {
    let library = library();
    let (mut reached, mut conflicts) = (0, 0);
    for water in waters(library) {
        for recipe in recipes(library) {
            for end in ["closed", "open"] {
                let case = format!("{recipe} in {water} {end}");
                let report = formulate(json!({"recipe": recipe, "water": water,
                    "acid_to": {"ph": 5.8, "end": end}}));
                assert!(report["refusal"].is_null(), "{case}: {report}");
                let off = number(&report, &format!("/ph/{end}")) - 5.8;
                if off.abs() <= 0.005 {
                    reached += 1;
                    continue;
                }
                conflicts += 1;
                assert_eq!(report["outcome"], "outside-bands", "{case}: {off}");
                let rows = report["conflict"].as_array().expect("rows");
                let acidity = rows.iter().find(|row| row["nutrient"] == "acidity");
                let words = acidity.and_then(|row| row["words"].as_str());
                assert!(
                    words.is_some_and(|words| words.contains("acid")),
                    "{case}: {rows:?}"
                );
            }
        }
    }
    println!("{reached} reached the pH with acid alone, {conflicts} need a base or more room");
    assert!(reached > 200 && conflicts > 0);
}

/// Where neither acid nor base may be used, the pH is a conflict of the acidity, in words.
#[test]
fn a_ph_without_acid_is_a_conflict() {
    let report = formulate(
        json!({"recipe": "sonneveld-modified-lettuce", "water": "quarry-end-well",
        "without": ["nitric-acid-38", "phosphoric-acid-75"], "acid_to": {"ph": 5.8}}),
    );
    assert_eq!(report["outcome"], "outside-bands");
    let rows = report["conflict"].as_array().expect("rows");
    let row = rows
        .iter()
        .find(|row| row["nutrient"] == "acidity")
        .expect("a conflict");
    assert!(
        row["words"].as_str().expect("words").contains("acid"),
        "{row}"
    );
    assert!(
        report["mended_by"].to_string().contains("nitric-acid"),
        "{}",
        report["mended_by"]
    );
    // The usual residual is not asked for exactly, so it is no conflict, but it is said.
    let usual = formulate(
        json!({"recipe": "sonneveld-modified-lettuce", "water": "quarry-end-well",
        "without": ["nitric-acid-38", "phosphoric-acid-75"]}),
    );
    assert!(usual["cautions"].to_string().contains("No acid is allowed"));
    // Acidity switched off beside a pH: no row, and it is said.
    let off = formulate(
        json!({"recipe": "sonneveld-modified-lettuce", "water": "quarry-end-well",
        "acid": null, "acid_to": {"ph": 5.8}}),
    );
    assert!(
        off["acidity"].is_null()
            && off["cautions"]
                .to_string()
                .contains("pH 5.8 was not sought"),
        "{off}"
    );
}

#[test]
fn what_acid_is_for_is_read_strictly() {
    for (acid_to, kind, place) in [
        (
            json!({"ph": 5.8, "end": "opened"}),
            "unknown-name",
            "acid_to.end",
        ),
        (json!({"ph": 5.8, "end": 1}), "unreadable", "acid_to.end"),
        (json!({"ph": 15}), "too-large", "acid_to.ph"),
        (json!({"ph": -1}), "negative", "acid_to.ph"),
        (
            json!({"ph": 5.8, "residual_meq_l": 0.5}),
            "contradiction",
            "acid_to",
        ),
        (
            json!({"residual_meq_l": -0.5}),
            "negative",
            "acid_to.residual_meq_l",
        ),
        (
            json!({"ph": 5.8, "ende": "open"}),
            "unknown-name",
            "acid_to.ende",
        ),
    ] {
        let refusal =
            formulate(json!({"recipe": "steiner", "acid_to": acid_to}))["refusal"].clone();
        assert_eq!(
            (&refusal["kind"], &refusal["where"]),
            (&json!(kind), &json!(place)),
            "{acid_to}: {refusal}"
        );
    }
}
