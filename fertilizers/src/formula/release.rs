//! Which ions a part of a formula releases: groups of atoms that are one ion, metals that a ligand
//! holds, urea.

use super::{Unit, What, count_atoms};
use crate::elements::Element;
use crate::ion::{Ion, Ligand};
use crate::nutrient::Nutrient;
use std::collections::BTreeMap;

/// CO(NH2)2 in any order of writing: one carbon, four hydrogen, two nitrogen, one oxygen.
pub(super) fn is_urea(units: &[Unit]) -> bool {
    let mut atoms = BTreeMap::new();
    count_atoms(units, 1.0, &mut atoms);
    let plain_atoms = |symbol: &str| {
        Element::from_symbol(symbol)
            .and_then(|element| atoms.get(&element).copied())
            .unwrap_or(0.0)
    };
    atoms.len() == 4
        && [("C", 1.0), ("H", 4.0), ("N", 2.0), ("O", 1.0)]
            .iter()
            .all(|(symbol, count)| (plain_atoms(symbol) - count).abs() < 1e-9)
}

/// The ions of one part as they are recognised.
pub(super) struct Release {
    pub ions: BTreeMap<Ion, f64>,
    ligands: Vec<(Ligand, f64)>,
    pub charted: bool,
    pub nitrogen_at: Option<usize>,
}

impl Default for Release {
    fn default() -> Self {
        Self {
            ions: BTreeMap::new(),
            ligands: Vec::new(),
            charted: true,
            nitrogen_at: None,
        }
    }
}

/// Groups of atoms that are one ion, and the nutrient (or carbon) each is counted as.
const GROUPS: [(&[(&str, f64)], Ion); 5] = [
    (&[("N", 1.0), ("O", 3.0)], Ion::Free(Nutrient::NitrateN)),
    (&[("N", 1.0), ("H", 4.0)], Ion::Free(Nutrient::AmmoniumN)),
    (&[("P", 1.0), ("O", 4.0)], Ion::Free(Nutrient::P)),
    (&[("S", 1.0), ("O", 4.0)], Ion::Free(Nutrient::S)),
    (&[("C", 1.0), ("O", 3.0)], Ion::Carbon),
];

impl Release {
    pub fn add(&mut self, ion: Ion, moles: f64) {
        *self.ions.entry(ion).or_default() += moles;
    }

    pub fn units(&mut self, units: &[Unit], times: f64) {
        let mut rest = units;
        while let Some((first, after)) = rest.split_first() {
            if let Some((ion, length)) = ion_at(rest) {
                self.add(ion, times);
                rest = &rest[length..];
                continue;
            }
            let moles = times * first.count;
            match &first.what {
                What::Group(inner) => self.units(inner, moles),
                What::Ligand(ligand) => self.ligands.push((*ligand, moles)),
                What::Element(element) => self.single(*element, moles, first.position),
            }
            rest = after;
        }
    }

    /// An element outside any known group.
    fn single(&mut self, element: Element, moles: f64, position: usize) {
        match element.symbol() {
            "H" | "O" => {}
            "N" => self.nitrogen_at = self.nitrogen_at.or(Some(position)),
            symbol => match Nutrient::from_key(symbol) {
                Some(nutrient) => {
                    // Sulfide, thiosulfate, polyphosphate: the element counts, the acidity does not.
                    self.charted &= !matches!(nutrient, Nutrient::P | Nutrient::S);
                    self.add(Ion::Free(nutrient), moles);
                }
                None => self.charted = false,
            },
        }
    }

    /// Gives each ligand the metal of its part: iron, manganese, zinc, copper, nickel, else
    /// calcium or magnesium. A ligand without a metal is an organic acid: not charted.
    pub fn hold_metals(&mut self) {
        use Nutrient::{Ca, Cu, Fe, Mg, Mn, Ni, Zn};
        for (ligand, moles) in std::mem::take(&mut self.ligands) {
            let metal = [Fe, Mn, Zn, Cu, Ni, Ca, Mg].into_iter().find(|metal| {
                self.ions
                    .get(&Ion::Free(*metal))
                    .is_some_and(|free| *free >= moles - 1e-9)
            });
            match metal {
                Some(metal) => {
                    let free = self.ions.remove(&Ion::Free(metal)).unwrap_or(0.0) - moles;
                    if free > 1e-9 {
                        self.add(Ion::Free(metal), free);
                    }
                    self.add(Ion::Chelate(metal, ligand), moles);
                }
                None => self.charted = false,
            }
        }
    }
}

/// The ion that starts here and how many units it takes.
fn ion_at(units: &[Unit]) -> Option<(Ion, usize)> {
    GROUPS.iter().find_map(|(atoms, ion)| {
        let fits = units.len() >= atoms.len()
            && atoms.iter().zip(units).all(|((symbol, count), unit)| {
                matches!(unit.what, What::Element(element) if element.symbol() == *symbol)
                    && (unit.count - count).abs() < 1e-9
            });
        fits.then_some((*ion, atoms.len()))
    })
}
