//! Laws of cheaper mixes, on random priced problems; nothing is compared with a stored answer.
//!
//! The cheapest mix is held against every corner of the region of mixes, enumerated from assays
//! alone; prices that decide and corners of curves against whole formulations on either side.

mod small;

use super::curve;
use super::decide::Deciding;
use super::report::SubstituteReport;
use super::request::{Keep, Now, SubstituteRequest};
use super::substitute;
use crate::formulate::engine::Minilp;
use crate::formulate::laws::{Case, case, library, runner};
use crate::formulate::report::Outcome;
use crate::formulate::request::{FormulateRequest, Keeps};
use crate::formulate::{FormulateReport, Worked, formulate};
use crate::lp::Stuck;
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_recipes::Library;

/// Relative difference of two costs that is rounding.
const SAME: f64 = 1e-8;

/// A random problem around a known mix; with `exact`, every second band has no width, so that
/// many programs describe one mix.
fn request(case: &Case, exact: bool, library: &Library) -> (SubstituteRequest, Vec<f64>) {
    let (mut formulate, grams) = case.request(library);
    if exact {
        let named: Vec<_> = formulate.recipe.aims().map(|(aimed, _)| aimed).collect();
        for aimed in named.into_iter().step_by(2) {
            if let Some(mut aim) = formulate.recipe.aim(aimed) {
                (aim.min, aim.max) = (aim.aim, aim.aim);
                formulate.recipe.set(aimed, aim);
            }
        }
    }
    let request = SubstituteRequest {
        formulate,
        now: Now::Formulated,
        keep: Keep::Bands,
        currency: None,
    };
    (request, grams)
}

/// The cheapest mix within the bands with what `look` finds in its program.
fn worked<T>(
    request: &FormulateRequest,
    look: impl FnOnce(&Worked<'_>) -> Result<T, Stuck>,
) -> Result<(FormulateReport, T), TestCaseError> {
    let asked = FormulateRequest {
        keeps: Keeps::Bands,
        ..request.clone()
    };
    let failed = |why: &dyn std::fmt::Debug| TestCaseError::fail(format!("{why:?}"));
    let worked = Worked::of(&asked, &Minilp).map_err(|why| failed(&why))?;
    let found = look(&worked).map_err(|why| failed(&why))?;
    Ok((worked.report().map_err(|why| failed(&why))?, found))
}

fn answered(request: &SubstituteRequest) -> Result<SubstituteReport, TestCaseError> {
    substitute(request).map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))
}

/// The cheapest mix within the bands.
fn formulated(request: &FormulateRequest) -> Result<FormulateReport, TestCaseError> {
    let asked = FormulateRequest {
        keeps: Keeps::Bands,
        ..request.clone()
    };
    let report = formulate(&asked);
    report.map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))
}

/// What it costs; none where the bands cannot be kept.
fn cheapest(request: &FormulateRequest) -> Result<Option<f64>, TestCaseError> {
    let report = formulated(request)?;
    let kept = report.outcome == Outcome::WithinBands;
    Ok(report.cost_per_m3.filter(|_| kept))
}

/// How many ends were held against re-solves.
#[derive(Default)]
struct Confirmed {
    ends: usize,
    break_evens: usize,
    never: usize,
}

/// The same request with another price of one fertilizer.
fn repriced(request: &FormulateRequest, id: &str, price: f64) -> FormulateRequest {
    let mut asked = request.clone();
    for candidate in &mut asked.choice {
        if candidate.fertilizer.id == id {
            candidate.price_per_kg = Some(price);
        }
    }
    asked
}

/// What the cheapest mix of a report costs in a request.
fn cost_of(report: &FormulateReport, request: &FormulateRequest) -> f64 {
    let lines = report.mix.iter().map(|line| {
        let same = |id: &str| line.id == id;
        let of = request.choice.iter().find(|c| same(&c.fertilizer.id));
        of.and_then(|c| c.price_per_kg).unwrap_or(f64::NAN) * line.g_per_l
    });
    lines.sum()
}

/// Just inside an end the mix is still a cheapest one, just beyond it another is cheaper; where
/// there is no end, no price up to the last makes another cheaper.
fn check_end(
    report: &FormulateReport,
    request: &FormulateRequest,
    (id, price): (&str, f64),
    (end, last): (Option<f64>, f64),
) -> Result<(), TestCaseError> {
    let brings = request.choice.iter().find(|c| c.fertilizer.id == id);
    let brings = brings.map(|c| c.fertilizer.mg_per_g());
    let shares = report.nutrients.iter().filter_map(|row| {
        let aim = row.aim.filter(|aim| *aim > 0.0)?;
        Some(brings?.aimed(row.nutrient) / aim)
    });
    // What a gram is as the largest share of an aim.
    let share = shares.fold(0.0, f64::max);
    // By how much the cheapest mix at a price is cheaper, and how much of an aim is moved.
    let elsewhere = |price: f64| -> Result<(f64, f64), TestCaseError> {
        let asked = repriced(request, id, price);
        let there = formulated(&asked)?;
        let grams = |report: &FormulateReport| {
            let line = report.mix.iter().find(|line| line.id == id);
            line.map_or(0.0, |line| line.g_per_l)
        };
        let moved = share * (grams(&there) - grams(report)).abs();
        let here = cost_of(report, &asked);
        let cost = there.cost_per_m3.unwrap_or(f64::NAN);
        Ok(((here - cost) / here.max(1e-9), moved))
    };
    let stays = |(cheaper, moved): (f64, f64)| cheaper <= 1e-9 || moved <= 1e-6;
    let Some(end) = end else {
        let found = elsewhere(last)?;
        prop_assert!(stays(found), "{id} at {last}: {found:?}");
        return Ok(());
    };
    let way = end - price;
    let outward = if last > price { 1.0 } else { -1.0 };
    let inside = price + 0.999 * way - outward * 1e-6 * end;
    let inside = if outward > 0.0 {
        inside.max(price)
    } else {
        inside.min(price)
    };
    let found = elsewhere(inside)?;
    prop_assert!(
        stays(found),
        "{id} inside at {inside} ({price} to {end}): {found:?}"
    );
    let beyond = (end + 0.001 * way + outward * 0.001 * end).max(0.0);
    let (cheaper, moved) = elsewhere(beyond)?;
    let leaves = cheaper > 1e-13 && moved > 1e-8;
    prop_assert!(
        leaves,
        "{id} beyond at {beyond} ({price} to {end}): {cheaper} {moved}"
    );
    Ok(())
}

/// Five hundred problems, every second of them degenerate: each price that decides is held against
/// whole formulations on either side.
#[test]
fn five_hundred_problems_with_every_price_that_decides() {
    /// Highest price that is tried where a report says that none is too high.
    const DEAR: f64 = 1e4;
    let library = library();
    let confirmed = std::cell::RefCell::new(Confirmed::default());
    for exact in [false, true] {
        let run = runner(250).run(&case(false), |case| {
            let (request, _) = request(&case, exact, &library);
            let asked = &request.formulate;
            let (report, (break_even, holds_while)) = worked(asked, |worked| {
                let solved = &worked.settled.solved;
                let deciding = Deciding::of(worked.request, &worked.settled.problem, solved)?;
                let Some(deciding) = deciding else {
                    return Ok((Vec::new(), Vec::new()));
                };
                let grams = &solved.grams;
                Ok((deciding.break_even(grams)?, deciding.holds_while(grams)?))
            })?;
            prop_assert_eq!(report.outcome, Outcome::WithinBands);
            let mut count = confirmed.borrow_mut();
            for row in &holds_while {
                let of = (row.id.as_str(), row.price_now_per_kg);
                check_end(&report, asked, of, (row.low_price, 0.0))?;
                check_end(&report, asked, of, (row.high_price, DEAR))?;
                count.ends += 2;
            }
            for row in &break_even {
                let of = (row.id.as_str(), row.price_now_per_kg);
                check_end(&report, asked, of, (row.price_per_kg, 0.0))?;
                match row.price_per_kg {
                    Some(_) => count.break_evens += 1,
                    None => count.never += 1,
                }
            }
            let all = holds_while.len() + break_even.len();
            prop_assert_eq!(all, asked.choice.len());
            Ok(())
        });
        run.unwrap_or_else(|error| panic!("{error}"));
    }
    let Confirmed {
        ends,
        break_evens,
        never,
    } = confirmed.into_inner();
    println!(
        "{ends} ends of prices, {break_evens} break-even prices, {never} never, all confirmed"
    );
    assert!(ends > 1000 && break_evens > 100);
}

/// Today's mix is the known one: nothing is dearer than it, every swap is cheaper, keeps the bands
/// and costs what it says; what must stay as close does.
#[test]
fn swaps_and_the_cheapest_keep_what_they_must() {
    let library = library();
    let swaps = std::cell::Cell::new(0);
    let run = runner(60).run(&(case(false), any::<bool>()), |(mut case, close)| {
        case.band += 0.3;
        let (mut request, grams) = request(&case, false, &library);
        // What is in the last third of the list is not in today's mix, but has something in common.
        let used = request.formulate.choice.len() * 2 / 3;
        let used = request.formulate.choice[..used.max(1)].to_vec();
        let mix = used.iter().zip(&grams).map(|(candidate, grams)| Dose {
            fertilizer: candidate.fertilizer.clone(),
            amount: GramsPerL(*grams),
        });
        request.now = Now::Given(mix.collect(), used);
        if close {
            request.keep = Keep::Deviation;
        }
        let report = answered(&request)?;
        let off = |row: &crate::formulate::report::NutrientRow| {
            row.aim
                .map_or(0.0, |aim| (row.delivered - aim).abs() / aim.max(1e-9))
        };
        if close {
            let rows = report.now.nutrients.iter().zip(&report.cheapest.nutrients);
            for (now, then) in rows {
                prop_assert!(off(then) <= off(now) + 1e-8, "{now:?} {then:?}");
            }
            prop_assert!(report.saving_per_m3 >= -SAME);
        }
        let mut before = f64::INFINITY;
        for swap in &report.swaps {
            prop_assert!(swap.saving_per_m3 <= before && swap.saving_per_m3 > 0.0);
            before = swap.saving_per_m3;
            let now = |id: &str| report.now.mix.iter().any(|line| line.id == id);
            let then = |id: &str| swap.mix.iter().any(|line| line.id == id);
            prop_assert!(now(&swap.out) && !then(&swap.out), "{swap:?}");
            prop_assert!(!now(&swap.into) && then(&swap.into), "{swap:?}");
            let found = |id: &str| {
                let mut choice = request.formulate.choice.iter();
                choice.find(|candidate| candidate.fertilizer.id == id)
            };
            let mut cost = 0.0;
            let mut holds = request.formulate.water.holds;
            for line in &swap.mix {
                let Some(candidate) = found(&line.id) else {
                    return Err(TestCaseError::fail(format!("{swap:?}")));
                };
                cost += candidate.price_per_kg.unwrap_or(f64::NAN) * line.g_per_l;
                holds += candidate.fertilizer.mg_per_g() * line.g_per_l;
            }
            let now = report.now.cost_per_m3.unwrap_or(f64::NAN);
            prop_assert!((now - cost - swap.saving_per_m3).abs() <= SAME * now);
            for row in report.now.nutrients.iter().filter(|_| !close) {
                let (found, now) = (holds.aimed(row.nutrient), row.delivered);
                let slack = 1e-7 * row.aim.unwrap_or(1.0);
                prop_assert!(
                    row.min.is_none_or(|min| found >= min.min(now) - slack),
                    "{row:?} {found}"
                );
                prop_assert!(
                    row.max.is_none_or(|max| found <= max.max(now) + slack),
                    "{row:?} {found}"
                );
            }
            swaps.set(swaps.get() + 1);
        }
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
    println!("{} swaps", swaps.get());
    assert!(swaps.get() > 10);
}

/// Every point of the curve, and the middle between neighbours, is what a formulation with those
/// bands costs; below the first point none keeps them.
#[test]
fn the_curve_is_exact_at_its_corners_and_straight_between() {
    let library = library();
    let corners = std::cell::Cell::new(0);
    let run = runner(150).run(&case(false), |case| {
        let (request, _) = request(&case, false, &library);
        let (_, (curve, salt)) = worked(&request.formulate, |worked| {
            let problem = &worked.settled.problem;
            Ok((curve::deviation(problem)?, curve::salt(problem)?))
        })?;
        let at = |pct: f64| {
            let mut asked = request.formulate.clone();
            let aims: Vec<_> = asked.recipe.aims().collect();
            for (aimed, mut aim) in aims {
                let Some(figure) = aim.aim else { continue };
                let share = pct / 100.0;
                (aim.min, aim.max) = (Some(figure * (1.0 - share)), Some(figure * (1.0 + share)));
                asked.recipe.set(aimed, aim);
            }
            cheapest(&asked)
        };
        prop_assert!(!curve.is_empty());
        for point in &curve {
            let cost = at(point.off_pct_allowed * (1.0 + 1e-9) + 1e-9)?.unwrap_or(f64::NAN);
            let off = (cost - point.cost_per_m3).abs();
            prop_assert!(
                off <= 1e-6 * point.cost_per_m3.max(1e-3),
                "{point:?} {cost}"
            );
        }
        for pair in curve.windows(2) {
            let pct = f64::midpoint(pair[0].off_pct_allowed, pair[1].off_pct_allowed);
            let straight = f64::midpoint(pair[0].cost_per_m3, pair[1].cost_per_m3);
            let cost = at(pct)?.unwrap_or(f64::NAN);
            prop_assert!(
                (cost - straight).abs() <= 1e-6 * straight.max(1e-3),
                "{pair:?} {cost}"
            );
            prop_assert!(pair[1].cost_per_m3 < pair[0].cost_per_m3, "{pair:?}");
        }
        let first = curve[0].off_pct_allowed;
        if first > 0.01 {
            prop_assert_eq!(at(first * 0.999)?, None);
        }
        for points in salt.windows(2) {
            prop_assert!(points[1].per_m3 < points[0].per_m3);
        }
        corners.set(corners.get() + curve.len());
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
    println!("{} corners", corners.get());
}
