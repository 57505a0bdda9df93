//! What a grower waits for at the stock tanks: one tank worked out, and the best division.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_fertilizers::{Faults, Fertilizer, Node};
use saltwright_recipes::Library;
use saltwright_solver::answer;
use saltwright_solver::chemistry::concentrate::{Conditions, Dissolved, EXACT};
use std::hint::black_box;

/// A full feed and salts beyond it, g/L.
const SALTS: [(&str, f64); 12] = [
    ("Ca(NO3)2.4H2O", 0.945),
    ("KNO3", 0.404),
    ("MgSO4.7H2O", 0.370),
    ("KH2PO4", 0.136),
    ("K2SO4", 0.131),
    ("NH4NO3", 0.040),
    ("Mg(NO3)2.6H2O", 0.128),
    ("NH4H2PO4", 0.046),
    ("(NH4)2SO4", 0.040),
    ("CaCl2.2H2O", 0.044),
    ("KCl", 0.022),
    ("NH4Cl", 0.011),
];

fn request(salts: usize, tanks: usize) -> String {
    let (mut fertilizers, mut mix) = (Vec::new(), Vec::new());
    for (formula, grams) in SALTS.iter().take(salts) {
        fertilizers.push(format!(r#"{{"id": "{formula}", "formula": "{formula}"}}"#));
        mix.push(format!(r#"{{"id": "{formula}", "g_per_l": {grams}}}"#));
    }
    format!(
        r#"{{"job": "stock", "tanks": {tanks}, "fertilizers": [{}], "mix": [{}]}}"#,
        fertilizers.join(", "),
        mix.join(", ")
    )
}

fn of_gram(formula: &str) -> Dissolved {
    let node = Node::from_json(&format!(r#"{{"id": "x", "formula": "{formula}"}}"#)).expect("JSON");
    let mut faults = Faults::default();
    Dissolved::of_gram(&Fertilizer::read(&node, "", &mut faults).expect("a formula"))
}

fn stock_tanks(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let cold = Conditions::at(10.0);
    let sulfates = SALTS[1..6]
        .iter()
        .fold(Dissolved::default(), |sum, (formula, grams)| {
            sum + of_gram(formula) * (100.0 * grams)
        });
    c.bench_function(
        "concentrate: a tank of five salts with its pH and indices",
        |b| {
            b.iter(|| cold.state(black_box(&sulfates), EXACT));
        },
    );
    for (salts, tanks) in [(6, 2), (10, 2), (10, 3), (10, 4), (12, 4)] {
        let text = request(salts, tanks);
        c.bench_function(
            &format!("stock: {salts} salts, {tanks} tanks, 10 to 30 °C, one divided"),
            |b| b.iter(|| answer(black_box(&text), &library)),
        );
    }
}

criterion_group!(benches, stock_tanks);
criterion_main!(benches);
