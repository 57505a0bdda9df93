//! What the pH meter should show, right after mixing and after standing in air.

use crate::spread::Cause;
use schemars::JsonSchema;
use serde::Serialize;

/// Standard uncertainty of pH from the constants alone (0.001 to 0.035 by varying them all; taken
/// wide).
pub const OF_CONSTANTS: f64 = 0.03;
/// Buffer capacity, mol/kg per pH, below which a trace of acid or base decides.
const UNBUFFERED_MOL_KG: f64 = 1e-4;
/// Alkalinity or acid that nobody can weigh or measure better, meq/L.
pub(crate) const FLOOR_MEQ_L: f64 = 0.01;
/// Standard uncertainty of a measured alkalinity, relative.
pub(crate) const OF_ALKALINITY: f64 = 0.02;
/// Standard uncertainty of what acids and bases bring, relative.
pub(crate) const OF_ACIDS: f64 = 0.01;

/// pH with its range (k = 2).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Ph {
    /// Right after mixing: no carbon dioxide has escaped.
    pub closed: Option<f64>,
    /// After standing in air.
    pub open: Option<f64>,
    /// Lower end of what the meter may show right after mixing.
    pub closed_low: Option<f64>,
    /// Upper end.
    pub closed_high: Option<f64>,
    /// Lower end after standing in air.
    pub open_low: Option<f64>,
    /// Upper end.
    pub open_high: Option<f64>,
    /// True where hardly anything holds the pH: a trace of acid or base moves it.
    pub unbuffered: bool,
}

/// True where hardly anything holds the pH.
pub fn is_unbuffered(buffer_mol_kg: Option<f64>) -> bool {
    buffer_mol_kg.is_some_and(|buffer| buffer < UNBUFFERED_MOL_KG)
}

/// Variances of the charge that decides the pH, (meq/L)².
///
/// u2 = (0.01)2 + (2 % of the water's alkalinity)2 + (1 % of acids and bases)2 + (open charge)2,
/// the open charge being what the labels of the mix leave out. `stated` are variances of what acids
/// and bases bring by what is stated of them, which count where they are more than that 1 %.
pub(crate) fn charge_variances(
    alkalinity: f64,
    acids: f64,
    open_charge: f64,
    stated: Vec<(Cause, f64)>,
) -> Vec<(Cause, f64)> {
    let usual = (OF_ACIDS * acids).powi(2);
    let of_stated: f64 = stated.iter().map(|(_, variance)| variance).sum();
    let mut parts = vec![
        (Cause::PhModel, FLOOR_MEQ_L.powi(2) + open_charge.powi(2)),
        (Cause::Alkalinity, (OF_ALKALINITY * alkalinity).powi(2)),
    ];
    if of_stated > usual {
        parts.extend(stated);
    } else {
        parts.push((Cause::Acids, usual));
    }
    parts
}
