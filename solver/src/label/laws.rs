//! Laws that every label keeps, on random mixes: what was mixed is possible, what no mixture can be
//! is contradicted with a proof that stands on the data alone, and the true EC lies in its
//! interval.

mod meter;

use super::arithmetic::{Broken, Demand, End, FACTORS, Ingredient, Mixtures, Verdict};
use super::meter::stand_in::{bent, linear};
use super::meter::{Dissolved, EcModel, test};
use super::region::Region;
use crate::formulate::laws::{library, runner};
use proptest::prelude::*;
use saltwright_fertilizers::guarantee::Printed;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Dose, Fertilizer, Nutrient};
use saltwright_recipes::{Library, Water};
use std::sync::Arc;

/// How many random labels each law sees.
const CASES: u32 = 2000;

/// A random mix and what of it is printed.
#[derive(Clone, Debug)]
struct Case {
    /// Positions in the shipped table, shares and the true strength of each assay (-1 to 1 of its
    /// tolerance).
    parts: Vec<(usize, f64, f64)>,
    /// Share of filler.
    filler: f64,
    /// Which nutrients are printed.
    printed: Vec<bool>,
    /// How far below the truth a minimum is printed, relative.
    below: f64,
    /// Limits to both sides, relative; none for minima.
    both: Option<f64>,
    /// g/L dissolved.
    dose: f64,
}

fn case() -> impl Strategy<Value = Case> {
    (
        prop::collection::vec((0_usize..60, 0.01_f64..1.0, -1.0_f64..1.0), 1..9),
        prop_oneof![Just(0.0), 0.0_f64..0.6],
        prop::collection::vec(prop::bool::weighted(0.6), Aimed::COUNT),
        prop_oneof![Just(0.0), 0.0_f64..0.05],
        prop::option::of(0.01_f64..0.3),
        0.2_f64..3.0,
    )
        .prop_map(|(parts, filler, printed, below, both, dose)| Case {
            parts,
            filler,
            printed,
            below,
            both,
            dose,
        })
}

/// The true mix: ingredients, shares of the mass, and contents.
struct Truth {
    mixtures: Mixtures,
    shares: Vec<f64>,
    strengths: Vec<f64>,
}

impl Case {
    /// What is on the label of the true mix. `as_wholes`: every ingredient stronger or weaker as a
    /// whole, else each assay on its own.
    fn truth(&self, library: &Library, as_wholes: bool) -> Truth {
        let rows: Vec<_> = library.fertilizers.iter().collect();
        let mut ingredients: Vec<Ingredient> = Vec::new();
        let (mut shares, mut strengths) = (Vec::new(), Vec::new());
        for (row, share, strength) in &self.parts {
            let row: &Arc<Fertilizer> = rows[row % rows.len()];
            if ingredients
                .iter()
                .all(|known| known.fertilizer.id != row.id)
            {
                ingredients.push(Ingredient::of(Arc::clone(row)));
                shares.push(*share);
                strengths.push(*strength);
            }
        }
        let sum: f64 = shares.iter().sum();
        for share in &mut shares {
            *share *= (1.0 - self.filler) / sum;
        }
        // Each assay of a bag on its own: the sign turns from nutrient to nutrient.
        let turn = |form: Nutrient| {
            if as_wholes || form.index().is_multiple_of(2) {
                1.0
            } else {
                -1.0
            }
        };
        let content = |form: Nutrient| -> f64 {
            let parts = ingredients.iter().zip(shares.iter().zip(&strengths));
            parts
                .map(|(ingredient, (share, strength))| {
                    let factor = 1.0 + turn(form) * strength * ingredient.tolerance;
                    share * factor * ingredient.fertilizer.assay_pct[form]
                })
                .sum()
        };
        let mut demands = Vec::new();
        for (aimed, printed) in Aimed::all().zip(&self.printed) {
            let pct: f64 = super::arithmetic::forms(aimed)
                .into_iter()
                .map(content)
                .sum();
            if !printed || pct <= 0.0 {
                continue;
            }
            let declared_pct = pct * (1.0 - self.below);
            demands.push(Demand {
                printed: Printed::from_key(aimed.key()).expect("a key"),
                aimed,
                declared_pct,
                low_pct: declared_pct * (1.0 - self.both.unwrap_or(0.0)),
                high_pct: self.both.map(|both| pct * (1.0 + both)),
                in_sum: false,
                slack_pct: FACTORS * declared_pct,
            });
        }
        let mixtures = Mixtures {
            ingredients,
            demands,
            filler: self.filler > 0.0,
            most_sum: None,
        };
        Truth {
            mixtures,
            shares,
            strengths,
        }
    }
}

/// Percent of a figure in a mixture, with assays at the end that serves.
fn reach(mixtures: &Mixtures, pct: &[f64], aimed: Aimed, up: bool) -> f64 {
    let sign = if up { 1.0 } else { -1.0 };
    let parts = mixtures.ingredients.iter().zip(pct);
    parts
        .map(|(ingredient, pct)| {
            let forms = super::arithmetic::forms(aimed);
            let assay: f64 = forms
                .into_iter()
                .map(|f| ingredient.fertilizer.assay_pct[f])
                .sum();
            pct / 100.0 * assay * (1.0 + sign * ingredient.tolerance)
        })
        .sum()
}

#[test]
fn what_was_mixed_is_possible() {
    let library = library();
    for as_wholes in [true, false] {
        let law = |case: Case| {
            let truth = case.truth(&library, as_wholes);
            let verdict = truth.mixtures.judge().expect("an answer");
            let Verdict::Possible(mixture) = verdict else {
                return Err(TestCaseError::fail(format!("{verdict:?}")));
            };
            // The mixture that is shown keeps every promise.
            let sum: f64 = mixture.pct.iter().sum::<f64>() + mixture.filler_pct;
            prop_assert!((sum - 100.0).abs() < 1e-7, "{sum}");
            for demand in &truth.mixtures.demands {
                let most = reach(&truth.mixtures, &mixture.pct, demand.aimed, true);
                let least = reach(&truth.mixtures, &mixture.pct, demand.aimed, false);
                prop_assert!(
                    most >= demand.least_pct() * (1.0 - 1e-7),
                    "{}",
                    demand.aimed
                );
                let high = demand.most_pct().unwrap_or(f64::INFINITY);
                prop_assert!(least <= high * (1.0 + 1e-7), "{}", demand.aimed);
            }
            // What is not printed lies in its interval.
            let region = Region::new(&truth.mixtures)
                .expect("an answer")
                .expect("possible");
            for aimed in Aimed::all() {
                let (low, high) = region.content(aimed).expect("an answer");
                let pct: Vec<f64> = truth.shares.iter().map(|share| 100.0 * share).collect();
                let least = reach(&truth.mixtures, &pct, aimed, false);
                let most = reach(&truth.mixtures, &pct, aimed, true);
                prop_assert!(low <= most * (1.0 + 1e-7) + 1e-9, "{aimed}: {low} {most}");
                prop_assert!(
                    high >= least * (1.0 - 1e-7) - 1e-9,
                    "{aimed}: {high} {least}"
                );
            }
            Ok(())
        };
        runner(CASES)
            .run(&case(), law)
            .unwrap_or_else(|error| panic!("{error}"));
    }
}

/// Checks a certificate from nothing but assays, promises and weights.
fn refutes(mixtures: &Mixtures, weights: &[f64]) -> bool {
    let asked: f64 = mixtures
        .demands
        .iter()
        .zip(weights)
        .map(|(demand, weight)| {
            if *weight > 0.0 {
                weight * demand.low_pct
            } else {
                weight * demand.high_pct.unwrap_or(f64::INFINITY)
            }
        })
        .filter(|points| points.is_finite())
        .sum();
    let holds = |ingredient: &Ingredient| -> f64 {
        Nutrient::ALL
            .into_iter()
            .map(|form| {
                let counts = mixtures.demands.iter().zip(weights);
                let weight: f64 = counts
                    .filter(|(demand, _)| match demand.aimed {
                        Aimed::Form(one) => one == form,
                        Aimed::TotalN => Nutrient::N_FORMS.contains(&form),
                    })
                    .map(|(_, weight)| weight)
                    .sum();
                let assay = ingredient.fertilizer.assay_pct[form];
                let end = 1.0 + weight.signum() * ingredient.tolerance;
                weight * assay * end
            })
            .sum()
    };
    let filler = if mixtures.filler {
        0.0
    } else {
        f64::NEG_INFINITY
    };
    let most = mixtures
        .ingredients
        .iter()
        .map(holds)
        .fold(filler, f64::max);
    asked > most
}

/// A contradiction with one of its promises dropped, which can then be kept.
fn without(mixtures: &Mixtures, broken: &[Broken], drop: usize) -> Mixtures {
    let kept = broken.iter().filter(|one| one.demand != drop);
    let demands = kept.map(|one| {
        let mut demand = mixtures.demands[one.demand];
        match one.end {
            End::Low => demand.high_pct = None,
            End::High => demand.low_pct = 0.0,
        }
        demand
    });
    Mixtures {
        demands: demands.collect(),
        ..mixtures.clone()
    }
}

#[test]
fn what_no_mixture_can_be_is_contradicted_with_a_proof() {
    let library = library();
    let judged = std::cell::Cell::new(0_u32);
    let law = |(case, which, push): (Case, usize, f64)| {
        let mut truth = case.truth(&library, false);
        let demands = truth.mixtures.demands.len();
        if demands == 0 {
            return Ok(());
        }
        // One promise beyond what is reachable while the others are kept.
        let at = which % demands;
        let mut others = truth.mixtures.clone();
        let asked = others.demands.remove(at);
        for demand in &mut others.demands {
            demand.slack_pct = 0.0;
        }
        let region = Region::new(&others).expect("an answer").expect("possible");
        let (_, high) = region.content(asked.aimed).expect("an answer");
        let demand = &mut truth.mixtures.demands[at];
        demand.declared_pct = high * (1.0 + push);
        demand.low_pct = demand.declared_pct;
        demand.high_pct = demand
            .high_pct
            .map(|old| old.max(2.0 * demand.declared_pct));
        let verdict = truth.mixtures.judge().expect("an answer");
        let Verdict::Impossible {
            broken,
            certificate,
        } = verdict
        else {
            return Err(TestCaseError::fail(format!("{verdict:?}")));
        };
        prop_assert!(refutes(&truth.mixtures, &certificate.weights));
        prop_assert!(certificate.holds());
        // What was pushed is part of it, and what is said of it is what was found before.
        let pushed = broken
            .iter()
            .find(|one| one.demand == at && one.end == End::Low);
        let reached = pushed.and_then(|one| one.reachable_pct);
        prop_assert!(
            reached.is_some_and(|reached| (reached - high).abs() <= 1e-6 * high),
            "{reached:?} {high}"
        );
        for drop in &broken {
            let rest = without(&truth.mixtures, &broken, drop.demand);
            prop_assert!(
                matches!(rest.judge(), Ok(Verdict::Possible(_))),
                "{broken:?} {drop:?}"
            );
        }
        judged.set(judged.get() + 1);
        Ok(())
    };
    let cases = (case(), 0_usize..20, 0.001_f64..0.5);
    // A few of them print nothing that could be pushed.
    runner(CASES + CASES / 20)
        .run(&cases, law)
        .unwrap_or_else(|error| panic!("{error}"));
    let judged = judged.get();
    println!("{judged} labels pushed beyond the reachable, all contradicted");
    assert!(judged >= CASES, "{judged}");
}

/// A smaller promise and one ingredient more never make a label impossible.
#[test]
fn less_promised_and_more_to_choose_from_never_hurt() {
    let library = library();
    let rows: Vec<Arc<Fertilizer>> = library.fertilizers.iter().cloned().collect();
    let possible = |mixtures: &Mixtures| {
        let verdict = mixtures.judge().expect("an answer");
        matches!(verdict, Verdict::Possible(_))
    };
    let law = |(case, push, less, more): (Case, f64, f64, usize)| {
        let mut mixtures = case.truth(&library, false).mixtures;
        for demand in &mut mixtures.demands {
            demand.declared_pct *= push;
            demand.low_pct *= push;
            demand.high_pct = None;
        }
        if !possible(&mixtures) {
            return Ok(());
        }
        let mut smaller = mixtures.clone();
        for demand in &mut smaller.demands {
            demand.declared_pct *= less;
            demand.low_pct *= less;
        }
        prop_assert!(possible(&smaller), "less");
        let row = &rows[more % rows.len()];
        let known = |i: &Ingredient| i.fertilizer.id == row.id;
        if !mixtures.ingredients.iter().any(known) {
            mixtures.ingredients.push(Ingredient::of(Arc::clone(row)));
        }
        prop_assert!(possible(&mixtures), "more");
        Ok(())
    };
    let cases = (case(), 0.8_f64..1.05, 0.5_f64..1.0, 0_usize..60);
    runner(CASES)
        .run(&cases, law)
        .unwrap_or_else(|error| panic!("{error}"));
}
