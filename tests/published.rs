//! Published cases: what others printed, run through our jobs.
//!
//! `cargo test published -- --nocapture` prints each figure with our error and a closing count.
//! Sources stand in `tests/data/sources.csv` and beside each check. READ figures were seen in the
//! source, COMPUTED ones were recomputed with another library, MEMORY ones are from memory. A print
//! known to be wrong is named in [`prints::NAMED_WRONG`] and asserted to differ.

mod backward;
mod cases;
mod demo;
mod figures;
mod follows;
mod forward;
mod lists;
mod prints;
mod salts;

use std::collections::BTreeSet;

/// What became of a case.
enum Fate {
    /// Its figures come out of our sums; single prints may be named wrong.
    Reproduced,
    /// What it claims does not follow from what it prints.
    NamedWrong(&'static str),
    /// There is nothing to formulate or to predict.
    NotAFormulation(&'static str),
}
use Fate::{NamedWrong, NotAFormulation, Reproduced};

/// Every case of `worked.csv`, each once.
const FATES: [(&str, Fate); 34] = [
    ("HOAG1", Reproduced),
    (
        "SAPS-FE",
        NamedWrong("about 3 mg/L Fe holds for pure chelate, not for what is sold"),
    ),
    ("HA50LAB-FE", Reproduced),
    ("ENSHI", Reproduced),
    ("YAMA-TOMATO", Reproduced),
    ("YAMA-PEPPER", Reproduced),
    ("YAMA-CUCUMBER", Reproduced),
    ("YAMA-LETTUCE", Reproduced),
    ("STEINER", Reproduced),
    ("HOAG2-SALTS", Reproduced),
    ("ARSIA-T7", Reproduced),
    ("ID-SAWI", Reproduced),
    ("ID-220L", Reproduced),
    ("ID-CA200", Reproduced),
    ("TR-STRAVER", Reproduced),
    ("TAMU-1", Reproduced),
    ("TAMU-2", Reproduced),
    (
        "TAMU-3",
        NamedWrong("0.33 x 75 is printed as 29.75, so the ounces give 270 mg/L N for 300"),
    ),
    ("SHINSHU", Reproduced),
    ("CASTELLANE95", Reproduced),
    ("FURLANI95", Reproduced),
    ("UFLA-TOMATO-A", Reproduced),
    ("UFLA-TOMATO-B", Reproduced),
    ("UFLA-CUCUMBER-A", Reproduced),
    ("UFLA-CUCUMBER-B", Reproduced),
    ("ID-AB-LEAF", Reproduced),
    (
        "VN-HOAG",
        NamedWrong("called Hoagland, but N 118, P 61 and S 119 mg/L are none of its figures"),
    ),
    ("KR-LETTUCE", Reproduced),
    ("IN-BLOG", Reproduced),
    (
        "PURDUE-EC",
        NotAFormulation("N from an EC reading by a fertilizer's own factor: no salts, no mix"),
    ),
    ("ARGO-5", Reproduced),
    (
        "KNOP-SCHOOL",
        NotAFormulation(
            "masses of four salts, two without their hydrate, and no figure that follows from them",
        ),
    ),
    ("LAMOLINA", Reproduced),
    ("COOPER-MEM", Reproduced),
];

/// Results that cannot be compared, and why.
const NOT_COMPARED: [(&str, &str, &str); 8] = [
    (
        "LAMOLINA",
        "Ca",
        "includes what the water brings; its analysis is not printed",
    ),
    (
        "LAMOLINA",
        "S",
        "includes what the water brings; its analysis is not printed",
    ),
    (
        "LAMOLINA",
        "Mg",
        "includes what the water brings; its analysis is not printed",
    ),
    (
        "LAMOLINA",
        "B",
        "includes what the water brings; its analysis is not printed",
    ),
    (
        "LAMOLINA",
        "Mn",
        "the micronutrient mix of stock B is not listed",
    ),
    (
        "LAMOLINA",
        "Zn",
        "the micronutrient mix of stock B is not listed",
    ),
    (
        "LAMOLINA",
        "Cu",
        "the micronutrient mix of stock B is not listed",
    ),
    (
        "LAMOLINA",
        "Mo",
        "the micronutrient mix of stock B is not listed",
    ),
];

/// No case of the file is passed over: each is reproduced, named wrong, or no formulation, and the
/// figures that say so exist.
#[test]
fn every_case_is_accounted_for() {
    let listed: BTreeSet<&str> = FATES.iter().map(|(id, _)| *id).collect();
    assert_eq!(listed.len(), FATES.len(), "a case stands twice");
    assert_eq!(
        listed,
        cases::ids().into_iter().collect(),
        "cases of worked.csv"
    );
    let mut figures = 0;
    for (id, fate) in &FATES {
        let compared = compared(id);
        figures += compared;
        let named = prints::NAMED_WRONG
            .iter()
            .filter(|named| named.case == *id)
            .count();
        match fate {
            Reproduced => assert!(compared > 0, "{id}: nothing was compared"),
            NamedWrong(why) => {
                println!("{id}: named wrong: {why}");
                assert!(named > 0, "{id}: no print of it is named wrong");
            }
            NotAFormulation(why) => {
                println!("{id}: not a formulation: {why}");
                assert_eq!(compared, 0, "{id} has figures after all");
            }
        }
    }
    for (case, figure, why) in NOT_COMPARED {
        println!("{case} {figure}: not compared, {why}");
        assert!(cases::lines(case).any(|line| line.kind == "result" && line.name == figure));
    }
    let count = |test: fn(&Fate) -> bool| FATES.iter().filter(|(_, fate)| test(fate)).count();
    println!(
        "{} cases: {} reproduced, {} named wrong, {} no formulation; {figures} figures compared, {} \
         prints named wrong, {} results not compared",
        FATES.len(),
        count(|fate| matches!(fate, Reproduced)),
        count(|fate| matches!(fate, NamedWrong(_))),
        count(|fate| matches!(fate, NotAFormulation(_))),
        prints::NAMED_WRONG.len(),
        NOT_COMPARED.len(),
    );
}

/// How many figures of a case are held against ours.
fn compared(case: &str) -> usize {
    forward::compared(case) + prints::compared(case)
}
