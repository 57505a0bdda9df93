//! The ranges that numbers of requests and files must lie in.

use crate::fault::Problem;

/// The range a number must lie in; its ends are allowed.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
    /// Unit for messages, with a leading blank: ` mg/L`.
    pub unit: &'static str,
}

impl Limits {
    /// Aims and water: 0 to 1e5 mg/L.
    pub const MG_PER_L: Self = Self::new(0.0, 1e5, " mg/L");
    /// Masses in a mix: 0 to 1,000 g per litre of finished solution.
    pub const G_PER_L: Self = Self::new(0.0, 1000.0, " g/L");
    /// Grams at hand: 0 to 1,000 g/L times the largest batch.
    pub const GRAMS: Self = Self::new(0.0, 1e12, " g");
    /// Litres of a batch.
    pub const LITRES: Self = Self::new(1e-3, 1e9, " L");
    /// Dilution ratio of a stock.
    pub const RATIO: Self = Self::new(1.0, 1000.0, "");
    /// Price per kilogram in any currency.
    pub const PRICE: Self = Self::new(0.0, 1e6, " per kg");
    /// Percent.
    pub const PERCENT: Self = Self::new(0.0, 100.0, " %");
    /// Degrees Celsius.
    pub const CELSIUS: Self = Self::new(0.0, 60.0, " °C");
    /// pH.
    pub const PH: Self = Self::new(0.0, 14.0, "");
    /// EC, mS/cm at 25 °C: far beyond any feed.
    pub const EC: Self = Self::new(0.0, 1000.0, " mS/cm");
    /// Density of anything poured, g/mL.
    pub const DENSITY: Self = Self::new(0.1, 20.0, " g/mL");
    /// Solubility of anything weighed, g per litre of water.
    pub const SOLUBILITY: Self = Self::new(0.0, 1e5, " g/L");
    /// Weight of a nutrient in the closeness sum.
    pub const WEIGHT: Self = Self::new(0.0, 100.0, "");
    /// Strength against the recipe as written.
    pub const STRENGTH: Self = Self::new(1e-3, 1e3, "");
    /// Alkalinity, meq/L; the upper end is that of 1e5 mg/L CaCO3.
    pub const ALKALINITY: Self = Self::new(0.0, 2000.0, " meq/L");
    /// A probability that is worth asking for.
    pub const PROBABILITY: Self = Self::new(0.5, 1.0, "");
    /// A share of one.
    pub const SHARE: Self = Self::new(0.0, 1.0, "");

    /// A range from `low` to `high`.
    pub const fn new(low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, high, unit }
    }

    /// The value if it lies within, else what is wrong with it.
    pub fn check(self, value: f64) -> Result<f64, Problem> {
        let Self { low, high, unit } = self;
        if !value.is_finite() {
            let found = value.to_string();
            Err(Problem::NotANumber { found })
        } else if value < 0.0 && low >= 0.0 {
            Err(Problem::Negative { value })
        } else if value > high && unit == Self::PERCENT.unit {
            Err(Problem::Over100 { percent: value })
        } else if value > high {
            Err(Problem::TooLarge { value, high, unit })
        } else if value < low {
            Err(Problem::TooSmall { value, low, unit })
        } else {
            Ok(value)
        }
    }
}
