//! Published worked examples, run through the program.
//!
//! `tests/data/worked.csv` holds each case as printed (READ) and as recomputed with a general
//! reference library (COMPUTED, molmass); `tests/data/sources.csv` holds the citation of every
//! source id. `cargo test published -- --nocapture` prints our error beside each figure.

use crate::common::{answer, delivered, grams, row};
use saltwright_fertilizers::Formula;
use saltwright_fertilizers::units::{GRAMS_PER_OUNCE, LITRES_PER_US_GALLON};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Largest deviation from a print that is right, relative.
const PRINT: f64 = 0.005;
/// Largest deviation from a recomputed figure, relative: weights of S, Mo and B differ by up to
/// 0.02 % between the two sets of atomic weights.
const RECOMPUTED: f64 = 0.001;

/// Cases of which the print holds no result to compare with, and why.
const WITHOUT_RESULT: [(&str, &str); 6] = [
    (
        "UFLA-TOMATO-B",
        "same micronutrient dose as UFLA-TOMATO-A, whose results stand for all",
    ),
    (
        "UFLA-CUCUMBER-A",
        "same micronutrient dose as UFLA-TOMATO-A",
    ),
    (
        "UFLA-CUCUMBER-B",
        "same micronutrient dose as UFLA-TOMATO-A",
    ),
    ("KNOP-SCHOOL", "prints salts only"),
    (
        "PURDUE-EC",
        "arithmetic on EC readings, no fertilizer named",
    ),
    (
        "LAMOLINA",
        "its grams are from memory; only the recipe is read",
    ),
];

/// Cases checked one by one below.
const BY_HAND: [&str; 10] = [
    "STEINER",
    "ID-220L",
    "ID-CA200",
    "TR-STRAVER",
    "TAMU-1",
    "TAMU-2",
    "TAMU-3",
    "SHINSHU",
    "IN-BLOG",
    "ARGO-5",
];

/// Prints that are wrong or rounded beyond use: case, nutrient, printed less ours in percent, why.
const NAMED_WRONG: [(&str, &str, f64, &str); 1] = [(
    "SAPS-FE",
    "Fe",
    122.2,
    "about 3 mg/L holds for the pure chelate only; a 6 % product gives 1.35",
)];

/// What the prints leave out: case, words in the salt's name, formula or assay, the assumption.
/// The hydrates are those that the recomputed figures assume (notes of worked.csv).
const ASSUMED: [(&str, &str, &str); 21] = [
    ("SAPS-FE", "EDDHA", "Fe 6"),
    (
        "*",
        "calcium nitrate (double salt)",
        "NO3-N 14.5; NH4-N 1; Ca 19",
    ),
    ("VN-HOAG", "calcium nitrate", "Ca(NO3)2.4H2O"),
    ("KR-LETTUCE", "calcium nitrate", "Ca(NO3)2.4H2O"),
    ("*", "calcium nitrate", "NO3-N 14.4; NH4-N 1.1; Ca 19"),
    ("*", "magnesium sulfate", "MgSO4.7H2O"),
    ("ID-AB-LEAF", "manganese sulfate", "MnSO4.H2O"),
    ("VN-HOAG", "manganese sulfate", "MnSO4.H2O"),
    ("*", "manganese sulfate", "MnSO4.4H2O"),
    ("*", "manganese chloride", "MnCl2.4H2O"),
    ("*", "zinc sulfate", "ZnSO4.7H2O"),
    ("*", "copper sulfate", "CuSO4.5H2O"),
    ("*", "sodium molybdate", "Na2MoO4.2H2O"),
    ("*", "molybdate", "(NH4)6Mo7O24.4H2O"),
    ("*", "potassium nitrate", "KNO3"),
    ("*", "monopotassium phosphate", "KH2PO4"),
    ("*", "monoammonium phosphate", "NH4H2PO4"),
    ("*", "ammonium sulfate", "(NH4)2SO4"),
    ("*", "potassium sulfate", "K2SO4"),
    ("*", "boric acid", "H3BO3"),
    ("*", "ferrous sulfate", "FeSO4.7H2O"),
];

#[derive(Clone, Debug)]
struct Line {
    kind: String,
    name: String,
    formula: String,
    assay: String,
    value: f64,
    print: String,
    unit: String,
    status: String,
}

fn cases() -> BTreeMap<String, Vec<Line>> {
    let mut cases: BTreeMap<String, Vec<Line>> = BTreeMap::new();
    let mut table = csv::Reader::from_reader(include_str!("data/worked.csv").as_bytes());
    for record in table.records() {
        let record = record.expect("a row");
        let cell = |at: usize| record.get(at).unwrap_or_default().to_owned();
        let value = cell(5).parse().unwrap_or(f64::NAN);
        cases.entry(cell(0)).or_default().push(Line {
            kind: cell(1),
            name: cell(2),
            formula: cell(3),
            assay: cell(4),
            value,
            print: cell(5),
            unit: cell(6),
            status: cell(8),
        });
    }
    cases
}

fn molar_mass(formula: &str) -> f64 {
    Formula::parse(formula)
        .unwrap_or_else(|why| panic!("{why}"))
        .molar_mass()
}

/// `NO3-N 14.5; N-NH4 1` as an assay object.
fn assay(text: &str) -> Option<Value> {
    let pairs: Option<Vec<(String, f64)>> = text
        .split(';')
        .map(|part| {
            let (name, percent) = part.trim().split_once(' ')?;
            let key = match name {
                "N-NO3" => "NO3-N",
                "N-NH4" => "NH4-N",
                other => other,
            };
            Some((key.to_owned(), percent.parse().ok()?))
        })
        .collect();
    let pairs = pairs.filter(|pairs| pairs.iter().all(|(key, _)| key != "N"))?;
    Some(
        pairs
            .into_iter()
            .map(|(key, percent)| (key, json!(percent)))
            .collect(),
    )
}

/// A fertilizer object for a line: what is printed first, then what is assumed.
fn fertilizer(case: &str, line: &Line, id: &str) -> Value {
    if line.assay == "85% MoO3" {
        // Molybdic acid is sold by its content of MoO3.
        let molybdenum = 85.0 * 95.95 / molar_mass("MoO3");
        return json!({"id": id, "assay_pct": {"Mo": molybdenum}});
    }
    if let Some(percent) = line.assay.strip_suffix("% Fe") {
        return json!({"id": id, "assay_pct": {"Fe": percent}});
    }
    if let Some(assay) = assay(&line.assay) {
        return json!({"id": id, "assay_pct": assay});
    }
    let plain = line.formula.split([' ', ',']).next().unwrap_or_default();
    let hydrate_unknown = line.formula.contains("fits") && line.formula.contains("hydrate)");
    if !plain.is_empty() && !hydrate_unknown && Formula::parse(plain).is_ok() {
        return json!({"id": id, "formula": plain});
    }
    if line.name.contains("EDTA (tank A)") || line.name == "Fe-EDTA" {
        return json!({"id": id, "assay_pct": {"Fe": 13}});
    }
    if line.name == "Fe EDTA" {
        return json!({"id": id, "formula": "NaFe(EDTA)"});
    }
    if line.name.contains("iron chelate") && case != "SAPS-FE" {
        return json!({"id": id, "assay_pct": {"Fe": 10}});
    }
    if line.name.contains("potassium chloride") {
        return json!({"id": id, "formula": "KCl"});
    }
    if line.name.contains("sodium EDTA") {
        return json!({"id": id, "formula": "Na2H2(EDTA).2H2O"});
    }
    let (_, _, what) = ASSUMED
        .iter()
        .find(|(of, words, _)| (*of == case || *of == "*") && line.name.contains(words))
        .unwrap_or_else(|| panic!("{case}: what is {}?", line.name));
    match assay(what) {
        Some(assay) => json!({"id": id, "assay_pct": assay}),
        None => json!({"id": id, "formula": what}),
    }
}

/// Grams per litre of finished solution.
fn g_per_l(case: &str, line: &Line) -> f64 {
    let value = line.value;
    match line.unit.as_str() {
        "g/1000 L" | "mg/L" | "g/L of micro stock dosed 1 mL/L" => value / 1000.0,
        "mL/L" => value / 1000.0 * molar_mass(&line.formula),
        "g/450 mL of stock dosed 150 mL/1000 L" => value / 450.0 * 150.0 / 1000.0,
        "g/L of 1:100 stock" => value / 100.0,
        "g/L" if case == "SAPS-FE" => value * 1.5 / 1000.0,
        "g/L" if case == "HA50LAB-FE" => value * 0.25 / 1000.0,
        other => panic!("{case}: {other}"),
    }
}

/// The mix of a case and the fertilizers it needs, in the order of its lines.
fn mix(case: &str, lines: &[Line]) -> (Vec<Value>, Vec<Value>, Vec<String>) {
    let (mut fertilizers, mut mix, mut names) = (Vec::new(), Vec::new(), Vec::new());
    for line in lines
        .iter()
        .filter(|line| ["input_salt", "stock"].contains(&line.kind.as_str()))
    {
        if case == "ARSIA-T7" && line.kind == "stock" {
            continue;
        }
        if line.unit == "L/1000 L" {
            // 24.1 g of iron sulfate and 25.1 g of sodium EDTA a litre, hydrates not printed.
            for (name, formula, grams) in [
                ("iron sulfate", "FeSO4.7H2O", 24.1),
                ("sodium EDTA", "Na2H2(EDTA).2H2O", 25.1),
            ] {
                let id = format!("s{}", mix.len());
                fertilizers.push(json!({"id": id, "formula": formula}));
                mix.push(json!({"id": id, "g_per_l": grams * line.value / 1000.0}));
                names.push(name.to_owned());
            }
            continue;
        }
        let id = format!("s{}", mix.len());
        let grams = || g_per_l(case, line);
        let mut line = line.clone();
        if case == "ID-SAWI" && line.name == "manganese sulfate" {
            // 3.109 is a misprint for 8.109, which its own sulfur line uses.
            line.value = 8.109;
        }
        let amount = if case == "ARSIA-T7" && line.name == "nitric acid" {
            // 65 % by mass at 1.41 g/mL is what its 26.9 mg/L of N needs.
            line.value * 1.41
        } else if case == "ID-SAWI" {
            g_per_l(case, &line)
        } else {
            grams()
        };
        fertilizers.push(if line.name == "nitric acid" {
            json!({"id": id, "formula": "HNO3", "strength_pct": 65})
        } else {
            fertilizer(case, &line, &id)
        });
        mix.push(json!({"id": id, "g_per_l": amount}));
        names.push(line.name.clone());
    }
    (fertilizers, mix, names)
}

fn predicted(fertilizers: &[Value], mix: &[Value], water: &Value) -> Value {
    let report = answer(&json!({
        "job": "predict", "fertilizers": fertilizers, "mix": mix, "water": water,
    }));
    assert!(report.get("refusal").is_none(), "{report}");
    report
}

fn key(name: &str) -> &str {
    match name {
        "N-NO3" => "NO3-N",
        "N-NH4" => "NH4-N",
        "HCO3 neutralized" => "acid",
        other => other,
    }
}

fn water_of(case: &str) -> Value {
    if case == "ARSIA-T7" {
        json!({"hco3_mg_l": 150, "holds": {"K": 3.5, "Ca": 61, "Mg": 18, "S": 10}})
    } else {
        json!({"holds": {}})
    }
}

/// Half of the last printed digit.
fn half_a_digit(print: &str) -> f64 {
    let decimals = print
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len());
    0.5 * 10_f64.powi(-i32::try_from(decimals).unwrap_or(0))
}

#[test]
fn every_worked_example_is_reproduced_or_named() {
    let (mut reproduced, mut figures, mut wrong) = (0, 0, 0);
    for (case, lines) in cases() {
        let listed = WITHOUT_RESULT.iter().any(|(known, _)| *known == case);
        if listed || BY_HAND.contains(&case.as_str()) {
            continue;
        }
        reproduced += 1;
        let (fertilizers, mix, names) = mix(&case, &lines);
        let report = predicted(&fertilizers, &mix, &water_of(&case));
        for line in lines.iter().filter(|line| line.kind == "result") {
            let Some(ours) = ours(&case, line, &report, &fertilizers, &mix, &names) else {
                continue;
            };
            figures += 1;
            let off = 100.0 * (line.value - ours) / ours;
            println!(
                "{case} {} {}: printed {} ours {ours:.5}, {off:+.2} %",
                line.status, line.name, line.print
            );
            let named = NAMED_WRONG
                .iter()
                .find(|(c, n, ..)| *c == case && *n == line.name && line.status == "READ");
            if let Some((_, _, percent, why)) = named {
                wrong += 1;
                println!("  named wrong: {why}");
                assert!((off - percent).abs() < 0.5, "{case} {}: {off}", line.name);
                continue;
            }
            let allowed = match line.status.as_str() {
                "COMPUTED" => RECOMPUTED * line.value,
                "READ" => (PRINT * line.value).max(half_a_digit(&line.print)),
                // From memory: shown, not trusted beyond two digits.
                _ => (0.012 * line.value).max(half_a_digit(&line.print)),
            };
            let miss = (line.value - ours).abs();
            assert!(miss <= allowed * 1.000_001, "{case} {line:?}: ours {ours}");
        }
    }
    println!("{reproduced} cases, {figures} figures, {wrong} named wrong");
    assert!(
        reproduced >= 17 && figures >= 200,
        "{reproduced} cases, {figures} figures"
    );
    assert_eq!(wrong, NAMED_WRONG.len());
    let known = cases().len();
    assert_eq!(
        known,
        reproduced + WITHOUT_RESULT.len() + BY_HAND.len(),
        "each case once"
    );
}

/// Our figure for a result line; `None` for what is another reading of the same line.
fn ours(
    case: &str,
    line: &Line,
    report: &Value,
    fertilizers: &[Value],
    mix: &[Value],
    names: &[String],
) -> Option<f64> {
    let skipped = [
        // The same masses with pure salts instead of printed assays: another question.
        "pure-salt stoichiometry",
        // Its own iron products, checked by the 6 % line.
        "12.83% Fe (pure NaFeEDDHA)",
    ];
    if skipped.contains(&line.assay.as_str()) || line.name.starts_with("K from KOH") {
        return None;
    }
    if let Some((nutrient, salt)) = line.name.split_once(" from ") {
        let salt = match salt {
            "Ca(NO3)2" => "calcium nitrate",
            "KNO3" => "potassium nitrate",
            "NH4H2PO4" => "monoammonium phosphate",
            other => other,
        };
        let at = names.iter().position(|name| name.starts_with(salt))?;
        let alone = predicted(fertilizers, &mix[at..=at], &json!({"holds": {}}));
        return Some(delivered(&alone, key(nutrient)));
    }
    let nutrient = key(&line.name);
    if nutrient == "acid" {
        let left = report["alkalinity_meq_l"].as_f64()?;
        return Some(150.0 / 61.016 - left);
    }
    if case == "HOAG1" && line.print == "0.011" {
        return Some(delivered(report, "Mo"));
    }
    let mg = delivered(report, nutrient);
    Some(match line.unit.as_str() {
        "meq/L" => {
            // These tables count phosphorus as PO4 3-.
            let (weight, charge) = match nutrient {
                "P" => (30.974, 3.0),
                "K" => (39.098, 1.0),
                "Ca" => (40.078, 2.0),
                "Mg" => (24.305, 2.0),
                _ => (14.007, 1.0),
            };
            mg / weight * charge
        }
        _ => mg,
    })
}

/// Source: Lara-Herrera et al. (2023), Bioagro 35(2):113-122: 60:5:35 and 35:45:20 % of charge;
/// salts: table 4.9 of a Vietnamese book chapter (sources.csv VN-BOOK4). KOH counts as a base.
#[test]
fn steiner_keeps_its_ratios() {
    let lines = &cases()["STEINER"];
    let (fertilizers, mix, _) = mix("STEINER", lines);
    let report = predicted(&fertilizers, &mix, &json!({"holds": {}}));
    let meq =
        |nutrient: &str, weight: f64, charge: f64| delivered(&report, nutrient) / weight * charge;
    let anions = [
        meq("NO3-N", 14.007, 1.0),
        meq("P", 30.974, 1.0),
        meq("S", 32.06, 2.0),
    ];
    let cations = [
        meq("K", 39.098, 1.0),
        meq("Ca", 40.078, 2.0),
        meq("Mg", 24.305, 2.0),
    ];
    for (charges, wanted) in [(anions, [60.0, 5.0, 35.0]), (cations, [35.0, 45.0, 20.0])] {
        let sum: f64 = charges.iter().sum();
        for (charge, percent) in charges.iter().zip(wanted) {
            let ours = 100.0 * charge / sum;
            println!("STEINER {percent}: ours {ours:.3}");
            assert!(
                (ours - percent).abs() <= 0.005 * percent,
                "{percent}: {ours}"
            );
        }
    }
    let base = report["alkalinity_meq_l"].as_f64().expect("a number");
    assert!((base - 23.0 / 56.105).abs() < 1e-3, "{base}");
}

/// The cases whose print is a mass, a molarity or US arithmetic; sources.csv names each source.
#[test]
fn masses_and_molarities_of_the_prints() {
    let close = |what: &str, printed: f64, ours: f64, allowed: f64| {
        let off = 100.0 * (printed - ours) / ours;
        println!("{what}: printed {printed} ours {ours:.4}, {off:+.2} %");
        assert!(off.abs() <= allowed, "{what}: {off} %");
    };
    // ID-220L: mL of 1 mol/L stock for 220 L, printed as grams of the anhydrous salts.
    for (formula, ml_per_l, grams) in [
        ("Ca(NO3)2", 5.0, 180.4),
        ("KNO3", 5.0, 111.1),
        ("MgSO4", 2.0, 52.8),
        ("KH2PO4", 1.0, 29.92),
    ] {
        close(
            "ID-220L",
            grams,
            ml_per_l / 1000.0 * 220.0 * molar_mass(formula),
            0.5,
        );
    }
    // ID-CA200: 820 mg of anhydrous calcium nitrate for 200 mg/L; greenhouse grade gives 155.8.
    close(
        "ID-CA200",
        820.0,
        200.0 * molar_mass("Ca(NO3)2") / 40.078,
        0.5,
    );
    close("ID-CA200 hydrate trap", 155.8, 820.0 * 0.19, 0.01);
    // TR-STRAVER: 3.7 mmol/L; 87.6 g/L of stock is a misprint for 87.36.
    let feed = 3.7 * molar_mass("Ca(NO3)2.4H2O");
    close("TR-STRAVER", 873.6, feed, 0.5);
    close("TR-STRAVER stock", 87.36, feed / 10.0, 0.5);
    let misprint: f64 = 100.0 * (87.6 - 87.36) / 87.36;
    assert!(
        (misprint - 0.27).abs() < 0.01,
        "named wrong: 87.6 for 87.36"
    );
    // SHINSHU: grams in 50 mL, printed as 500, 500 and 200 mmol/L.
    for (formula, grams, printed) in [
        ("KNO3", 2.528, 500.0),
        ("Ca(NO3)2.4H2O", 5.904, 500.0),
        ("MgSO4.7H2O", 2.465, 200.0),
    ] {
        close(
            "SHINSHU",
            printed,
            grams / 0.05 / molar_mass(formula) * 1000.0,
            0.5,
        );
    }
    // TAMU: 1 oz in 100 US gallons of a 15 % product, printed with the factor 75.
    let ounce = GRAMS_PER_OUNCE * 1000.0 / (100.0 * LITRES_PER_US_GALLON);
    close("TAMU-1 factor", 75.0, ounce, 0.5);
    close("TAMU-1", 11.25, 0.15 * ounce, 0.5);
    close(
        "TAMU-2, rounded to whole ounces",
        22.0,
        250.0 / (0.15 * ounce),
        2.3,
    );
    // TAMU-3 is named wrong: 0.33 x 75 is 24.75, printed 29.75, so 300 mg/L becomes 270.
    let got = (5.0 * 0.33 + 13.0 * 0.15) * ounce;
    close("TAMU-3 as recomputed", 269.609, got, 0.1);
    assert!((100.0 * (29.75 - 24.75) / 24.75_f64 - 20.2).abs() < 0.05);
    assert!((300.0 - got) / got > 0.1, "the print misses its own aim");
    // IN-BLOG: calcium 200 from a product of 18.8 % Ca.
    close("IN-BLOG", 1063.8, 200.0 / 0.188, 0.1);
    // ARGO-5: 5 US gallons at 100 mg/L N of a 20 % product, rounded to 0.33 oz and "about 9 g".
    let grams = 0.1 * 5.0 * LITRES_PER_US_GALLON / 0.20;
    close("ARGO-5 oz", 0.33, grams / GRAMS_PER_OUNCE, 1.2);
    close("ARGO-5 g, about", 9.0, grams, 5.0);
}

/// Source: ARSIA Quaderno 5/2004, tables 7a and 7b: a water, seven aims, an acid, six salts with
/// printed assays, two tanks of 1:100. The acid is 65 % by mass at 1.41 g/mL (not printed; its
/// 26.9 mg/L of N needs exactly that), alkalinity left 0.54 meq/L.
#[test]
fn the_handbook_formulation_end_to_end() {
    let fertilizers = json!([
        {"id": "nitric", "formula": "HNO3", "strength_pct": 65, "density_g_per_ml": 1.41},
        {"id": "cn", "assay_pct": {"Ca": 19, "NO3-N": 14.5, "NH4-N": 1}},
        {"id": "an", "formula": "NH4NO3", "assay_pct": {"NO3-N": 17, "NH4-N": 17}},
        {"id": "mkp", "formula": "KH2PO4", "assay_pct": {"P": 23, "K": 28}},
        {"id": "epsom", "formula": "MgSO4.7H2O", "assay_pct": {"Mg": 9.9, "S": 13}},
        {"id": "kn", "formula": "KNO3", "assay_pct": {"NO3-N": 13, "K": 38.1}},
        {"id": "sop", "formula": "K2SO4", "assay_pct": {"K": 43, "S": 17}},
    ]);
    let report = answer(&json!({
        "job": "formulate",
        "recipe": {"aims": {"NO3-N": 130, "NH4-N": 10, "P": 40, "K": 180, "Ca": 160, "Mg": 30, "S": 50}},
        "water": water_of("ARSIA-T7"),
        "fertilizers": fertilizers,
        "acid_to": {"residual_meq_l": 0.54},
        "ratio": 100,
    }));
    assert_eq!(report["outcome"], "within-bands", "{report}");
    for (nutrient, printed) in [
        ("NO3-N", 130.0),
        ("NH4-N", 10.0),
        ("P", 40.0),
        ("K", 180.0),
        ("Ca", 160.0),
        ("Mg", 30.0),
        ("S", 49.9),
    ] {
        let ours = delivered(&report, nutrient);
        println!("ARSIA-T7 {nutrient}: printed {printed}, ours {ours:.2}");
        assert!(
            (ours - printed).abs() <= 0.005 * printed,
            "{nutrient}: {ours}"
        );
    }
    for (id, printed_mg) in [
        ("cn", 521.0),
        ("mkp", 173.913),
        ("epsom", 121.2),
        ("kn", 175.4),
        ("sop", 141.86),
        ("an", 28.2353),
    ] {
        let ours = 1000.0 * grams(&report, id);
        println!("ARSIA-T7 {id}: printed {printed_mg} mg/L, ours {ours:.2}");
        assert!(
            (ours - printed_mg).abs() <= (0.01 * printed_mg).max(0.6),
            "{id}: {ours}"
        );
    }
    let acid_ml = grams(&report, "nitric") / 1.41;
    assert!((acid_ml - 0.132).abs() <= 0.000_7, "{acid_ml}");
    let left = report["acidity"]["residual_meq_l"]
        .as_f64()
        .expect("a number");
    assert!((left - 0.54).abs() < 1e-9, "{left}");
    // Tank kilograms per 100 L; the print rounds potassium sulfate and ammonium nitrate up by 6 %.
    for (id, printed, allowed) in [
        ("cn", 5.2, 0.01),
        ("mkp", 1.75, 0.01),
        ("epsom", 1.2, 0.011),
        ("kn", 1.75, 0.01),
        ("sop", 1.5, 0.06),
        ("an", 0.3, 0.065),
    ] {
        let kg = grams(&report, id) * 100.0 * 100.0 / 1000.0;
        assert!((kg - printed).abs() <= allowed * kg, "{id}: {kg} kg");
    }
}

/// Source: Ikeda (1996), growers' tables of Enshi and Yamazaki solutions: four salts to five
/// figures in me/L, phosphorus as PO4 3-. Salt grams are rounded to whole grams a tonne.
#[test]
fn four_salts_meet_the_japanese_lists() {
    let all = cases();
    for case in [
        "ENSHI",
        "YAMA-TOMATO",
        "YAMA-PEPPER",
        "YAMA-CUCUMBER",
        "YAMA-LETTUCE",
    ] {
        let lines = &all[case];
        let (fertilizers, mix, names) = mix(case, lines);
        let aims: Value = lines
            .iter()
            .filter(|line| line.kind == "result" && line.unit == "meq/L" && line.status == "READ")
            .map(|line| (key(&line.name).to_owned(), json!(line.value)))
            .collect();
        let report = answer(&json!({
            "job": "formulate", "fertilizers": fertilizers, "acid": null,
            "recipe": {"unit": "meq/L", "P_charge": 3, "aims": aims},
        }));
        assert_eq!(report["outcome"], "within-bands", "{case}: {report}");
        for ((dose, name), at) in mix.iter().zip(&names).zip(0..) {
            let printed = dose["g_per_l"].as_f64().expect("a number") * 1000.0;
            let ours = grams(&report, &format!("s{at}")) * 1000.0;
            println!("{case} {name}: printed {printed} ours {ours:.1} g/1000 L");
            // Ammonium phosphate is printed 0.9 % low: 152 g for 4 me/L needs 153.4.
            let allowed = if name.contains("phosphate") {
                0.0095
            } else {
                0.005
            };
            assert!(
                (ours - printed).abs() <= (allowed * printed).max(0.5),
                "{case} {name}: {ours}"
            );
        }
    }
}

/// Source: sheet for mustard greens (sources.csv ID-SAWI): with its nine salts N overshoots its
/// 250 mg/L by 6 % and S stops at 84 of 110: the print says so, and so must we.
#[test]
fn what_those_salts_cannot_do_is_said() {
    let lines = &cases()["ID-SAWI"];
    let (fertilizers, _, _) = mix("ID-SAWI", lines);
    let aims: Value = lines
        .iter()
        .filter(|line| line.kind == "target")
        .map(|line| (key(&line.name).to_owned(), json!({"aim": line.value, "weight": if line.name == "N" || line.name == "S" { 0.01 } else { 1.0 }, "min": line.value * 0.5, "max": line.value * 1.5})))
        .collect();
    let report = answer(&json!({
        "job": "formulate", "fertilizers": fertilizers, "acid": null,
        "recipe": {"aims": aims},
    }));
    let n = row(&report, "N")["off_pct"].as_f64().expect("a number");
    let s = delivered(&report, "S");
    println!("ID-SAWI N {n:+.1} %, S {s:.1} of 110");
    assert!((5.0..7.0).contains(&n), "N {n} %");
    assert!((82.0..85.0).contains(&s), "S {s}");
    // With the usual bands it cannot be done at all, and N or S is named.
    let strict: Value = lines
        .iter()
        .filter(|line| line.kind == "target")
        .map(|line| {
            (
                key(&line.name).to_owned(),
                json!({"aim": line.value, "min": line.value * 0.98, "max": line.value * 1.02}),
            )
        })
        .collect();
    let report = answer(&json!({
        "job": "formulate", "fertilizers": fertilizers, "acid": null, "recipe": {"aims": strict},
    }));
    assert_eq!(report["outcome"], "outside-bands");
    let words = report["conflict"].to_string();
    assert!(
        words.contains("\"S\"") || words.contains("\"N\""),
        "{words}"
    );
}

/// Source: Takatsuji (1997), pp. 86-87, and others: lists printed in me/L beside their mg/L.
#[test]
fn lists_in_milliequivalents_are_converted() {
    let mut table =
        csv::Reader::from_reader(include_str!("data/published_recipes_meq.csv").as_bytes());
    let mut checked = 0;
    for record in table.records() {
        let record = record.expect("a row");
        let cell = |at: usize| record.get(at).unwrap_or_default();
        let (nutrient, meq) = (cell(1), cell(2).parse::<f64>().expect("a number"));
        let printed: f64 = cell(4).parse().expect("a number");
        let report = answer(&json!({
            "job": "formulate", "acid": null,
            "recipe": {"unit": "meq/L", "P_charge": cell(3).parse::<i32>().unwrap_or(1), "aims": {nutrient: meq}},
        }));
        let ours = row(&report, nutrient)["aim"].as_f64().expect("an aim");
        assert!(
            (ours - printed).abs() <= 0.000_5 * printed,
            "{nutrient} {meq}: {ours} {printed}"
        );
        checked += 1;
    }
    assert!(checked > 80, "{checked}");
}
