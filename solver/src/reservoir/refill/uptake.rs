//! What left with each litre drunk: published uptake first, then what the readings say.
//!
//! Published: mg in a litre = mg in a gram of dry plant x grams grown with a litre of water.
//! Readings: the EC, and the acid that the plants gave off, which is what they took of cations above
//! anions. EC alone cannot tell potassium from calcium; a laboratory can.

use super::super::liquid::{By, Liquid};
use super::account::{Account, Entry};
use super::belief::Belief;
use super::request::RefillRequest;
use crate::chemistry::{Conditions, NotConverged, REFERENCE_CELSIUS};
use nalgebra::DVector;
use saltwright_fertilizers::{Composition, Nutrient};
use serde::Deserialize;
use std::sync::LazyLock;

/// Grams of dry plant grown with a litre of water, from dry outdoor air to moist and enriched air.
/// Source: Langenfeld and others (2022), Sustainability 14:10204.
const G_PER_L: [f64; 2] = [3.0, 6.0];
/// A half-width as a standard uncertainty: the furthest of an even spread over the root of 3 (JCGM
/// 100:2008, 4.3.7).
const FURTHEST: f64 = 0.577_350_269_189_625_8;
/// Standard uncertainty of an EC reading beside the account: relative, and in mS/cm. Judgement:
/// meter, level and model together.
const OF_EC: (f64, f64) = (0.02, 0.01);
/// Standard uncertainty of the acid given off for each litre drunk, meq/L. Judgement: nitrifying
/// microbes and carbonate have a part in it.
const OF_ACID_MEQ_L: f64 = 0.5;
/// Standard uncertainty of a laboratory's figure, and of what was in the tank at first. Common
/// practice, no source.
const OF_LABORATORY: f64 = 0.05;
/// The same.
const OF_START: f64 = 0.03;
/// Readings that are compared by their EC; more of the same meter tell little more.
const MOST_COMPARED: usize = 12;
/// Of what was there, what plants can at most have taken before any reading says so.
const OF_ALL: f64 = 0.9;
/// Nutrients below this in a litre drunk, mg, have no say in the EC.
const TRACE_MG: f64 = 1.0;

/// A row of the published uptake.
#[derive(Debug, Deserialize)]
struct Row {
    nutrient: String,
    low_mg_per_g: f64,
    high_mg_per_g: f64,
}

/// The nutrients with their published uptake, mg in a gram of dry plant.
fn published() -> &'static [(Nutrient, [f64; 2])] {
    static ROWS: LazyLock<Vec<(Nutrient, [f64; 2])>> = LazyLock::new(|| {
        let mut reader = csv::Reader::from_reader(include_str!("uptake.csv").as_bytes());
        let rows = reader.deserialize::<Row>().filter_map(Result::ok);
        rows.filter_map(|row| {
            let nutrient = Nutrient::from_key(&row.nutrient)?;
            Some((nutrient, [row.low_mg_per_g, row.high_mg_per_g]))
        })
        .collect()
    });
    &ROWS
}

/// What left with each litre.
#[derive(Clone, Debug)]
pub(super) struct Uptake {
    /// Which figure is which.
    pub nutrients: Vec<Nutrient>,
    /// What is believed of them, mg per litre drunk.
    belief: Belief,
    /// What published uptake alone says.
    pub published: Vec<f64>,
}

impl Uptake {
    /// Published uptake, no more than was there.
    fn before_readings(account: &Account) -> Self {
        let middle = |ends: [f64; 2]| 0.5 * (ends[0] + ends[1]);
        let spread = |ends: [f64; 2]| (ends[1] - ends[0]) / (ends[1] + ends[0]) * FURTHEST;
        let last = account.entries.last();
        let rows = published();
        let published: Vec<f64> = rows
            .iter()
            .map(|(nutrient, tissue)| {
                let usual = middle(*tissue) * middle(G_PER_L);
                let there = last.filter(|last| last.drunk_l > 0.0);
                let there = there.map(|last| last.brought.holds[*nutrient] / last.drunk_l);
                there.map_or(usual, |there| usual.min(OF_ALL * there))
            })
            .collect();
        let own: Vec<f64> = rows.iter().map(|(_, tissue)| spread(*tissue)).collect();
        Self {
            nutrients: rows.iter().map(|(nutrient, _)| *nutrient).collect(),
            belief: Belief::new(&published, &own, spread(G_PER_L)),
            published,
        }
    }

    /// mg per litre drunk.
    pub fn mean(&self) -> Composition {
        self.composition(&self.belief.mean)
    }

    /// Standard uncertainty of a nutrient, mg per litre drunk; 0 for what is not counted.
    pub fn uncertainty(&self, nutrient: Nutrient) -> f64 {
        let position = self.nutrients.iter().position(|other| *other == nutrient);
        position.map_or(0.0, |figure| self.belief.uncertainty(figure))
    }

    fn composition(&self, figures: &DVector<f64>) -> Composition {
        let pairs = self.nutrients.iter().zip(figures.iter());
        pairs
            .map(|(nutrient, mg)| (*nutrient, mg.max(0.0)))
            .collect()
    }

    /// Every figure but one zero.
    fn along(&self, figure: usize, slope: f64) -> DVector<f64> {
        let mut slopes = DVector::zeros(self.nutrients.len());
        slopes[figure] = slope;
        slopes
    }
}

/// What the tank holds at an entry if so much was taken with each litre.
pub(super) fn holds(
    entry: &Entry,
    taken: &Composition,
    request: &RefillRequest,
) -> Result<Liquid, NotConverged> {
    let mut lack = Liquid {
        holds: *taken,
        ..Liquid::default()
    };
    lack.totals.add_composition(taken);
    let mut liquid = entry.brought;
    liquid += lack * -entry.drunk_l;
    let mut liquid = liquid * (1.0 / entry.litres);
    liquid.at_least_nothing();
    let shown = entry.shown(request).map(|reading| reading.shown);
    let at = Conditions::at(
        shown
            .and_then(|shown| shown.temperature_c)
            .unwrap_or(REFERENCE_CELSIUS),
    );
    match shown.and_then(|shown| shown.ph) {
        Some(ph) => liquid.read_ph(&at, ph, By::Inert)?,
        None => liquid.stand(&at)?,
    }
    Ok(liquid)
}

/// What left with each litre, by all that is known.
pub(super) fn find(request: &RefillRequest, account: &Account) -> Result<Uptake, NotConverged> {
    let mut uptake = Uptake::before_readings(account);
    let Some(last) = account.entries.last().filter(|last| last.drunk_l > 0.0) else {
        return Ok(uptake);
    };
    given_off(request, last, &mut uptake)?;
    let step = account.entries.len().div_ceil(MOST_COMPARED).max(1);
    for entry in account.entries.iter().rev().step_by(step) {
        if entry.drunk_l > 0.0 {
            by_ec(request, entry, &mut uptake)?;
        }
    }
    by_laboratory(request, last, &mut uptake);
    Ok(uptake)
}

/// The acid that the plants gave off is what they took of cations above anions.
///
/// A trial of three ornamentals found net acid = 0.962 (± 0.195) x net uptake + 0.14 meq, R2 0.739
/// (American Society for Horticultural Science, annual conference 2014, paper 18308, abstract).
fn given_off(
    request: &RefillRequest,
    last: &Entry,
    uptake: &mut Uptake,
) -> Result<(), NotConverged> {
    let reads = |position: usize| {
        let reading = request.readings.get(position);
        reading.is_some_and(|reading| reading.shown.ph.is_some())
    };
    if !reads(0) || !reads(last.reading) {
        return Ok(());
    }
    let now = holds(last, &uptake.mean(), request)?;
    let given = now.totals.acid_meq_l * last.litres - last.brought.totals.acid_meq_l;
    let per_mg = |nutrient: &Nutrient| f64::from(nutrient.charge()) / nutrient.atomic_weight();
    let slopes =
        DVector::from_iterator(uptake.nutrients.len(), uptake.nutrients.iter().map(per_mg));
    let off = given / last.drunk_l - slopes.dot(&uptake.belief.mean);
    uptake.belief.observe(&slopes, off, OF_ACID_MEQ_L);
    Ok(())
}

/// The EC of an entry, its slopes by small steps.
fn by_ec(request: &RefillRequest, entry: &Entry, uptake: &mut Uptake) -> Result<(), NotConverged> {
    let Some(reading) = entry.shown(request) else {
        return Ok(());
    };
    let ec =
        |figures: &DVector<f64>| holds(entry, &uptake.composition(figures), request)?.ec_ms_cm();
    let mean = uptake.belief.mean.clone();
    let by_account = ec(&mean)?;
    let mut slopes = DVector::zeros(mean.len());
    for figure in 0..mean.len() {
        if mean[figure] >= TRACE_MG {
            let step = 0.05 * mean[figure];
            let mut moved = mean.clone();
            moved[figure] += step;
            slopes[figure] = (ec(&moved)? - by_account) / step;
        }
    }
    let off = reading.ec_ms_cm - by_account;
    let uncertainty = (OF_EC.0 * reading.ec_ms_cm).hypot(OF_EC.1);
    uptake.belief.observe(&slopes, off, uncertainty);
    Ok(())
}

/// A laboratory's figures of the last reading.
fn by_laboratory(request: &RefillRequest, last: &Entry, uptake: &mut Uptake) {
    let Some((analysis, named)) = &request.analysis else {
        return;
    };
    for (figure, nutrient) in uptake.nutrients.clone().into_iter().enumerate() {
        if !named.contains(&nutrient) {
            continue;
        }
        let found = analysis.holds[nutrient];
        let brought = last.brought.holds[nutrient] / last.litres;
        let per_mg = last.drunk_l / last.litres;
        let off = found - (brought - per_mg * uptake.belief.mean[figure]);
        let uncertainty = (OF_LABORATORY * found).hypot(OF_START * brought);
        let slopes = uptake.along(figure, -per_mg);
        uptake.belief.observe(&slopes, off, uncertainty);
    }
}
