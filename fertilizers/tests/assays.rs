//! The shipped fertilizer table against stoichiometry and handbooks.
//!
//! Every assay with a formula is held against the pure compound, every salt against its own
//! charges, every acid against published densities. `cargo test --test assays -- --nocapture`
//! prints each figure with our error.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use saltwright_fertilizers::{Composition, Fertilizer, Formula, Nutrient, Table};
use std::collections::{BTreeMap, BTreeSet};

/// From here on an assay counts as a grade of its own, percent of the pure figure.
const GRADE_PCT: f64 = 3.0;
/// No assay may promise more than the pure compound holds, percent of it, rounding included.
const MOST_PCT: f64 = 100.5;

const GRADES: &str = include_str!("../data/grades.csv");
const STOICHIOMETRY: &str = include_str!("../../tests/data/stoichiometry.csv");
const DENSITIES: &str = include_str!("../../tests/data/acid_density.csv");

fn shipped() -> Table {
    Table::shipped().unwrap_or_else(|faults| panic!("{}", faults[0]))
}

/// The rows of a table by column name.
fn records(text: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("a sound table")
}

fn number(record: &BTreeMap<String, String>, column: &str) -> f64 {
    let text = &record[column];
    text.parse()
        .unwrap_or_else(|_| panic!("{column} of {record:?}"))
}

fn percent_off(ours: f64, theirs: f64) -> f64 {
    100.0 * (ours - theirs) / theirs
}

/// What the formula holds at the strength sold: an acid is sold in water.
fn pure_at_strength(row: &Fertilizer) -> Option<Composition> {
    let pure = row.formula.as_ref()?.assay_pct();
    Some(pure * (row.strength_pct.unwrap_or(100.0) / 100.0))
}

/// Each nutrient of a row with its assay in percent of the pure figure.
fn against_pure(row: &Fertilizer) -> Vec<(Nutrient, f64)> {
    let Some(pure) = pure_at_strength(row) else {
        return Vec::new();
    };
    pure.iter()
        .filter(|(_, percent)| *percent > 0.0)
        .map(|(nutrient, percent)| (nutrient, 100.0 * row.assay_pct[nutrient] / percent))
        .collect()
}

/// Source of the pure figures: the formula and CIAAW 2021 abridged weights. Source of the limit:
/// common practice, no source; salts of 97 % and more are sold as pure, what lies below is a grade
/// whose reason stands in `data/grades.csv`.
#[test]
fn assays_of_salts_are_the_formula_less_impurity() {
    let graded = grades();
    let mut held = 0;
    for row in &shipped() {
        for (nutrient, share) in against_pure(row) {
            println!("{} {nutrient}: {share:.2} % of the pure figure", row.id);
            if !graded.contains(&row.id) {
                assert!(share >= 100.0 - GRADE_PCT, "{} {nutrient}", row.id);
                assert!(share <= MOST_PCT, "{} {nutrient}: {share:.2}", row.id);
                held += 1;
            }
        }
    }
    println!("{held} assays within {GRADE_PCT} % of their formulas");
    assert!(held > 70, "only {held} assays were held against a formula");
}

/// What a formula does not hold, its row does not promise.
#[test]
fn assays_name_nothing_that_the_formula_lacks() {
    for row in &shipped() {
        let Some(pure) = pure_at_strength(row) else {
            continue;
        };
        for (nutrient, percent) in row.assay_pct.iter() {
            assert!(
                percent == 0.0 || pure[nutrient] > 0.0,
                "{} {nutrient}",
                row.id
            );
        }
    }
}

fn grades() -> BTreeSet<String> {
    let rows = records(GRADES);
    for row in &rows {
        assert!(row["reason"].len() > 20, "{} has no reason", row["id"]);
    }
    rows.into_iter()
        .map(|mut row| row.remove("id").unwrap())
        .collect()
}

/// The list of commercial grades is exactly the list of rows that are none of their formula: it
/// can neither miss one nor keep one that has been corrected.
#[test]
fn the_list_of_grades_is_complete_and_has_no_more() {
    let differing: BTreeSet<String> = shipped()
        .iter()
        .filter(|row| {
            let off = |(_, share): &(Nutrient, f64)| (share - 100.0).abs() > GRADE_PCT;
            against_pure(row).iter().any(off)
        })
        .map(|row| row.id.clone())
        .collect();
    assert_eq!(differing, grades());
}

/// Whatever dissolves is neutral: cations and protons carry what anions carry. Source: the charges
/// of the ions; 0.5 % is what two decimals of an assay can hide.
#[test]
fn what_dissolves_is_neutral() {
    for row in &shipped() {
        if row.formula.is_none() || !row.is_charted() {
            continue;
        }
        let (cations, anions) = row.charges_meq_per_g();
        let charge = cations.max(anions).max(row.acid_meq_per_g().abs());
        let open = cations + row.acid_meq_per_g() - anions;
        println!("{}: {open:+.5} of {charge:.3} meq/g open", row.id);
        assert!(open.abs() <= 0.005 * charge, "{}: {open}", row.id);
    }
}

/// The test above can fail: rounded prints are not neutral. Source of the print: ARSIA, Quaderno
/// 5/2004, Table 6, potassium nitrate N 13 and K 38.1; 38.1/39.098 against 13/14.007 mmol/g leave
/// 5.0 % of the anion charge open.
#[test]
fn rounded_prints_are_not_neutral() {
    let text = "id,name,formula,NO3-N,K\nkn,potassium nitrate as printed,KNO3,13,38.1\n";
    let table = Table::read_csv("print", text).unwrap_or_else(|faults| panic!("{}", faults[0]));
    let (cations, anions) = table.get("kn").unwrap().charges_meq_per_g();
    let open = percent_off(cations, anions);
    assert!((open - 5.0).abs() < 0.01, "{open}");
}

/// Source: molmass 2026.1.8, a general chemistry library, from the same formulas with its own
/// atomic weights (S 32.0648 against our 32.06: 0.015 %); five digits are kept.
#[test]
fn pure_compounds_hold_what_a_reference_library_says() {
    let rows = records(STOICHIOMETRY);
    assert!(rows.len() > 80);
    let mut worst: f64 = 0.0;
    for row in &rows {
        let formula = Formula::parse(&row["formula"]).unwrap_or_else(|error| panic!("{error}"));
        let nutrient = nutrient(&row["element"]);
        let off = percent_off(formula.assay_pct()[nutrient], number(row, "percent"));
        println!("{} {nutrient}: {off:+.4} %", row["formula"]);
        assert!(off.abs() < 0.03, "{} {nutrient}: {off:+.4} %", row["name"]);
        worst = worst.max(off.abs());
    }
    println!("{} figures, worst {worst:.4} %", rows.len());
}

/// The nutrient of an element column: the reference writes `N-NO3` for NO3-N.
fn nutrient(element: &str) -> Nutrient {
    let key = match element {
        "N-NO3" => "NO3-N",
        "N-NH4" => "NH4-N",
        "N-urea" => "urea-N",
        other => other,
    };
    Nutrient::from_key(key).unwrap_or_else(|| panic!("{element}"))
}

/// Mass of a mole and equivalents to the carbonic end point. Source: molmass 2026.1.8.
const ACIDS: [(&str, f64, f64); 3] = [
    ("HNO3", 63.013, 1.0),
    ("H3PO4", 97.995, 1.0),
    ("H2SO4", 98.078, 2.0),
];

/// The published range of densities at a strength: as printed, or between the two prints beside it.
fn published_density(acid: &str, strength_pct: f64) -> (f64, f64) {
    let printed: Vec<(f64, f64, f64)> = records(DENSITIES)
        .iter()
        .filter(|row| row["acid"] == acid && row["temperature_c"] == "20")
        .map(|row| {
            let [strength, low, high] =
                ["strength_pct", "low_g_per_ml", "high_g_per_ml"].map(|column| number(row, column));
            (strength, low, high)
        })
        .collect();
    let at = printed.partition_point(|row| row.0 < strength_pct);
    let upper = printed[at];
    if (upper.0 - strength_pct).abs() < 1e-9 {
        return (upper.1, upper.2);
    }
    let lower = printed[at - 1];
    assert!(
        upper.0 - lower.0 <= 10.0,
        "{acid} {strength_pct} %: prints too far apart"
    );
    let along = (strength_pct - lower.0) / (upper.0 - lower.0);
    let between = |a: f64, b: f64| a + along * (b - a);
    (between(lower.1, upper.1), between(lower.2, upper.2))
}

/// Prints that we do not follow: sulfuric acid of 93 % is shipped with 1.835, as one copied acid
/// table prints its specific gravity; the handbook figure (from memory) is 0.39 % less.
const NAMED: [(&str, f64); 1] = [("sulfuric-acid-93", 0.39)];

/// Acid equivalents in a litre of each shipped acid, against density and strength as published.
/// Sources beside each figure in `tests/data/acid_density.csv`. 0.2 % is the sag of a density curve
/// over ten percent (0.1 %) and the third decimal of ours.
#[test]
fn acids_have_published_density_and_strength() {
    let mut held = 0;
    for row in &shipped() {
        let Some((acid, mass, equivalents)) = ACIDS
            .into_iter()
            .find(|(formula, ..)| row.formula.as_ref().is_some_and(|f| f.text() == *formula))
        else {
            continue;
        };
        let strength = row.strength_pct.expect("an acid has a strength");
        let ours = row.acid_meq_per_g() * row.density_g_per_ml.expect("a density");
        let per_density = 10.0 * strength / mass * equivalents;
        let (low, high) = published_density(acid, strength);
        let off = percent_off(ours, ours.clamp(per_density * low, per_density * high));
        println!("{}: {ours:.3} eq/L, {off:+.2} %", row.id);
        match NAMED.iter().find(|(id, _)| *id == row.id) {
            Some((_, named)) => assert!((off - named).abs() < 0.02, "{}: {off:+.2} %", row.id),
            None => assert!(off.abs() < 0.2, "{}: {off:+.2} %", row.id),
        }
        held += 1;
    }
    assert_eq!(
        held, 9,
        "nitric, phosphoric and sulfuric acids of the table"
    );
}
