//! The stocks diluted again: do they give the formulation, and what if one is dosed unequally or
//! weighed roundly?

use super::report::{Diluted, DilutedRow, Moved, MovedRow, StockDose, Unequal};
use super::request::StockRequest;
use crate::readings::Source;
use crate::solution::Solution;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Composition, Dose, Fertilizer};
use saltwright_recipes::Water;
use std::sync::Arc;

/// By how much a tank is dosed too strongly where unequal dosing is shown, percent.
const UNEQUAL_PCT: f64 = 10.0;
/// What moves less than this is not listed, percent.
const MOVES_PCT: f64 = 0.05;

/// A finished solution, as far as this room compares it.
pub(super) struct Finished {
    /// mg/L of each nutrient, water included.
    pub composition: Composition,
    /// mS/cm at 25 °C; none where it cannot be worked out.
    pub ec_ms_cm: Option<f64>,
}

impl Finished {
    /// A mix in a water. The one place where this room asks for EC.
    fn of(water: &Water, mix: &[Dose]) -> Self {
        let ec = Source::new(water).and_then(|source| source.ec_ms_cm(mix));
        Self {
            composition: Solution::of(water, mix).composition,
            ec_ms_cm: ec.ok(),
        }
    }
}

/// The finished solution that fertilizers per litre of it give.
pub(super) fn finished(request: &StockRequest, grams: &[(Arc<Fertilizer>, f64)]) -> Finished {
    let doses: Vec<Dose> = grams
        .iter()
        .map(|(fertilizer, grams)| Dose {
            fertilizer: Arc::clone(fertilizer),
            amount: GramsPerL(*grams),
        })
        .collect();
    Finished::of(&request.water, &doses)
}

/// The formulation itself.
pub(super) fn formulation(request: &StockRequest) -> Finished {
    Finished::of(&request.water, &request.mix)
}

/// A line of a tank and its fertilizer, with the litre of finished solution that it goes into.
pub(super) struct Poured<'a> {
    /// The line.
    pub dose: &'a StockDose,
    /// Its fertilizer.
    pub fertilizer: Arc<Fertilizer>,
    /// Position of its tank.
    pub tank: usize,
}

impl Poured<'_> {
    /// Grams in a litre of finished solution, from the stock where there is one.
    fn diluted(&self, ratio: Option<f64>) -> f64 {
        match (self.dose.g_per_l_stock, ratio) {
            (Some(stock), Some(ratio)) => stock / ratio,
            _ => self.dose.g_per_l,
        }
    }
}

/// All stocks poured at the same ratio, against the formulation.
pub(super) fn diluted(request: &StockRequest, ratio: Option<f64>, all: &[Poured<'_>]) -> Diluted {
    let meant = formulation(request);
    let grams: Vec<(Arc<Fertilizer>, f64)> = all
        .iter()
        .map(|line| (Arc::clone(&line.fertilizer), line.diluted(ratio)))
        .collect();
    let found = finished(request, &grams);
    let rows: Vec<DilutedRow> = Aimed::all()
        .map(|aimed| DilutedRow {
            nutrient: aimed,
            formulation: meant.composition.aimed(aimed),
            diluted: found.composition.aimed(aimed),
        })
        .collect();
    let deviation = |row: &DilutedRow| {
        let size = row.formulation.abs();
        if size > 0.0 {
            (row.diluted - row.formulation).abs() / size
        } else {
            row.diluted.abs()
        }
    };
    Diluted {
        largest_deviation: rows.iter().map(deviation).fold(0.0, f64::max),
        nutrients: rows,
        ec_ms_cm: found.ec_ms_cm,
        ec_formulation_ms_cm: meant.ec_ms_cm,
    }
}

/// How a finished solution differs from the formulation.
pub(super) fn moved(request: &StockRequest, found: &Finished) -> Moved {
    let formulation = formulation(request);
    let meant = &formulation;
    let rows = Aimed::all().filter_map(|aimed| {
        let (meant, comes_to) = (
            meant.composition.aimed(aimed),
            found.composition.aimed(aimed),
        );
        let off_pct = (meant > 0.0).then(|| 100.0 * (comes_to - meant) / meant);
        let moves = off_pct.map_or(comes_to > 0.0, |off| off.abs() >= MOVES_PCT);
        moves.then_some(MovedRow {
            nutrient: aimed,
            meant,
            comes_to,
            off_pct,
        })
    });
    let (ec, ec_meant) = (found.ec_ms_cm, meant.ec_ms_cm);
    Moved {
        nutrients: rows.collect(),
        ec_ms_cm: ec,
        ec_off_pct: ec
            .zip(ec_meant.filter(|meant| *meant > 0.0))
            .map(|(ec, meant)| 100.0 * (ec - meant) / meant),
    }
}

/// Each tank in turn dosed too strongly, the others as they should be.
pub(super) fn unequal(request: &StockRequest, names: &[&str], all: &[Poured<'_>]) -> Vec<Unequal> {
    if names.len() < 2 {
        return Vec::new();
    }
    let more = 1.0 + UNEQUAL_PCT / 100.0;
    let row = |(position, name): (usize, &&str)| {
        let grams: Vec<(Arc<Fertilizer>, f64)> = all
            .iter()
            .map(|line| {
                let times = if line.tank == position { more } else { 1.0 };
                (Arc::clone(&line.fertilizer), line.dose.g_per_l * times)
            })
            .collect();
        Unequal {
            tank: (*name).to_owned(),
            dose_pct: UNEQUAL_PCT,
            moved: moved(request, &finished(request, &grams)),
        }
    };
    names.iter().enumerate().map(row).collect()
}
