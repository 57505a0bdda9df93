//! What a grower waits for who asks for cheaper salts.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_recipes::Library;
use saltwright_solver::answer;
use std::hint::black_box;

/// Prices of the common shelf, invented.
const PRICES: &str = r#"{"calcium-nitrate-fertilizer": 0.92, "potassium-nitrate": 1.85,
    "magnesium-nitrate-hexahydrate": 1.4, "ammonium-sulfate": 0.62,
    "monoammonium-phosphate": 1.75, "monopotassium-phosphate": 2.45, "potassium-sulfate": 1.35,
    "magnesium-sulfate-heptahydrate": 0.58, "calcium-chloride-dihydrate": 0.95,
    "fe-dtpa-11": 14.5, "fe-edta-13": 9.8, "manganese-sulfate-monohydrate": 2.6,
    "zinc-sulfate-monohydrate": 2.9, "boric-acid": 3.4, "copper-sulfate-pentahydrate": 4.8,
    "sodium-molybdate-dihydrate": 46, "nitric-acid-38": 1.15, "phosphoric-acid-75": 2.1}"#;

fn cheaper_salts(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    for keep in ["bands", "deviation"] {
        let text = format!(
            r#"{{"job": "substitute", "recipe": "sonneveld-modified-lettuce",
            "water": "larch-hollow-spring", "prices": {PRICES}, "keep": "{keep}"}}"#
        );
        c.bench_function(
            &format!(
                "substitute: 18 priced fertilizers, {keep} kept, swaps, prices, curves, tanks"
            ),
            |b| b.iter(|| answer(black_box(&text), &library)),
        );
    }
}

criterion_group!(benches, cheaper_salts);
criterion_main!(benches);
