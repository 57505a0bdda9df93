//! Stock tanks: worked tanks, handbook solubilities, the rules of practice, divisions, the sheet by
//! the scale.
//!
//! `cargo test stock -- --nocapture` prints every figure with our error beside it. Sources:
//! `tests/data/stock/SOURCES.md`.

mod divide;
mod rules;
mod scale;
mod solubility;
mod tanks;

use crate::common::answer;
use serde_json::{Value, json};

/// The answer for pure substances, named by their formulas, in grams per litre of finished
/// solution, with more keys.
pub fn stock_of(salts: &[(&str, f64)], more: &Value) -> Value {
    let fertilizers: Vec<Value> = salts
        .iter()
        .map(|(formula, _)| json!({"id": formula, "formula": formula}))
        .collect();
    let mix: Vec<Value> = salts
        .iter()
        .map(|(formula, grams)| json!({"id": formula, "g_per_l": grams}))
        .collect();
    let mut request = json!({"job": "stock", "fertilizers": fertilizers, "mix": mix});
    set(&mut request, more);
    answer(&request)
}

/// Sets more keys of a request.
pub fn set(request: &mut Value, more: &Value) {
    for (key, value) in more.as_object().expect("an object") {
        request[key] = value.clone();
    }
}

/// Rows of a table of test data, by column name.
pub fn table(name: &str) -> Vec<std::collections::HashMap<String, String>> {
    let path = format!("tests/data/stock/{name}.csv");
    let mut reader = csv::Reader::from_path(path).expect("there");
    reader
        .deserialize()
        .map(|row| row.expect("sound"))
        .collect()
}

/// A number in a row.
pub fn cell(row: &std::collections::HashMap<String, String>, column: &str) -> f64 {
    row[column]
        .parse()
        .unwrap_or_else(|_| panic!("{column} in {row:?}"))
}
