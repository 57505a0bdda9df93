//! What a stock is counted in, how much of it a fertilizer or water brings, and the water that is
//! left in a litre.

use super::species::{COUNT, NAMES, place};
use super::table::rows;
use saltwright_fertilizers::{Element, Fertilizer, Ion, Nutrient};
use saltwright_recipes::Water;
use serde::Deserialize;
use std::ops::{Add, AddAssign, Mul};
use std::sync::LazyLock;

/// Least water that a litre of stock must hold, kg: below, it is no solution any more.
const LEAST_WATER: f64 = 0.25;
/// Slope of an ion's volume against the root of ionic strength, mL/mol: tuned on the densities of
/// Laliberte (2009).
const VOLUME_SLOPE: f64 = 0.55;
/// Volume of a gram of what has no volume of its own here (micronutrients, chelates), mL:
/// assumed.
const ML_PER_G: f64 = 0.5;

/// One row of `data/solutes.csv`.
#[derive(Clone, Debug, Deserialize)]
struct Row {
    solute: String,
    v0_cm3_mol: f64,
    charge: f64,
    molar_mass_g_mol: f64,
}

/// A solute and its place among the species.
#[derive(Clone, Copy, Debug)]
struct Solute {
    place: usize,
    v0_ml: f64,
    charge: f64,
    molar_mass: f64,
}

static SOLUTES: LazyLock<Vec<Solute>> = LazyLock::new(|| {
    let read: Vec<Row> = rows(include_str!("data/solutes.csv"));
    read.iter()
        .filter_map(|row| {
            Some(Solute {
                place: place(&row.solute)?,
                v0_ml: row.v0_cm3_mol,
                charge: row.charge,
                molar_mass: row.molar_mass_g_mol,
            })
        })
        .collect()
});

/// What is dissolved in a litre of stock, before anything forms from it: phosphorus as H2PO4-,
/// protons and hydroxide as acid equivalents.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dissolved {
    /// mol of each species, 0 for those that form.
    pub(super) mol: [f64; COUNT],
    /// Acid equivalents, mol (negative: base), to H2PO4- and the carbonic end point.
    pub acid_mol: f64,
    /// Grams of what the model has no constants for.
    pub other_g: f64,
    /// Charges of what the model has no constants for, mol.
    pub other_mol_charge: f64,
}

impl Default for Dissolved {
    fn default() -> Self {
        Self {
            mol: [0.0; COUNT],
            acid_mol: 0.0,
            other_g: 0.0,
            other_mol_charge: 0.0,
        }
    }
}

impl Dissolved {
    /// What a gram of a fertilizer brings. A metal without constants here, a chelate, silicate and
    /// carbon count as mass only.
    pub fn of_gram(fertilizer: &Fertilizer) -> Self {
        let mut sum = Self {
            acid_mol: fertilizer.acid_meq_per_g() / 1000.0,
            ..Self::default()
        };
        for (ion, mmol) in fertilizer.ions_mmol_per_g() {
            sum.add_ion(*ion, mmol / 1000.0);
        }
        sum
    }

    /// What a litre of source water brings; its alkalinity counts as base, its carbonic acid as
    /// escaped.
    pub fn of_water(water: &Water) -> Self {
        let mut sum = Self {
            acid_mol: -water.alkalinity_meq_l / 1000.0,
            ..Self::default()
        };
        for (nutrient, mg) in water.holds.iter() {
            sum.add_ion(Ion::Free(nutrient), mg / nutrient.atomic_weight() / 1000.0);
        }
        sum
    }

    fn add_ion(&mut self, ion: Ion, mol: f64) {
        match ion {
            Ion::Free(Nutrient::UreaN) => self.add("urea", mol / 2.0),
            Ion::Free(nutrient) => match name_of(nutrient) {
                Some(name) => self.add(name, mol),
                None => self.add_other(ion, mol * nutrient.atomic_weight(), mol),
            },
            Ion::Chelate(metal, ligand) => {
                let ligand: f64 = ligand
                    .atoms()
                    .iter()
                    .filter_map(|(symbol, count)| {
                        Some(Element::from_symbol(symbol)?.atomic_weight() * count)
                    })
                    .sum();
                self.add_other(ion, mol * (metal.atomic_weight() + ligand), mol);
            }
            // Carbonates lose their carbonic acid to the air or keep it: it counts for nothing.
            Ion::Carbon => {}
        }
    }

    fn add_other(&mut self, ion: Ion, grams: f64, mol: f64) {
        self.other_g += grams;
        self.other_mol_charge += mol * f64::from(ion.charge().abs());
    }

    fn add(&mut self, name: &str, mol: f64) {
        if let Some(place) = place(name) {
            self.mol[place] += mol;
        }
    }

    /// mol of a species by name, `Ca+2`; 0 where there is none.
    pub fn mol_of(&self, name: &str) -> f64 {
        place(name).map_or(0.0, |place| self.mol[place])
    }

    /// Sum of charges of what the model covers, either sign, mol.
    pub fn covered_mol_charge(&self) -> f64 {
        SOLUTES
            .iter()
            .map(|solute| solute.charge.abs() * self.mol[solute.place])
            .sum()
    }

    /// Names of the ions and neutral solutes that are there.
    pub fn names(&self) -> impl Iterator<Item = &'static str> + '_ {
        NAMES
            .iter()
            .zip(self.mol)
            .filter(|(_, mol)| *mol > 0.0)
            .map(|(name, _)| *name)
    }

    /// Kilograms of water in a litre made up to the mark at a temperature; `None` where so much is
    /// dissolved that it would be no solution.
    ///
    /// w = rho (1 - V), V = sum n (v0 + 0.55 z2 I^1/2), I = 1/2 sum z2 n/w: solved by half steps.
    pub(super) fn water_kg(&self, water_density: f64) -> Option<f64> {
        let acid = self.acid_mol.max(0.0);
        let (mut fixed, mut squares) = (ML_PER_G * self.other_g, acid);
        for solute in SOLUTES.iter() {
            let mol = self.mol[solute.place];
            fixed += mol * solute.v0_ml;
            squares += mol * solute.charge * solute.charge;
        }
        let mut water = water_density;
        for _ in 0..40 {
            let strength = 0.5 * squares / water;
            let millilitres = fixed + VOLUME_SLOPE * squares * strength.sqrt();
            let next = water_density * (1.0 - millilitres / 1000.0);
            let moved = 0.5 * (next - water);
            water = (water + moved).max(0.5 * LEAST_WATER);
            if moved.abs() < 1e-10 {
                break;
            }
        }
        (water >= LEAST_WATER).then_some(water)
    }

    /// Grams of everything dissolved in a litre.
    pub(super) fn grams(&self) -> f64 {
        let known: f64 = SOLUTES
            .iter()
            .map(|solute| self.mol[solute.place] * solute.molar_mass)
            .sum();
        // An acid brings its protons, a base takes them: 1.008 g/mol.
        known + self.other_g + 1.008 * self.acid_mol
    }
}

impl Add for Dissolved {
    type Output = Self;
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl AddAssign for Dissolved {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.mol.iter_mut().zip(other.mol) {
            *mine += theirs;
        }
        self.acid_mol += other.acid_mol;
        self.other_g += other.other_g;
        self.other_mol_charge += other.other_mol_charge;
    }
}

impl Mul<f64> for Dissolved {
    type Output = Self;
    fn mul(mut self, factor: f64) -> Self {
        for mol in &mut self.mol {
            *mol *= factor;
        }
        self.acid_mol *= factor;
        self.other_g *= factor;
        self.other_mol_charge *= factor;
        self
    }
}

/// The species that a nutrient is counted as here; none for those without constants.
const fn name_of(nutrient: Nutrient) -> Option<&'static str> {
    Some(match nutrient {
        Nutrient::NitrateN => "NO3-",
        Nutrient::AmmoniumN => "NH4+",
        Nutrient::P => "H2PO4-",
        Nutrient::K => "K+",
        Nutrient::Ca => "Ca+2",
        Nutrient::Mg => "Mg+2",
        Nutrient::S => "SO4-2",
        Nutrient::Cl => "Cl-",
        Nutrient::Na => "Na+",
        Nutrient::B => "H3BO3",
        Nutrient::UreaN
        | Nutrient::Fe
        | Nutrient::Mn
        | Nutrient::Zn
        | Nutrient::Cu
        | Nutrient::Mo
        | Nutrient::Ni
        | Nutrient::Si => return None,
    })
}
