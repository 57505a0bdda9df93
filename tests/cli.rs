//! Whole commands on shipped data.

use crate::common::{batch, run, stderr, stdout};
use serde_json::Value;

const LETTUCE: [&str; 4] = [
    "formulate",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    LETTUCE.iter().chain(more).copied().collect()
}

#[test]
fn every_line_fits_a_terminal_and_carries_no_colour() {
    let prices = ["--prices", "recipes/data/demo/prices.csv"];
    for arguments in [
        with(&["--tank", "120 L", "--ratio", "100"]),
        with(&[&prices[..], &["--gallons", "--tank", "30 gal"]].concat()),
        with(&["--units", "meq"]),
        vec!["formulate", "yamazaki-lettuce", "--water", "salt-lane-well"],
        vec!["predict", "potassium-nitrate=0.5", "nitric-acid-38=1mL"],
        vec!["list", "recipes"],
        vec!["list", "waters"],
        vec!["list", "fertilizers"],
        vec!["list", "crops"],
        vec!["help"],
        vec!["help", "recipes"],
        vec!["help", "proof"],
    ] {
        let text = stdout(&run(&arguments));
        assert!(!text.is_empty(), "{arguments:?}");
        assert!(!text.contains('\u{1b}'), "{arguments:?}");
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{arguments:?}: {line}");
        }
    }
}

#[test]
fn the_sheet_and_the_json_show_the_same_grams() {
    let sheet = stdout(&run(&with(&["--tank", "120L"])));
    let json: Value =
        serde_json::from_str(&stdout(&run(&with(&["--tank", "120L", "--json"])))).expect("JSON");
    for row in json["mix"].as_array().expect("a mix") {
        let id = row["id"].as_str().expect("an id");
        let line = sheet.lines().find(|line| line.starts_with(id));
        let shown = line.unwrap_or_else(|| panic!("{id} on the sheet"));
        let grams = row["g"].as_f64().expect("grams");
        let cell = shown.split_whitespace().nth(1).expect("an amount");
        let unit = shown.split_whitespace().nth(2).expect("a unit");
        let amount: f64 = cell.parse().expect("a number");
        let exact = match unit {
            "mg" => grams * 1000.0,
            "g" => grams,
            "mL" => row["ml_per_l"].as_f64().expect("millilitres") * 120.0,
            other => panic!("{other}"),
        };
        assert!(
            (amount - exact).abs() <= 0.005_01 * exact,
            "{shown}: {exact}"
        );
    }
}

#[test]
fn a_mix_that_was_written_predicts_what_was_formulated() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mix.csv");
    let path = file.to_str().expect("UTF-8");
    let made = run(&with(&["--out", path, "--json"]));
    let made: Value = serde_json::from_str(&stdout(&made)).expect("JSON");
    let water = ["--water", "larch-hollow-spring", "--json"];
    let seen = run(&[&["predict", "--mix", path], &water[..]].concat());
    let seen: Value = serde_json::from_str(&stdout(&seen)).expect("JSON");
    let pairs = made["nutrients"].as_array().expect("rows").iter();
    for (a, b) in pairs.zip(seen["nutrients"].as_array().expect("rows")) {
        let (a, b) = (
            a["delivered"].as_f64().unwrap(),
            b["delivered"].as_f64().unwrap(),
        );
        assert!((a - b).abs() <= 1e-9 * a.max(1.0), "{a} {b}");
    }
    let nutrients = folder.path().join("mix-nutrients.csv");
    assert!(nutrients.exists());
    // A report is a mix, too.
    let report = folder.path().join("report.json");
    std::fs::write(&report, made.to_string()).expect("written");
    let again = run(&["predict", "--mix", report.to_str().unwrap(), "--json"]);
    assert_eq!(again.status.code(), Some(0), "{}", stderr(&again));
}

#[test]
fn exit_codes() {
    for (arguments, code) in [
        (with(&[]), 0),
        (
            vec![
                "formulate",
                "sonneveld-modified-lettuce",
                "--water",
                "quarry-end-well",
                "--aim",
                "Ca=..50",
            ],
            3,
        ),
        (vec!["formulate", "no-such-recipe"], 1),
        (vec!["formulate"], 2),
        (vec!["formulate", "hoagland-2", "--no-such-flag"], 2),
        (vec!["list", "nothing"], 2),
        (vec!["--version"], 0),
    ] {
        let output = run(&arguments);
        assert_eq!(
            output.status.code(),
            Some(code),
            "{arguments:?}: {}",
            stderr(&output)
        );
    }
}

#[test]
fn what_cannot_be_met_is_said_three_ways() {
    let output = run(&[
        "formulate",
        "sonneveld-modified-lettuce",
        "--water",
        "quarry-end-well",
        "--aim",
        "Ca=..50",
    ]);
    let text = stdout(&output);
    for said in [
        "OUTSIDE the bands",
        "off  ",
        "why  ",
        "Use a purer water",
        "Ca",
    ] {
        assert!(text.contains(said), "{said}\n{text}");
    }
}

#[test]
fn a_way_out_is_named() {
    let output = run(&with(&["--without", "sodium-molybdate-dihydrate"]));
    let text = stdout(&output);
    assert_eq!(output.status.code(), Some(3), "{text}");
    let mend = text
        .lines()
        .find(|line| line.starts_with("mend"))
        .expect("a way out");
    assert!(
        mend.contains("Allowing sodium-molybdate-dihydrate or"),
        "{mend}"
    );
}

#[test]
fn what_cannot_be_written_is_said() {
    for path in ["/nowhere/mix.csv", "tests", "Cargo.toml/mix.csv"] {
        let output = run(&["predict", "urea=0.1", "--out", path]);
        assert_eq!(output.status.code(), Some(1), "{path}");
        let said = stderr(&output);
        assert!(said.starts_with(&format!("error: {path}: this ")), "{said}");
    }
}

#[test]
fn own_files_are_used() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path.to_str().expect("UTF-8").to_owned()
    };
    let recipe = write(
        "mine.toml",
        "name = \"mine\"\nec_ms_cm = 1.0\n[aims]\nK = 100\nNO3-N = 36\n",
    );
    let water = write(
        "tap.toml",
        "name = \"tap\"\nalkalinity_meq_l = 0\n[holds]\nK = 1\n",
    );
    let table = write(
        "salts.csv",
        "id;formula;NO3-N;K\nsaltpetre;KNO3;13,7;38,2\n",
    );
    let output = run(&[
        "formulate",
        &recipe,
        "--water",
        &water,
        "--fertilizers",
        &table,
    ]);
    let text = stdout(&output);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(text.contains("saltpetre"), "{text}");
    assert!(text.contains("mine in tap"), "{text}");
}

#[test]
fn batch_answers_every_line_in_order_and_alike() {
    let input = [
        r#"{"job": "formulate", "id": 1, "recipe": "hoagland-2"}"#,
        "",
        "not json",
        r#"{"job": "predict", "id": "b", "mix": []}"#,
        r#"{"job": "brew", "id": 2.5}"#,
        r#"{"job": "predict", "mix": [{"id": "urea", "g_per_l": -1}, {"id": "ure", "g_per_l": 1}]}"#,
    ]
    .join("\n");
    let (once, twice) = (batch(input.as_bytes()), batch(input.as_bytes()));
    assert_eq!(once.stdout, twice.stdout);
    assert_eq!(once.status.code(), Some(0));
    let lines: Vec<Value> = stdout(&once)
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(lines.len(), 5);
    assert_eq!(
        (&lines[0]["id"], &lines[0]["job"]),
        (&1.into(), &"formulate".into())
    );
    assert_eq!(lines[1]["job"], Value::Null);
    assert_eq!(lines[1]["refusal"]["kind"], "unreadable");
    assert_eq!(lines[2]["id"], "b");
    assert_eq!(lines[3]["refusal"]["kind"], "unknown-name");
    assert_eq!(
        lines[4]["faults"].as_array().map(Vec::len),
        Some(2),
        "{}",
        lines[4]
    );
}

#[test]
fn batch_survives_long_and_deep_lines() {
    let deep = format!("{}{}", "[".repeat(10_000), "]".repeat(10_000));
    let long = format!("{{\"job\": \"{}\"}}", "x".repeat(10 * 1024 * 1024));
    let input = format!("{deep}\n{long}\n{{\"job\": \"predict\", \"mix\": []}}\n");
    let output = batch(input.as_bytes());
    let lines: Vec<Value> = stdout(&output)
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .collect();
    assert_eq!(lines[0]["refusal"]["kind"], "unreadable");
    assert_eq!(lines[1]["refusal"]["kind"], "too-large");
    assert_eq!(lines[2]["job"], "predict");
    let broken = batch(b"\xff\xfe\n");
    assert!(stdout(&broken).contains("not UTF-8"));
}

#[test]
fn lists_are_machine_readable_too() {
    for what in ["recipes", "waters", "fertilizers", "crops"] {
        let rows: Value = serde_json::from_str(&stdout(&run(&["list", what, "--json"]))).unwrap();
        let rows = rows.as_array().expect("a list");
        assert!(rows.len() >= 4, "{what}");
        assert!(
            rows.iter()
                .all(|row| !row["source"].as_str().unwrap_or("").is_empty()),
            "{what}"
        );
    }
    let found = stdout(&run(&["list", "recipes", "--search", "lettuce"]));
    assert!(
        found.contains("yamazaki-lettuce") && !found.contains("tomato"),
        "{found}"
    );
    let table = stdout(&run(&["list", "fertilizers", "--csv"]));
    assert!(table.starts_with("id,name,formula"), "{table}");
}
