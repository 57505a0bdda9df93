//! A bought mix against its label: published and computed verdicts, label arithmetic in print, the
//! demonstration, and whole commands.

mod findings;
mod print;
mod proof;

use crate::common::{answer, number, run, stderr, stdout};
use serde_json::{Map, Value, json};

/// `N=20 P2O5=10` as an object.
fn figures(text: &str) -> Value {
    let pairs = text.split(' ').filter_map(|pair| pair.split_once('='));
    let entries = pairs.map(|(key, pct)| (key.to_owned(), json!(pct.parse::<f64>().expect(pct))));
    Value::Object(entries.collect::<Map<_, _>>())
}

fn judge(convention: &str, form: &str, guarantee: &str, found: &str) -> Value {
    answer(&json!({
        "job": "label", "convention": convention, "form": form,
        "guarantee": figures(guarantee), "found": figures(found),
    }))
}

fn row<'a>(report: &'a Value, nutrient: &str) -> &'a Value {
    let rows = report["allowances"].as_array().expect("rows");
    rows.iter()
        .find(|row| row["nutrient"] == nutrient)
        .unwrap_or_else(|| panic!("{nutrient} in {report}"))
}
