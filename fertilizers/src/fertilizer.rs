//! A fertilizer: anything weighed or poured that brings nutrients.

mod hazard;
mod tank;
mod written;

use crate::assay::{Assay, as_sold};
use crate::formula::Formula;
use crate::ion::Ion;
use crate::nutrient::{Composition, Nutrient};
pub use hazard::Hazard;
pub use tank::Tank;

/// One fertilizer, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Fertilizer {
    /// Short unique name.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Chemical formula, where it is a compound.
    pub formula: Option<Formula>,
    /// Percent by mass of each nutrient as sold.
    pub assay_pct: Composition,
    /// Percent by mass of the compound in what is sold, where given.
    pub strength_pct: Option<f64>,
    /// How far an assay may be off, relative half-width, percent.
    pub tolerance_pct: Option<f64>,
    /// Density, for what is poured.
    pub density_g_per_ml: Option<f64>,
    /// Price, where the row itself gives one.
    pub price_per_kg: Option<f64>,
    /// Grams that dissolve in a litre of water at 20 °C.
    pub solubility_g_per_l_20c: Option<f64>,
    /// Where it is kept as stock.
    pub tank: Option<Tank>,
    /// Hazard codes and words.
    pub hazard: String,
    /// True for the common shelf.
    pub common: bool,
    /// Where the figures come from.
    pub source: String,
    /// Anything else worth knowing.
    pub note: String,
    acid_meq_per_g: f64,
    ions_mmol_per_g: Vec<(Ion, f64)>,
}

impl Fertilizer {
    /// Several fertilizers blended dry, by share of the mass; what is left of one is inert.
    pub fn blend<'a>(
        id: &str,
        name: &str,
        parts: impl IntoIterator<Item = (&'a Self, f64)>,
    ) -> Self {
        let mut blend = Self::blank(id, name);
        for (part, share) in parts {
            blend.assay_pct += part.assay_pct * share;
            blend.acid_meq_per_g += part.acid_meq_per_g * share;
            for (ion, mmol) in &part.ions_mmol_per_g {
                let known = blend
                    .ions_mmol_per_g
                    .iter_mut()
                    .find(|(other, _)| other == ion);
                match known {
                    Some((_, sum)) => *sum += mmol * share,
                    None => blend.ions_mmol_per_g.push((*ion, mmol * share)),
                }
            }
        }
        blend
    }

    /// A fertilizer known by its assay alone.
    pub fn of_assay(id: &str, name: &str, assay_pct: Composition) -> Self {
        let mut fertilizer = Self::blank(id, name);
        let named = assay_pct.iter().filter(|(_, percent)| *percent > 0.0);
        fertilizer.dissolve(&named.collect());
        fertilizer
    }

    fn blank(id: &str, name: &str) -> Self {
        Self {
            id: id.to_owned(),
            name: name.to_owned(),
            formula: None,
            assay_pct: Composition::ZERO,
            strength_pct: None,
            tolerance_pct: None,
            density_g_per_ml: None,
            price_per_kg: None,
            solubility_g_per_l_20c: None,
            tank: None,
            hazard: String::new(),
            common: false,
            source: String::new(),
            note: String::new(),
            acid_meq_per_g: 0.0,
            ions_mmol_per_g: Vec::new(),
        }
    }

    /// Works out what a gram releases: assay, ions and acid equivalents.
    fn dissolve(&mut self, named: &Assay) {
        let pure = self.formula.as_ref().map(Formula::assay_pct);
        let strength = self.strength_pct.map(|percent| percent / 100.0);
        let (assay_pct, share) = as_sold(named, pure.as_ref(), strength);
        self.assay_pct = assay_pct;
        self.ions_mmol_per_g = assay_pct
            .iter()
            .filter(|(_, percent)| *percent > 0.0)
            .map(|(nutrient, percent)| {
                let held = self.formula.as_ref().and_then(|f| f.chelates(nutrient));
                let ion = held.map_or(Ion::Free(nutrient), |ligand| Ion::Chelate(nutrient, ligand));
                (ion, 10.0 * percent / nutrient.atomic_weight())
            })
            .collect();
        match &self.formula {
            Some(formula) => {
                let mmol_per_g = 1000.0 * share / formula.molar_mass();
                self.acid_meq_per_g = mmol_per_g * formula.acid_eq_per_mol();
                let carbon = formula.ions().find(|(ion, _)| *ion == Ion::Carbon);
                if let Some((ion, moles)) = carbon {
                    self.ions_mmol_per_g.push((ion, moles * mmol_per_g));
                }
            }
            None => self.acid_meq_per_g = self.acid_of_assay(),
        }
    }

    /// Acid equivalents of a fertilizer known by assay only.
    ///
    /// Where it names cations alone (a silicate, a hydroxide) or anions alone (an acid), protons or
    /// hydroxide must close the charge. Where it names both, as a bought mix does, the rest is a
    /// nutrient the label leaves out as likely as an acid: it stays open and is shown as charge
    /// error.
    fn acid_of_assay(&self) -> f64 {
        let (cations, anions) = self.charges_meq_per_g();
        let one_sided = cations == 0.0 || anions == 0.0;
        let own_vessel = matches!(self.tank, Some(Tank::Acid | Tank::Base));
        if one_sided || own_vessel {
            anions - cations
        } else {
            0.0
        }
    }

    /// Milligrams of each nutrient that a gram brings.
    pub fn mg_per_g(&self) -> Composition {
        self.assay_pct * 10.0
    }

    /// Acid milliequivalents that a gram brings (negative for a base), to the carbonic end point:
    /// 1 per mol for HNO3, HCl and H3PO4, 2 for H2SO4.
    pub const fn acid_meq_per_g(&self) -> f64 {
        self.acid_meq_per_g
    }

    /// The part of [`Fertilizer::acid_meq_per_g`] that moves with the assay of one nutrient, meq/g.
    ///
    /// A formula's protons go with the mass of the nutrients in it; without a formula they close the
    /// charge of each.
    pub fn acid_meq_per_g_with(&self, nutrient: Nutrient) -> f64 {
        if self.acid_meq_per_g == 0.0 {
            return 0.0;
        }
        let percent = self.assay_pct[nutrient];
        let Some(formula) = &self.formula else {
            let mmol_per_g = 10.0 * percent / nutrient.atomic_weight();
            return -f64::from(nutrient.charge()) * mmol_per_g;
        };
        let pure = formula.assay_pct();
        let in_formula = |n: Nutrient| {
            if pure[n] > 0.0 {
                self.assay_pct[n]
            } else {
                0.0
            }
        };
        let all: f64 = Nutrient::ALL.into_iter().map(in_formula).sum();
        if all > 0.0 {
            self.acid_meq_per_g * in_formula(nutrient) / all
        } else {
            0.0
        }
    }

    /// Millimoles of each ion that a gram releases.
    pub fn ions_mmol_per_g(&self) -> &[(Ion, f64)] {
        &self.ions_mmol_per_g
    }

    /// Cation and anion charges that a gram's nutrients carry, meq/g, both positive.
    pub fn charges_meq_per_g(&self) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for (ion, mmol) in &self.ions_mmol_per_g {
            let charge = f64::from(ion.charge()) * mmol;
            if charge > 0.0 {
                sums.0 += charge;
            } else {
                sums.1 -= charge;
            }
        }
        sums
    }

    /// True where the acidity rests on constants the program has; an organic acid has none here.
    pub fn is_charted(&self) -> bool {
        self.formula.as_ref().is_none_or(Formula::is_charted)
    }

    /// True for an acid: it brings acid and no cation with it, or is kept as one.
    pub fn is_acid(&self) -> bool {
        self.tank == Some(Tank::Acid)
            || (self.acid_meq_per_g > 0.0 && self.charges_meq_per_g().0 == 0.0)
    }

    /// True for a base: kept as one, or bringing cations with no other anion than its alkali.
    pub fn is_base(&self) -> bool {
        self.tank == Some(Tank::Base)
            || (self.acid_meq_per_g < 0.0 && self.charges_meq_per_g().1 == 0.0)
    }

    /// True where it is poured rather than weighed.
    pub const fn is_liquid(&self) -> bool {
        self.density_g_per_ml.is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Node;
    use crate::fault::Faults;

    pub(super) fn read(json: &str) -> Fertilizer {
        let node = Node::from_json(json).expect("json");
        let mut faults = Faults::default();
        let read = Fertilizer::read(&node, "", &mut faults);
        read.unwrap_or_else(|| panic!("{:?}", faults.into_list()))
    }

    #[test]
    fn an_assay_beside_a_formula_scales_its_protons() {
        // HNO3 holds 22.23 % N (14.007/63.012); 13.3 % N is therefore a 59.8 % acid.
        let acid = read(r#"{"id": "a", "formula": "HNO3", "assay_pct": {"NO3-N": 13.337}}"#);
        assert!((acid.acid_meq_per_g() - 9.522).abs() < 0.002);
        assert!(acid.is_acid());
        let by_strength = read(r#"{"id": "a", "formula": "HNO3", "strength_pct": 60}"#);
        assert!((by_strength.acid_meq_per_g() - acid.acid_meq_per_g()).abs() < 0.002);
    }

    #[test]
    fn a_formula_fills_what_the_assay_leaves_out() {
        let sop = read(r#"{"id": "a", "formula": "K2SO4", "assay_pct": {"K": 43.3}}"#);
        // S/K by mass in K2SO4 is 32.06/(2 x 39.098) = 0.41000.
        assert!((sop.assay_pct[Nutrient::S] - 43.3 * 0.41000).abs() < 1e-3);
    }

    #[test]
    fn rounded_labels_bring_no_phantom_base() {
        let label = r#"{"id": "kn", "formula": "KNO3", "assay_pct": {"NO3-N": 13, "K": 38}}"#;
        assert!(read(label).acid_meq_per_g().abs() < 1e-12);
        let mix = r#"{"id": "mix", "assay_pct": {"NO3-N": 5, "K": 25, "P": 4}}"#;
        assert!(read(mix).acid_meq_per_g().abs() < 1e-12);
        let silicate = r#"{"id": "si", "assay_pct": {"K": 6.89, "Si": 9.72}}"#;
        assert!((read(silicate).acid_meq_per_g() + 1.762).abs() < 0.001);
    }

    #[test]
    fn a_blend_counts_each_ion_once() {
        let [nitrate, sulfate] = ["KNO3", "K2SO4"]
            .map(|formula| read(&format!(r#"{{"id": "a", "formula": "{formula}"}}"#)));
        let blend = Fertilizer::blend("blend", "blend", [(&nitrate, 0.25), (&sulfate, 0.75)]);
        let mmol = |ion: Ion| {
            let known = blend.ions_mmol_per_g();
            let found: Vec<f64> = known
                .iter()
                .filter(|(i, _)| *i == ion)
                .map(|i| i.1)
                .collect();
            assert_eq!(found.len(), 1, "{known:?}");
            found[0]
        };
        // Molar masses 101.102 and 174.252 g/mol, by the atomic weights of IUPAC.
        let (of_nitrate, of_sulfate) = (250.0 / 101.102, 750.0 / 174.252);
        let potassium = mmol(Ion::Free(Nutrient::K));
        assert!(
            (potassium - of_nitrate - 2.0 * of_sulfate).abs() < 1e-3,
            "{potassium}"
        );
        let nitrate = mmol(Ion::Free(Nutrient::NitrateN));
        assert!((nitrate - of_nitrate).abs() < 1e-3, "{nitrate}");
    }

    #[test]
    fn acid_moves_with_the_assay_that_brings_it() {
        let with = |json: &str, nutrient| read(json).acid_meq_per_g_with(nutrient);
        // Without a formula a percent of an element brings its charge: 68.9/39.098 meq of K.
        let silicate = r#"{"id": "si", "assay_pct": {"K": 6.89, "Si": 9.72}}"#;
        assert!((with(silicate, Nutrient::K) + 1.762).abs() < 0.001);
        assert!(with(silicate, Nutrient::NitrateN).abs() < 1e-12);
        let acid = r#"{"id": "a", "formula": "HNO3", "strength_pct": 60}"#;
        let all = read(acid).acid_meq_per_g();
        assert!((with(acid, Nutrient::NitrateN) - all).abs() < 1e-12);
        let salt = r#"{"id": "kn", "formula": "KNO3"}"#;
        assert!(with(salt, Nutrient::K).abs() < 1e-12);
    }
}
