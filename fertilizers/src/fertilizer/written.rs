//! A fertilizer as it is written: the object it is read from, and written back to.

use super::{Fertilizer, Tank};
use crate::assay::Assay;
use crate::document::{self, Limits, Node, Reader};
use crate::fault::{Faults, Problem};
use crate::formula::Formula;
use crate::nutrient::Composition;

/// The keys a fertilizer object may have.
const PLAIN_KEYS: [&str; 4] = ["name", "hazard", "source", "note"];

impl Fertilizer {
    /// Reads one fertilizer object; `None` and faults where something is wrong.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let mut reader = Reader::open(node, path, faults)?;
        let id = reader.id("Give it a short name, like my-mix.", faults);
        let formula = reader.part("formula", read_formula, faults);
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
        let tank = reader.part("tank", Tank::read, faults);
        let common = reader.flag("common", faults).unwrap_or(false);
        let [name, hazard, source, note] = PLAIN_KEYS.map(|key| reader.kept(key, faults));
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
}

/// A formula; a blank one is none.
fn read_formula(node: &Node, path: &str, faults: &mut Faults) -> Option<Formula> {
    let written = document::text(node, path, document::MAX_TEXT, faults)?;
    if written.trim().is_empty() {
        return None;
    }
    Formula::parse(written)
        .map_err(|error| faults.add(node.line, path, error.into()))
        .ok()
}

#[cfg(test)]
mod tests {
    use super::super::tests::read;
    use super::*;

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
