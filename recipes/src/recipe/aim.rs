//! What a recipe says of one nutrient.

use crate::unit::{ConcentrationUnit, ListUnit};
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::{Aimed, Faults, Nutrient, Problem};

/// What a recipe says of one nutrient, mg/L of the element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// The figure to come close to.
    pub aim: Option<f64>,
    /// Lowest acceptable figure, where the recipe names one.
    pub min: Option<f64>,
    /// Highest acceptable figure, where the recipe names one.
    pub max: Option<f64>,
    /// How much a relative deviation counts against others.
    pub weight: f64,
}

impl Aim {
    /// What a bare number means: an aim with its default band; for sodium and chloride a maximum.
    pub const fn bare(aimed: Aimed, mg_per_l: f64) -> Self {
        let is_ballast = matches!(aimed, Aimed::Form(Nutrient::Na | Nutrient::Cl));
        Self {
            aim: if is_ballast { None } else { Some(mg_per_l) },
            min: None,
            max: if is_ballast { Some(mg_per_l) } else { None },
            weight: 1.0,
        }
    }
}

pub(super) fn read_aim(
    node: &Node,
    path: &str,
    aimed: Aimed,
    list: ListUnit,
    faults: &mut Faults,
) -> Option<Aim> {
    let before = faults.len();
    let mut reader = Reader::open(node, path, faults)?;
    let own_unit = reader.part("unit", ConcentrationUnit::read, faults);
    let unit = ListUnit {
        unit: own_unit.unwrap_or(list.unit),
        ..list
    };
    let [aim, min, max] = ["aim", "min", "max"].map(|key| {
        let node = reader.get(key)?;
        unit.mg_per_l(node, &reader.at(key), aimed, faults)
    });
    let weight = reader.number("weight", Limits::WEIGHT, faults);
    reader.close(faults);
    if faults.len() > before {
        return None;
    }
    if let (Some(min), Some(max)) = (min, max)
        && min > max
    {
        faults.add(node.line, path, Problem::MinAboveMax { min, max });
        return None;
    }
    if let Some(aim) = aim {
        let (low, high) = (min.unwrap_or(0.0), max.unwrap_or(f64::INFINITY));
        if aim < low || aim > high {
            let (min, max) = (low, max.unwrap_or(aim));
            faults.add(node.line, path, Problem::AimOutsideBand { aim, min, max });
            return None;
        }
    }
    if aim.is_none() && min.is_none() && max.is_none() {
        let what = "this aim";
        let mend = "Give aim, min or max.";
        faults.add(node.line, path, Problem::Empty { what, mend });
        return None;
    }
    let weight = weight.unwrap_or(1.0);
    Some(Aim {
        aim,
        min,
        max,
        weight,
    })
}
