//! The units that recipes and water analyses are printed in.

use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::{Aimed, Faults, Nutrient, Problem};

/// A concentration unit of a list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ConcentrationUnit {
    /// Milligrams of the element per litre.
    #[default]
    MgPerL,
    /// Millimoles per litre.
    MmolPerL,
    /// Milliequivalents per litre.
    MeqPerL,
}

impl ConcentrationUnit {
    /// The names in files.
    pub const NAMES: [(&'static str, Self); 3] = [
        ("mg/L", Self::MgPerL),
        ("mmol/L", Self::MmolPerL),
        ("meq/L", Self::MeqPerL),
    ];

    /// The name in files.
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, unit)| *unit == self)
            .map_or("", |(name, _)| name)
    }

    /// mg/L of the element in one of this unit; `None` in meq/L for what carries no charge.
    ///
    /// `p_charge` is the charge that the list counts phosphorus with: 1 as H2PO4-, 3 as PO4 3-.
    pub fn mg_per_l(self, aimed: Aimed, p_charge: u32) -> Option<f64> {
        match self {
            Self::MgPerL => Some(1.0),
            Self::MmolPerL => Some(aimed.atomic_weight()),
            Self::MeqPerL => {
                let charges = match aimed {
                    Aimed::Form(Nutrient::P) => p_charge,
                    other => other.charges(),
                };
                (charges > 0).then(|| aimed.atomic_weight() / f64::from(charges))
            }
        }
    }

    pub(crate) fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let written = document::text(node, path, document::MAX_ID, faults)?.trim();
        let found = Self::NAMES.iter().find(|(name, _)| {
            name.eq_ignore_ascii_case(written) || (written == "ppm" && *name == "mg/L")
        });
        if found.is_none() {
            let unit = written.to_owned();
            let known = "mg/L, mmol/L, meq/L";
            faults.add(node.line, path, Problem::UnknownUnit { unit, known });
        }
        found.map(|(_, unit)| *unit)
    }
}

/// The unit of a whole list: `unit` and `P_charge` beside its numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ListUnit {
    pub unit: ConcentrationUnit,
    pub p_charge: u32,
}

impl ListUnit {
    pub fn read(reader: &mut Reader<'_>, faults: &mut Faults) -> Self {
        let unit = reader.part("unit", ConcentrationUnit::read, faults);
        let p_charge = reader.get("P_charge").map_or(1, |node| match node.value {
            Value::Number(1.0) => 1,
            Value::Number(2.0) => 2,
            Value::Number(3.0) => 3,
            _ => {
                let (found, wanted) = (node.shape(), "1, 2 or 3");
                let at = reader.at("P_charge");
                faults.add(node.line, at, Problem::WrongShape { found, wanted });
                1
            }
        });
        let unit = unit.unwrap_or_default();
        Self { unit, p_charge }
    }

    /// A number of this list in mg/L, checked against the limits of aims and water.
    pub fn mg_per_l(
        self,
        node: &Node,
        path: &str,
        aimed: Aimed,
        faults: &mut Faults,
    ) -> Option<f64> {
        const ANY: Limits = Limits::new(0.0, f64::MAX, "");
        let Some(factor) = self.unit.mg_per_l(aimed, self.p_charge) else {
            let nutrient = aimed.word();
            faults.add(node.line, path, Problem::NoCharge { nutrient });
            return None;
        };
        let mg_per_l = factor * document::number(node, path, ANY, faults)?;
        match Limits::MG_PER_L.check(mg_per_l) {
            Ok(checked) => Some(checked),
            Err(problem) => {
                faults.add(node.line, path, problem);
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Takatsuji (1997), Shokubutsu kojo handobukku, pp. 86-87: the Enshi list in me/L
    /// counts phosphorus as PO4 3-; 4 me/L is 41.3 mg/L.
    #[test]
    fn milliequivalents_as_the_list_counts_them() {
        let per = |aimed, p| ConcentrationUnit::MeqPerL.mg_per_l(aimed, p);
        let p = Aimed::Form(Nutrient::P);
        assert!((4.0 * per(p, 3).unwrap_or(0.0) - 41.298).abs() < 0.01);
        assert!((per(p, 1).unwrap_or(0.0) - 30.974).abs() < 0.001);
        assert!((per(Aimed::Form(Nutrient::Ca), 1).unwrap_or(0.0) - 20.039).abs() < 0.001);
        assert_eq!(per(Aimed::Form(Nutrient::B), 1), None);
    }
}
