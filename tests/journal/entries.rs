//! What is noted stands there; what is amended or taken back is kept.

use super::{done, entries, journal, refused};
use serde_json::json;
use std::fs;

#[test]
fn a_reading_is_noted_and_listed() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let said = done(
        at,
        &[
            "add",
            "--system",
            "tank 1",
            "--ec",
            "1,4",
            "--ph",
            "5.9",
            "--litres",
            "110",
            "--note",
            "roots white",
            "--at",
            "2026-03-02T08:00+01:00",
        ],
    );
    assert!(
        said.starts_with("Began a journal in journal.db.\nNoted as entry 1: tank 1"),
        "{said}"
    );
    let listed = entries(at);
    let wanted = json!({
        "entry": 1, "at": "2026-03-02T08:00:00+01:00", "system": "tank 1", "kind": "reading",
        "ec_ms_cm": 1.4, "ph": 5.9, "temperature_c": null, "litres": 110.0, "done": [],
        "batch": null, "settings": null, "note": "roots white", "revisions": 1,
    });
    assert_eq!(listed, [wanted]);
    let sheet = done(at, &["list"]);
    for said in ["2026-03-02 08:00", "1.40", "5.9", "110 L", "roots white"] {
        assert!(sheet.contains(said), "{said}: {sheet}");
    }
    assert!(
        sheet.lines().all(|line| line.chars().count() <= 80),
        "{sheet}"
    );
}

#[test]
fn the_last_system_and_units_need_not_be_typed_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    assert!(refused(at, &["add", "--ec", "1.4"]).contains("--system"));
    assert!(
        !at.join("journal.db").exists(),
        "nothing is begun for a refused entry"
    );
    done(at, &["add", "--system", "Herbs", "--litres", "29 gal"]);
    done(at, &["add", "--system", "herbs", "--temperature", "20"]);
    done(at, &["add", "--ph", "6.1"]);
    let listed = entries(at);
    assert!(
        listed.iter().all(|entry| entry["system"] == "Herbs"),
        "one spelling"
    );
    let litres = listed[0]["litres"].as_f64().expect("a number");
    assert!((litres - 29.0 * 3.785_411_784).abs() < 1e-9);
    let sheet = done(at, &["list"]);
    assert!(
        sheet.contains("29 gal") && sheet.contains("68 °F"),
        "{sheet}"
    );
    done(at, &["add", "--litres", "100 L"]);
    assert!(done(at, &["list"]).contains("109.8 L"));
    assert!(done(at, &["list", "--gallons"]).contains("26.4 gal"));
}

#[test]
fn what_was_done_keeps_its_amounts_and_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    done(
        at,
        &[
            "add",
            "--system",
            "tank",
            "--drained",
            "20 L",
            "--added",
            "larch-hollow-spring=5L",
            "--added",
            "nitric-acid-38=9mL",
            "--added",
            "potassium-nitrate=12g",
        ],
    );
    assert_eq!(
        entries(at)[0]["done"],
        json!([
            {"do": "drained", "ml": 20_000.0},
            {"do": "added", "what": "larch-hollow-spring", "ml": 5000.0},
            {"do": "added", "what": "nitric-acid-38", "ml": 9.0},
            {"do": "added", "what": "potassium-nitrate", "g": 12.0},
        ])
    );
    let said = refused(at, &["add", "--added", "water=5"]);
    assert!(said.contains("has no unit"), "{said}");
    let said = refused(at, &["add", "--ec", "1.4", "--added", "water=5L"]);
    assert!(said.contains("two entries"), "{said}");
}

#[test]
fn an_amendment_keeps_what_stood_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    done(
        at,
        &[
            "add", "--system", "tank", "--ec", "14", "--ph", "5.9", "--note", "slip",
        ],
    );
    let said = done(at, &["amend", "1", "--ec", "1.4", "--clear", "note"]);
    assert!(
        said.contains("was") && said.contains("EC 14.00") && said.contains("EC 1.40"),
        "{said}"
    );
    let now = &entries(at)[0];
    assert_eq!((&now["ec_ms_cm"], &now["ph"]), (&json!(1.4), &json!(5.9)));
    assert_eq!((&now["note"], &now["revisions"]), (&json!(""), &json!(2)));
    let history = done(at, &["list", "--history", "1"]);
    assert!(
        history.contains("EC 14.00") && history.contains("EC 1.40"),
        "{history}"
    );
    assert!(refused(at, &["amend", "7", "--ec", "1"]).contains("no entry 7"));
    let said = refused(at, &["amend", "1", "--clear", "ec", "--clear", "ph"]);
    assert!(said.contains("this entry is empty"), "{said}");
    assert_eq!(journal(at, &["amend", "1"]).status.code(), Some(2));
}

#[test]
fn acts_are_taken_back_one_by_one_and_nothing_is_erased() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    done(at, &["add", "--system", "tank", "--ec", "1.3"]);
    done(at, &["add", "--ec", "1.5"]);
    done(at, &["amend", "1", "--ec", "1.4"]);
    let ec = || -> Vec<f64> {
        let listed = entries(at);
        listed
            .iter()
            .map(|entry| entry["ec_ms_cm"].as_f64().expect("a number"))
            .collect()
    };
    assert_eq!(ec(), [1.4, 1.5]);
    assert!(done(at, &["undo"]).contains("amendment of entry 1"));
    assert_eq!(ec(), [1.3, 1.5]);
    assert!(done(at, &["undo"]).contains("entry 2"));
    assert_eq!(ec(), [1.3]);
    // A number is never given twice.
    done(at, &["add", "--ec", "1.6"]);
    assert_eq!(entries(at)[1]["entry"], 3);
    done(at, &["undo"]);
    done(at, &["undo"]);
    assert!(ec().is_empty());
    assert!(done(at, &["undo"]).contains("nothing left"));
    assert!(refused(at, &["amend", "1", "--ec", "1"]).contains("no entry 1"));
    let history = done(at, &["list", "--history", "1"]);
    for said in ["EC 1.30", "EC 1.40", "taken back"] {
        assert!(history.contains(said), "{said}: {history}");
    }
}

#[test]
fn lists_can_be_narrowed() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    for (system, when) in [
        ("a", "2026-03-01 08:00"),
        ("b", "2026-03-02 08:00"),
        ("a", "2026-03-03 08:00"),
    ] {
        done(at, &["add", "--system", system, "--ph", "6", "--at", when]);
    }
    let count = |more: &[&str]| {
        let arguments = [&["list", "--json"], more].concat();
        super::rows(&done(at, &arguments)).len()
    };
    assert_eq!(count(&[]), 3);
    assert_eq!(count(&["--system", "A"]), 2);
    assert_eq!(count(&["--since", "2026-03-02 08:00"]), 2);
    assert_eq!(count(&["--system", "a", "--last", "1"]), 1);
    let said = refused(at, &["list", "--system", "aa"]);
    assert!(said.contains("there is no system called \"aa\""), "{said}");
    let said = refused(at, &["list", "--system", "greenhouse"]);
    assert!(said.contains("Use one of: a, b."), "{said}");
}

#[test]
fn nothing_steers_a_terminal_and_nothing_is_from_the_future() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let said = refused(at, &["add", "--system", "tank", "--note", "\u{1b}[2Jgone"]);
    assert!(
        said.contains("control character") && !said.contains('\u{1b}'),
        "{said}"
    );
    let said = refused(
        at,
        &[
            "add",
            "--system",
            "tank",
            "--ph",
            "6",
            "--at",
            "2199-01-01 08:00",
        ],
    );
    assert!(said.contains("a day ahead"), "{said}");
    assert_eq!(fs::read_dir(at).expect("a folder").count(), 0);
}
