//! A fertilizer: anything weighed or poured that brings nutrients.

use crate::assay::{Assay, as_sold};
use crate::document::{self, Limits, Node, Reader};
use crate::fault::{Faults, Problem, nearest};
use crate::formula::Formula;
use crate::ion::Ion;
use crate::nutrient::{Composition, Nutrient};
use serde::Serialize;

/// The stock tank a fertilizer belongs in when stocks are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Tank {
    /// With the calcium.
    #[serde(rename = "A")]
    Calcium,
    /// With the sulfates and phosphates.
    #[serde(rename = "B")]
    Sulfate,
    /// With either.
    #[serde(rename = "either")]
    Either,
    /// Its own vessel: an acid.
    #[serde(rename = "acid")]
    Acid,
    /// Its own vessel: a base.
    #[serde(rename = "base")]
    Base,
}

impl Tank {
    const NAMES: [(&'static str, Self); 5] = [
        ("A", Self::Calcium),
        ("B", Self::Sulfate),
        ("either", Self::Either),
        ("acid", Self::Acid),
        ("base", Self::Base),
    ];

    /// The name in files and reports.
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, tank)| *tank == self)
            .map_or("", |(name, _)| name)
    }
}

/// A danger that asks for a caution beside the fertilizer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Hazard {
    /// Feeds fire.
    Oxidizer,
    /// Burns skin and eyes.
    Acid,
    /// Burns skin and eyes; heats when dissolved.
    Base,
    /// Narrow margin between need and harm; may harm fertility.
    Boron,
    /// Very toxic to water life.
    Copper,
    /// May cause cancer when breathed in.
    Nickel,
}

/// Assay of boron, copper or nickel (percent by mass) from which a product gets that metal's own
/// caution: a compound of it rather than a mix with traces. Common practice, no source.
const COMPOUND_PCT: f64 = 1.0;

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

/// The keys a fertilizer object may have.
const PLAIN_KEYS: [&str; 4] = ["name", "hazard", "source", "note"];

impl Fertilizer {
    /// Reads one fertilizer object; `None` and faults where something is wrong.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let mut reader = Reader::open(node, path, faults)?;
        let id = match reader.get("id") {
            Some(node) => document::id(node, &reader.at("id"), faults),
            None => {
                let what = "the id";
                let mend = "Give it a short name, like my-mix.";
                faults.add(node.line, reader.at("id"), Problem::Empty { what, mend });
                None
            }
        };
        let formula_node = reader.get("formula");
        let formula = formula_node.and_then(|node| {
            let at = reader.at("formula");
            let written = document::text(node, &at, document::MAX_TEXT, faults)?;
            if written.trim().is_empty() {
                return None;
            }
            Formula::parse(written)
                .map_err(|error| faults.add(node.line, at, error.into()))
                .ok()
        });
        let assay = match reader.get("assay_pct") {
            Some(node) => Assay::read(node, &reader.at("assay_pct"), faults),
            None => Assay::default(),
        };
        let strength_pct = reader.number("strength_pct", Limits::PERCENT, faults);
        let tolerance_pct = reader.number("tolerance_pct", Limits::PERCENT, faults);
        let density_g_per_ml = reader.number("density_g_per_ml", Limits::DENSITY, faults);
        let price_per_kg = reader.number("price_per_kg", Limits::PRICE, faults);
        let solubility_g_per_l_20c =
            reader.number("solubility_g_per_l_20c", Limits::SOLUBILITY, faults);
        let tank = reader
            .get("tank")
            .and_then(|node| read_tank(node, &reader.at("tank"), faults));
        let common = reader.flag("common", faults).unwrap_or(false);
        let [name, hazard, source, note] =
            PLAIN_KEYS.map(|key| reader.text(key, faults).unwrap_or_default().to_owned());
        let at = reader.at("formula");
        reader.close(faults);
        if formula.is_none() && assay.is_empty() && faults.len() == before {
            let what = "a fertilizer without formula and assay";
            let mend = "Give its formula, or what it holds in percent.";
            faults.add(node.line, at, Problem::Empty { what, mend });
        }
        if faults.len() > before {
            return None;
        }
        let id = id?.to_owned();
        let mut fertilizer = Self {
            name: if name.is_empty() { id.clone() } else { name },
            id,
            formula,
            assay_pct: Composition::ZERO,
            strength_pct,
            tolerance_pct,
            density_g_per_ml,
            price_per_kg,
            solubility_g_per_l_20c,
            tank,
            hazard,
            common,
            source,
            note,
            acid_meq_per_g: 0.0,
            ions_mmol_per_g: Vec::new(),
        };
        fertilizer.dissolve(&assay);
        Some(fertilizer)
    }

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

    /// The object that [`Fertilizer::read`] reads back.
    pub fn to_node(&self) -> Node {
        let mut entries = vec![
            ("id", Node::text(&self.id)),
            ("name", Node::text(&self.name)),
        ];
        if let Some(formula) = &self.formula {
            entries.push(("formula", Node::text(formula.text())));
        }
        let in_formula = self
            .formula
            .as_ref()
            .map(Formula::assay_pct)
            .unwrap_or_default();
        let assay = self
            .assay_pct
            .iter()
            .filter(|(nutrient, percent)| *percent > 0.0 || in_formula[*nutrient] > 0.0)
            .map(|(nutrient, percent)| (nutrient.key(), Node::number(percent)));
        entries.push(("assay_pct", Node::table(assay)));
        let numbers = [
            ("strength_pct", self.strength_pct),
            ("tolerance_pct", self.tolerance_pct),
            ("density_g_per_ml", self.density_g_per_ml),
            ("solubility_g_per_l_20c", self.solubility_g_per_l_20c),
            ("price_per_kg", self.price_per_kg),
        ];
        let given = numbers
            .into_iter()
            .filter_map(|(key, value)| Some((key, Node::number(value?))));
        entries.extend(given);
        if let Some(tank) = self.tank {
            entries.push(("tank", Node::text(tank.name())));
        }
        let texts = [
            ("hazard", &self.hazard),
            ("source", &self.source),
            ("note", &self.note),
        ];
        entries.extend(texts.map(|(key, text)| (key, Node::text(text))));
        Node::table(entries)
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

    /// The dangers to caution about, from what it is made of and from its hazard words.
    pub fn hazards(&self) -> Vec<Hazard> {
        let says = |word: &str| self.hazard.to_lowercase().contains(word);
        let holds = |n: Nutrient| self.assay_pct[n] >= COMPOUND_PCT;
        let nitrate_salt = self.assay_pct[Nutrient::NitrateN] >= COMPOUND_PCT && !self.is_liquid();
        [
            (Hazard::Oxidizer, nitrate_salt || says("oxidi")),
            (Hazard::Acid, self.is_acid()),
            (Hazard::Base, self.is_base()),
            (Hazard::Boron, holds(Nutrient::B)),
            (Hazard::Copper, holds(Nutrient::Cu)),
            (Hazard::Nickel, holds(Nutrient::Ni)),
        ]
        .into_iter()
        .filter_map(|(hazard, applies)| applies.then_some(hazard))
        .collect()
    }
}

fn read_tank(node: &Node, path: &str, faults: &mut Faults) -> Option<Tank> {
    let written = document::text(node, path, document::MAX_ID, faults)?.trim();
    if written.is_empty() {
        return None;
    }
    let found = Tank::NAMES
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(written))
        .map(|(_, tank)| *tank);
    if found.is_none() {
        let known = Tank::NAMES.iter().map(|(name, _)| *name);
        faults.add(
            node.line,
            path,
            Problem::Unknown {
                kind: "tank",
                name: written.to_owned(),
                nearest: nearest(written, known),
            },
        );
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Fertilizer {
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
    fn what_is_written_is_read_back() {
        for json in [
            r#"{"id": "a", "formula": "HNO3", "strength_pct": 60, "density_g_per_ml": 1.37, "tank": "acid"}"#,
            r#"{"id": "a", "formula": "NaFe(EDTA)", "assay_pct": {"Fe": 13, "Na": 0}}"#,
            r#"{"id": "a", "assay_pct": {"K": 6.89, "Si": 9.72}, "price_per_kg": 2}"#,
        ] {
            let once = read(json);
            let mut faults = Faults::default();
            let again = Fertilizer::read(&once.to_node(), "", &mut faults).expect("readable");
            for (nutrient, percent) in once.assay_pct.iter() {
                assert!(
                    (again.assay_pct[nutrient] - percent).abs() < 1e-9,
                    "{nutrient}"
                );
            }
            assert!((again.acid_meq_per_g() - once.acid_meq_per_g()).abs() < 1e-9);
            assert_eq!(again.tank, once.tank);
        }
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
    fn dangers_follow_from_what_it_is() {
        let own = read(r#"{"id": "mine", "formula": "KNO3"}"#);
        assert_eq!(own.hazards(), [Hazard::Oxidizer]);
        let acid = read(
            r#"{"id": "a", "formula": "HNO3", "strength_pct": 60, "density_g_per_ml": 1.367}"#,
        );
        assert_eq!(acid.hazards(), [Hazard::Acid]);
        assert_eq!(
            read(r#"{"id": "k", "formula": "KOH"}"#).hazards(),
            [Hazard::Base]
        );
        assert_eq!(
            read(r#"{"id": "b", "formula": "H3BO3"}"#).hazards(),
            [Hazard::Boron]
        );
    }

    #[test]
    fn refusals_name_the_field() {
        for (json, field, said) in [
            (r#"{"formula": "KNO3"}"#, "f.id", "the id is empty"),
            (r#"{"id": "a"}"#, "f.formula", "without formula and assay"),
            (
                r#"{"id": "a", "formula": "Kn"}"#,
                "f.formula",
                "Kn is no element",
            ),
            (
                r#"{"id": "a", "assay_pct": {"K": -1}}"#,
                "f.assay_pct.K",
                "below zero",
            ),
            (
                r#"{"id": "a", "assay_pct": {"K": 101}}"#,
                "f.assay_pct.K",
                "more than all",
            ),
            (
                r#"{"id": "a", "assay_pct": {"K": 60, "Ca": 60}}"#,
                "f.assay_pct",
                "120.00 %",
            ),
            (
                r#"{"id": "a", "assay_pct": {"K": "NaN"}}"#,
                "f.assay_pct.K",
                "not a number",
            ),
            (
                r#"{"id": "a", "assay_pct": {"Kk": 1}}"#,
                "f.assay_pct.Kk",
                "no key called",
            ),
            (
                r#"{"id": "a", "assay_pct": {"N": 1}}"#,
                "f.assay_pct.N",
                "how the nitrogen feeds",
            ),
            (
                r#"{"id": "a", "formula": "K", "tank": "Z"}"#,
                "f.tank",
                "no tank called",
            ),
        ] {
            let node = Node::from_json(json).expect("json");
            let mut faults = Faults::default();
            assert!(Fertilizer::read(&node, "f", &mut faults).is_none());
            let list = faults.into_list();
            assert_eq!(list[0].field, field, "{json}");
            assert!(list[0].to_string().contains(said), "{}", list[0]);
        }
    }
}
