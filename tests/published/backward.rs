//! Aims in, grams out: targets of published cases through `formulate`, with the case's own salts and
//! assays, against the masses that the source prints.

use super::cases::{half_digit, lines, targets, water};
use super::figures::concentration;
use super::salts::{Salt, salts};
use crate::common::{answer, delivered, grams, number, row};
use serde_json::{Map, Value, json};

/// A case's salts as fertilizer objects; each is called by its name.
fn objects(salts: &[Salt]) -> Vec<Value> {
    salts.iter().map(|salt| salt.object(&id(salt))).collect()
}

/// An id from a salt's name.
fn id(salt: &Salt) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    salt.name.chars().map(plain).collect()
}

/// Job `formulate`; a refusal fails the test.
fn formulate(request: &Value) -> Value {
    let report = answer(request);
    assert!(report["refusal"].is_null(), "{}", report["refusal"]);
    report
}

/// Percent by which ours lies above a print.
fn off_pct(ours: f64, printed: f64) -> f64 {
    100.0 * (ours - printed) / printed
}

/// Holds a figure against a print: within `pct` percent or half of its last digit.
fn hold(what: &str, ours: f64, printed: &str, pct: f64) {
    let number: f64 = printed.parse().expect("a number");
    let off = off_pct(ours, number);
    println!("  {what}: printed {printed}, ours {ours:.5} ({off:+.2} %)");
    let allowed = (pct / 100.0 * number).max(half_digit(printed));
    assert!(
        (ours - number).abs() <= allowed,
        "{what}: printed {printed}, ours {ours}"
    );
}

/// The report of a handbook's example from its water and its targets alone.
fn arsia(salts: &[Salt]) -> Value {
    formulate(&json!({
        "job": "formulate", "recipe": {"aims": targets("ARSIA-T7")}, "water": water("ARSIA-T7"),
        "fertilizers": objects(salts), "acid_to": {"residual_meq_l": 0.54}, "ratio": 100,
    }))
}

/// Source: ARSIA, Quaderno 5/2004, Uso razionale delle risorse nel florovivaismo: l'acqua, p. 182,
/// Table 7a. Nitric acid of 65 %, 1.41 g/mL, and 0.54 meq/L of alkalinity left: assumed, the page
/// prints the acid's N alone.
#[test]
fn arsia_masses_from_water_and_targets() {
    let salts = salts("ARSIA-T7", "");
    let report = arsia(&salts);
    assert_eq!(report["outcome"], "within-bands");
    for salt in &salts {
        let line = lines("ARSIA-T7")
            .find(|line| line.kind == "input_salt" && line.name == salt.name)
            .expect("printed");
        if salt.formula == "HNO3" {
            let rows = report["mix"].as_array().expect("rows");
            let acid = rows.iter().find(|row| row["id"] == id(salt)).expect("acid");
            hold("acid, mL/L", number(acid, "/ml_per_l"), &line.value, 1.0);
        } else {
            hold(
                &salt.name,
                1000.0 * grams(&report, &id(salt)),
                &line.value,
                1.0,
            );
        }
    }
    for line in lines("ARSIA-T7").filter(|line| line.kind == "result" && line.status == "READ") {
        if !line.name.contains(" from ") {
            let key = super::cases::program_key(&line.name);
            hold(&line.name, delivered(&report, key), &line.value, 0.5);
        }
    }
    let left = number(&report, "/acidity/residual_meq_l");
    assert!((left - 0.54).abs() < 0.001, "{left} meq/L left");
}

/// Kilograms in 100 L of stock at 1:100; tanks that the handbook rounds are named with the percent
/// by which its figure lies above ours (6.25, 5.74 and 0.63 % above its own sums: ours meet S 50
/// where they stop at 49.9). Source: the same page, Table 7b.
#[test]
fn arsia_tanks() {
    let named = [
        ("ammonium nitrate", 6.48),
        ("potassium sulfate", 5.19),
        ("monopotassium phosphate", 0.63),
    ];
    let salts = salts("ARSIA-T7", "");
    let report = arsia(&salts);
    let mut held = 0;
    for line in lines("ARSIA-T7").filter(|line| line.kind == "stock" && line.status == "READ") {
        let name = line.name.split(" (").next().expect("a name");
        let salt = salts
            .iter()
            .find(|salt| salt.name.starts_with(name))
            .expect("listed");
        let stock = report["mix"]
            .as_array()
            .and_then(|rows| rows.iter().find(|row| row["id"] == id(salt)))
            .expect("in the mix");
        let per_ml = if salt.formula == "HNO3" { 1.41 } else { 1.0 };
        let ours = number(stock, "/g_per_l_stock") / per_ml * 100.0 / 1000.0;
        if let Some((_, percent)) = named.iter().find(|(named, _)| *named == name) {
            let print = off_pct(line.number(), ours);
            println!(
                "  {name}: printed {}, ours {ours:.4}, print {print:+.2} %",
                line.value
            );
            assert!((print - percent).abs() < 0.05, "{name}: {print:+.2} %");
        } else {
            hold(name, ours, &line.value, 1.0);
        }
        held += 1;
    }
    assert_eq!(held, 7);
}

/// Five printed figures by four salts. Source: Ikeda (1996), table of culture solutions and salt
/// weights, g for 1,000 L; me/L with phosphorus as PO4 3-. Its phosphate salt is 0.9 % light: 4 me/L
/// need 153.4 g.
#[test]
fn japanese_solutions_in_milliequivalents() {
    for case in [
        "ENSHI",
        "YAMA-TOMATO",
        "YAMA-PEPPER",
        "YAMA-CUCUMBER",
        "YAMA-LETTUCE",
    ] {
        println!("{case}");
        let aims: Map<String, Value> = lines(case)
            .filter(|line| line.kind == "result" && line.status == "READ")
            .map(|line| {
                (
                    super::cases::program_key(&line.name).to_owned(),
                    json!(line.number()),
                )
            })
            .collect();
        assert_eq!(aims.len(), 5);
        let salts = salts(case, "");
        let report = formulate(&json!({
            "job": "formulate", "fertilizers": objects(&salts),
            "recipe": {"unit": "meq/L", "P_charge": 3, "aims": aims},
        }));
        assert_eq!(report["outcome"], "within-bands");
        for salt in &salts {
            let printed = 1000.0 * salt.g_per_l(case);
            let ours = 1000.0 * grams(&report, &id(salt));
            let off = off_pct(ours, printed);
            println!(
                "  {}: printed {printed} g, ours {ours:.2} ({off:+.2} %)",
                salt.name
            );
            if salt.formula == "NH4H2PO4" {
                assert!(
                    (off - 0.9).abs() < 0.05,
                    "{case} {}: {off:+.2} %",
                    salt.name
                );
            } else {
                assert!(off.abs() <= 0.5, "{case} {}: {off:+.2} %", salt.name);
            }
        }
    }
}

/// The sheet's own eleven targets and nine salts. Source: Perhitungan nutrisi untuk sawi dan tomat,
/// Indonesian practical sheet (author and year not shown): N comes to 265 for 250 and S to 84 for
/// 110, which these salts cannot help.
fn mustard_greens(change: &[(&str, Value)]) -> Value {
    let mut aims = targets("ID-SAWI");
    for (nutrient, aim) in change {
        aims.insert((*nutrient).to_owned(), aim.clone());
    }
    formulate(&json!({
        "job": "formulate", "recipe": {"aims": aims},
        "fertilizers": objects(&salts("ID-SAWI", "")),
    }))
}

#[test]
fn nine_salts_cannot_meet_eleven_targets() {
    let report = mustard_greens(&[]);
    let off = |nutrient: &str| number(row(&report, nutrient), "/off_pct");
    println!("N {:+.2} %, S {:+.2} %", off("N"), off("S"));
    // Printed 265.19 and 83.838; the sheet's Epsom salt, 1 % above its own target, is 0.8 % of S.
    assert!((off("N") - 6.0).abs() < 0.3, "{}", off("N"));
    assert!((delivered(&report, "S") - 83.838).abs() < 0.011 * 83.838);
    for nutrient in ["P", "K", "Ca", "Mg", "Fe", "Mn", "Zn", "B", "Cu"] {
        assert!(
            off(nutrient).abs() < 1e-6,
            "{nutrient}: {:+} %",
            off(nutrient)
        );
    }
}

/// Bands that ask for what the salts cannot do are answered by name, not by silence.
#[test]
fn nine_salts_say_which_bands_they_break() {
    let report = mustard_greens(&[
        ("N", json!({"aim": 250, "min": 245, "max": 255})),
        ("K", json!({"aim": 300, "min": 295, "max": 305})),
        ("Ca", json!({"aim": 185, "min": 182, "max": 188})),
        ("P", json!({"aim": 62, "min": 61, "max": 63})),
    ]);
    assert_eq!(report["outcome"], "outside-bands");
    let conflict = report["conflict"].as_array().expect("rows");
    println!("{conflict:#?}");
    let named = |nutrient: &str, side: &str| {
        conflict
            .iter()
            .any(|row| row["nutrient"] == nutrient && row["side"] == side)
    };
    assert!(named("N", "max") && named("Ca", "min") && named("K", "min") && named("P", "min"));
}

/// Sulfur above what magnesium lets in: 100 mg/L need 4 mg/L more Mg than its band has.
#[test]
fn sulfur_stops_where_magnesium_does() {
    let report = mustard_greens(&[
        ("S", json!({"aim": 110, "min": 100})),
        ("Mg", json!({"aim": 62, "max": 63})),
    ]);
    assert_eq!(report["outcome"], "outside-bands");
    let conflict = report["conflict"].as_array().expect("rows");
    println!("{conflict:#?}");
    let sulfur = conflict
        .iter()
        .find(|row| row["nutrient"] == "S")
        .expect("S");
    // 63 mg/L Mg x 32.06/24.305 = 83.10, Mn within its band 2.4 x 32.06/54.938 = 1.40 and Cu
    // 0.12 x 32.06/63.546 = 0.06.
    assert!(
        (number(sulfur, "/reachable_mg_l") - 84.56).abs() < 0.01,
        "{sulfur}"
    );
}

/// Steiner's ratios as aims of 20 meq/L a side: salts meet them, and the ions of the answer stand in
/// the ratios of the source. Source: Lara-Herrera and others (2023), Bioagro 35(2):113-122: anions
/// NO3:H2PO4:SO4 60:5:35, cations K:Ca:Mg 35:45:20.
#[test]
fn steiner_ratios_are_met_by_five_salts() {
    let salts: Vec<Salt> = salts("STEINER", "")
        .into_iter()
        .filter(|salt| salt.formula != "KOH")
        .collect();
    let report = formulate(&json!({
        "job": "formulate", "fertilizers": objects(&salts),
        "recipe": {"unit": "meq/L", "aims": {
            "NO3-N": 12, "P": 1, "S": 7, "K": 7, "Ca": 9, "Mg": 4,
        }},
    }));
    for (ion, percent) in [
        ("NO3", 60.0),
        ("H2PO4", 5.0),
        ("SO4", 35.0),
        ("K", 35.0),
        ("Ca", 45.0),
        ("Mg", 20.0),
    ] {
        let ours = concentration(&report, ion, "% of anion or cation meq");
        assert!((ours - percent).abs() < 1e-6, "{ion}: {ours}");
    }
}

/// Figures of another library back to the printed masses, the base among them. Source: a Vietnamese
/// book chapter, Table 4.9 (author and year not shown), salts of the Steiner and of the Hoagland and
/// Arnon column; figures recomputed with molmass 2026.1.8.
#[test]
fn recomputed_figures_lead_back_to_the_printed_masses() {
    for case in ["STEINER", "HOAG2-SALTS"] {
        let aims: Map<String, Value> = lines(case)
            .filter(|line| line.kind == "result" && line.unit == "mg/L" && line.name != "N")
            .map(|line| {
                let aim = json!({"aim": line.number()});
                (super::cases::program_key(&line.name).to_owned(), aim)
            })
            .collect();
        let salts = salts(case, "");
        let report = formulate(&json!({
            "job": "formulate", "recipe": {"aims": aims}, "fertilizers": objects(&salts),
        }));
        println!("{case}");
        for salt in &salts {
            let printed = 1000.0 * salt.g_per_l(case);
            hold(
                &salt.name,
                1000.0 * grams(&report, &id(salt)),
                &format!("{printed:.0}"),
                0.1,
            );
        }
    }
}
