//! The chemistry of a finished solution: which ions there are, what they conduct, where the pH
//! comes to, how much acid a water needs, what could drop out.
//!
//! ```text
//! water + mix -> Totals -> equilibrium -> Speciation -> EC, pH, solids
//! ```
//!
//! Range: ionic strength up to 0.06 mol/kg, 0 to 60 °C (EC: 5 to 35 °C), pH 3 to 10. Numbers stay
//! finite beyond; whoever shows them says that they are outside. Strong solutions, as stock tanks hold
//! them, have a model of their own: [`concentrate`].

pub mod acid;
pub mod activity;
pub mod component;
pub mod concentrate;
pub mod conductivity;
pub mod equilibrium;
pub mod meter;
pub mod solids;
pub mod species;

pub use component::{Component, Totals};
pub use equilibrium::{Carbon, NotConverged, Protons, Speciation, speciate};
pub use species::Conditions;

/// Highest ionic strength, mol/kg, that the models of activity and conductivity are checked for.
pub const MOST_IONIC_STRENGTH: f64 = 0.06;
/// Temperatures, °C, that the conductivity model is checked for.
pub const EC_CELSIUS: std::ops::RangeInclusive<f64> = 5.0..=35.0;
/// pH values that the model is checked for.
pub const PH_RANGE: std::ops::RangeInclusive<f64> = 3.0..=10.0;
/// The temperature that EC is reported at, °C.
pub const REFERENCE_CELSIUS: f64 = 25.0;
/// log10 of the carbon dioxide pressure of outdoor air, atm: 417 ppm.
pub const LOG_PCO2_AIR: f64 = -3.38;
