//! What could drop out of a finished solution: saturation indices of solids.

use super::equilibrium::Speciation;
use super::species::{Conditions, Mineral, Table};

/// Index below which a solution is clear of a solid (judgement).
const CLEAR: f64 = -0.3;
/// Index above which a solid will form (judgement).
const WILL_FORM: f64 = 0.5;

/// How near a solid is, in words' classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nearness {
    /// Far from forming.
    Clear,
    /// Close to forming.
    Near,
    /// Can form.
    CanForm,
    /// Will form.
    WillForm,
}

impl Nearness {
    /// The class of a saturation index.
    pub fn of(index: f64) -> Self {
        if index < CLEAR {
            Self::Clear
        } else if index < 0.0 {
            Self::Near
        } else if index <= WILL_FORM {
            Self::CanForm
        } else {
            Self::WillForm
        }
    }
}

/// How a solid is reported: id in the constants, name, standard uncertainty of its index, and
/// whether it forms so slowly that it is told apart.
///
/// Uncertainties (judgement from the spread between databases): gypsum and calcite 0.05, brushite
/// 0.1, struvite 0.2, siderite 0.4, hydroxyapatite 4.
const REPORTED: [Reported; 8] = [
    Reported::new("gypsum", "gypsum", 0.05, false),
    Reported::new("calcite", "calcite", 0.05, false),
    Reported::new("brushite", "brushite", 0.1, false),
    Reported::new("struvite", "struvite", 0.2, false),
    Reported::new("HAP", "hydroxyapatite", 4.0, true),
    Reported::new("siderite", "siderite", 0.4, false),
    Reported::new("vivianite", "vivianite", 0.4, false),
    Reported::new("MnHPO4", "manganese hydrogen phosphate", 0.4, true),
];

/// A solid of the report.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reported {
    /// Id in the constants.
    pub id: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Standard uncertainty of its index.
    pub uncertainty: f64,
    /// True where it forms over days to months if at all, whatever its index.
    pub is_slow: bool,
}

impl Reported {
    const fn new(id: &'static str, name: &'static str, uncertainty: f64, is_slow: bool) -> Self {
        Self {
            id,
            name,
            uncertainty,
            is_slow,
        }
    }
}

/// log10 of ion activity product over solubility product; none where an ion is absent.
fn index(solution: &Speciation, mineral: &Mineral, log_k: f64) -> Option<f64> {
    let product: f64 = mineral
        .product
        .iter()
        .map(|(species, power)| power * solution.log_activity(*species))
        .sum();
    product.is_finite().then_some(product - log_k)
}

/// Saturation index of every reported solid whose ions are there.
pub fn indices(at: &Conditions, solution: &Speciation) -> impl Iterator<Item = (Reported, f64)> {
    let table = Table::shipped();
    REPORTED.into_iter().filter_map(|reported| {
        let position = table.minerals.iter().position(|m| m.id == reported.id)?;
        let mineral = &table.minerals[position];
        let index = index(solution, mineral, at.log_k_minerals[position])?;
        Some((reported, index))
    })
}
