//! Chemical formulas as fertilizer tables write them: hydrates, double salts, chelates.
//!
//! ```text
//! formula = part { dot part }        dot = "." | "·" | "*" | "•"
//! part    = [ times ] unit { unit }  times may be decimal: CaSO4.0.5H2O
//! unit    = ( element | "(" unit { unit } ")" | "(" ligand ")" ) [ count ]
//! ```
//!
//! In: text.  Out: atoms, molar mass, the ions it releases, its stoichiometric assay.

mod parser;
mod release;

use crate::elements::Element;
use crate::ion::{Ion, Ligand};
use crate::nutrient::{Composition, Nutrient};
use parser::{Parser, Unit, What};
use release::{Release, is_urea};
use std::collections::BTreeMap;
use std::fmt;
use thiserror::Error;

/// Longest formula that is read, characters.
pub const MAX_LENGTH: usize = 400;
/// Largest count or multiplier in a formula.
const MAX_COUNT: f64 = 1000.0;
/// Deepest nesting of brackets.
const MAX_NESTING: usize = 16;

/// What is wrong with a formula, and at which character.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("\"{formula}\": {what} (character {position})")]
pub struct FormulaError {
    /// The formula as written, shortened.
    pub formula: String,
    /// The character at fault, counted from 1.
    pub position: usize,
    /// What is wrong there.
    pub what: FormulaFault,
}

impl FormulaError {
    /// What to do about it.
    pub const fn mend(&self) -> &'static str {
        match self.what {
            FormulaFault::TooLong => "Give the formula of one compound.",
            FormulaFault::NitrogenForm => {
                "Give the formula as nitrate, ammonium or urea, or leave the formula out and give \
                 the assay."
            }
            _ => {
                "Write it like Ca(NO3)2.4H2O or NaFe(EDTA), with capital letters as in the \
                 periodic table."
            }
        }
    }
}

/// The kinds of fault in a formula.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FormulaFault {
    /// Nothing there.
    #[error("a formula is empty")]
    Empty,
    /// Longer than [`MAX_LENGTH`].
    #[error("it is longer than {MAX_LENGTH} characters")]
    TooLong,
    /// Letters that name no element.
    #[error("{0} is no element")]
    NoElement(String),
    /// A character that does not belong in a formula.
    #[error("'{0}' does not belong in a formula")]
    Stray(char),
    /// A bracket that is opened and not closed, or closed and not opened.
    #[error("a bracket without its partner")]
    Bracket,
    /// A count of zero or beyond reason.
    #[error("a count must be 1 to 1000")]
    Count,
    /// A dot or bracket with nothing in it.
    #[error("something is missing here")]
    Missing,
    /// Nitrogen that is neither nitrate, ammonium nor urea.
    #[error("this nitrogen is neither nitrate, ammonium nor urea")]
    NitrogenForm,
}

/// A compound read from its formula.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    text: String,
    atoms: BTreeMap<Element, f64>,
    ions: BTreeMap<Ion, f64>,
    charted: bool,
}

impl Formula {
    /// Reads a formula.
    pub fn parse(text: &str) -> Result<Self, FormulaError> {
        let text = text.trim();
        let mut parser = Parser::new(text);
        if text.is_empty() {
            return Err(parser.fault(0, FormulaFault::Empty));
        }
        if text.chars().count() > MAX_LENGTH {
            return Err(parser.fault(MAX_LENGTH, FormulaFault::TooLong));
        }
        let parts = parser.formula()?;
        let mut formula = Self {
            text: text.to_owned(),
            atoms: BTreeMap::new(),
            ions: BTreeMap::new(),
            charted: true,
        };
        for part in &parts {
            let mut atoms = BTreeMap::new();
            count_atoms(&part.units, part.times, &mut atoms);
            for (element, count) in &atoms {
                *formula.atoms.entry(*element).or_default() += count;
            }
            let mut release = Release::default();
            if is_urea(&part.units) {
                release.add(Ion::Free(Nutrient::UreaN), part.times * 2.0);
            } else {
                release.units(&part.units, part.times);
                release.hold_metals();
            }
            if let Some(position) = release.nitrogen_at {
                return Err(parser.fault(position, FormulaFault::NitrogenForm));
            }
            formula.charted &= release.charted;
            for (ion, moles) in release.ions {
                *formula.ions.entry(ion).or_default() += moles;
            }
        }
        Ok(formula)
    }

    /// The formula as written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Atoms in one formula unit.
    pub fn atoms(&self) -> impl Iterator<Item = (Element, f64)> + '_ {
        self.atoms.iter().map(|(element, count)| (*element, *count))
    }

    /// Mass of one mole, g/mol.
    pub fn molar_mass(&self) -> f64 {
        self.atoms()
            .map(|(element, count)| element.atomic_weight() * count)
            .sum()
    }

    /// Moles of each ion that one mole releases. Nitrogen forms count moles of N.
    pub fn ions(&self) -> impl Iterator<Item = (Ion, f64)> + '_ {
        self.ions.iter().map(|(ion, moles)| (*ion, *moles))
    }

    /// False where a part of it has no constants in this program (an organic acid, sulfide,
    /// polyphosphate): its nutrients count, its acidity is not computed.
    pub const fn is_charted(&self) -> bool {
        self.charted
    }

    /// The ligand that holds this nutrient, if the formula is a chelate of it.
    pub fn chelates(&self, nutrient: Nutrient) -> Option<Ligand> {
        self.ions().find_map(|(ion, _)| match ion {
            Ion::Chelate(metal, ligand) if metal == nutrient => Some(ligand),
            _ => None,
        })
    }

    /// Percent by mass of each nutrient in the pure substance.
    pub fn assay_pct(&self) -> Composition {
        let mass = self.molar_mass();
        self.ions()
            .filter_map(|(ion, moles)| match ion {
                Ion::Free(nutrient) | Ion::Chelate(nutrient, _) => {
                    Some((nutrient, 100.0 * moles * nutrient.atomic_weight() / mass))
                }
                Ion::Carbon => None,
            })
            .collect()
    }

    /// Acid equivalents per mole: the charge its ions leave open, which protons fill.
    ///
    /// HNO3 +1, H2SO4 +2, H3PO4 +1 (to H2PO4-), neutral salts 0, KOH -1, K2CO3 -2, (NH4)2HPO4 -1.
    /// 0 where the formula is not charted.
    pub fn acid_eq_per_mol(&self) -> f64 {
        if !self.charted {
            return 0.0;
        }
        let charge: f64 = self
            .ions()
            .map(|(ion, moles)| f64::from(ion.charge()) * moles)
            .sum();
        if charge.abs() < 1e-9 { 0.0 } else { -charge }
    }
}

impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

fn count_atoms(units: &[Unit], times: f64, atoms: &mut BTreeMap<Element, f64>) {
    for unit in units {
        let times = times * unit.count;
        match &unit.what {
            What::Element(element) => *atoms.entry(*element).or_default() += times,
            What::Group(inner) => count_atoms(inner, times, atoms),
            What::Ligand(ligand) => {
                for (symbol, count) in ligand.atoms() {
                    if let Some(element) = Element::from_symbol(symbol) {
                        *atoms.entry(element).or_default() += times * count;
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn parse(text: &str) -> Formula {
        Formula::parse(text).unwrap_or_else(|error| panic!("{error}"))
    }

    fn moles(formula: &str, nutrient: Nutrient) -> f64 {
        parse(formula)
            .ions()
            .filter(|(ion, _)| matches!(ion, Ion::Free(n) | Ion::Chelate(n, _) if *n == nutrient))
            .map(|(_, moles)| moles)
            .sum()
    }

    /// Source: molar masses from the Python package molmass 2026.1.8 (IUPAC weights, unabridged);
    /// abridged weights lie up to 4e-5 of their value away.
    #[test]
    fn molar_masses_of_the_reference_library() {
        for (formula, mass) in [
            ("5Ca(NO3)2.NH4NO3.10H2O", 1080.635),
            ("NaFe(EDTA).3H2O", 421.092),
            ("NaFe(EDDHA)", 435.165),
            ("NaFe(EDTA)", 367.046),
            ("KNO3", 101.102),
            ("Ca(NO3)2.4H2O", 236.146),
        ] {
            let ours = parse(formula).molar_mass();
            assert!((ours / mass - 1.0).abs() < 5e-5, "{formula}: {ours}");
        }
    }

    #[test]
    fn double_salts_and_hydrates_in_every_spelling() {
        for formula in [
            "5Ca(NO3)2.NH4NO3.10H2O",
            "5Ca(NO3)2·NH4NO3·10H2O",
            "5Ca(NO3)2*NH4NO3*10H2O",
            "5[Ca(NO3)2.2H2O].NH4NO3",
            "5Ca(NO₃)₂ · NH₄NO₃ · 10 H₂O",
        ] {
            assert!((moles(formula, Nutrient::Ca) - 5.0).abs() < 1e-12);
            assert!((moles(formula, Nutrient::NitrateN) - 11.0).abs() < 1e-12);
            assert!((moles(formula, Nutrient::AmmoniumN) - 1.0).abs() < 1e-12);
            assert!(
                (parse(formula).molar_mass() - 1080.6).abs() < 0.1,
                "{formula}"
            );
        }
        assert!((moles("K2SO4.MgSO4.6H2O", Nutrient::S) - 2.0).abs() < 1e-12);
        let half = parse("CaSO4.0.5H2O").molar_mass();
        assert!((half - 145.14).abs() < 0.01, "{half}");
        // A point behind a number is no decimal without a digit behind it.
        assert!(Formula::parse("CaSO4.2.H2O").is_err());
    }

    #[test]
    fn acid_equivalents_of_acids_salts_and_bases() {
        for (formula, equivalents) in [
            ("HNO3", 1.0),
            ("HCl", 1.0),
            ("H2SO4", 2.0),
            ("H3PO4", 1.0),
            ("CO(NH2)2.H3PO4", 1.0),
            ("KNO3", 0.0),
            ("NH4H2PO4", 0.0),
            ("5Ca(NO3)2.NH4NO3.10H2O", 0.0),
            ("NaFe(EDTA)", 0.0),
            ("Na2Fe(DTPA)", 0.0),
            ("NaHFe(DTPA)", 1.0),
            ("Na2Mn(EDTA)", 0.0),
            ("H3BO3", 0.0),
            ("KOH", -1.0),
            ("K2CO3", -2.0),
            ("KHCO3", -1.0),
            ("(NH4)2HPO4", -1.0),
            ("K2HPO4", -1.0),
            ("Ca(OH)2", -2.0),
            ("Na2B4O7.10H2O", -2.0),
            ("K2SiO3", -2.0),
            ("(NH4)6Mo7O24.4H2O", 8.0),
        ] {
            let found = parse(formula).acid_eq_per_mol();
            assert!((found - equivalents).abs() < 1e-12, "{formula}: {found}");
        }
    }

    #[test]
    fn organic_acids_count_but_are_not_charted() {
        for formula in [
            "C6H8O7.H2O",
            "Na2H2(EDTA).2H2O",
            "K2S2O3",
            "K4P2O7",
            "HCO2H",
        ] {
            let formula = parse(formula);
            assert!(!formula.is_charted(), "{formula}");
            assert!(formula.acid_eq_per_mol().abs() < 1e-12);
        }
    }

    #[test]
    fn urea_in_every_spelling() {
        for formula in ["CO(NH2)2", "(NH2)2CO", "NH2CONH2", "CH4N2O"] {
            assert!(
                (moles(formula, Nutrient::UreaN) - 2.0).abs() < 1e-12,
                "{formula}"
            );
        }
    }

    #[test]
    fn faults_point_at_the_character() {
        for (formula, position, said) in [
            ("KNO3)", 5, "bracket"),
            ("Ca(NO3", 3, "bracket"),
            ("KXO3", 2, "X is no element"),
            ("KNO3..H2O", 6, "missing"),
            ("KNO3?", 5, "does not belong"),
            ("kno3", 1, "does not belong"),
            ("KNO0", 4, "count"),
            ("K()2", 3, "missing"),
            ("", 1, "empty"),
            ("KNO2", 2, "neither nitrate"),
            ("5", 2, "missing"),
        ] {
            let error = Formula::parse(formula).expect_err(formula);
            assert_eq!(error.position, position, "{error}");
            assert!(error.to_string().contains(said), "{error}");
        }
        assert!(Formula::parse(&"K".repeat(500)).is_err());
        assert!(Formula::parse(&"(".repeat(300)).is_err());
    }

    proptest! {
        /// Whatever is typed, reading ends with a formula or a fault inside the text.
        #[test]
        fn nothing_typed_panics(text in "\\PC{0,60}") {
            if let Err(error) = Formula::parse(&text) {
                prop_assert!(error.position <= text.chars().count() + 1);
            }
        }

        /// n copies weigh n times as much and release n times the ions.
        #[test]
        fn a_multiplier_multiplies(n in 1_u32..50) {
            let one = parse("MgSO4.7H2O");
            let many = parse(&format!("{n}MgSO4.{}H2O", 7 * n));
            let times = f64::from(n);
            prop_assert!((many.molar_mass() - times * one.molar_mass()).abs() < 1e-9 * times);
            prop_assert!((many.assay_pct()[Nutrient::Mg] - one.assay_pct()[Nutrient::Mg]).abs() < 1e-9);
        }
    }
}
