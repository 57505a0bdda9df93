//! The least and the most that the EC can be, everything stated at an end of its half-width.
//!
//! ```text
//! EC = S(what goes in) + c(open charge)
//! ```
//!
//! S rises or falls with each assay by itself, so its ends lie at corners of the box of half-widths;
//! which corner, the slopes at the mix say, and each corner is solved by the chemistry, not by a
//! straight line. What an open charge conducts goes with its size: least where the charge can be
//! nothing, most at the farther end. The two ends need not belong to one set of assays, so the interval
//! may be a little wide, never too narrow while the slopes keep their signs within the half-widths.
//! The model and the water's own EC have no half-width and are taken as they are.

use super::inputs::{End, Inputs, Moves};
use super::slopes::Slopes;
use crate::chemistry::conductivity::conductivity;
use crate::chemistry::{
    Carbon, Component, Conditions, NotConverged, Protons, Speciation, Totals, speciate,
};
use saltwright_fertilizers::Nutrient;

/// What the alkalinity of the source water is, and the carbon that goes with it.
#[derive(Clone, Copy, Debug)]
pub struct Alkalinity {
    /// meq/L.
    pub meq_l: f64,
    /// mmol/L.
    pub carbon_mmol_l: f64,
}

/// Relative half-widths of readings, by meter and by thermometer.
#[derive(Clone, Copy, Debug)]
pub struct Reading(pub [f64; 2]);

/// A part of what goes in, and how far it can fall and rise, relative.
struct Part {
    brings: Totals,
    moves: Moves,
    low: f64,
    high: f64,
}

/// The least and the most EC, µS/cm.
///
/// # Errors
/// [`NotConverged`] where the balances of a corner are not met.
pub fn ends(
    slopes: &Slopes,
    inputs: &Inputs,
    (totals, solved): (&Totals, &Speciation),
    water: Alkalinity,
    reading: Reading,
) -> Result<[f64; 2], NotConverged> {
    let parts = parts(slopes, inputs, water);
    let charges = [End::Low, End::High].map(|end| {
        let moved = parts.iter().map(|part| {
            let (at_low, at_high) = (part.moves.charge * part.low, part.moves.charge * part.high);
            match end {
                End::Low => at_low.min(at_high),
                End::High => at_low.max(at_high),
            }
        });
        totals.rest_meq_l() + moved.sum::<f64>()
    });
    let conducts = charges.map(|charge| slopes.of_open(charge));
    let least = if charges[0] <= 0.0 && charges[1] >= 0.0 {
        0.0
    } else {
        conducts[0].min(conducts[1])
    };
    let most = conducts[0].max(conducts[1]);
    let smooth = |end: End| smooth(slopes, (totals, solved), &parts, end);
    let (low, high) = (smooth(End::Low)? + least, smooth(End::High)? + most);
    let read = |end: End| reading.0.map(|half| end.of(half)).iter().product::<f64>();
    Ok([read(End::Low) * low, read(End::High) * high])
}

/// S at the corner where it is least or most, sought from the solution as it is meant.
fn smooth(
    slopes: &Slopes,
    (totals, solved): (&Totals, &Speciation),
    parts: &[Part],
    end: End,
) -> Result<f64, NotConverged> {
    let at = Conditions::reference();
    let mut corner = *totals;
    for part in parts {
        let rises = (part.moves.direct >= 0.0) == (end == End::High);
        corner += part.brings * if rises { part.high } else { part.low };
    }
    let solved = speciate(at, &corner, Carbon::Closed, Protons::Balance, Some(solved))?;
    Ok(conductivity(at, &solved).us_cm - slopes.of_open(corner.rest_meq_l()))
}

/// Every assay and every figure of the water.
fn parts(slopes: &Slopes, inputs: &Inputs, water: Alkalinity) -> Vec<Part> {
    let mut parts = Vec::with_capacity(2 * inputs.bags.len() + Nutrient::COUNT);
    for (at, bag) in inputs.bags.iter().enumerate() {
        for (nutrient, _) in bag.brings.iter().filter(|(_, mg_l)| *mg_l > 0.0) {
            let ends = [End::Low, End::High].map(|end| inputs.at_end(at, end) - 1.0);
            parts.push(Part {
                brings: Totals::of_assay(&bag.fertilizer, nutrient) * bag.g_per_l,
                moves: slopes.of_assay(inputs, at, nutrient),
                low: ends[0],
                high: ends[1],
            });
        }
    }
    let share = inputs.stated.water_pct / 100.0;
    if share <= 0.0 {
        return parts;
    }
    let of_water = |brings, moves| Part {
        brings,
        moves,
        low: -share,
        high: share,
    };
    for (nutrient, mg_l) in inputs.water.iter().filter(|(_, mg_l)| *mg_l > 0.0) {
        let mut brings = Totals::default();
        brings[Component::of_nutrient(nutrient)] = mg_l / nutrient.atomic_weight();
        parts.push(of_water(brings, slopes.of_water(inputs, nutrient)));
    }
    let mut brings = Totals::default();
    brings[Component::Carbon] = water.carbon_mmol_l;
    brings.acid_meq_l = -water.meq_l;
    let moves = slopes.of_alkalinity(water.meq_l, water.carbon_mmol_l);
    parts.push(of_water(brings, moves));
    parts
}
