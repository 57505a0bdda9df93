//! What the chemistry of one finished solution takes.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::solids::indices;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, LOG_PCO2_AIR, Protons, Speciation, Totals, speciate,
};
use std::hint::black_box;

/// A lettuce solution made in a water with alkalinity, with micronutrients and an iron chelate:
/// mmol/L, invented.
fn lettuce() -> Totals {
    use Component::{
        Ammonium, Boron, Calcium, Carbon, Chloride, Copper, FeDtpa, Magnesium, Manganese,
        Molybdenum, Nitrate, Phosphate, Potassium, Silicon, Sodium, Sulfate, Zinc,
    };
    Totals::neutral([
        (Calcium, 3.4),
        (Magnesium, 1.3),
        (Potassium, 5.6),
        (Sodium, 0.9),
        (Ammonium, 0.9),
        (Nitrate, 11.6),
        (Chloride, 0.5),
        (Sulfate, 1.9),
        (Phosphate, 1.3),
        (Carbon, 1.1),
        (Boron, 0.03),
        (Silicon, 0.2),
        (Manganese, 0.007),
        (Zinc, 0.004),
        (Copper, 0.0008),
        (Molybdenum, 0.0005),
        (FeDtpa, 0.04),
    ])
}

fn solve(
    at: &Conditions,
    totals: &Totals,
    carbon: Carbon,
    from: Option<&Speciation>,
) -> Speciation {
    speciate(at, totals, carbon, Protons::Balance, from).expect("it converges")
}

fn one_solution(c: &mut Criterion) {
    let totals = lettuce();
    let at = Conditions::reference();
    let air = Carbon::Open(LOG_PCO2_AIR);
    let kept = solve(at, &totals, Carbon::Closed, None);
    c.bench_function("speciate: 17 components, closed, cold start", |b| {
        b.iter(|| solve(at, black_box(&totals), Carbon::Closed, None));
    });
    c.bench_function("speciate: the same, open, from the closed answer", |b| {
        b.iter(|| solve(at, black_box(&totals), air, Some(&kept)));
    });
    c.bench_function("conductivity of the same", |b| {
        b.iter(|| conductivity(at, black_box(&kept)));
    });
    c.bench_function("saturation indices of the same", |b| {
        b.iter(|| indices(at, black_box(&kept)).count());
    });
    // pH both ways, EC, solids both ways, and the pH again at either end of its uncertainty.
    c.bench_function(
        "full solution: closed, open, EC, solids, uncertainty",
        |b| {
            b.iter(|| {
                let totals = black_box(&totals);
                let kept = solve(at, totals, Carbon::Closed, None);
                let aired = solve(at, totals, air, Some(&kept));
                let ends = [-0.05, 0.05].map(|meq_l| {
                    let mut shifted = *totals;
                    shifted.acid_meq_l += meq_l;
                    solve(at, &shifted, Carbon::Closed, Some(&kept)).ph
                });
                let solids =
                    [&kept, &aired].map(|solved| indices(at, solved).map(|(_, i)| i).sum::<f64>());
                (conductivity(at, &kept).us_cm, aired.ph, ends, solids)
            });
        },
    );
    c.bench_function("conditions: constants at a new temperature", |b| {
        b.iter(|| Conditions::at(black_box(18.3)));
    });
}

criterion_group!(benches, one_solution);
criterion_main!(benches);
