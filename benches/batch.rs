//! What an adviser waits for: every member's recipe, water and price list in one night.
#![allow(missing_docs, clippy::expect_used, clippy::cast_precision_loss)]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use saltwright_recipes::Library;
use saltwright_solver::answer;
use std::hint::black_box;

/// Every shipped recipe with every shipped water, each with prices of the common shelf (invented).
fn requests(library: &Library) -> Vec<String> {
    let common = || library.fertilizers.iter().filter(|row| row.common);
    let recipes = library.recipes.iter();
    let whole = recipes.filter(|recipe| !recipe.id.starts_with("micros-"));
    whole
        .flat_map(|recipe| library.waters.iter().map(move |water| (recipe, water)))
        .enumerate()
        .map(|(member, (recipe, water))| {
            let price = |at: usize| 0.6 + 0.07 * ((at * 31 + member * 17) % 29) as f64;
            let prices: Vec<String> = common()
                .enumerate()
                .map(|(at, row)| format!("\"{}\": {:.2}", row.id, price(at)))
                .collect();
            format!(
                r#"{{"job": "formulate", "id": {member}, "recipe": "{}", "water": "{}", "prices": {{{}}}}}"#,
                recipe.id,
                water.id,
                prices.join(", ")
            )
        })
        .collect()
}

fn a_night(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let requests = requests(&library);
    let mut group = c.benchmark_group("batch");
    group.throughput(Throughput::Elements(requests.len() as u64));
    group.sample_size(20);
    group.bench_function(
        "every recipe in every water, from a line of JSON to a line of JSON, one thread",
        |b| {
            b.iter(|| {
                for request in &requests {
                    let told = serde_json::to_vec(&answer(black_box(request), &library));
                    black_box(told.expect("a line"));
                }
            });
        },
    );
    group.finish();
}

criterion_group!(benches, a_night);
criterion_main!(benches);
