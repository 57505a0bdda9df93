//! Rows of the chemistry's test data, the solutions they name, and differences counted.

use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Formula, Node};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, LOG_PCO2_AIR, Protons, Speciation, Totals, speciate,
};
use serde_json::json;
use std::collections::BTreeMap;
use std::sync::Arc;

pub const ANCHORS: &str = include_str!("../data/chemistry/anchors.csv");
pub const CONSTANTS: &str = include_str!("../data/chemistry/constants.csv");
pub const KCL_STANDARDS: &str = include_str!("../data/chemistry/kcl_standards.csv");
pub const PH_CASES: &str = include_str!("../data/chemistry/ph_cases.csv");
pub const SINGLE_SALTS: &str = include_str!("../data/chemistry/crc_conductivity.csv");
pub const TEMPERATURE: &str = include_str!("../data/chemistry/temperature.csv");
pub const WORKED: &str = include_str!("../data/chemistry/worked_solutions.csv");

pub type Row = BTreeMap<String, String>;

/// The rows of a table, by column.
pub fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader.deserialize().map(|row| row.expect("a row"));
    rows.collect()
}

/// A number of a row; none where the cell is empty or the column is not there.
pub fn number(row: &Row, column: &str) -> Option<f64> {
    row.get(column)?.parse().ok()
}

/// A number that has to be there.
pub fn value(row: &Row, column: &str) -> f64 {
    number(row, column).unwrap_or_else(|| panic!("{column} in {row:?}"))
}

/// Totals from the columns `Ca_mmol_l` and so on.
pub fn totals_in_columns(row: &Row) -> Totals {
    Totals::neutral(
        Component::NAMED
            .into_iter()
            .filter_map(|(component, name)| {
                number(row, &format!("{name}_mmol_l")).map(|mmol| (component, mmol))
            }),
    )
}

/// Totals from a list like `Ca=1.8;NO3=8`.
pub fn totals_in_list(list: &str) -> Vec<(Component, f64)> {
    let parts = list.split(';').map(|part| {
        let (name, mmol) = part.split_once('=').expect("name=amount");
        let component = Component::from_name(name).expect("a component");
        (component, mmol.parse().expect("a number"))
    });
    parts.collect()
}

/// Grams in a litre of something that has a formula; `percent` of it by mass is the compound.
pub fn dose(formula: &str, grams: f64, percent: f64) -> Dose {
    let row = json!({"id": "test", "formula": formula, "strength_pct": percent});
    let node = Node::from_json(&row.to_string()).expect("JSON");
    let fertilizer = Fertilizer::read(&node, "", &mut Faults::default()).expect("a fertilizer");
    Dose {
        fertilizer: Arc::new(fertilizer),
        amount: GramsPerL(grams),
    }
}

/// What mmol in a litre of a salt, acid or base make.
pub fn of_salt(formula: &str, mmol_l: f64) -> Totals {
    let molar_mass = Formula::parse(formula).expect("a formula").molar_mass();
    let mut totals = Totals::default();
    totals.add_dose(&dose(formula, mmol_l * molar_mass / 1000.0, 100.0));
    totals
}

/// Solved with all carbon kept.
pub fn closed(at: &Conditions, totals: &Totals) -> Speciation {
    speciate(at, totals, Carbon::Closed, Protons::Balance, None).expect("it converges")
}

/// Solved in balance with outdoor air.
pub fn open(at: &Conditions, totals: &Totals) -> Speciation {
    let carbon = Carbon::Open(LOG_PCO2_AIR);
    speciate(at, totals, carbon, Protons::Balance, None).expect("it converges")
}

/// Conductivity with all carbon kept, µS/cm at that temperature.
pub fn us_cm(at: &Conditions, totals: &Totals) -> f64 {
    conductivity(at, &closed(at, totals)).us_cm
}

/// 100 (a/b - 1).
pub fn percent_off(ours: f64, theirs: f64) -> f64 {
    100.0 * (ours / theirs - 1.0)
}

/// Mean and largest of many differences, and whose the largest is.
#[derive(Clone, Debug, Default)]
pub struct Spread {
    pub n: u32,
    sum: f64,
    pub max: f64,
    pub worst: String,
}

impl Spread {
    pub fn of(offs: impl IntoIterator<Item = (String, f64)>) -> Self {
        let mut spread = Self::default();
        for (case, off) in offs {
            spread.add(&case, off);
        }
        spread
    }

    pub fn add(&mut self, case: &str, off: f64) {
        assert!(off.is_finite(), "{case}: {off}");
        self.n += 1;
        self.sum += off.abs();
        if off.abs() >= self.max {
            self.max = off.abs();
            self.worst = case.to_owned();
        }
    }

    pub fn mean(&self) -> f64 {
        self.sum / f64::from(self.n)
    }

    /// Fails where the spread is wider than stated, or there was nothing to compare.
    pub fn assert_within(&self, what: &str, mean: f64, max: f64) {
        println!(
            "{what}: n {}, mean {:.5}, max {:.5} ({})",
            self.n,
            self.mean(),
            self.max,
            self.worst
        );
        assert!(self.n > 0, "{what}: nothing compared");
        assert!(
            self.mean() <= mean,
            "{what}: mean {} over {mean}",
            self.mean()
        );
        assert!(self.max <= max, "{what}: {} at {}", self.max, self.worst);
    }
}

/// Source: CRC Handbook of Chemistry and Physics, table of ionic conductivity and diffusion at
/// infinite dilution (from memory): S cm² per equivalent at 25 °C.
#[test]
fn conductivities_at_infinite_dilution() {
    let table = saltwright_solver::chemistry::species::Table::shipped();
    for (ion, published) in [
        ("Na+", 50.08),
        ("K+", 73.48),
        ("Cl-", 76.31),
        ("NO3-", 71.42),
    ] {
        let found = table.lambda_25(ion).unwrap_or_else(|| panic!("{ion}"));
        assert!(
            (found / published - 1.0).abs() < 0.005,
            "{ion}: {found} for {published}"
        );
    }
    assert_eq!(table.lambda_25("no such ion"), None);
}
