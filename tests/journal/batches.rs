//! What is mixed is noted as it was worked out, exactly.

use super::entries;
use crate::common::{saltwright, stderr, stdout};
use serde_json::{Value, json};
use std::path::Path;
use std::process::Output;

fn mix(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = saltwright();
    command.current_dir(folder).env("TZ", "UTC");
    command.env_remove("SALTWRIGHT_FOLDER").args(arguments);
    command.output().expect("it starts")
}

const FORMULATE: [&str; 6] = [
    "formulate",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
    "--tank",
    "100 L",
];

#[test]
fn a_formulation_is_noted_exactly() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let nameless = mix(at, &[&FORMULATE[..], &["--journal"]].concat());
    assert_eq!(nameless.status.code(), Some(1));
    assert!(
        stderr(&nameless).contains("--journal: "),
        "{}",
        stderr(&nameless)
    );
    assert!(!at.join("journal.db").exists());
    let noted = mix(at, &[&FORMULATE[..], &["--journal", "tank"]].concat());
    let said = stdout(&noted);
    assert_eq!(noted.status.code(), Some(0), "{}", stderr(&noted));
    for words in [
        "Began a journal",
        "Noted as entry 1: tank",
        "mixed 100 L of Modified Sonneveld",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // The second time the system need not be named, and a report stays a report.
    let report = mix(at, &[&FORMULATE[..], &["--json", "--journal"]].concat());
    let report: Value = serde_json::from_str(&stdout(&report)).expect("a report alone");
    let listed = entries(at);
    assert_eq!(listed.len(), 2);
    for entry in &listed {
        assert_eq!(
            (&entry["kind"], &entry["system"]),
            (&json!("batch"), &json!("tank"))
        );
        let batch = &entry["batch"];
        assert_eq!(batch["litres"], json!(100.0));
        assert_eq!(batch["ec_ms_cm"], report["ec"]["predicted_ms_cm"]);
        let rows = report["mix"].as_array().expect("a mix");
        let doses = batch["mix"].as_array().expect("doses");
        assert_eq!(rows.len(), doses.len());
        for (row, dose) in rows.iter().zip(doses) {
            assert_eq!(
                (&row["id"], &row["g_per_l"]),
                (&dose["id"], &dose["g_per_l"])
            );
        }
        let delivered = batch["delivered"].as_array().expect("nutrients");
        let nutrients = report["nutrients"].as_array().expect("rows");
        assert!(
            nutrients
                .iter()
                .zip(delivered)
                .all(|(a, b)| a["delivered"] == b["mg_l"])
        );
    }
    // What the report of a command line file says is the same entry.
    std::fs::write(at.join("mix.json"), report.to_string()).expect("written");
    super::done(at, &["add", "--batch", "mix.json"]);
    assert_eq!(entries(at)[2]["batch"], listed[1]["batch"]);
}

#[test]
fn stocks_are_noted_as_the_mix_they_make() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let stock = [
        "stock",
        "potassium-nitrate=0.5",
        "calcium-nitrate-fertilizer=0.4",
        "--water",
        "rain-barrel",
        "--ratio",
        "100",
        "--journal",
        "tank",
    ];
    let noted = mix(at, &stock);
    assert_eq!(noted.status.code(), Some(0), "{}", stderr(&noted));
    assert!(
        stdout(&noted).contains("mixed stocks 1:100 in"),
        "{}",
        stdout(&noted)
    );
    let batch = &entries(at)[0]["batch"];
    assert_eq!(
        batch["mix"],
        json!([
            {"id": "potassium-nitrate", "g_per_l": 0.5},
            {"id": "calcium-nitrate-fertilizer", "g_per_l": 0.4},
        ])
    );
    let k = batch["delivered"].as_array().expect("nutrients");
    let k = k.iter().find(|row| row["nutrient"] == "K").expect("K");
    // 0.5 g/L of KNO3 with 38.67 % K by formula (CIAAW weights); the shipped grade is within 3 %.
    let mg = k["mg_l"].as_f64().expect("a number");
    assert!((mg - 193.0).abs() < 6.0, "{mg}");
}
