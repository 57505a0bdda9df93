//! The assay of a fertilizer: percent by mass of each nutrient as sold.

use crate::document::{Limits, Node, Reader, number};
use crate::fault::{Faults, Problem, nearest};
use crate::nutrient::{Composition, Nutrient};

/// Oxides that labels print, the nutrient each is read as, and its formula as
/// (atoms of the element, atoms of oxygen) in one unit.
pub const OXIDES: [(&str, Nutrient, f64, f64); 6] = [
    ("P2O5", Nutrient::P, 2.0, 5.0),
    ("K2O", Nutrient::K, 2.0, 1.0),
    ("CaO", Nutrient::Ca, 1.0, 1.0),
    ("MgO", Nutrient::Mg, 1.0, 1.0),
    ("SO3", Nutrient::S, 1.0, 3.0),
    ("SiO2", Nutrient::Si, 1.0, 2.0),
];

/// Largest difference between an element and its oxide in one row that rounding explains,
/// relative. Labels print one decimal of figures from 5 % up.
const OXIDE_TOLERANCE: f64 = 0.02;

/// Grams of the element in a gram of its oxide.
pub fn oxide_factor(nutrient: Nutrient, atoms: f64, oxygen: f64) -> f64 {
    let oxygen_weight =
        crate::Element::from_symbol("O").map_or(f64::NAN, super::elements::Element::atomic_weight);
    let element = atoms * nutrient.atomic_weight();
    element / (element + oxygen * oxygen_weight)
}

/// What a bag or table names; nutrients that it does not name are `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Assay([Option<f64>; Nutrient::COUNT]);

impl Assay {
    /// The percentage named for a nutrient.
    pub fn named(&self, nutrient: Nutrient) -> Option<f64> {
        self.0[nutrient.index()]
    }

    /// True where nothing is named.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Option::is_none)
    }

    /// The names that a table of percentages may hold: nutrients, then oxides.
    pub fn keys() -> impl Iterator<Item = &'static str> {
        Nutrient::ALL
            .into_iter()
            .map(Nutrient::key)
            .chain(OXIDES.iter().map(|oxide| oxide.0))
    }

    /// Reads a table of percentages (`{"NO3-N": 13.5, "K2O": 46}`). Oxides are converted; an oxide
    /// and its element that disagree are a fault.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Self {
        let mut assay = Self::default();
        let Some(mut reader) = Reader::open(node, path, faults) else {
            return assay;
        };
        for nutrient in Nutrient::ALL {
            assay.0[nutrient.index()] = reader.number(nutrient.key(), Limits::PERCENT, faults);
        }
        for (oxide, nutrient, atoms, oxygen) in OXIDES {
            let Some(node) = reader.get(oxide) else {
                continue;
            };
            let Some(oxide_percent) = number(node, &reader.at(oxide), Limits::PERCENT, faults)
            else {
                continue;
            };
            let converted = oxide_percent * oxide_factor(nutrient, atoms, oxygen);
            match assay.named(nutrient) {
                Some(percent) if (percent - converted).abs() > OXIDE_TOLERANCE * percent => {
                    faults.add(
                        node.line,
                        reader.at(oxide),
                        Problem::OxideDisagrees {
                            element: nutrient.key(),
                            percent,
                            oxide,
                            oxide_percent,
                            converted,
                        },
                    );
                }
                Some(_) => {}
                None => assay.0[nutrient.index()] = Some(converted),
            }
        }
        refuse_plain_n(&mut reader, "how the nitrogen feeds", faults);
        reader.close(faults);
        let percent: f64 = assay.0.iter().flatten().sum();
        if percent > 100.0 + 1e-9 {
            faults.add(node.line, path, Problem::AssayOver100 { percent });
        }
        assay
    }

    /// The nearest name to a column head that is none.
    pub(crate) fn nearest_key(name: &str) -> Option<String> {
        nearest(name, Self::keys())
    }
}

impl FromIterator<(Nutrient, f64)> for Assay {
    fn from_iter<T: IntoIterator<Item = (Nutrient, f64)>>(named: T) -> Self {
        let mut assay = Self::default();
        for (nutrient, percent) in named {
            assay.0[nutrient.index()] = Some(percent);
        }
        assay
    }
}

/// The assay as sold and how much of the formula it holds.
///
/// With a formula alone: the pure substance times `strength` (a fraction by mass). With an assay
/// beside it: the assay counts for what it names, and the formula's other nutrients are scaled by
/// the mass the named ones have against the pure substance.
pub(crate) fn as_sold(
    named: &Assay,
    pure: Option<&Composition>,
    strength: Option<f64>,
) -> (Composition, f64) {
    let Some(pure) = pure else {
        let percent = |n: Nutrient| named.named(n).unwrap_or(0.0);
        return (
            Nutrient::ALL.map(|n| (n, percent(n))).into_iter().collect(),
            1.0,
        );
    };
    let both = || {
        Nutrient::ALL
            .into_iter()
            .filter(|n| pure[*n] > 0.0 && named.named(*n).is_some())
    };
    let in_pure: f64 = both().map(|n| pure[n]).sum();
    let in_named: f64 = both().filter_map(|n| named.named(n)).sum();
    let share = if in_pure > 0.0 {
        in_named / in_pure
    } else {
        strength.unwrap_or(1.0)
    };
    let percent = |n: Nutrient| named.named(n).unwrap_or(pure[n] * share);
    (
        Nutrient::ALL.map(|n| (n, percent(n))).into_iter().collect(),
        share,
    )
}

/// Refuses nitrogen whose form is not said: `N` alone does not say `what`.
pub fn refuse_plain_n(reader: &mut Reader<'_>, what: &str, faults: &mut Faults) {
    if let Some(node) = reader.get("N") {
        let mend = "Say which form it is: NO3-N, NH4-N or urea-N.";
        let reason = format!("\"N\" alone does not say {what}");
        let problem = Problem::Unreadable { reason, mend };
        faults.add(node.line, reader.at("N"), problem);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: exact factors from atomic weights; US statutory sets round to P 0.4364, K 0.8301.
    #[test]
    fn oxides_become_elements() {
        for (oxide, factor) in [
            ("P2O5", 0.4364),
            ("K2O", 0.8301),
            ("CaO", 0.7147),
            ("MgO", 0.6031),
            ("SO3", 0.4005),
            ("SiO2", 0.4674),
        ] {
            let row = OXIDES.iter().find(|row| row.0 == oxide).expect("listed");
            let ours = oxide_factor(row.1, row.2, row.3);
            assert!((ours - factor).abs() < 6e-5, "{oxide}: {ours}");
        }
    }

    #[test]
    fn an_oxide_that_contradicts_its_element_is_refused() {
        let node = Node::from_json(r#"{"P": 22.7, "P2O5": 22.7}"#).expect("json");
        let mut faults = Faults::default();
        Assay::read(&node, "assay_pct", &mut faults);
        let list = faults.into_list();
        assert!(matches!(list[0].problem, Problem::OxideDisagrees { .. }));
        let node = Node::from_json(r#"{"P": 22.7, "P2O5": 52}"#).expect("json");
        let mut faults = Faults::default();
        Assay::read(&node, "assay_pct", &mut faults);
        assert!(faults.is_empty());
    }
}
