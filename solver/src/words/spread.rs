//! Sentences about what may be off, and what would narrow it.

use super::listing;
use crate::spread::{Cause, Inputs};

/// Fertilizers whose assays count as exact because nobody states a tolerance.
pub fn no_tolerance(ids: &[&str]) -> String {
    format!(
        "No tolerance is stated for {}: the ranges take the assay as exact. State one \
         (tolerance_pct) to see what it does.",
        listing(ids)
    )
}

/// What would narrow a cause.
pub(crate) fn improvement(cause: Cause, inputs: &Inputs) -> String {
    let plain = match cause {
        Cause::Bag(at) => {
            let id = &inputs.bags[at].fertilizer.id;
            return format!("have {id} analysed, or buy one with a narrower guarantee");
        }
        Cause::Scale => "weigh on a finer scale, checked with a known weight",
        Cause::Cylinder => "measure liquids with a finer cylinder or syringe",
        Cause::Volume => "find the tank's volume with a water meter or by weighing",
        Cause::Proportioner => "check the proportioner against a measured volume",
        Cause::WaterAnalysis => "have the water analysed afresh",
        Cause::Prices => "ask for firm prices",
        Cause::Model | Cause::WaterEc => "measure the EC of the source water",
        Cause::Thermometer => "check the meter's thermometer",
        Cause::Meter => "calibrate the EC meter with a fresh standard",
    };
    plain.to_owned()
}
