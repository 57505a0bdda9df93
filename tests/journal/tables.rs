//! Tables for a spreadsheet and back; batches; what is told of a system once.

use super::{done, entries, journal, refused};
use crate::common::{saltwright, stderr, stdout};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// Notes a batch as `formulate` mixed it; the report.
fn mixed(folder: &Path) -> Value {
    let report = saltwright()
        .args([
            "formulate",
            "sonneveld-modified-lettuce",
            "--water",
            "larch-hollow-spring",
        ])
        .args(["--tank", "115L", "--json"])
        .output()
        .expect("it starts");
    fs::write(folder.join("mix.json"), &report.stdout).expect("written");
    done(folder, &["add", "--system", "tank", "--batch", "mix.json"]);
    serde_json::from_slice(&report.stdout).expect("a report")
}

#[test]
fn a_batch_keeps_its_exact_formulation() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let report = mixed(at);
    let kept = &entries(at)[0]["batch"];
    assert_eq!(
        (&kept["litres"], &kept["recipe"]),
        (&json!(115.0), &report["recipe"])
    );
    assert_eq!(kept["ec_ms_cm"], report["ec"]["predicted_ms_cm"]);
    let mix = report["mix"].as_array().expect("a list");
    assert_eq!(kept["mix"].as_array().expect("a list").len(), mix.len());
    for row in mix {
        let of_it = kept["mix"].as_array().expect("a list").iter();
        let dose = of_it
            .filter(|dose| dose["id"] == row["id"])
            .collect::<Vec<_>>();
        assert_eq!(dose.len(), 1, "{row}");
        assert_eq!(dose[0]["g_per_l"], row["g_per_l"], "to the last digit");
    }
    let potassium = kept["delivered"].as_array().expect("a list").iter();
    let potassium = potassium
        .filter(|row| row["nutrient"] == "K")
        .collect::<Vec<_>>();
    assert_eq!(potassium[0]["mg_l"], crate::common::delivered(&report, "K"));
    let sheet = done(at, &["list"]);
    assert!(sheet.contains("mixed 115 L of"), "{sheet}");
    fs::write(at.join("no.json"), "{\"ec\": 1}").expect("written");
    let said = refused(at, &["add", "--batch", "no.json"]);
    assert!(said.contains("no.json, mix: the mix is empty"), "{said}");
}

#[test]
fn what_is_exported_is_read_back_and_never_twice() {
    let [from, to] = [(); 2].map(|()| tempfile::tempdir().expect("a folder"));
    let at = from.path();
    mixed(at);
    done(
        at,
        &[
            "system",
            "tank",
            "--recipe",
            "hoagland-2",
            "--tank",
            "120 L",
            "--ph-band",
            "5.6..6.2",
        ],
    );
    let note = "=1+1; \"quoted\", twice\nand a line";
    done(
        at,
        &[
            "add",
            "--ec",
            "1.4",
            "--note",
            note,
            "--at",
            "2026-03-02T08:00:30-05:00",
        ],
    );
    done(
        at,
        &[
            "add",
            "--ec",
            "1.4",
            "--note",
            note,
            "--at",
            "2026-03-02T08:00:30-05:00",
        ],
    );
    done(
        at,
        &["add", "--drained", "20L", "--added", "nitric-acid-38=9mL"],
    );
    done(at, &["add", "--system", "herbs", "--ph", "6"]);
    let table = to.path().join("table.csv");
    let name = table.to_str().expect("UTF-8");
    assert!(done(at, &["export", "--out", name]).contains("Wrote 6 entries"));
    let text = fs::read_to_string(&table).expect("read");
    assert!(
        text.contains("\"'=1+1;"),
        "no cell is taken for a formula: {text}"
    );
    let said = done(to.path(), &["import", "table.csv"]);
    assert!(said.contains("Noted 6 entries"), "{said}");
    let without_numbers = |folder: &Path| {
        let mut listed = entries(folder);
        for entry in &mut listed {
            entry["entry"] = Value::Null;
        }
        listed
    };
    assert_eq!(without_numbers(at), without_numbers(to.path()));
    let said = done(to.path(), &["import", "table.csv"]);
    assert!(
        said.contains("Noted 0 entries") && said.contains("6 stood here already"),
        "{said}"
    );
    // An import is one act.
    done(to.path(), &["undo"]);
    assert!(entries(to.path()).is_empty());
    let one = stdout(&journal(at, &["export", "--system", "Herbs"]));
    assert_eq!(one.lines().count(), 2, "{one}");
}

#[test]
fn a_bad_table_changes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let text = "date_time,system,ec_ms_cm\n2026-03-02 08:00,tank,1.4\n2026-03-03,tank,abc\n";
    fs::write(at.join("t.csv"), text).expect("written");
    let said = refused(at, &["import", "t.csv"]);
    assert!(
        said.contains("t.csv:3, date_time") && said.contains("t.csv:3, ec_ms_cm"),
        "{said}"
    );
    assert!(!at.join("journal.db").exists());
}

#[test]
fn a_damaged_journal_is_saved_by_a_table() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    for n in 0..30 {
        let note = format!("{n} {}", "x".repeat(2000));
        done(
            at,
            &["add", "--system", "tank", "--ec", "1.4", "--note", &note],
        );
    }
    let path = at.join("journal.db");
    let mut file = fs::read(&path).expect("read");
    let middle = file.len() / 2;
    file[middle..middle + 4096].fill(0x5a);
    fs::write(&path, &file).expect("written");
    let output = journal(at, &["export", "--out", "saved.csv"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        stderr(&output).contains("revisions could be read"),
        "{}",
        stderr(&output)
    );
    fs::rename(&path, at.join("damaged.db")).expect("moved");
    done(at, &["import", "saved.csv"]);
    assert!(
        (20..=30).contains(&entries(at).len()),
        "{}",
        entries(at).len()
    );
}

#[test]
fn what_is_told_of_a_system_is_told_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let tell = |more: &[&str]| done(at, &[&["system"], more].concat());
    assert!(tell(&["tank", "--recipe", "hoagland-2", "--tank", "120L"]).contains("holds 120 L"));
    let said = tell(&["--ec-band", "1.3..1.6"]);
    for words in [
        "tank: ",
        "recipe hoagland-2",
        "holds 120 L",
        "EC 1.3 to 1.6",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    done(at, &["undo"]);
    assert!(!tell(&[]).contains("EC 1.3"));
    let said = refused(at, &["system", "--recipe", "hoagland-3"]);
    assert!(
        said.contains("--recipe") && said.contains("hoagland-"),
        "{said}"
    );
    let said = refused(at, &["system", "--ph-band", "6.2..5.6", "--ec-band", "1.4"]);
    assert!(
        said.contains("above the maximum") && said.contains("is not a band"),
        "{said}"
    );
}

#[test]
fn a_pen_is_read_on_its_scale() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let said = refused(at, &["add", "--system", "tank", "--ec", "650 ppm"]);
    assert!(said.contains("--ec"), "{said}");
    done(at, &["add", "--system", "tank", "--ec", "650 ppm@500"]);
    done(at, &["add", "--ec", "700 ppm"]);
    let ec: Vec<f64> = entries(at)
        .iter()
        .filter_map(|entry| entry["ec_ms_cm"].as_f64())
        .collect();
    assert_eq!(ec, [1.3, 1.4]);
    // Another system, another pen.
    let said = refused(at, &["add", "--system", "herbs", "--ec", "650 ppm"]);
    assert!(said.contains("--ec"), "{said}");
    let said = refused(at, &["add", "--ec", "25", "--ph", "0.5"]);
    assert!(said.contains("--ec") && said.contains("--ph"), "{said}");
}
