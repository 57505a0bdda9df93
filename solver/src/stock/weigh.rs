//! At the scale: rounding to what it shows, premixes for what is too small for it, and the order of
//! dissolving.

use super::check::{self, Poured};
use super::place::chelate;
use super::report::{Do, Moved, Premix, Step, TankRow};
use super::request::StockRequest;
use crate::words::stock as words;
use saltwright_fertilizers::{Fertilizer, Nutrient};
use std::sync::Arc;

/// A mass of fewer readabilities than this is rounded by over 1 %: it is taken from a premix.
const FINE_ENOUGH: f64 = 50.0;
/// How many times more is weighed into a premix, and into how many millilitres, so that 5 to 50 mL
/// are taken. Common practice, no source.
const PREMIXES: [(f64, f64); 7] = [
    (2.0, 100.0),
    (5.0, 100.0),
    (10.0, 100.0),
    (20.0, 100.0),
    (50.0, 250.0),
    (100.0, 500.0),
    (200.0, 1000.0),
];
/// A second dilution of a premix: this much is made up to a hundred.
const AGAIN: f64 = 10.0;
const AGAIN_ML: f64 = 100.0;
/// How much of its solubility a premix may hold. Common practice, no source.
const PREMIX_SOLUBILITY: f64 = 0.5;
/// Volumes that a premix may have, mL: what a jug or a flask is marked with.
const VOLUMES_ML: [f64; 12] = [
    100.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0, 600.0, 800.0, 1000.0, 1500.0, 2000.0,
];
/// Water to start with, of the tank and of the water that fits. Common practice, no source.
const START_OF_TANK: f64 = 0.7;
const START_OF_WATER: f64 = 0.9;

/// What the scale does to a stock.
#[derive(Default)]
pub(super) struct Weighed {
    pub order: Vec<Step>,
    pub premixes: Vec<Premix>,
    pub rounding: Option<Moved>,
}

/// One fertilizer at the scale.
struct Weighing {
    /// Grams as the scale shows them, where it is weighed.
    weigh_g: Option<f64>,
    premix: Option<Premix>,
    /// Grams that really get into the tank.
    comes_to_g: f64,
}

/// The order of work, premixes and what rounding does; nothing without volumes or a ratio.
pub(super) fn sheet(
    request: &StockRequest,
    tanks: &[TankRow],
    poured: &[Poured<'_>],
    ratio: Option<f64>,
) -> Weighed {
    let mut sheet = Weighed::default();
    let Some(ratio) = ratio else {
        return sheet;
    };
    let mut finished: Vec<(Arc<Fertilizer>, f64)> = Vec::new();
    for (position, tank) in tanks.iter().enumerate() {
        let Some(litres) = tank.litres else {
            continue;
        };
        let mut lines: Vec<(&Poured<'_>, Weighing)> = poured
            .iter()
            .filter(|line| line.tank == position)
            .map(|line| (line, weighing(line, &tank.name, request.scale_g)))
            .collect();
        lines.sort_by(|a, b| rank(&a.0.fertilizer, &a.1).total_cmp(&rank(&b.0.fertilizer, &b.1)));
        for (line, weighing) in &lines {
            let grams = weighing.comes_to_g / litres / ratio;
            finished.push((Arc::clone(&line.fertilizer), grams));
        }
        sheet.order.extend(steps(tank, litres, &lines));
        sheet.premixes.extend(
            lines
                .into_iter()
                .filter_map(|(_, weighing)| weighing.premix),
        );
    }
    if request.scale_g.is_some() && finished.len() == poured.len() {
        let found = check::finished(request, &finished);
        sheet.rounding = Some(check::moved(request, &found));
    }
    sheet
}

fn weighing(line: &Poured<'_>, tank: &str, scale: Option<f64>) -> Weighing {
    let needed = line.dose.g.unwrap_or(0.0);
    let Some(scale) = scale else {
        return Weighing {
            weigh_g: Some(needed),
            premix: None,
            comes_to_g: needed,
        };
    };
    let fine = needed >= FINE_ENOUGH * scale;
    if fine {
        let weigh_g = round_to(needed, scale);
        return Weighing {
            weigh_g: Some(weigh_g),
            premix: None,
            comes_to_g: weigh_g,
        };
    }
    if line.fertilizer.is_liquid() {
        // A cylinder or syringe measures what the scale cannot.
        return Weighing {
            weigh_g: None,
            premix: None,
            comes_to_g: needed,
        };
    }
    let premix = premix(&line.fertilizer, tank, needed, scale);
    let share = premix
        .into_ml
        .zip(premix.take_ml)
        .map_or(0.0, |(into, take)| take / into);
    let again = premix
        .again_into_ml
        .zip(premix.again_take_ml)
        .map_or(1.0, |(into, take)| take / into);
    let comes_to_g = premix.weigh_g.map_or(needed, |weigh| weigh * share * again);
    Weighing {
        weigh_g: None,
        premix: Some(premix),
        comes_to_g,
    }
}

/// To the nearest step of the scale.
fn round_to(grams: f64, scale: f64) -> f64 {
    (grams / scale).round() * scale
}

fn premix(fertilizer: &Fertilizer, tank: &str, needed: f64, scale: f64) -> Premix {
    let mut premix = Premix {
        tank: tank.to_owned(),
        id: fertilizer.id.clone(),
        needed_g: needed,
        weigh_g: None,
        into_ml: None,
        take_ml: None,
        again_into_ml: None,
        again_take_ml: None,
        words: String::new(),
        caution: words::at_the_step(fertilizer),
    };
    let dissolves = |grams: f64, ml: f64| {
        fertilizer
            .solubility_g_per_l_20c
            .is_none_or(|solubility| grams <= PREMIX_SOLUBILITY * solubility * ml / 1000.0)
    };
    for again in [1.0, AGAIN] {
        for (times, ml) in PREMIXES {
            let grams = times * again * needed;
            if grams < FINE_ENOUGH * scale {
                continue;
            }
            let weigh_g = round_to(grams, scale);
            // More water where it would not dissolve; more of it is then taken.
            let into = VOLUMES_ML
                .into_iter()
                .find(|volume| *volume >= ml && dissolves(weigh_g, *volume));
            let Some(into_ml) = into else {
                continue;
            };
            premix.weigh_g = Some(weigh_g);
            premix.into_ml = Some(into_ml);
            premix.take_ml = Some(into_ml / times);
            if again > 1.0 {
                premix.again_into_ml = Some(AGAIN_ML.max(into_ml / times));
                premix.again_take_ml = premix.again_into_ml.map(|ml| ml / again);
            }
            premix.words = words::premix(&premix, scale);
            return premix;
        }
    }
    premix.words = words::no_premix(&premix, scale);
    premix
}

/// Acids and bases; a borate is a base on paper only.
fn is_poured_first(fertilizer: &Fertilizer) -> bool {
    fertilizer.is_acid() || (fertilizer.is_base() && fertilizer.assay_pct[Nutrient::B] == 0.0)
}

/// When a fertilizer has its turn: acids and bases first, sulfates and phosphates before the rest,
/// the least soluble first; premixes; chelates last. Common practice, no source.
fn rank(fertilizer: &Fertilizer, weighing: &Weighing) -> f64 {
    const BEYOND_ALL: f64 = 1e6;
    let holds = |nutrient: Nutrient| fertilizer.assay_pct[nutrient] > 0.0;
    let turn = if is_poured_first(fertilizer) {
        0.0
    } else if chelate(fertilizer).is_some() {
        4.0
    } else if weighing.premix.is_some() {
        3.0
    } else if holds(Nutrient::S) || holds(Nutrient::P) {
        1.0
    } else {
        2.0
    };
    let solubility = fertilizer.solubility_g_per_l_20c.unwrap_or(BEYOND_ALL);
    turn + (solubility / BEYOND_ALL).min(0.999)
}

fn steps(tank: &TankRow, litres: f64, lines: &[(&Poured<'_>, Weighing)]) -> Vec<Step> {
    let water_fits = tank.water_to_add_kg_per_l.unwrap_or(1.0);
    let start = START_OF_TANK.min(START_OF_WATER * water_fits) * litres;
    let mut steps = Vec::new();
    let mut push = |mut step: Step| {
        step.step = steps.len() + 1;
        steps.push(step);
    };
    let blank = |what: Do, words: String| Step {
        tank: tank.name.clone(),
        step: 0,
        what,
        id: None,
        g: None,
        weigh_g: None,
        ml: None,
        litres: None,
        running_g: None,
        words,
        caution: None,
    };
    let pours = lines.iter().any(|line| is_poured_first(&line.0.fertilizer));
    let start_words = if pours {
        words::START_COOL
    } else {
        words::START
    };
    push(Step {
        litres: Some(start),
        ..blank(Do::Water, start_words.into())
    });
    let mut running = 0.0;
    for (line, weighing) in lines {
        let fertilizer = &line.fertilizer;
        let what = if is_poured_first(fertilizer) {
            Do::Pour
        } else if weighing.premix.is_some() {
            Do::Premix
        } else if chelate(fertilizer).is_some() {
            Do::Chelate
        } else {
            Do::Dissolve
        };
        let how = match &weighing.premix {
            Some(premix) if premix.weigh_g.is_none() => words::TOO_SMALL.into(),
            _ => words::how(what, fertilizer),
        };
        running += weighing.weigh_g.unwrap_or(0.0);
        let taken = |premix: &Premix| premix.again_take_ml.or(premix.take_ml);
        push(Step {
            id: Some(fertilizer.id.clone()),
            g: line.dose.g,
            weigh_g: weighing.weigh_g,
            ml: weighing.premix.as_ref().and_then(taken).or(line.dose.ml),
            running_g: weighing.weigh_g.map(|_| running),
            // Of a premix it stands where it is weighed.
            caution: words::at_the_step(fertilizer).filter(|_| what != Do::Premix),
            ..blank(what, how)
        });
    }
    push(Step {
        litres: Some(litres),
        ..blank(Do::Fill, words::fill(tank.density_20c_g_per_ml))
    });
    push(blank(Do::Rest, words::REST.into()));
    steps
}
