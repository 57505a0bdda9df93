//! What `refill --system` takes from the journal: one filling of the tank, all of it, and nothing else.

use super::{done, journal_in};
use crate::common::{answer, demo_refill, number, saltwright, stderr, stdout};
use serde_json::{Value, json};
use std::path::Path;
use std::process::Output;
use tempfile::TempDir;

/// A folder with the invented fortnight.
fn demo() -> TempDir {
    let place = tempfile::tempdir().expect("a folder");
    let made = saltwright()
        .args(["start", "--demo"])
        .arg(place.path().join("own"))
        .output();
    assert!(made.expect("it starts").status.success());
    place
}

fn refill(folder: &Path, more: &[&str]) -> Output {
    let mut command = saltwright();
    command
        .env("TZ", "UTC")
        .args(["refill", "--system", "--folder"]);
    command.arg(folder).args(more).output().expect("it starts")
}

fn report(folder: &Path, more: &[&str]) -> Value {
    let output = refill(folder, &[&["--json"], more].concat());
    serde_json::from_str(&stdout(&output)).unwrap_or_else(|_| panic!("{}", stderr(&output)))
}

/// The journal of the demonstration says what its list of readings says.
#[test]
fn a_journal_and_a_list_of_the_same_days_give_the_same_answer() {
    let place = demo();
    let own = place.path().join("own");
    assert_eq!(report(&own, &[]), demo_refill(&[]));
    let said = stdout(&refill(&own, &[]));
    let chosen = "From the journal of kettle row: 23 readings from entry 5 (2026-03-02 08:00) to \
                  entry 35 (2026-03-16 08:00), since it was filled anew on 2026-03-02 07:30 (entry \
                  3).";
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.starts_with(chosen), "{said}");
}

#[test]
fn only_the_last_filling_counts() {
    let place = demo();
    let own = place.path().join("own");
    let note = |arguments: &[&str]| done(&own, &[&["add"], arguments].concat());
    note(&["--filled", "feed=115L", "--at", "2026-03-16 10:00"]);
    let said = stderr(&refill(&own, &[]));
    assert!(
        said.contains("change-out of 2026-03-16 10:00 (entry 36)"),
        "{said}"
    );
    for (at, ec, litres) in [
        ("2026-03-16 11:00", "1.45", "115"),
        ("2026-03-18 11:00", "1.47", "108"),
    ] {
        note(&["--ec", ec, "--litres", litres, "--at", at]);
    }
    note(&["--ph", "5.9", "--at", "2026-03-17 11:00"]);
    let found = report(&own, &[]);
    assert!((number(&found, "/drunk_l") - 7.0).abs() < 1e-9, "{found}");
    assert!((number(&found, "/days") - 2.0).abs() < 1e-9);
    let said = stdout(&refill(&own, &[]));
    assert!(
        said.contains("Left out, without EC or level: entry 39."),
        "{said}"
    );
    let said = stderr(&refill(&own, &["--since", "2026-03-17 12:00"]));
    assert!(said.contains("fewer than two readings"), "{said}");
    let narrowed = refill(&own, &["--since", "soon"]);
    assert_eq!(narrowed.status.code(), Some(1));
    assert!(
        stderr(&narrowed).contains("--since: \"soon\" is not a date"),
        "{}",
        stderr(&narrowed)
    );
}

/// What `correct --system` says to note of a stock counts as what the stock holds.
#[test]
fn stock_that_was_added_counts_as_its_fertilizers() {
    let place = demo();
    let own = place.path().join("own");
    let note = |arguments: &[&str]| done(&own, &[&["add"], arguments].concat());
    note(&["--filled", "feed=115L", "--at", "2026-03-16 10:00"]);
    note(&["--ec", "1.4", "--litres", "100", "--at", "2026-03-16 11:00"]);
    note(&[
        "--added",
        "stock-A=200mL",
        "--added",
        "larch-hollow-spring=10L",
        "--at",
        "2026-03-17 11:00",
    ]);
    note(&["--ec", "1.5", "--litres", "105", "--at", "2026-03-18 11:00"]);
    let found = report(&own, &[]);
    // Jug A of the demonstration: grams in a litre, of which 200 mL were poured.
    let grams = [
        ("calcium-nitrate-fertilizer", 41.05),
        ("potassium-nitrate", 25.0),
        ("fe-dtpa-11", 0.909),
    ];
    let at = "2026-03-17T11:00";
    let mut added: Vec<Value> = grams
        .iter()
        .map(|(id, g)| json!({"at": at, "what": id, "g": 0.2 * g}))
        .collect();
    added.push(json!({"at": at, "what": "water", "litres": 10.2}));
    let by_hand = answer(&json!({
        "job": "refill", "recipe": "sonneveld-modified-lettuce", "water": "larch-hollow-spring",
        "added": added,
        "readings": [
            {"at": "2026-03-16T11:00", "litres": 100, "ec_ms_cm": 1.4},
            {"at": "2026-03-18T11:00", "litres": 105, "ec_ms_cm": 1.5},
        ],
    }));
    assert!((number(&found, "/drunk_l") - 5.2).abs() < 1e-9);
    for (at, row) in by_hand["drift"]
        .as_array()
        .expect("rows")
        .iter()
        .enumerate()
    {
        let now = number(&found, &format!("/drift/{at}/now"));
        let wanted = row["now"].as_f64().expect("a number");
        assert!(
            (now - wanted).abs() < 1e-6 * wanted.max(1.0),
            "{row}: {now}"
        );
    }
    note(&[
        "--added",
        "stock-C=20mL",
        "--added",
        "larch=1L",
        "--at",
        "2026-03-17 12:00",
    ]);
    let said = stderr(&refill(&own, &[]));
    for words in [
        "entry 40 of the journal: there is no stock called \"C\"",
        "\"larch\"",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // Where no stock was added, a file that is gone is no matter.
    std::fs::remove_file(own.join("stocks.toml")).expect("removed");
    assert!(stderr(&refill(&own, &[])).contains("stocks.toml"));
    let _ = journal_in(&own).arg("undo").output().expect("it starts");
    done(
        &own,
        &[
            "amend",
            "38",
            "--clear",
            "done",
            "--added",
            "larch-hollow-spring=10L",
        ],
    );
    assert_eq!(
        refill(&own, &[]).status.code(),
        Some(0),
        "{}",
        stderr(&refill(&own, &[]))
    );
}
