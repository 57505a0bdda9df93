//! What a grower waits for who buys whole bags for a season, the proof of the bound included.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_recipes::Library;
use saltwright_solver::answer;
use std::hint::black_box;

/// Bags of eight salts and their micronutrients, invented.
const BAGS: &str = r#"{
    "calcium-nitrate-fertilizer": {"sizes": [{"bag_kg": 25, "price_per_bag": 23},
        {"bag_kg": 5, "price_per_bag": 6.4}], "on_hand_kg": 18.5},
    "potassium-nitrate": {"sizes": [{"bag_kg": 25, "price_per_bag": 46.25},
        {"bag_kg": 5, "price_per_bag": 11.8}]},
    "monopotassium-phosphate": {"sizes": [{"bag_kg": 25, "price_per_bag": 61.25},
        {"bag_kg": 5, "price_per_bag": 14.5}]},
    "potassium-sulfate": {"sizes": [{"bag_kg": 25, "price_per_bag": 33.75}]},
    "magnesium-sulfate-heptahydrate": {"sizes": [{"bag_kg": 25, "price_per_bag": 14.5}]},
    "monoammonium-phosphate": {"sizes": [{"bag_kg": 25, "price_per_bag": 43.75},
        {"bag_kg": 5, "price_per_bag": 10.9}]},
    "fe-dtpa-11": {"sizes": [{"bag_kg": 5, "price_per_bag": 72.5}], "on_hand_kg": 0.8},
    "manganese-sulfate-monohydrate": {"sizes": [{"bag_kg": 1, "price_per_bag": 2.6}]},
    "zinc-sulfate-monohydrate": {"sizes": [{"bag_kg": 1, "price_per_bag": 2.9}]},
    "boric-acid": {"sizes": [{"bag_kg": 1, "price_per_bag": 3.4}]},
    "copper-sulfate-pentahydrate": {"sizes": [{"bag_kg": 1, "price_per_bag": 4.8}]},
    "sodium-molybdate-dihydrate": {"sizes": [{"bag_kg": 0.25, "price_per_bag": 11.5}]},
    "nitric-acid-38": {"sizes": [{"bag_kg": 25, "price_per_bag": 28.75}]}
}"#;

fn whole_bags(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    for season_m3 in [12, 120] {
        let text = format!(
            r#"{{"job": "purchase", "recipe": "sonneveld-modified-lettuce",
            "water": "larch-hollow-spring", "season_m3": {season_m3}, "bags": {BAGS}}}"#
        );
        c.bench_function(
            &format!("purchase: 13 fertilizers in 18 sizes for {season_m3} m3, proved"),
            |b| b.iter(|| answer(black_box(&text), &library)),
        );
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = whole_bags
}
criterion_main!(benches);
