//! Published EC and pH ranges by crop.

use saltwright_fertilizers::document::{Limits, Node, Reader, Value};
use saltwright_fertilizers::grid::Grid;
use saltwright_fertilizers::{Fault, Faults};
use serde::Serialize;

/// The shipped ranges, a source in every row.
const SHIPPED: &str = include_str!("../data/crops.csv");

const COLUMNS: [&str; 7] = [
    "crop",
    "ec_min_ms_cm",
    "ec_max_ms_cm",
    "ph_min",
    "ph_max",
    "source",
    "note",
];

/// One published range.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Crop {
    /// The crop as the source names it.
    pub crop: String,
    /// Lower end of EC, mS/cm at 25 °C.
    pub ec_min_ms_cm: Option<f64>,
    /// Upper end of EC, mS/cm at 25 °C.
    pub ec_max_ms_cm: Option<f64>,
    /// Lower end of pH.
    pub ph_min: Option<f64>,
    /// Upper end of pH.
    pub ph_max: Option<f64>,
    /// Citation.
    pub source: String,
    /// How far to trust it.
    pub note: String,
}

impl Crop {
    /// The shipped ranges.
    pub fn shipped() -> Result<Vec<Self>, Vec<Fault>> {
        let mut faults = Faults::in_file("the shipped crop ranges");
        let grid = Grid::read(SHIPPED, &COLUMNS, &mut faults);
        let mut crops = Vec::new();
        for row in grid.iter().flat_map(Grid::rows) {
            let entries = grid.iter().flat_map(|grid| grid.entries(row));
            let entries = entries.map(|(key, node)| (key.to_owned(), node)).collect();
            let (line, value) = (Some(row.line), Value::Table(entries));
            let node = Node { line, value };
            let Some(mut reader) = Reader::open(&node, "", &mut faults) else {
                continue;
            };
            let mut number = |key, limits| reader.number(key, limits, &mut faults);
            let [ec_min_ms_cm, ec_max_ms_cm] =
                ["ec_min_ms_cm", "ec_max_ms_cm"].map(|key| number(key, Limits::EC));
            let [ph_min, ph_max] = ["ph_min", "ph_max"].map(|key| number(key, Limits::PH));
            let mut text = |key| reader.text(key, &mut faults).unwrap_or_default().to_owned();
            let (crop, source, note) = (text("crop"), text("source"), text("note"));
            crops.push(Self {
                crop,
                ec_min_ms_cm,
                ec_max_ms_cm,
                ph_min,
                ph_max,
                source,
                note,
            });
        }
        faults.finish(Some(crops))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_ordered_and_sourced() {
        let crops = Crop::shipped().expect("sound");
        assert!(crops.len() >= 20);
        assert!(crops.iter().any(|crop| crop.crop.contains("lettuce")));
        for crop in &crops {
            assert!(!crop.source.is_empty(), "{}", crop.crop);
            for (low, high) in [
                (crop.ec_min_ms_cm, crop.ec_max_ms_cm),
                (crop.ph_min, crop.ph_max),
            ] {
                assert!(
                    low.zip(high).is_none_or(|(low, high)| low <= high),
                    "{}",
                    crop.crop
                );
            }
        }
    }
}
