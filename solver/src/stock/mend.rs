//! A wrong weighing: how to bring the tank back.
//!
//! Made up to more, with the rest added in proportion, every figure is right again. Where the
//! volume has to stay, the formulation is asked for the closest mix of what is still to be weighed,
//! with the wrong weighing counted as there already.

use super::check::{self, Poured};
use super::report::{AddRow, Closest, Mended, TankRow, WeighedRow};
use super::request::{StockRequest, Weighed};
use crate::formulate::formulate;
use crate::formulate::request::{Candidate, FormulateRequest};
use crate::words::stock as words;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Dose, Fertilizer};
use saltwright_recipes::Recipe;
use saltwright_recipes::recipe::Aim;
use std::sync::Arc;

/// A wrong weighing found in its tank.
struct Wrong<'a> {
    line: &'a Poured<'a>,
    weighed_g: f64,
    meant_g: f64,
}

/// The ways out, tank by tank.
pub(super) fn all(
    request: &StockRequest,
    tanks: &[TankRow],
    poured: &[Poured<'_>],
    ratio: Option<f64>,
) -> Vec<Mended> {
    let Some(ratio) = ratio else {
        return Vec::new();
    };
    let mended = tanks.iter().enumerate().filter_map(|(position, tank)| {
        let wrong: Vec<Wrong<'_>> = request
            .already
            .iter()
            .filter_map(|weighed| find(weighed, position, tank, poured))
            .collect();
        let litres = tank.litres?;
        (!wrong.is_empty()).then(|| mend(request, tank, (litres, ratio), poured, &wrong))
    });
    mended.collect()
}

fn find<'a>(
    weighed: &Weighed,
    position: usize,
    tank: &TankRow,
    poured: &'a [Poured<'a>],
) -> Option<Wrong<'a>> {
    let mut of_it = poured
        .iter()
        .filter(|line| line.dose.id == weighed.fertilizer.id);
    let line = match &weighed.tank {
        Some(name) if !name.eq_ignore_ascii_case(&tank.name) => return None,
        Some(_) => of_it.find(|line| line.tank == position)?,
        // Without a tank: the first that holds it.
        None => of_it.next().filter(|line| line.tank == position)?,
    };
    Some(Wrong {
        line,
        weighed_g: weighed.grams,
        meant_g: line.dose.g?,
    })
}

fn mend(
    request: &StockRequest,
    tank: &TankRow,
    (litres, ratio): (f64, f64),
    poured: &[Poured<'_>],
    wrong: &[Wrong<'_>],
) -> Mended {
    let too_much = wrong.iter().map(|wrong| wrong.weighed_g / wrong.meant_g);
    let times = too_much.fold(1.0, f64::max);
    let really = |line: &Poured<'_>| {
        wrong
            .iter()
            .find(|wrong| std::ptr::eq(wrong.line, line))
            .map(|wrong| wrong.weighed_g)
    };
    let here = poured.iter().filter(|line| line.tank == wrong[0].line.tank);
    let add: Vec<AddRow> = here
        .filter_map(|line| {
            let meant = line.dose.g?;
            let g = times * meant - really(line).unwrap_or(meant);
            (g > 1e-9 * meant).then(|| AddRow {
                id: line.dose.id.clone(),
                g,
            })
        })
        .collect();
    let finished: Vec<(Arc<Fertilizer>, f64)> = poured
        .iter()
        .map(|line| {
            let grams = really(line).map_or(line.dose.g_per_l, |grams| grams / litres / ratio);
            (Arc::clone(&line.fertilizer), grams)
        })
        .collect();
    let found = check::finished(request, &finished);
    let same_litres = request
        .tank_litres
        .iter()
        .all(|other| (other - litres).abs() < 1e-9);
    let mut mended = Mended {
        tank: tank.name.clone(),
        weighed: wrong
            .iter()
            .map(|wrong| WeighedRow {
                id: wrong.line.dose.id.clone(),
                weighed_g: wrong.weighed_g,
                meant_g: wrong.meant_g,
            })
            .collect(),
        fill_to_l: times * litres,
        add,
        left_as_it_is: check::moved(request, &found),
        closest: same_litres
            .then(|| closest(request, poured, wrong, litres * ratio))
            .flatten(),
        words: Vec::new(),
    };
    mended.words = words::mended(&mended, litres);
    mended
}

/// The mix of everything that was not weighed wrongly that comes closest to the formulation;
/// `litres` of finished solution.
fn closest(
    request: &StockRequest,
    poured: &[Poured<'_>],
    wrong: &[Wrong<'_>],
    litres: f64,
) -> Option<Closest> {
    let is_wrong = |id: &str| wrong.iter().any(|wrong| wrong.line.dose.id == id);
    // Of a divided salt, what is in its other tanks is there as well.
    let already = poured
        .iter()
        .filter(|line| is_wrong(&line.dose.id))
        .map(|line| {
            let grams = wrong.iter().find(|wrong| std::ptr::eq(wrong.line, line));
            let grams = grams.map_or(line.dose.g_per_l, |wrong| wrong.weighed_g / litres);
            (Arc::clone(&line.fertilizer), grams)
        });
    let mut doses: Vec<Dose> = Vec::new();
    for (fertilizer, grams) in already {
        match doses
            .iter_mut()
            .find(|dose| dose.fertilizer.id == fertilizer.id)
        {
            Some(dose) => dose.amount.0 += grams,
            None => doses.push(Dose {
                fertilizer,
                amount: GramsPerL(grams),
            }),
        }
    }
    let choice: Vec<Candidate> = request
        .mix
        .iter()
        .filter(|dose| !is_wrong(&dose.fertilizer.id))
        .map(|dose| Candidate {
            fertilizer: Arc::clone(&dose.fertilizer),
            price_per_kg: None,
            at_most: None,
        })
        .collect();
    if choice.is_empty() {
        return None;
    }
    let (water, bands) = (request.water.clone(), request.bands.clone());
    let report = formulate(&FormulateRequest {
        already: doses,
        ..FormulateRequest::plain(meant(request), water, choice, bands)
    })
    .ok()?;
    Some(Closest {
        outcome: report.outcome,
        mix: report
            .mix
            .iter()
            .map(|row| AddRow {
                id: row.id.clone(),
                g: row.g_per_l * litres,
            })
            .collect(),
        dilute_l_per_l: report.dilute_l_per_l,
    })
}

/// The formulation as a recipe.
fn meant(request: &StockRequest) -> Recipe {
    let meant = check::formulation(request).composition;
    let mut recipe = Recipe::empty("the formulation");
    for aimed in Aimed::all().filter(|aimed| *aimed != Aimed::TotalN) {
        let amount = meant.aimed(aimed);
        if amount > 0.0 {
            let aim = Aim {
                aim: Some(amount),
                min: None,
                max: None,
                weight: 1.0,
            };
            recipe.set(aimed, aim);
        }
    }
    recipe
}
