//! What causes are called.

use super::{Cause, Inputs};

/// Names of bags and stocks, by position.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// Fertilizers by id.
    pub bags: Vec<String>,
    /// Stocks, as they are told in a sentence.
    pub stocks: Vec<String>,
}

impl Names {
    /// The name of a cause in reports.
    pub fn of(&self, cause: Cause) -> &str {
        match cause {
            Cause::Bag(at) => self.bags.get(at).map_or("", String::as_str),
            Cause::Scale => "scale",
            Cause::Cylinder => "cylinder",
            Cause::Volume => "tank volume",
            Cause::Proportioner => "proportioner",
            Cause::Stocks => "strength of the stocks",
            Cause::Stock(at) => self.stocks.get(at).map_or("", String::as_str),
            Cause::WaterAnalysis => "water analysis",
            Cause::TankAnalysis => "analysis of the tank",
            Cause::Prices => "prices",
            Cause::Model => "EC model",
            Cause::WaterEc => "EC of the source water",
            Cause::Thermometer => "thermometer",
            Cause::Meter => "EC meter",
            Cause::PhModel => "pH model",
            Cause::Alkalinity => "alkalinity of the water",
            Cause::Acids => "strength of acids and bases",
            Cause::PhMeter => "pH meter",
        }
    }
}

impl Inputs {
    /// What its causes are called.
    pub fn names(&self) -> Names {
        let ids = self.bags.iter().map(|bag| bag.fertilizer.id.clone());
        Names {
            bags: ids.collect(),
            stocks: Vec::new(),
        }
    }
}
