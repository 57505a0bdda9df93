//! Whole commands on shipped data.

use crate::common::{batch, grams, number, row, run, saltwright, stderr, stdout, with};
use serde_json::Value;

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
        (vec!["list", "waters", "--csv"], 2),
        (vec!["help", "nothing"], 2),
        (vec!["brew"], 2),
        (vec![], 0),
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
fn what_cannot_be_written_is_said_and_nothing_is_lost() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("mix.csv");
    std::fs::write(&file, "old").expect("written");
    let below = file.join("below.csv");
    let missing = folder.path().join("missing").join("mix.csv");
    for (path, said) in [
        (missing.as_path(), "there is no such folder to write to"),
        (below.as_path(), "there is no such folder to write to"),
        (folder.path(), "this is a folder"),
    ] {
        let path = path.to_str().expect("UTF-8");
        let output = run(&["predict", "urea=0.1", "--out", path]);
        assert_eq!(output.status.code(), Some(1), "{path}");
        let told = stderr(&output);
        assert!(
            told.starts_with(&format!("error: {path}: {said}")),
            "{told}"
        );
    }
    assert_eq!(std::fs::read_to_string(&file).expect("there"), "old");
    if cfg!(target_os = "linux") {
        let full = std::fs::File::create("/dev/full").expect("a device");
        let mut command = saltwright();
        command.args(["list", "waters"]).stdout(full);
        let output = command.output().expect("it starts");
        assert_eq!(output.status.code(), Some(1));
        assert!(
            stderr(&output).contains("the disk is full"),
            "{}",
            stderr(&output)
        );
    }
}

#[test]
fn a_refusal_names_all_faults_and_is_a_document_with_json() {
    let command = [
        "formulate",
        "no-such/file.toml",
        "--tank",
        "lots",
        "--ratio",
        "x",
        "--prices",
        "no-such.csv",
        "--aim",
        "Kx=3",
    ];
    let plain = run(&command);
    assert_eq!(plain.status.code(), Some(1));
    assert_eq!(stdout(&plain), "");
    for said in [
        "no-such/file.toml: ",
        "--tank: ",
        "--ratio: ",
        "no-such.csv: ",
    ] {
        assert!(stderr(&plain).contains(&format!("error: {said}")), "{said}");
    }
    let json = run(&[&command[..], &["--json"]].concat());
    assert_eq!(json.status.code(), Some(1));
    let document: Value = serde_json::from_str(&stdout(&json)).expect("JSON");
    assert_eq!(document["job"], "formulate");
    assert_eq!(document["faults"].as_array().map(Vec::len), Some(4));
    assert_eq!(document["refusal"], document["faults"][0]);
    assert_eq!(stderr(&json), stderr(&plain));
}

#[test]
fn a_fault_of_a_request_names_the_file_it_came_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.toml");
    std::fs::write(&path, "micros = \"micros-leavy\"\n[aims]\nK = 100\n").expect("written");
    let path = path.to_str().expect("UTF-8");
    let said = stderr(&run(&["formulate", path]));
    let wanted = format!("error: {path}:1, micros: there is no recipe called \"micros-leavy\".");
    assert!(said.starts_with(&wanted), "{said}");
    let near = path.replace("mine", "hoagland-3");
    let said = stderr(&run(&["formulate", &near]));
    assert!(said.contains("Did you mean \"hoagland-"), "{said}");
}

#[test]
fn a_table_that_was_listed_is_a_table_to_use() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("salts.csv");
    let table = stdout(&run(&[
        "list",
        "fertilizers",
        "--csv",
        "--search",
        "nitrate",
    ]));
    assert!(table.contains("potassium-nitrate") && !table.contains("urea-phosphate"));
    std::fs::write(&path, stdout(&run(&["list", "fertilizers", "--csv"]))).expect("written");
    let own = ["--fertilizers", path.to_str().expect("UTF-8"), "--json"];
    let only = ["--only", "potassium-nitrate,urea"];
    let parse = |output| serde_json::from_str::<Value>(&stdout(&output)).expect("JSON");
    let theirs = parse(run(&with(&[&own[..], &only].concat())));
    let ours = parse(run(&with(&[&["--json"], &only[..]].concat())));
    let (theirs, ours) = (
        grams(&theirs, "potassium-nitrate"),
        grams(&ours, "potassium-nitrate"),
    );
    assert!(
        ours > 0.1 && (ours - theirs).abs() < 1e-6 * ours,
        "{ours} {theirs}"
    );
}

/// What each option does, seen in the exact report.
#[test]
fn options_reach_the_answer() {
    let json = |more: &[&str]| -> Value {
        let output = run(&with(&[more, &["--json"]].concat()));
        serde_json::from_str(&stdout(&output)).unwrap_or_else(|_| panic!("{more:?}"))
    };
    let plain = json(&[]);
    let k = |report: &Value| number(row(report, "K"), "/aim");
    assert!((k(&plain) - 210.0).abs() < 1e-9);
    assert!((k(&json(&["--strength", "50 %"])) - 105.0).abs() < 1e-9);
    assert!((k(&json(&["--aim", "K=180"])) - 180.0).abs() < 1e-9);
    assert!((k(&json(&["--aim", "K=5 mmol/L"])) - 195.49).abs() < 1e-9);
    let band = json(&["--aim", "Fe=0,8..1.2", "--aim", "Cl=..70"]);
    assert!((number(row(&band, "Fe"), "/min") - 0.8).abs() < 1e-9);
    assert!((number(row(&band, "Cl"), "/max") - 70.0).abs() < 1e-9);
    let without = json(&["--without", "potassium-nitrate"]);
    assert!(grams(&without, "potassium-nitrate") < 1e-12);
    assert_eq!(json(&["--acid", "none"])["acidity"], Value::Null);
    let left = json(&["--residual", "0.2 meq/L", "--acid", "nitric-acid-60"]);
    assert!((number(&left, "/acidity/target_meq_l") - 0.38).abs() < 1e-9);
    assert!(grams(&left, "nitric-acid-60") > 0.0);
    assert!((number(&json(&["--ec", "1400 uS/cm"]), "/ec/aim_ms_cm") - 1.4).abs() < 1e-9);
    assert!((number(&json(&["--ratio", "1:100"]), "/ratio") - 100.0).abs() < 1e-9);
    let bag = json(&["--tank", "30 gal", "--at-most", "potassium-nitrate=20g"]);
    assert!((number(&bag, "/litres") - 113.562_353_52).abs() < 1e-9);
    assert!(grams(&bag, "potassium-nitrate") * number(&bag, "/litres") <= 20.0 + 1e-6);
    assert!(grams(&plain, "potassium-nitrate") * number(&bag, "/litres") > 30.0);
    let stages = |report: &Value| report["proof"].as_array().map_or(0, Vec::len);
    assert_eq!(stages(&json(&["--no-simplest"])) + 1, stages(&plain));
    let blend = run(&[
        "formulate",
        "sonneveld-modified-lettuce",
        "--blend",
        "rain-barrel=0.5",
        "--blend",
        "quarry-end-well=0.5",
        "--json",
    ]);
    let blend: Value = serde_json::from_str(&stdout(&blend)).expect("JSON");
    assert!((number(row(&blend, "Ca"), "/water") - 48.8).abs() < 1e-9);
}

#[test]
fn what_is_in_the_tank_already_counts() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("in.csv");
    std::fs::write(&path, "id;g\npotassium-nitrate;24\n").expect("written");
    let already = [
        "--already",
        path.to_str().expect("UTF-8"),
        "--tank",
        "120",
        "--json",
    ];
    let output = run(&with(&already));
    let report: Value = serde_json::from_str(&stdout(&output)).expect("JSON");
    // 0.2 g/L of the shipped potassium nitrate (38.29 % K) beside 1.2 mg/L of the water.
    assert!((number(row(&report, "K"), "/water") - (1.2 + 76.58)).abs() < 0.01);
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
fn batch_keeps_the_order_of_many_lines() {
    let lines: Vec<String> = (0..300)
        .map(|at| match at % 3 {
            0 => format!(r#"{{"job": "predict", "id": {at}, "mix": []}}"#),
            1 => format!(r#"{{"job": "predict", "id": {at}}}"#),
            _ => format!(r#"{{"job": "nothing", "id": {at}}}"#),
        })
        .collect();
    let output = batch(lines.join("\r\n").as_bytes());
    let ids: Vec<Value> = stdout(&output)
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).expect("JSON")["id"].clone())
        .collect();
    let wanted: Vec<Value> = (0..300).map(Value::from).collect();
    assert_eq!(ids, wanted);
}

#[test]
fn batch_is_quiet_where_nobody_listens() {
    let mut child = saltwright()
        .arg("batch")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let mut stdin = child.stdin.take().expect("piped");
    let line = b"{\"job\": \"predict\", \"mix\": []}\n";
    // It may be gone before everything is written.
    let _ = std::io::Write::write_all(&mut stdin, &line.repeat(100));
    drop(stdin);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(stderr(&output), "");
    assert!(output.status.code().is_some(), "no signal, no panic");
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
