//! How much a spoonful of a mix can tell: the dose whose test is sharpest, and what stays silent.

use super::search::{Interval, Test};
use super::{Dissolved, METER_DIGIT_MS_CM};
use crate::ec::{COVERAGE, FLOOR_US_CM, OF_FERTILIZERS};
use crate::label::arithmetic::Mixtures;
use crate::label::region::Region;
use crate::lp::Stuck;

/// Doses that are tried for the sharpest test, g/L.
const DOSES: [f64; 10] = [0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0];
/// A gain in sharpness that is not worth a stronger solution, relative.
const NO_GAIN: f64 = 0.02;

/// Standard uncertainty of an expected EC.
pub(super) fn uncertainty(added: f64, water: f64, weighing: f64) -> f64 {
    let parts = [
        OF_FERTILIZERS * added,
        FLOOR_US_CM / 1000.0,
        water,
        weighing * added,
    ];
    parts
        .into_iter()
        .map(|part| part * part)
        .sum::<f64>()
        .sqrt()
}

/// The smallest dose of the list whose test is about as sharp as the sharpest: the width of all
/// that a true label may show, against what the dose adds.
pub(super) fn sharpest_dose(
    dissolved: &Dissolved,
    test: &Test<'_>,
    interval: &Interval,
    alone: f64,
) -> Option<f64> {
    let width = |dose: f64| {
        if !test.in_range(&interval.high_shares, dose) {
            return None;
        }
        let low = test.ec(&interval.low_shares, dose)?;
        let high = test.ec(&interval.high_shares, dose)?;
        let added = f64::midpoint(low, high) - alone;
        let weighing = dissolved.scale_g / (dose * dissolved.litres) / COVERAGE;
        let water = METER_DIGIT_MS_CM / COVERAGE;
        let meter = dissolved.meter_pct / 100.0 * f64::midpoint(high, low) + METER_DIGIT_MS_CM;
        let around = COVERAGE * uncertainty(added, water, weighing) + meter;
        (added > 0.0).then(|| (high - low + 2.0 * around) / added)
    };
    let tried: Vec<(f64, f64)> = DOSES
        .iter()
        .filter_map(|dose| Some((*dose, width(*dose)?)))
        .collect();
    let best = tried.iter().map(|(_, width)| *width).reduce(f64::min)?;
    tried
        .iter()
        .find(|(_, width)| *width <= best * (1.0 + NO_GAIN))
        .map(|(dose, _)| *dose)
}

/// The most of the mass that may show no EC: ingredients without any ion, and filler.
pub(super) fn silent_pct(mixtures: &Mixtures) -> Result<Option<f64>, Stuck> {
    let Some(region) = Region::new(mixtures)? else {
        return Ok(None);
    };
    // The most of what is silent is all but the least of what is not.
    let speaks: Vec<f64> = mixtures
        .ingredients
        .iter()
        .map(|ingredient| {
            let (cations, anions) = ingredient.fertilizer.charges_meq_per_g();
            if cations + anions > 0.0 { -1.0 } else { 0.0 }
        })
        .collect();
    let (value, _) = region.most_of(&speaks)?;
    Ok(Some((100.0 * (1.0 + value)).clamp(0.0, 100.0)))
}
