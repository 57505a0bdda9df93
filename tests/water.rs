//! The `water` job against published doses, definitions of units and hand sums.

mod acids;
mod analysis;
mod blends;
mod refused;

use crate::common::answer;
use serde_json::{Value, json};

/// mg/L of CaCO3 that make 1 meq/L (half a mole, CIAAW 2021 weights).
const MG_CACO3_PER_MEQ: f64 = 50.043;

/// The answer to a `water` request; a refusal fails the test.
fn water(request: &Value) -> Value {
    let report = ask(request);
    assert!(report["refusal"].is_null(), "{request}: {report}");
    report
}

/// The answer, refused or not.
fn ask(request: &Value) -> Value {
    let mut request = request.clone();
    request["job"] = json!("water");
    answer(&request)
}

/// All cautions in one text.
fn cautions(report: &Value) -> String {
    report["cautions"].to_string()
}
