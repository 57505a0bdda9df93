//! What a grower waits for once the meters are asked: a mix predicted, a water with its acids, the
//! strength that reads an EC, the acid that gives a pH.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_solver::predict::{PredictRequest, predict};
use saltwright_solver::water::{WaterRequest, water};
use saltwright_solver::{FormulateRequest, formulate};
use std::hint::black_box;

/// The reader of a job's requests.
type Read<R> = fn(&Node, &Library, &mut Faults) -> Option<R>;

/// A sound request.
fn request<R>(read: Read<R>, library: &Library, text: &str) -> R {
    let node = Node::from_json(text).expect("JSON");
    let mut faults = Faults::default();
    read(&node, library, &mut faults).expect("a sound request")
}

/// A formulation on the common shelf.
fn formulation(library: &Library, water: &str, more: &str) -> FormulateRequest {
    let text = format!(
        r#"{{"job": "formulate", "recipe": "sonneveld-modified-lettuce", "water": "{water}", {more}}}"#
    );
    request(FormulateRequest::read, library, &text)
}

fn searches(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let to_ec = r#""strength": "to-ec", "ec_ms_cm": 1.4"#;
    for water in ["larch-hollow-spring", "quarry-end-well"] {
        let plain = formulation(&library, water, r#""strength": 0.9"#);
        c.bench_function(&format!("formulate: common shelf, {water}"), |b| {
            b.iter(|| formulate(black_box(&plain)));
        });
        let asked = formulation(&library, water, to_ec);
        let found = formulate(&asked).expect("an answer").ec.predicted_ms_cm;
        assert!((found / 1.4 - 1.0).abs() < 1e-3, "{found}");
        c.bench_function(&format!("to-ec: common shelf, {water}"), |b| {
            b.iter(|| formulate(black_box(&asked)));
        });
    }
    let to_ph = formulation(&library, "quarry-end-well", r#""acid_to": {"ph": 5.8}"#);
    c.bench_function("acid to a pH: common shelf, quarry-end-well", |b| {
        b.iter(|| formulate(black_box(&to_ph)));
    });
}

fn readings(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let mix = r#"{"job": "predict", "water": "tallow-street-tap", "temperature_c": 18, "mix": [
        {"id": "calcium-nitrate-fertilizer", "g_per_l": 0.3},
        {"id": "potassium-nitrate", "g_per_l": 0.45}, {"id": "fe-dtpa-11", "g_per_l": 0.01},
        {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.2},
        {"id": "monopotassium-phosphate", "g_per_l": 0.13}, {"id": "nitric-acid-38", "ml_per_l": 0.3}]}"#;
    let mix = request(PredictRequest::read, &library, mix);
    c.bench_function("predict: 6 fertilizers, pH both ways, EC, solids", |b| {
        b.iter(|| predict(black_box(&mix)));
    });
    let one =
        r#"{"job": "water", "water": "quarry-end-well", "acid": "nitric-acid-38", "ph": 5.8}"#;
    let one = request(WaterRequest::read, &library, one);
    c.bench_function("water: one acid to a pH", |b| {
        b.iter(|| water(black_box(&one)));
    });
    let all = r#"{"job": "water", "water": "quarry-end-well", "blend_with": "rain-barrel"}"#;
    let all = request(WaterRequest::read, &library, all);
    c.bench_function(
        "water: a blend within limits, every acid of the table",
        |b| {
            b.iter(|| water(black_box(&all)));
        },
    );
}

criterion_group!(benches, searches, readings);
criterion_main!(benches);
