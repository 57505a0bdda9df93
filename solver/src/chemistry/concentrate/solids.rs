//! The solids that could drop out of a stock, and how near each is.

use super::pitzer::Activity;
use super::solute::Dissolved;
use super::species::{COUNT, HYDROGEN_PHOSPHATE, PHOSPHATE, PROTON, place};
use super::table::rows;
use serde::Deserialize;
use std::f64::consts::LN_10;
use std::sync::LazyLock;

/// Kelvin at 25 °C.
const T25: f64 = 298.15;

/// What a solid's constant rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// Fitted to handbook solubilities with this activity model.
    Calibrated,
    /// From a database of constants.
    Database,
    /// From a database, and slow or disputed: it may form over days.
    Doubtful,
}

/// A solid.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Its name in reports: formula, or mineral name and formula.
    pub name: String,
    /// Name in words.
    pub words: String,
    /// What its constant rests on.
    pub basis: Basis,
    /// Standard uncertainty of its index in a stock (judgement).
    pub uncertainty: f64,
    /// Species and their powers in the ion product.
    product: Vec<(usize, f64)>,
    /// Waters of crystallisation.
    water: f64,
    ln_k: [f64; 3],
}

#[derive(Debug, Deserialize)]
struct Row {
    solid: String,
    name: String,
    ions: String,
    water: f64,
    ln_k_a: f64,
    ln_k_b: f64,
    ln_k_c: f64,
    kind: Basis,
    uncertainty: f64,
}

impl Solid {
    /// All solids of the table, in its order.
    pub fn all() -> &'static [Self] {
        static SOLIDS: LazyLock<Vec<Solid>> = LazyLock::new(|| {
            let read: Vec<Row> = rows(include_str!("data/solids.csv"));
            read.into_iter().filter_map(Solid::from_row).collect()
        });
        &SOLIDS
    }

    /// The solid of that name.
    pub fn named(name: &str) -> Option<&'static Self> {
        Self::all().iter().find(|solid| solid.name == name)
    }

    fn from_row(row: Row) -> Option<Self> {
        let ions = row.ions.split(' ').map(|part| {
            let (name, power) = part.split_once(':')?;
            Some((place(name)?, power.parse().ok()?))
        });
        Some(Self {
            product: ions.collect::<Option<_>>()?,
            name: row.solid,
            words: row.name,
            basis: row.kind,
            uncertainty: row.uncertainty,
            water: row.water,
            ln_k: [row.ln_k_a, row.ln_k_b, row.ln_k_c],
        })
    }

    /// ln K = a + b (1/T - 1/298.15) + c ln(T/298.15).
    pub(super) fn ln_k(&self, celsius: f64) -> f64 {
        let [a, b, c] = self.ln_k;
        let t = celsius + 273.15;
        a + b * (1.0 / t - 1.0 / T25) + c * (t / T25).ln()
    }

    /// True where it holds calcium and sulfate or phosphate.
    pub fn is_made_of(&self, species: &str) -> bool {
        place(species).is_some_and(|at| {
            self.product
                .iter()
                .any(|(of, power)| *of == at && *power > 0.0)
        })
    }

    /// True where all that it is made of is there.
    pub fn is_part_of(&self, dissolved: &Dissolved) -> bool {
        // Phosphate is counted as H2PO4-; protons come from water.
        self.product.iter().all(|(place, power)| match *place {
            PROTON => true,
            HYDROGEN_PHOSPHATE => dissolved.mol[PHOSPHATE] > 0.0,
            place => *power <= 0.0 || dissolved.mol[place] > 0.0,
        })
    }

    /// Saturation index: log10 of ion activity product over K; `None` where an ion is absent.
    pub(super) fn index(
        &self,
        molal: &[f64; COUNT],
        activity: &Activity,
        ln_k: f64,
    ) -> Option<f64> {
        let mut sum = self.water * activity.ln_water - ln_k;
        for (at, power) in &self.product {
            if molal[*at] <= 0.0 {
                return None;
            }
            sum += power * (molal[*at].ln() + activity.ln_gamma[*at]);
        }
        Some(sum / LN_10)
    }
}
