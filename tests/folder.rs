//! A grower's own folder: what it holds goes before what is shipped, and the lists say so; and the
//! invented weeks of the demonstration, from readings to what to do.

use crate::common::{saltwright, stderr, stdout};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

/// Runs the program in a folder, in a zone that is the same everywhere.
fn run_in(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = saltwright();
    command
        .current_dir(folder)
        .env("TZ", "UTC")
        .env_remove("SALTWRIGHT_FOLDER");
    command.args(arguments).output().expect("it starts")
}

/// Runs it, which must end with this code; what it says.
fn ends(folder: &Path, code: i32, arguments: &[&str]) -> String {
    let output = run_in(folder, arguments);
    let said = format!("{}{}", stdout(&output), stderr(&output));
    assert_eq!(output.status.code(), Some(code), "{arguments:?}: {said}");
    said
}

#[test]
fn a_folder_is_laid_out_once_and_its_examples_work() {
    let place = tempfile::tempdir().expect("a folder");
    let said = ends(place.path(), 0, &["start", "mine"]);
    let mine = place.path().join("mine");
    for name in [
        "recipes/my-lettuce.toml",
        "waters/my-tap.toml",
        "prices.csv",
        "journal.db",
    ] {
        assert!(
            said.contains(name) && mine.join(name).is_file(),
            "{name}: {said}"
        );
    }
    ends(
        &mine,
        0,
        &[
            "formulate",
            "my-lettuce",
            "--water",
            "my-tap",
            "--tank",
            "100L",
        ],
    );
    fs::write(mine.join("prices.csv"), "id,price_per_kg\nurea,1\n").expect("written");
    let said = ends(place.path(), 1, &["start", "mine"]);
    assert!(said.contains("laid out already"), "{said}");
    // What is there is never changed.
    fs::remove_file(mine.join("saltwright.toml")).expect("removed");
    ends(place.path(), 0, &["start", "mine"]);
    let kept = fs::read_to_string(mine.join("prices.csv")).expect("read");
    assert_eq!(kept, "id,price_per_kg\nurea,1\n");
}

#[test]
fn own_entries_go_before_shipped_ones_and_the_lists_say_so() {
    let place = tempfile::tempdir().expect("a folder");
    ends(place.path(), 0, &["start", "mine"]);
    let mine = place.path().join("mine");
    let write = |name: &str, text: &str| fs::write(mine.join(name), text).expect("written");
    write(
        "recipes/hoagland-2.toml",
        "name = \"Ours\"\n[aims]\nK = 100\n",
    );
    write(
        "waters/rain-barrel.toml",
        "name = \"Roof\"\nalkalinity_meq_l = 0.1\n[holds]\nCa = 2\n",
    );
    write(
        "fertilizers.csv",
        "id,formula,K,NO3-N\npotassium-nitrate,,37,13\nmy-salt,KNO3,,\n",
    );
    write(
        "prices.csv",
        "id,price_per_kg\nmy-salt,2\npotassium-nitrate,1.5\n",
    );
    for (list, own, both, shipped) in [
        ("recipes", "my-lettuce", "hoagland-2", "knop"),
        ("waters", "my-tap", "rain-barrel", "larch-hollow-spring"),
        ("fertilizers", "my-salt", "potassium-nitrate", "urea"),
    ] {
        let said = ends(&mine, 0, &["list", list, "--json"]);
        let rows: Vec<Value> = serde_json::from_str(&said).expect("a list");
        for (id, word) in [
            (own, "own"),
            (both, "own, over the shipped one"),
            (shipped, ""),
        ] {
            let row = rows
                .iter()
                .filter(|row| row["id"] == id)
                .collect::<Vec<_>>();
            assert_eq!(row.len(), 1, "{id}");
            assert_eq!(row[0]["own"], word, "{id}");
        }
        let said = ends(&mine, 0, &["list", list]);
        let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            words.contains("own, over") && words.contains("(own)"),
            "{said}"
        );
        assert!(
            said.lines().all(|line| line.chars().count() <= 80),
            "{said}"
        );
    }
    // Found by argument and environment, too; elsewhere the shipped ones count.
    let name = mine.to_str().expect("UTF-8");
    let asked = [
        "formulate",
        "hoagland-2",
        "--water",
        "rain-barrel",
        "--json",
    ];
    let recipe = |output: Output| -> Value {
        serde_json::from_slice::<Value>(&output.stdout).expect("a report")["recipe"].clone()
    };
    let outside = place.path();
    assert_eq!(recipe(run_in(&mine, &asked)), "Ours");
    assert_eq!(
        recipe(run_in(outside, &[&asked[..], &["--folder", name]].concat())),
        "Ours"
    );
    assert_ne!(recipe(run_in(outside, &asked)), "Ours");
    let mut by_variable = saltwright();
    by_variable
        .current_dir(outside)
        .env("SALTWRIGHT_FOLDER", name)
        .args(asked);
    assert_eq!(recipe(by_variable.output().expect("it starts")), "Ours");
    // The folder's prices serve where none are named.
    let report = stdout(&run_in(&mine, &asked));
    let report: Value = serde_json::from_str(&report).expect("a report");
    assert!(
        report["cost_per_m3"]
            .as_f64()
            .is_some_and(|cost| cost > 0.0),
        "{report}"
    );
}

#[test]
fn faults_in_a_folder_are_all_named_and_a_reading_is_noted_all_the_same() {
    let place = tempfile::tempdir().expect("a folder");
    ends(place.path(), 0, &["start", "mine"]);
    let mine = place.path().join("mine");
    fs::write(mine.join("recipes/bad.toml"), "[aims]\nKalium = 3\n").expect("written");
    fs::write(mine.join("fertilizers.csv"), "id,formula\nx,Xy9\n").expect("written");
    let said = ends(&mine, 1, &["list", "recipes"]);
    assert!(
        said.contains("recipes/bad.toml:2") && said.contains("fertilizers.csv:2"),
        "{said}"
    );
    ends(
        &mine,
        0,
        &["journal", "add", "--system", "tank", "--ec", "1.4"],
    );
    ends(&mine, 0, &["help", "journal"]);
    let said = ends(place.path(), 1, &["--folder", "nowhere", "list", "recipes"]);
    assert!(said.contains("there is no such folder"), "{said}");
    // A folder without the marker is no folder of lists: others have one called recipes, too.
    fs::remove_file(mine.join("saltwright.toml")).expect("removed");
    ends(&mine, 0, &["list", "recipes"]);
}

#[test]
fn two_invented_weeks_from_readings_to_what_to_do() {
    let place = tempfile::tempdir().expect("a folder");
    ends(place.path(), 0, &["start", "kettle-row", "--demo"]);
    let at = place.path().join("kettle-row");
    let said = ends(&at, 0, &["journal", "list", "--json"]);
    let entries: Vec<Value> = serde_json::from_str(&said).expect("a list");
    let readings = entries
        .iter()
        .filter(|entry| entry["kind"] == "reading")
        .count();
    assert_eq!((readings, &entries[0]["kind"]), (23, &Value::from("note")));
    assert!(
        entries[0]["note"]
            .as_str()
            .is_some_and(|note| note.contains("invented"))
    );
    // The invented fortnight ends in band: nothing is to be done.
    let flat = |said: &str| said.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = flat(&ends(&at, 0, &["correct", "--system", "kettle row"]));
    assert!(
        said.contains("EC 1.50 mS/cm; pH 5.8") && said.contains("in band"),
        "{said}"
    );
    // A day later it is not, and the next command needs no name.
    ends(
        &at,
        0,
        &[
            "journal",
            "add",
            "--system",
            "Kettle Row",
            "--ec",
            "1.75",
            "--ph",
            "6.8",
            "--litres",
            "108",
            "--temperature",
            "20",
        ],
    );
    let said = ends(&at, 0, &["correct", "--system"]);
    assert!(
        said.contains("comes into band") && said.contains("drain"),
        "{said}"
    );
    // What it offers to note can be typed as it stands, and is then held against the reading.
    let offered = said.split("note it:").nth(1).expect("an offer");
    let mut words = vec!["journal", "add", "--system", "kettle row"];
    words.extend(
        offered
            .split_whitespace()
            .filter(|word| *word != "\\")
            .skip(6),
    );
    ends(&at, 0, &words);
    let said = flat(&ends(&at, 0, &["correct", "--system"]));
    assert!(
        said.contains("! Since then, kettle row") && said.contains("drained"),
        "{said}"
    );
    let said = ends(&at, 1, &["correct", "--system", "nobody"]);
    assert!(said.contains("no system called \"nobody\""), "{said}");
    assert!(said.contains("Use one of: kettle row."), "{said}");
    let said = ends(&at, 1, &["refill", "--system", "kettel row"]);
    assert!(said.contains("Did you mean \"kettle row\"?"), "{said}");
}

#[test]
fn a_chart_shows_what_was_read_in_the_terminal_and_as_a_drawing() {
    let place = tempfile::tempdir().expect("a folder");
    ends(place.path(), 0, &["start", "kettle-row", "--demo"]);
    let at = place.path().join("kettle-row");
    let said = ends(&at, 0, &["journal", "chart"]);
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    let line = |when: &str| {
        said.lines()
            .find(|line| line.starts_with(when))
            .expect(when)
    };
    // The well by mistake: the pH stands beyond the band, and something was done before it.
    let (_, scale) = line("2026-03-12 09:00").split_once("6.9").expect("a pH");
    let (band, mark) = (
        scale.rfind('|').expect("a band"),
        scale.find('#').expect("a mark"),
    );
    assert!(mark > band && scale.ends_with('*'), "{said}");
    let (_, scale) = line("2026-03-12 08:00").split_once("6.1").expect("a pH");
    assert!(
        scale.find('#') < scale.rfind('|') && !scale.ends_with('*'),
        "{said}"
    );
    ends(&at, 0, &["journal", "chart", "--svg", "c.svg"]);
    let drawing = fs::read_to_string(at.join("c.svg")).expect("read");
    assert_eq!(
        drawing.matches("<polyline").count(),
        4,
        "EC, pH, temperature, level"
    );
    assert_eq!(drawing.matches("<circle").count(), 23 * 4);
    assert_eq!(drawing.matches("class=\"band\"").count(), 2);
    assert!(
        drawing.contains("added 10 L of quarry-end-well"),
        "what was done is told"
    );
    let said = ends(&at, 0, &["journal", "chart", "--since", "2099-01-01 08:00"]);
    assert!(said.contains("Nothing was read"), "{said}");
}

/// The folder's prices count wherever a request names none: in a command, in a batch, on a page.
#[test]
fn own_prices_count_everywhere() {
    let place = tempfile::tempdir().expect("a folder");
    ends(place.path(), 0, &["start", "mine"]);
    let mine = place.path().join("mine");
    fs::write(
        mine.join("prices.csv"),
        "id,price_per_kg,bag_kg,price_per_bag\ncalcium-nitrate-tetrahydrate,1,,\n\
         potassium-nitrate,,5,10\npotassium-nitrate,,25,37.5\n",
    )
    .expect("written");
    let asked = |more: &str| {
        let recipe = r#"{"name": "M", "aims": {"NO3-N": 100, "K": 100, "Ca": 60}}"#;
        let request = format!(r#"{{"job": "formulate", "recipe": {recipe}{more}}}"#);
        fs::write(mine.join("r.jsonl"), request).expect("written");
        let report = stdout(&run_in(&mine, &["batch", "r.jsonl"]));
        serde_json::from_str::<Value>(&report).expect("a report")
    };
    let by_folder = asked("");
    let cost = by_folder["cost_per_m3"].as_f64().expect("a cost");
    let by_name =
        asked(r#", "prices": {"calcium-nitrate-tetrahydrate": 1, "potassium-nitrate": 1.5}"#);
    assert_eq!(by_folder, by_name, "the cheapest kilogram counts");
    assert!(asked(r#", "prices": {}"#)["cost_per_m3"].is_null());
    // A fertilizer that the request prices itself keeps its price.
    let own = r#", "fertilizers": ["calcium-nitrate-tetrahydrate", {"id": "potassium-nitrate", "formula": "KNO3", "price_per_kg": 9}]"#;
    assert!(
        asked(own)["cost_per_m3"]
            .as_f64()
            .is_some_and(|dear| dear > cost),
        "{}",
        asked(own)
    );
    fs::write(mine.join("prices.csv"), "id,price_per_kg\nurea,1\nuria,2\n").expect("written");
    let said = ends(&mine, 1, &["batch", "r.jsonl"]);
    assert!(
        said.contains("prices.csv:3, id: ") && said.contains("\"urea\""),
        "{said}"
    );
}
