//! What a grower states about scale, tank, proportioner, water and meters: half-widths, one a cause.

use saltwright_fertilizers::document::{Limits, Node, Reader, Value};
use saltwright_fertilizers::{Faults, Problem};

/// Half-widths of everything that can be off beside the assays; nothing stated is nothing off.
///
/// Percentages are relative to the figure they belong to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stated {
    /// Assay tolerance of fertilizers whose row states none, percent; none: their assay counts as
    /// exact, and the report says so.
    pub tolerance_pct: Option<f64>,
    /// How much a whole bag may be stronger or weaker (damp, caked), percent.
    pub purity_pct: f64,
    /// Division of the scale, grams: a reading lies within half of one.
    pub scale_g: f64,
    /// Calibration of the scale, percent: all weighings off together.
    pub scale_pct: f64,
    /// Division of the measuring cylinder, mL.
    pub cylinder_ml: f64,
    /// Volume of the tank, percent.
    pub volume_pct: f64,
    /// Ratio of the proportioner, percent.
    pub ratio_pct: f64,
    /// Strength of the stocks, percent: salts that settled, water that evaporated.
    pub stock_pct: f64,
    /// Every figure of the water analysis, each on its own, percent.
    pub water_pct: f64,
    /// Prices, each on its own, percent.
    pub price_pct: f64,
    /// Thermometer of the EC meter, °C.
    pub temperature_c: f64,
    /// EC meter, percent of the reading.
    pub meter_pct: f64,
    /// pH meter, pH.
    pub meter_ph: f64,
}

/// Volume of the tank, percent: it holds something.
pub const VOLUME_PCT: Limits = Limits::new(0.0, 50.0, " percent of the volume");
/// Division of a scale, grams.
pub const SCALE_G: Limits = Limits::new(0.0, 1e5, " g");
/// Division of a cylinder, mL.
pub const CYLINDER_ML: Limits = Limits::new(0.0, 1e5, " mL");
/// Error of a pH meter, pH.
pub const METER_PH: Limits = Limits::new(0.0, 2.0, "");
/// Error of a thermometer, °C.
pub const THERMOMETER_C: Limits = Limits::new(0.0, 20.0, " °C");

/// What is weighed in a job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Batch {
    /// So many litres, where that was said.
    Litres(Option<f64>),
    /// Nothing.
    Nothing,
}

impl Batch {
    /// Why a division of the scale says nothing here, and what to do; none where it does.
    const fn lacks(self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::Litres(Some(_)) => None,
            Self::Litres(None) => Some((
                "a division says little without the litres that are weighed for",
                "Say for how many litres.",
            )),
            Self::Nothing => Some((
                "a division says nothing where no batch is weighed",
                "Leave it out, or name a recipe to complete and the litres to weigh for.",
            )),
        }
    }
}

impl Stated {
    /// Reads `ranges`: false or nothing for none, true for the assays alone, or what is stated.
    ///
    /// A division of scale or cylinder needs the batch that is weighed.
    pub fn read(reader: &mut Reader<'_>, batch: Batch, faults: &mut Faults) -> Option<Self> {
        let node = reader.get("ranges")?;
        match node.value {
            Value::Bool(false) => None,
            Value::Bool(true) => Some(Self::default()),
            Value::Table(_) => Self::read_table(node, &reader.at("ranges"), batch, faults),
            _ => {
                let (found, wanted) = (node.shape(), "true, false or a table of half-widths");
                let at = reader.at("ranges");
                faults.add(node.line, at, Problem::WrongShape { found, wanted });
                None
            }
        }
    }

    fn read_table(node: &Node, path: &str, batch: Batch, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        let tolerance_pct = reader.number("tolerance_pct", Limits::PERCENT, faults);
        let mut number = |key, limits| reader.number(key, limits, faults).unwrap_or(0.0);
        let stated = Self {
            tolerance_pct,
            purity_pct: number("purity_pct", Limits::PERCENT),
            scale_g: number("scale_g", SCALE_G),
            scale_pct: number("scale_pct", Limits::PERCENT),
            cylinder_ml: number("cylinder_ml", CYLINDER_ML),
            volume_pct: number("volume_pct", VOLUME_PCT),
            ratio_pct: number("ratio_pct", Limits::PERCENT),
            stock_pct: number("stock_pct", Limits::PERCENT),
            water_pct: number("water_pct", Limits::PERCENT),
            price_pct: number("price_pct", Limits::PERCENT),
            temperature_c: number("temperature_c", THERMOMETER_C),
            meter_pct: number("meter_pct", Limits::PERCENT),
            meter_ph: number("meter_ph", METER_PH),
        };
        for (key, division) in [
            ("scale_g", stated.scale_g),
            ("cylinder_ml", stated.cylinder_ml),
        ] {
            if division > 0.0
                && let Some((what, mend)) = batch.lacks()
            {
                let (what, mend) = (what.to_owned(), mend.to_owned());
                let line = reader.get(key).and_then(|node| node.line);
                faults.add(line, reader.at(key), Problem::Contradiction { what, mend });
            }
        }
        reader.close(faults);
        Some(stated)
    }
}
