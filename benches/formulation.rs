//! What a grower waits for: one whole formulation, and its parts.
#![allow(missing_docs, clippy::expect_used, clippy::cast_precision_loss)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_solver::formulate::sure::Sure;
use saltwright_solver::spread::Stated;
use saltwright_solver::{FormulateRequest, answer, formulate};
use std::hint::black_box;

/// Sixteen nutrients, forty fertilizers, a water with alkalinity, all priced.
fn request(library: &Library, water: &str) -> String {
    let mut rows: Vec<_> = library.fertilizers.iter().collect();
    rows.retain(|row| !row.is_base() && row.is_charted());
    rows.sort_by_key(|row| !row.common);
    let fertilizers: Vec<String> = rows
        .iter()
        .take(40)
        .enumerate()
        .map(|(at, row)| format!("\"{}\": {}", row.id, 1.0 + 0.37 * ((at * 7) % 11) as f64))
        .collect();
    let ids: Vec<&str> = fertilizers
        .iter()
        .filter_map(|pair| pair.split(':').next())
        .collect();
    format!(
        r#"{{"job": "formulate", "water": "{water}", "prices": {{{}}},
        "fertilizers": [{}], "recipe": {{"aims": {{"NO3-N": 137, "NH4-N": 13, "P": 31, "K": 210,
        "Ca": 90, "Mg": 24, "S": 32, "Fe": 1, "Mn": 0.25, "Zn": 0.13, "B": 0.16, "Cu": 0.023,
        "Mo": 0.024, "Cl": {{"max": 70}}, "Na": {{"max": 50}}, "Si": {{"max": 20}}}}}}}}"#,
        fertilizers.join(", "),
        ids.join(", ")
    )
}

fn one_formulation(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let hard = request(&library, "quarry-end-well");
    let text = request(&library, "larch-hollow-spring");
    let node = Node::from_json(&text).expect("JSON");
    let read = || {
        let mut faults = Faults::default();
        FormulateRequest::read(black_box(&node), &library, &mut faults)
    };
    let request = read().expect("a sound request");
    assert_eq!(request.choice.len(), 40);
    assert!(formulate(&request).is_ok_and(|report| report.conflict.is_empty()));
    c.bench_function(
        "formulate: 16 nutrients, 40 fertilizers, all stages and proof",
        |b| {
            b.iter(|| formulate(black_box(&request)));
        },
    );
    let ranged = FormulateRequest {
        ranges: Some(Stated::default()),
        ..request.clone()
    };
    c.bench_function("formulate: the same with a range on every figure", |b| {
        b.iter(|| formulate(black_box(&ranged)));
    });
    for (name, sure) in [
        ("worst case", Sure::WorstCase),
        ("95 %", Sure::Probability(0.95)),
    ] {
        let safe = FormulateRequest {
            sure: Some(sure),
            ..request.clone()
        };
        c.bench_function(
            &format!("formulate: the same, sure, {name}, with its curve"),
            |b| {
                b.iter(|| formulate(black_box(&safe)));
            },
        );
    }
    c.bench_function("read: the same request from its tree", |b| b.iter(read));
    c.bench_function("answer: the same from JSON text to report", |b| {
        b.iter(|| answer(black_box(&text), &library));
    });
    c.bench_function(
        "answer: a water too hard for the recipe, with its conflict",
        |b| {
            b.iter(|| answer(black_box(&hard), &library));
        },
    );
    c.bench_function("library: everything shipped, read", |b| {
        b.iter(Library::shipped);
    });
}

criterion_group!(benches, one_formulation);
criterion_main!(benches);
