//! Stock tanks: worked tanks, handbook solubilities, the rules of practice, divisions, the sheet by
//! the scale.

mod tanks;

use crate::common::answer;
use serde_json::{Value, json};

/// A fertilizer that is the pure substance of its formula, named by it.
pub fn pure(formula: &str) -> Value {
    json!({"id": formula, "formula": formula})
}

/// The answer for pure substances, grams per litre of finished solution, with more keys.
pub fn stock_of(salts: &[(&str, f64)], more: &Value) -> Value {
    let fertilizers: Vec<Value> = salts.iter().map(|(formula, _)| pure(formula)).collect();
    let mix: Vec<Value> = salts
        .iter()
        .map(|(formula, grams)| json!({"id": formula, "g_per_l": grams}))
        .collect();
    let mut request = json!({"job": "stock", "fertilizers": fertilizers, "mix": mix});
    for (key, value) in more.as_object().expect("an object") {
        request[key] = value.clone();
    }
    answer(&request)
}
