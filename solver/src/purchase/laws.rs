//! Laws that every purchase keeps, on random seasons; the cheapest of small ones by trying all.

use super::request::{Bag, PurchaseRequest, Supply};
use super::{PurchaseReport, purchase, purchase_with};
use crate::formulate::engine::{EngineFault, Sought, WholeEngine, WholeProgram};
use crate::formulate::formulate;
use crate::formulate::laws::{library, runner};
use crate::formulate::report::Outcome;
use crate::formulate::request::{Candidate, FormulateRequest};
use proptest::prelude::*;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Composition, Kind, Nutrient};
use saltwright_recipes::{Aim, Library, Recipe, Water};
use std::cell::Cell;

/// A random season around a known mix.
#[derive(Clone, Debug)]
struct Season {
    /// Positions in the shipped table, g/L of the known mix, price per kg.
    salts: Vec<(usize, f64, f64)>,
    /// Half-width of the bands, relative.
    band: f64,
    /// Finished solution, m3.
    volume_m3: f64,
    /// For each salt its sizes, and what is at home as a share of what the known mix uses.
    sizes: Vec<(Vec<(f64, f64)>, f64)>,
}

fn season(salts: std::ops::Range<usize>, sizes: usize) -> impl Strategy<Value = Season> {
    let salt = (0_usize..60, 0.02_f64..1.0, 0.4_f64..6.0);
    let kilograms = prop::sample::select(vec![1.0, 2.0, 5.0, 10.0, 20.0, 25.0]);
    // The kilogram is dearer or cheaper in this size by up to a third.
    let size = (kilograms, 0.7_f64..1.3);
    let home = prop_oneof![3 => Just(0.0), 1 => 0.0_f64..1.5];
    let supply = (prop::collection::vec(size, 1..=sizes), home);
    (
        prop::collection::vec(salt, salts),
        0.03_f64..0.25,
        5.0_f64..400.0,
        prop::collection::vec(supply, 16),
    )
        .prop_map(|(salts, band, volume_m3, sizes)| Season {
            salts,
            band,
            volume_m3,
            sizes,
        })
}

impl Season {
    fn request(&self, library: &Library) -> PurchaseRequest {
        let rows: Vec<_> = library.fertilizers.iter().collect();
        let mut choice: Vec<Candidate> = Vec::new();
        let mut supplies = Vec::new();
        let mut total = Composition::ZERO;
        for ((row, grams, price), (sizes, home)) in self.salts.iter().zip(&self.sizes) {
            let fertilizer = rows[row % rows.len()].clone();
            if choice.iter().any(|c| c.fertilizer.id == fertilizer.id) {
                continue;
            }
            let is_micro = |n: &Nutrient| fertilizer.assay_pct[*n] > 1.0;
            let micro = Nutrient::MICROS.iter().any(is_micro);
            let grams = if micro { 0.02 * grams } else { *grams };
            total += fertilizer.mg_per_g() * grams;
            let mut supply = Supply {
                sizes: Vec::new(),
                on_hand_kg: home * grams * self.volume_m3,
            };
            for (kg, factor) in sizes {
                let kg = if micro { kg / 10.0 } else { *kg };
                if !supply.sizes.iter().any(|bag| (bag.kg - kg).abs() < 1e-9) {
                    // Whole cents, as in a shop.
                    let price = (100.0 * price * kg * factor).round() / 100.0;
                    supply.sizes.push(Bag { kg, price });
                }
            }
            supplies.push(supply);
            choice.push(Candidate {
                fertilizer,
                price_per_kg: None,
                at_most: None,
            });
        }
        let mut recipe = Recipe::empty("random");
        for (nutrient, amount) in total.iter() {
            let named = Aim {
                aim: Some(amount),
                min: Some(amount * (1.0 - self.band)),
                max: Some(amount * (1.0 + self.band)),
                weight: 1.0,
            };
            recipe.set(Aimed::Form(nutrient), named);
        }
        let bands = library.bands.clone();
        let formulate = FormulateRequest::plain(recipe, Water::pure(), choice, bands);
        PurchaseRequest {
            formulate,
            supplies,
            season_m3: self.volume_m3,
            search_s: super::request::SEARCH_S,
            currency: None,
            not_sold: Vec::new(),
            not_allowed: Vec::new(),
        }
    }
}

fn bought(request: &PurchaseRequest) -> Result<PurchaseReport, TestCaseError> {
    purchase(request).map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))
}

/// Nutrients, stocks and money of a report, from the request's data alone.
fn check(request: &PurchaseRequest, report: &PurchaseReport) -> Result<(), TestCaseError> {
    let mut delivered = Composition::ZERO;
    let mut paid = 0.0;
    for (candidate, supply) in request.formulate.choice.iter().zip(&request.supplies) {
        let id = &candidate.fertilizer.id;
        let mut there = supply.on_hand_kg;
        for row in report.buy.iter().filter(|row| row.id == *id) {
            let bag = supply
                .sizes
                .iter()
                .find(|bag| bag.kg.to_bits() == row.bag_kg.to_bits());
            let bag = bag.ok_or_else(|| TestCaseError::fail(format!("{row:?}")))?;
            there += bag.kg * f64::from(row.bags);
            paid += bag.price * f64::from(row.bags);
        }
        let mix = report.formulation.mix.iter().find(|row| row.id == *id);
        let used_g_per_l = mix.map_or(0.0, |row| row.g_per_l);
        delivered += candidate.fertilizer.mg_per_g() * used_g_per_l;
        let used = used_g_per_l * request.season_m3;
        prop_assert!(
            used <= there * (1.0 + 1e-8) + 1e-12,
            "{id}: {used} of {there}"
        );
        let left = report.left_over.iter().find(|row| row.id == *id);
        let left = left.map_or(0.0, |row| row.kg);
        prop_assert!((there - used - left).abs() <= 1e-7 * there.max(1.0), "{id}");
    }
    for aimed in Aimed::all() {
        let Some(named) = request.formulate.recipe.aim(aimed) else {
            continue;
        };
        let (min, max) = (named.min.unwrap_or(0.0), named.max.unwrap_or(f64::INFINITY));
        let (amount, room) = (delivered.aimed(aimed), 1e-8 * max.min(1e5));
        let inside = amount >= min - room && amount <= max + room;
        prop_assert!(inside, "{aimed}: {amount} in {min}..{max}");
    }
    prop_assert_eq!(report.formulation.outcome, Outcome::WithinBands);
    prop_assert!((paid - report.total).abs() <= 1e-9 * paid.max(1.0));
    prop_assert!(report.bound <= report.total && report.bound_in_parts <= report.bound);
    let gap = 100.0 * (report.total - report.bound);
    prop_assert!((gap - report.gap_pct * report.total).abs() <= 1e-9 * report.total.max(1.0));
    Ok(())
}

#[test]
fn fifty_seasons_are_proven() {
    let library = library();
    let number = Cell::new(0);
    let run = runner(50).run(&season(9..16, 3), |season| {
        let request = season.request(&library);
        let report = bought(&request)?;
        check(&request, &report)?;
        number.set(number.get() + 1);
        println!(
            "season {}: {} fertilizers in {} bag sizes, {:.2}, in parts {:.2}, gap {:.4} %",
            number.get(),
            request.supplies.len(),
            request
                .supplies
                .iter()
                .map(|supply| supply.sizes.len())
                .sum::<usize>(),
            report.total,
            report.bound_in_parts,
            report.gap_pct,
        );
        prop_assert!(report.gap_pct <= 0.5, "{} %", report.gap_pct);
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

/// Every number of bags up to what the mix could use, the cheapest that serves. What serves is
/// asked of the formulation, which knows nothing of bags.
fn cheapest_of_all(request: &PurchaseRequest) -> Option<f64> {
    let mut sizes: Vec<(usize, Bag, u32)> = Vec::new();
    for (at, supply) in request.supplies.iter().enumerate() {
        let mg_per_g = request.formulate.choice[at].fertilizer.mg_per_g();
        // The most of it that some maximum allows, g/L.
        let most = Aimed::all().filter_map(|aimed| {
            let max = request.formulate.recipe.aim(aimed)?.max?;
            let brings = mg_per_g.aimed(aimed);
            (brings > 0.0).then(|| max / brings)
        });
        let most_kg = most.fold(f64::INFINITY, f64::min) * request.season_m3;
        for bag in &supply.sizes {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small
            sizes.push((at, *bag, (most_kg / bag.kg).ceil() as u32));
        }
    }
    let ways: f64 = sizes
        .iter()
        .map(|(.., most)| f64::from(*most) + 1.0)
        .product();
    if ways > 500.0 {
        return None;
    }
    let mut best = f64::INFINITY;
    let mut bags = vec![0_u32; sizes.len()];
    loop {
        let rows = sizes.iter().zip(&bags);
        let price: f64 = rows.map(|((_, bag, _), n)| bag.price * f64::from(*n)).sum();
        if price < best {
            let mut with = request.formulate.clone();
            for (at, candidate) in with.choice.iter_mut().enumerate() {
                let rows = sizes.iter().zip(&bags).filter(|((of, ..), _)| *of == at);
                let kg: f64 = rows.map(|((_, bag, _), n)| bag.kg * f64::from(*n)).sum();
                let there = request.supplies[at].on_hand_kg + kg;
                candidate.at_most = Some(GramsPerL(there / request.season_m3));
            }
            let serves = formulate(&with).is_ok_and(|r| r.outcome == Outcome::WithinBands);
            if serves {
                best = price;
            }
        }
        let Some(next) = (0..bags.len()).find(|at| bags[*at] < sizes[*at].2) else {
            return Some(best);
        };
        bags[next] += 1;
        bags[..next].fill(0);
    }
}

#[test]
fn small_seasons_cost_what_the_cheapest_of_all_purchases_costs() {
    let library = library();
    let compared = Cell::new(0);
    let run = runner(400).run(&season(2..5, 2), |mut season| {
        // Small enough that every purchase can be tried.
        season.volume_m3 = season.volume_m3.min(60.0);
        let request = season.request(&library);
        if let Some(cheapest) = cheapest_of_all(&request) {
            let report = bought(&request)?;
            check(&request, &report)?;
            let off = (report.total - cheapest).abs();
            prop_assert!(
                off <= 1e-9 * cheapest.max(1.0),
                "{} {cheapest}",
                report.total
            );
            prop_assert!((report.bound - cheapest).abs() <= 1e-7 * cheapest.max(1.0));
            compared.set(compared.get() + 1);
        }
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
    let compared = compared.get();
    println!("{compared} seasons compared with every purchase there is");
    assert!(compared >= 100, "{compared}");
}

/// An engine that gives up, or tells of a purchase that does not serve.
struct Faulty(Option<fn(&WholeProgram<'_>) -> Sought>);

impl WholeEngine for Faulty {
    fn seek(
        &self,
        program: &WholeProgram<'_>,
        _: &mut dyn FnMut(&Sought) -> bool,
    ) -> Result<Sought, EngineFault> {
        match self.0 {
            None => panic!("an engine of the tests"),
            Some(answer) => Ok(answer(program)),
        }
    }
}

#[test]
fn what_a_faulty_engine_says_is_not_bought() {
    let library = library();
    let nothing_bought: fn(&WholeProgram<'_>) -> Sought = |program| Sought {
        point: Some(vec![0.0; program.columns()]),
        seconds: 0.0,
        done: false,
    };
    let run = runner(30).run(&season(3..10, 3), |season| {
        let request = season.request(&library);
        for engine in [Faulty(None), Faulty(Some(nothing_bought))] {
            let report = purchase_with(&request, &engine, &mut |_| true);
            let report = report.map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))?;
            check(&request, &report)?;
            let proven = report.gap_pct <= 1e-9;
            prop_assert!(report.stopped || proven, "{} %", report.gap_pct);
            // Our own search finds what the engine did not.
            let cheapest = bought(&request)?;
            let same = (report.total - cheapest.total).abs() <= 1e-9 * cheapest.total;
            prop_assert!(report.stopped || cheapest.stopped || same);
        }
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

#[test]
fn a_search_that_is_stopped_keeps_the_best_with_its_gap() {
    let library = library();
    let half_way: fn(&WholeProgram<'_>) -> Sought = |_| Sought {
        point: None,
        seconds: 1.0,
        done: false,
    };
    let run = runner(30).run(&season(3..10, 3), |season| {
        let request = season.request(&library);
        let stopped = purchase_with(&request, &Faulty(Some(half_way)), &mut |_| false);
        let stopped = stopped.map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))?;
        check(&request, &stopped)?;
        let whole = bought(&request)?;
        prop_assert!(whole.total <= stopped.total * (1.0 + 1e-9));
        // What is promised of the stopped one holds for the cheapest.
        prop_assert!(stopped.bound <= whole.total * (1.0 + 1e-9));
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

#[test]
fn what_no_mix_can_keep_no_purchase_can() {
    let library = library();
    let run = runner(60).run(&(season(2..8, 2), 1.3_f64..4.0), |(season, factor)| {
        let mut request = season.request(&library);
        let aims: Vec<(Aimed, Aim)> = request.formulate.recipe.aims().collect();
        let Some((aimed, aim)) = aims.into_iter().find(|(_, aim)| aim.aim > Some(1.0)) else {
            return Ok(());
        };
        let times = |value: Option<f64>| value.map(|value| value * factor);
        let (min, max) = (times(aim.min), times(aim.max));
        let aim = times(aim.aim);
        request.formulate.recipe.set(
            aimed,
            Aim {
                aim,
                min,
                max,
                weight: 1.0,
            },
        );
        let possible = formulate(&request.formulate);
        let possible = possible.is_ok_and(|report| report.outcome == Outcome::WithinBands);
        match purchase(&request) {
            Ok(report) => {
                prop_assert!(possible);
                check(&request, &report)?;
            }
            Err(refusal) => {
                prop_assert!(!possible);
                let fault = &refusal.faults()[0];
                prop_assert_eq!(fault.problem.kind(), Kind::NoAnswer);
                prop_assert!(fault.field.starts_with("recipe.aims."), "{}", fault.field);
            }
        }
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

#[test]
fn a_larger_season_costs_no_less_and_more_at_home_no_more() {
    let library = library();
    let run = runner(60).run(&season(3..10, 3), |season| {
        let request = season.request(&library);
        let total = bought(&request)?.total;
        let mut longer = request.clone();
        longer.season_m3 *= 1.3;
        prop_assert!(bought(&longer)?.total >= total * (1.0 - 1e-9));
        let mut richer = request;
        richer.supplies[0].on_hand_kg += 3.0;
        prop_assert!(bought(&richer)?.total <= total * (1.0 + 1e-9));
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}
