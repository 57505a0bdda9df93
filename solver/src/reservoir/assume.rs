//! What a tank is taken to hold where only its meters are known: its water with so much feed that it
//! reads the EC, and the acid that its pH stands for.

use super::liquid::{By, Liquid};
use crate::chemistry::{Conditions, NotConverged};
use crate::formulate::{FormulateReport, FormulateRequest};
use crate::root::root;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;
use std::sync::Arc;

/// How closely the reading is met, mS/cm: a thousandth of what a meter shows.
const EC_CLOSE: f64 = 1e-5;
/// Doublings in which a strength is sought from above.
const MOST_DOUBLINGS: usize = 24;

/// The mix of a formulation as doses.
pub(super) fn doses(request: &FormulateRequest, report: &FormulateReport) -> Vec<Dose> {
    let dose = |id: &str, g_per_l: f64| {
        let found = request.choice.iter().find(|c| c.fertilizer.id == id)?;
        Some(Dose {
            fertilizer: Arc::clone(&found.fertilizer),
            amount: GramsPerL(g_per_l),
        })
    };
    let rows = report.mix.iter();
    rows.filter_map(|row| dose(&row.id, row.g_per_l)).collect()
}

/// Water with feed at a strength.
pub(super) fn fed(water: &Liquid, feed: &Liquid, strength: f64) -> Liquid {
    let mut liquid = *water;
    liquid += *feed * strength;
    liquid
}

/// As it stands in the tank: with the pH that was read, else as it stands in air.
pub(super) fn as_read(
    mut liquid: Liquid,
    ph: Option<f64>,
    at: &Conditions,
    by: By,
) -> Result<Liquid, NotConverged> {
    match ph {
        Some(ph) => liquid.read_ph(at, ph, by)?,
        None => liquid.stand(at)?,
    }
    Ok(liquid)
}

/// The water with so much feed that it reads the EC; without strength the water thinned.
pub(super) fn at_strength(
    (ec_ms_cm, ph): (f64, Option<f64>),
    water: &Liquid,
    feed: &Liquid,
    at: &Conditions,
) -> Result<(Liquid, Option<f64>), NotConverged> {
    let tank = |strength: f64| as_read(fed(water, feed, strength), ph, at, By::Nitrate);
    let off = |strength: f64| Ok(tank(strength)?.ec_ms_cm()? - ec_ms_cm);
    if off(0.0)? > 0.0 {
        let thinned = |share: f64| as_read(*water * share, ph, at, By::Nitrate);
        let off = |share: f64| Ok(thinned(share)?.ec_ms_cm()? - ec_ms_cm);
        // A pH far from neutral conducts by itself; then nothing reads so little.
        let share = root(off, (0.0, 1.0), EC_CLOSE)?.unwrap_or(0.0);
        return Ok((thinned(share)?, None));
    }
    let mut high = 1.0;
    for _ in 0..MOST_DOUBLINGS {
        if off(high)? >= 0.0 {
            break;
        }
        high *= 2.0;
    }
    let strength = root(off, (0.0, high), EC_CLOSE)?.unwrap_or(high);
    Ok((tank(strength)?, Some(strength)))
}
