//! The bands that hold where a recipe names none: how far a nutrient may end from its aim, and
//! how much of one that nobody asked for is let in.

use saltwright_fertilizers::document::{Limits, Node, Reader, Value};
use saltwright_fertilizers::grid::Grid;
use saltwright_fertilizers::{Aimed, Fault, Faults, Problem};

/// The shipped bands, each with its reason.
const SHIPPED: &str = include_str!("../data/bands.csv");

const COLUMNS: [&str; 5] = [
    "nutrient",
    "below_pct",
    "above_pct",
    "default_max_mg_l",
    "reason",
];

/// The default band of one nutrient.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    /// How far below its aim, percent.
    pub below_pct: f64,
    /// How far above its aim, percent.
    pub above_pct: f64,
    /// The most that is let in where the recipe does not name it, mg/L.
    pub default_max_mg_l: Option<f64>,
    /// Why, with source.
    pub reason: String,
}

/// The default band of every nutrient and of total nitrogen.
#[derive(Clone, Debug)]
pub struct Bands([Band; Aimed::COUNT]);

impl Bands {
    /// The shipped bands.
    pub fn shipped() -> Result<Self, Vec<Fault>> {
        const MOST: Limits = Limits::new(0.0, 1000.0, "");
        let mut faults = Faults::in_file("the shipped bands");
        let mut bands = Self(std::array::from_fn(|_| Band::default()));
        let mut seen = [false; Aimed::COUNT];
        let grid = Grid::read(SHIPPED, &COLUMNS, &mut faults);
        for row in grid.iter().flat_map(Grid::rows) {
            let entries = grid.iter().flat_map(|grid| grid.entries(row));
            let entries = entries.map(|(key, node)| (key.to_owned(), node)).collect();
            let (line, value) = (Some(row.line), Value::Table(entries));
            let node = Node { line, value };
            let Some(mut reader) = Reader::open(&node, "", &mut faults) else {
                continue;
            };
            let key = reader.text("nutrient", &mut faults).unwrap_or_default();
            let Some(aimed) = Aimed::from_key(key) else {
                let (kind, name, nearest) = ("nutrient", key.to_owned(), None);
                faults.add(
                    line,
                    "nutrient",
                    Problem::Unknown {
                        kind,
                        name,
                        nearest,
                    },
                );
                continue;
            };
            seen[aimed.index()] = true;
            let mut number = |key| reader.number(key, MOST, &mut faults);
            let band = &mut bands.0[aimed.index()];
            band.below_pct = number("below_pct").unwrap_or(0.0);
            band.above_pct = number("above_pct").unwrap_or(0.0);
            band.default_max_mg_l = number("default_max_mg_l");
            band.reason = reader
                .text("reason", &mut faults)
                .unwrap_or_default()
                .to_owned();
        }
        if let Some(missing) = Aimed::all().find(|aimed| !seen[aimed.index()]) {
            let what = "the default band";
            let mend = "Give every nutrient a row.";
            faults.add(None, missing.key(), Problem::Empty { what, mend });
        }
        faults.finish(Some(bands))
    }

    /// The default band of a nutrient.
    pub fn of(&self, aimed: Aimed) -> &Band {
        &self.0[aimed.index()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_fertilizers::Nutrient;

    #[test]
    fn every_nutrient_has_a_band_and_a_reason() {
        let bands = Bands::shipped().expect("sound");
        for aimed in Aimed::all() {
            assert!(bands.of(aimed).below_pct > 0.0, "{aimed}");
            assert!(bands.of(aimed).reason.len() > 10, "{aimed}");
        }
        for (nutrient, below, above) in [
            (Nutrient::K, 10.0, 10.0),
            (Nutrient::S, 50.0, 100.0),
            (Nutrient::Fe, 20.0, 20.0),
        ] {
            let band = bands.of(Aimed::Form(nutrient));
            assert_eq!(
                (band.below_pct, band.above_pct),
                (below, above),
                "{nutrient}"
            );
        }
        let micros = [
            Nutrient::Ni,
            Nutrient::Cl,
            Nutrient::Na,
            Nutrient::Si,
            Nutrient::UreaN,
        ];
        for nutrient in Nutrient::MICROS.into_iter().chain(micros) {
            let band = bands.of(Aimed::Form(nutrient));
            assert!(band.default_max_mg_l.is_some(), "{nutrient}");
        }
    }
}
