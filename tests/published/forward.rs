//! Grams in, nutrients out: the salts of every case through `predict`, each printed or recomputed
//! result beside ours.

use super::cases::{Figure, citation, figures, half_digit, lines};
use super::prints;

/// How far a figure seen in print may lie from ours, percent, where its last digit says no more.
const READ_PCT: f64 = 0.5;
/// How far a figure recomputed with another library may lie from ours, percent: atomic weights
/// differ by up to 0.015 %, six digits are kept.
const COMPUTED_PCT: f64 = 0.1;

/// Cases whose results are concentrations that a mix brings; the others are held in `prints`.
const FORWARD: [&str; 27] = [
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
];
const FROM_MEMORY: &str = "COOPER-MEM";

fn is_forward(case: &str) -> bool {
    FORWARD.contains(&case) || case == FROM_MEMORY
}

/// How many figures of a case are compared here.
pub fn compared(case: &str) -> usize {
    if is_forward(case) { figures(case).len() } else { 0 }
}

/// Sources: `tests/data/sources.csv`, printed with each case.
#[test]
fn salts_bring_what_is_printed() {
    let mut count = 0;
    for case in super::cases::ids().into_iter().filter(|case| is_forward(case)) {
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
        assert_eq!(has_results && !elsewhere, is_forward(case) && has_results, "{case}");
    }
}

/// Holds one figure against ours, by its status.
fn hold(case: &str, figure: &Figure) {
    let line = figure.line;
    let off = -figure.print_off_pct();
    let basis = if line.assay.is_empty() { String::new() } else { format!(" ({})", line.assay) };
    let status = &line.status;
    println!(
        "  {}{basis} {} {} {status}: ours {:.6}, {off:+.3} % of ours",
        line.name, line.value, line.unit, figure.ours
    );
    let off_print = (line.number() - figure.ours).abs();
    let allowed = match status.as_str() {
        "COMPUTED" => COMPUTED_PCT / 100.0 * figure.ours,
        "READ" | "MEMORY" => (READ_PCT / 100.0 * figure.ours).max(half_digit(&line.value)),
        status => panic!("{case}: {status}"),
    };
    if status != "COMPUTED" && prints::is_named(case, &figure.label(), &line.value) {
        println!("    named wrong");
        return;
    }
    assert!(
        off_print <= allowed * (1.0 + 1e-9),
        "{case} {}: printed {}, ours {} ({off:+.2} %)",
        line.name,
        line.value,
        figure.ours
    );
}
