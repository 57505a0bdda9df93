//! Grams in, nutrients out: the salts of every case through `predict`, each printed or recomputed
//! result beside ours.

use super::cases::{citation, half_digit, lines, predict};
use super::figures::{Figure, figures};
use super::prints;
use super::salts::{Salt, salts};
use crate::common::number;

/// How far a figure seen in print may lie from ours, percent, where its last digit says no more.
const READ_PCT: f64 = 0.5;
/// How far a figure recomputed with another library may lie from ours, percent: atomic weights
/// differ by up to 0.015 %, six digits are kept.
pub const COMPUTED_PCT: f64 = 0.1;

/// Cases whose results are concentrations that a mix brings; the others are held in `prints`.
const FORWARD: [&str; 28] = [
    "HOAG1",
    "SAPS-FE",
    "HA50LAB-FE",
    "ENSHI",
    "YAMA-TOMATO",
    "YAMA-PEPPER",
    "YAMA-CUCUMBER",
    "YAMA-LETTUCE",
    "STEINER",
    "HOAG2-SALTS",
    "ARSIA-T7",
    "ID-SAWI",
    "ID-CA200",
    "TR-STRAVER",
    "TAMU-1",
    "TAMU-3",
    "SHINSHU",
    "CASTELLANE95",
    "FURLANI95",
    "UFLA-TOMATO-A",
    "UFLA-TOMATO-B",
    "UFLA-CUCUMBER-A",
    "UFLA-CUCUMBER-B",
    "ID-AB-LEAF",
    "VN-HOAG",
    "KR-LETTUCE",
    "LAMOLINA",
    "COOPER-MEM",
];

fn is_forward(case: &str) -> bool {
    FORWARD.contains(&case)
}

/// How many figures of a case are compared here.
pub fn compared(case: &str) -> usize {
    if is_forward(case) {
        figures(case).len()
    } else {
        0
    }
}

/// Sources: `tests/data/sources.csv`, printed with each case.
#[test]
fn salts_bring_what_is_printed() {
    let mut count = 0;
    for case in super::cases::ids()
        .into_iter()
        .filter(|case| is_forward(case))
    {
        let source = &lines(case).next().expect("a line").source_id;
        println!("{case}. {}", citation(source));
        let figures = figures(case);
        assert!(!figures.is_empty(), "{case}");
        for figure in &figures {
            hold(case, figure);
        }
        count += figures.len();
    }
    println!("{count} figures");
    assert!(count >= 250, "only {count} figures were compared");
}

/// Every result in the file belongs to a case that is run here or in `prints`.
#[test]
fn no_result_is_passed_over() {
    for case in super::cases::ids() {
        let has_results = lines(case).any(|line| line.kind == "result");
        let elsewhere = case == "PURDUE-EC";
        assert_eq!(
            has_results && !elsewhere,
            is_forward(case) && has_results,
            "{case}"
        );
    }
}

/// The salts of Steiner's solution include potassium hydroxide: it counts as a base, so that the
/// finished solution is neutral though cations exceed anions by its 23 mg/L, 23/56.105 meq/L.
/// Source: a Vietnamese book chapter, Table 4.9 (author and year not shown).
#[test]
fn potassium_hydroxide_counts_as_a_base() {
    let report = predict("STEINER", &salts("STEINER", ""));
    let alkalinity = number(&report, "/alkalinity_meq_l");
    assert!((alkalinity - 0.410).abs() < 0.001, "{alkalinity}");
    let open = number(&report, "/charge_error_pct");
    assert!(open.abs() < 1e-6, "{open} % of charge open");
    let without: Vec<Salt> = salts("STEINER", "")
        .into_iter()
        .filter(|salt| salt.formula != "KOH")
        .collect();
    let report = predict("STEINER", &without);
    assert!(number(&report, "/alkalinity_meq_l").abs() < 1e-9);
}

/// Holds one figure against ours, by its status.
fn hold(case: &str, figure: &Figure) {
    let Figure { line, ours } = figure;
    let (printed, off) = (line.number(), figure.off_pct());
    let named = line.status != "COMPUTED" && prints::is_named(case, &figure.label(), &line.value);
    println!(
        "  {} {} {} {} {}: ours {ours:.6} ({off:+.3} %){}",
        line.name,
        line.value,
        line.unit,
        line.status,
        line.assay,
        if named { ", named wrong" } else { "" }
    );
    if named {
        // By how much is asserted in `prints`.
        return;
    }
    let allowed = match line.status.as_str() {
        "COMPUTED" => COMPUTED_PCT / 100.0 * ours,
        "READ" | "MEMORY" => (READ_PCT / 100.0 * ours).max(half_digit(&line.value)),
        status => panic!("{case}: {status}"),
    };
    assert!(
        (printed - ours).abs() <= allowed,
        "{case} {}: printed {printed}, ours {ours} ({off:+.2} %)",
        line.name
    );
}
