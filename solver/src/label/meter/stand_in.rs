//! For tests alone: a linear EC, no model of anything. Every ion conducts as much as at
//! infinite dilution, 70 S cm2 per equivalent (the order of magnitude of nutrient ions, from
//! memory), and what a water holds adds to it.

use super::Water;
use saltwright_fertilizers::Dose;

/// mS/cm per meq/L of charge.
const PER_MEQ: f64 = 0.070;

/// The stand-in.
#[allow(clippy::unnecessary_wraps)] // the shape of a model
pub fn linear(water: &Water, mix: &[Dose]) -> Option<f64> {
    let (cations, anions) = water.charges_meq_l();
    let brought = crate::solution::brought(mix);
    let charge = cations + anions + brought.cations_meq_l + brought.anions_meq_l;
    Some(PER_MEQ * charge)
}

/// The same, bent as EC is: ions hinder each other by a part that grows with the root of their
/// charge.
pub fn bent(water: &Water, mix: &[Dose]) -> Option<f64> {
    let straight = linear(water, mix)?;
    Some(straight * (1.0 - 0.1 * straight.sqrt()))
}
