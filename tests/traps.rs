//! Traps: requests in which the obvious sum gives a wrong or a dangerous answer.
//!
//! Each test has a control beside it where the guard is off, so that it is the guard that is tested.
//! Assays, prices and waters here are made up for the question; figures follow by hand from them.

mod acids;
mod choice;
mod limits;
mod nitrogen;

use crate::common::{answer, delivered, grams, library, number, row};
use saltwright_fertilizers::Nutrient;
use serde_json::{Map, Value, json};

/// The answer to a formulation; a refusal fails the test.
fn formulate(mut request: Value) -> Value {
    request["job"] = json!("formulate");
    let report = answer(&request);
    assert!(report["refusal"].is_null(), "{}", report["refusal"]);
    report
}

/// The ids of all shipped fertilizers.
fn everything() -> Vec<String> {
    library()
        .fertilizers
        .iter()
        .map(|row| row.id.clone())
        .collect()
}

/// Everything at the same price, but for some.
fn prices(exceptions: &[(&str, f64)]) -> Map<String, Value> {
    let mut prices: Map<String, Value> = everything()
        .into_iter()
        .map(|id| (id, json!(2.0)))
        .collect();
    for (id, price) in exceptions {
        assert!(
            prices.insert((*id).to_owned(), json!(price)).is_some(),
            "{id}"
        );
    }
    prices
}

fn mix_ids(report: &Value) -> Vec<&str> {
    let rows = report["mix"].as_array().expect("rows");
    rows.iter()
        .map(|row| row["id"].as_str().expect("an id"))
        .collect()
}

fn cautions(report: &Value) -> Vec<&str> {
    let list = report["cautions"].as_array().expect("a list");
    list.iter()
        .map(|text| text.as_str().expect("a sentence"))
        .collect()
}

fn stages(report: &Value) -> Vec<&str> {
    let rows = report["proof"].as_array().expect("rows");
    rows.iter()
        .map(|row| row["stage"].as_str().expect("a stage"))
        .collect()
}
