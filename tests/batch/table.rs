//! Requests and reports as tables: a row asks what JSON asks, and is answered by a row.

use super::{batch, path};
use crate::common::{stderr, stdout};
use std::path::Path;

const TABLE: &str = "\
job,id,recipe.aims.K,recipe.aims.Ca.min,water.holds.Ca,simplest,mix[0].id,mix[0].g_per_l,only
formulate,a,210,90,48,false,,,
,,,,,,,,
predict,2,,,12.5,,urea,0.1,
formulate,\"c,d\",180,,,,,,\"[\"\"potassium-nitrate\"\", \"\"potassium-sulfate\"\"]\"
formulate,e,ten,,,,,,
formulate,f,180,,,,,,,surplus
formulat,g,180,,,,,,
";

const LINES: &str = r#"
{"job": "formulate", "id": "a", "recipe": {"aims": {"K": 210, "Ca": {"min": 90}}}, "water": {"holds": {"Ca": 48}}, "simplest": false}
{"job": "predict", "id": "2", "water": {"holds": {"Ca": 12.5}}, "mix": [{"id": "urea", "g_per_l": 0.1}]}
{"job": "formulate", "id": "c,d", "recipe": {"aims": {"K": 180}}, "only": ["potassium-nitrate", "potassium-sulfate"]}
{"job": "formulate", "id": "e", "recipe": {"aims": {"K": "ten"}}}
"#;

/// Runs what stands in a file of that name.
fn ran(folder: &Path, name: &str, text: &str, options: &[&str]) -> String {
    let input = path(folder, name);
    std::fs::write(&input, text).expect("written");
    let ran = batch(&[&[input.as_str()], options].concat());
    assert_eq!(ran.status.code(), Some(0), "{}", stderr(&ran));
    stdout(&ran)
}

#[test]
fn a_table_asks_what_lines_of_json_ask() {
    let folder = tempfile::tempdir().expect("a folder");
    let lines = ran(folder.path(), "asked.jsonl", LINES, &[]);
    let table = ran(folder.path(), "asked.csv", TABLE, &[]);
    let same: Vec<&str> = table.lines().take(4).collect();
    assert!(same == lines.lines().collect::<Vec<_>>());
    // As a spreadsheet saves it where the comma is the decimal sign.
    let local = TABLE
        .replace(',', ";")
        .replace("c;d", "c,d")
        .replace("12.5", "12,5");
    let local = format!(
        "\u{feff}{}",
        local.replace("nitrate\"\"; ", "nitrate\"\", ")
    );
    let local = ran(
        folder.path(),
        "local.csv",
        &local.replace('\n', "\r\n"),
        &[],
    );
    assert!(local == table);
}

#[test]
fn a_fault_is_a_row_and_the_others_go_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let columns = "id,outcome,refusal.kind,refusal.where,refusal.what";
    let table = ran(
        folder.path(),
        "asked.csv",
        TABLE,
        &["--to", "csv", "--columns", columns],
    );
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows[0], columns);
    assert_eq!(rows[1], "a,within-bands,,,");
    assert_eq!(rows[2], "2,,,,");
    assert!(rows[3].starts_with("\"c,d\","), "{}", rows[3]);
    assert_eq!(
        rows[4..],
        [
            "e,,not-a-number,recipe.aims.K,\"\"\"ten\"\" is not a number\"",
            "f,,unreadable,,10 cells stand under 9 column heads",
            "g,,unknown-name,job,\"there is no job called \"\"formulat\"\"\"",
        ]
    );
}

/// Every row has as many cells as the head, and the grams of the whole mix are those of its columns.
#[test]
fn the_usual_columns_tell_the_whole_mix() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = path(folder.path(), "told.csv");
    ran(folder.path(), "asked.csv", TABLE, &["--out", &out]);
    let mut reader = csv::Reader::from_path(&out).expect("a table");
    let head = reader.headers().expect("a head").clone();
    let find = |name: &str| head.iter().position(|column| column == name);
    let at = |name: &str| find(name).expect("a column");
    let mut grams = 0;
    for row in reader.records() {
        let row = row.expect("as many cells as heads");
        if row[at("mix")].is_empty() {
            assert!(!row[at("refusal.kind")].is_empty(), "{row:?}");
            continue;
        }
        let mix: serde_json::Value = serde_json::from_str(&row[at("mix")]).expect("JSON");
        for salt in mix.as_array().expect("rows") {
            let column = format!("mix.{}.g_per_l", salt["id"].as_str().expect("an id"));
            // The common shelf has columns; the last cell has the others, too.
            if let Some(at) = find(&column) {
                assert_eq!(row[at], salt["g_per_l"].to_string(), "{column}");
                grams += 1;
            }
        }
    }
    assert!(grams >= 3, "{grams}");
}

#[test]
fn a_table_goes_on_where_it_was_cut_off() {
    let folder = tempfile::tempdir().expect("a folder");
    let input = path(folder.path(), "asked.csv");
    let out = path(folder.path(), "told.csv");
    std::fs::write(&input, TABLE).expect("written");
    let again = ["--out", &out, "--resume", "--columns", "id,mix"];
    let resume = || batch(&[&[input.as_str()], &again[..]].concat());
    resume();
    let whole = std::fs::read(&out).expect("written");
    for cut in 0..whole.len() {
        if cut % 7 == 0 || whole[cut.saturating_sub(3)..cut].contains(&b'\n') {
            std::fs::write(&out, &whole[..cut]).expect("written");
            let resumed = resume();
            assert_eq!(resumed.status.code(), Some(0), "{}", stderr(&resumed));
            assert!(std::fs::read(&out).expect("there") == whole, "cut at {cut}");
        }
    }
    let other = batch(&[&input, "--out", &out, "--resume", "--columns", "id"]);
    assert_eq!(other.status.code(), Some(1));
    assert!(
        stderr(&other).contains("with other columns"),
        "{}",
        stderr(&other)
    );
    assert!(std::fs::read(&out).expect("there") == whole);
}
