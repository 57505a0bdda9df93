//! What can be wrong with an input, in words that say where it is and what to do.
//!
//! A [`Problem`] holds the facts; its sentence (`Display`) and its way out ([`Problem::mend`]) are
//! worded here, once, for every file, request and face.

mod list;

pub use list::Faults;

use crate::formula::FormulaError;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;
use thiserror::Error;

/// The kinds of refusal a machine can tell apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Text, not-a-number or infinity where a number belongs.
    NotANumber,
    /// Below zero where nothing can be.
    Negative,
    /// A key, fertilizer, recipe, water, nutrient or unit that is not known.
    UnknownName,
    /// More than all of it.
    #[serde(rename = "over-100-percent")]
    Over100Percent,
    /// Nothing where something is needed.
    Empty,
    /// Two statements that cannot both hold.
    Contradiction,
    /// Above the stated limit.
    TooLarge,
    /// Below the stated limit.
    TooSmall,
    /// Not in a form that can be read at all.
    Unreadable,
    /// A sound question that has no answer here.
    NoAnswer,
}

/// The facts of one fault.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)]
pub enum Problem {
    #[error("\"{found}\" is not a number")]
    NotANumber { found: String },
    #[error("{} is below zero", plainly(*value))]
    Negative { value: f64 },
    #[error("{}{unit} is more than the limit of {}{unit}", plainly(*value), plainly(*high))]
    TooLarge {
        value: f64,
        high: f64,
        unit: &'static str,
    },
    #[error("{}{unit} is less than the limit of {}{unit}", plainly(*value), plainly(*low))]
    TooSmall {
        value: f64,
        low: f64,
        unit: &'static str,
    },
    #[error("{count} {things} are more than the limit of {most}")]
    TooMany {
        things: &'static str,
        count: usize,
        most: usize,
    },
    #[error("so many more faults are not told here: {count}")]
    More { count: usize },
    #[error("there is no {kind} called \"{name}\"")]
    Unknown {
        kind: &'static str,
        name: String,
        nearest: Option<String>,
    },
    #[error("there is no {kind} called \"{name}\"")]
    NotOneOf {
        kind: &'static str,
        name: String,
        known: String,
    },
    #[error("the unit \"{unit}\" is not known here")]
    UnknownUnit { unit: String, known: &'static str },
    #[error("{} % is more than all of it", plainly(*percent))]
    Over100 { percent: f64 },
    #[error("the assay adds up to {percent:.2} %, more than all of it")]
    AssayOver100 { percent: f64 },
    #[error("this label adds up to {percent:.2} %, more than all of it")]
    LabelOver100 { percent: f64 },
    #[error("{what} is empty")]
    Empty {
        what: &'static str,
        mend: &'static str,
    },
    #[error("\"{name}\" stands here twice")]
    Twice { name: String },
    #[error("the minimum {min} is above the maximum {max}")]
    MinAboveMax { min: f64, max: f64 },
    #[error("the aim {aim} lies outside its own band of {min} to {max}")]
    AimOutsideBand { aim: f64, min: f64, max: f64 },
    #[error(
        "{element} {percent} % and {oxide} {oxide_percent} % disagree: \
         {oxide_percent} % {oxide} is {converted:.2} % {element}"
    )]
    OxideDisagrees {
        element: &'static str,
        percent: f64,
        oxide: &'static str,
        oxide_percent: f64,
        converted: f64,
    },
    #[error("{g_per_l} g/L and {ml_per_l} mL/L disagree at a density of {density} g/mL")]
    MassAndVolume {
        g_per_l: f64,
        ml_per_l: f64,
        density: f64,
    },
    #[error("a volume is given, but the density of {id} is not known")]
    NeedsDensity { id: String },
    #[error("{nutrient} carries no charge, so it has no meq/L")]
    NoCharge { nutrient: &'static str },
    #[error("{found} stands where {wanted} belongs")]
    WrongShape {
        found: &'static str,
        wanted: &'static str,
    },
    #[error("{0}")]
    Formula(#[from] FormulaError),
    #[error("{reason}")]
    Unreadable { reason: String, mend: &'static str },
    #[error("a number is too large to be held")]
    NumberOverflow,
    #[error("{what}")]
    Contradiction { what: String, mend: String },
    #[error("{what}")]
    NoAnswer { what: String, mend: String },
    #[error("{what}")]
    Unlikely {
        kind: Kind,
        what: String,
        mend: String,
    },
}

impl Problem {
    /// The kind a machine reads.
    pub const fn kind(&self) -> Kind {
        match self {
            Self::NotANumber { .. } => Kind::NotANumber,
            Self::Negative { .. } => Kind::Negative,
            Self::TooLarge { .. }
            | Self::TooMany { .. }
            | Self::More { .. }
            | Self::NumberOverflow => Kind::TooLarge,
            Self::TooSmall { .. } => Kind::TooSmall,
            Self::Unknown { .. } | Self::NotOneOf { .. } | Self::UnknownUnit { .. } => {
                Kind::UnknownName
            }
            Self::Over100 { .. } | Self::AssayOver100 { .. } | Self::LabelOver100 { .. } => {
                Kind::Over100Percent
            }
            Self::Empty { .. } => Kind::Empty,
            Self::Twice { .. }
            | Self::MinAboveMax { .. }
            | Self::AimOutsideBand { .. }
            | Self::OxideDisagrees { .. }
            | Self::MassAndVolume { .. }
            | Self::NeedsDensity { .. }
            | Self::NoCharge { .. }
            | Self::Contradiction { .. } => Kind::Contradiction,
            Self::WrongShape { .. } | Self::Formula(_) | Self::Unreadable { .. } => {
                Kind::Unreadable
            }
            Self::NoAnswer { .. } => Kind::NoAnswer,
            Self::Unlikely { kind, .. } => *kind,
        }
    }

    /// What to do about it.
    pub fn mend(&self) -> String {
        match self {
            Self::NotANumber { .. } => "Write a plain number, like 13.5.".into(),
            Self::Negative { .. } => "Give zero or more.".into(),
            Self::TooLarge { high, unit, .. } => {
                format!("Give at most {}{unit}{}.", plainly(*high), check(unit))
            }
            Self::TooSmall { low, unit, .. } => {
                format!("Give at least {}{unit}{}.", plainly(*low), check(unit))
            }
            Self::More { .. } => "Mend those above, then try again.".into(),
            Self::TooMany { things, most, .. } => format!("Keep to {most} {things}."),
            Self::Unknown {
                nearest: Some(nearest),
                ..
            } => format!("Did you mean \"{nearest}\"?"),
            Self::Unknown { kind, .. } => format!("Check the spelling, or leave this {kind} out."),
            Self::UnknownUnit { known, .. } => format!("Use one of: {known}."),
            Self::NotOneOf { known, .. } => format!("Use one of: {known}."),
            Self::Over100 { .. } => "Give percent by mass, 0 to 100.".into(),
            Self::AssayOver100 { .. } => {
                "Check that the columns hold elements, not oxides, in percent.".into()
            }
            Self::LabelOver100 { .. } => {
                "Check the figures: nitrogen and oxides together cannot pass 100 %.".into()
            }
            Self::Empty { mend, .. } | Self::Unreadable { mend, .. } => (*mend).into(),
            Self::Twice { .. } | Self::MassAndVolume { .. } => "Keep one of the two.".into(),
            Self::MinAboveMax { .. } => "Swap the two, or drop one.".into(),
            Self::AimOutsideBand { .. } => "Move the aim or widen the band.".into(),
            Self::OxideDisagrees { oxide, element, .. } => {
                format!("Keep the {oxide} or the {element} column for this row, not both.")
            }
            Self::NeedsDensity { .. } => "Add density_g_per_ml, or give grams.".into(),
            Self::NoCharge { .. } => "Give it in mg/L or mmol/L.".into(),
            Self::WrongShape { wanted, .. } => format!("Write {wanted} here."),
            Self::Formula(error) => error.mend().into(),
            Self::NumberOverflow => "Write a number below 1e308; check the exponent.".into(),
            Self::Contradiction { mend, .. }
            | Self::NoAnswer { mend, .. }
            | Self::Unlikely { mend, .. } => mend.clone(),
        }
    }
}

/// A number as a person would write it: powers of ten where digits would run on.
fn plainly(value: f64) -> String {
    if value != 0.0 && !(1e-6..1e9).contains(&value.abs()) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// A number far off is often one in another unit.
const fn check(unit: &str) -> &'static str {
    if unit.is_empty() {
        ""
    } else {
        "; check the unit"
    }
}

/// One fault: where it is, and what is wrong there.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The file as the grower named it, where there is one.
    pub file: Option<String>,
    /// Line in that file, counted from 1.
    pub line: Option<usize>,
    /// The field: a dotted path (`recipe.aims.K.min`) or a column.
    pub field: String,
    /// What is wrong.
    pub problem: Problem,
}

impl Fault {
    /// Where the fault is, in one phrase: `mine.csv:4, K`.
    pub fn place(&self) -> String {
        let mut place = String::new();
        if let Some(file) = &self.file {
            place.push_str(file);
            if let Some(line) = self.line {
                place.push(':');
                place.push_str(&line.to_string());
            }
        } else if let Some(line) = self.line {
            place.push_str("line ");
            place.push_str(&line.to_string());
        }
        if !self.field.is_empty() {
            if !place.is_empty() {
                place.push_str(", ");
            }
            place.push_str(&self.field);
        }
        place
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = self.place();
        if !place.is_empty() {
            write!(f, "{place}: ")?;
        }
        write!(f, "{}. {}", self.problem, self.problem.mend())
    }
}

/// The known name nearest to what was typed, if any is near enough to be worth offering.
///
/// Near: Damerau-Levenshtein distance of at most a third of the longer name, or a prefix.
pub fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let wanted = typed.to_lowercase();
    if wanted.is_empty() || wanted.len() > 200 {
        return None;
    }
    known
        .into_iter()
        .map(|name| {
            let lower = name.to_lowercase();
            let mut distance = strsim::damerau_levenshtein(&wanted, &lower);
            if wanted.len() >= 3 && (lower.starts_with(&wanted) || lower.contains(&wanted)) {
                distance = distance.min(1);
            }
            (distance, wanted.len().max(lower.len()), name)
        })
        .filter(|(distance, length, _)| *distance * 3 <= *length || (*distance == 1 && *length > 1))
        .min_by_key(|(distance, length, _)| (*distance, *length))
        .map(|(_, _, name)| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_offered_and_nothing_far() {
        let known = ["potassium-nitrate", "potassium-sulfate", "urea"];
        assert_eq!(
            nearest("potasium-nitrate", known).as_deref(),
            Some("potassium-nitrate")
        );
        assert_eq!(nearest("xyz", known), None);
        // One letter off is near where there are more letters, not where it is the only one.
        assert_eq!(nearest("KK", ["K", "P"]).as_deref(), Some("K"));
        assert_eq!(nearest("P", ["K"]), None);
        assert_eq!(nearest("", known), None);
        // The whole of a name that nobody has is not looked for, be it known or not.
        let endless = "K".repeat(300);
        assert_eq!(nearest(&endless, [endless.as_str()]), None);
    }

    #[test]
    fn a_fault_says_place_problem_and_way_out() {
        let mut faults = Faults::in_file("mine.csv");
        faults.add(
            Some(4),
            "K",
            Problem::NotANumber {
                found: "abc".into(),
            },
        );
        let list = faults.into_list();
        assert_eq!(
            list[0].to_string(),
            "mine.csv:4, K: \"abc\" is not a number. Write a plain number, like 13.5."
        );
    }

    #[test]
    fn kinds_are_spelled_as_the_contract_says() {
        let spelled = serde_json::to_string(&[Kind::Over100Percent, Kind::NotANumber]);
        assert_eq!(
            spelled.ok().as_deref(),
            Some("[\"over-100-percent\",\"not-a-number\"]")
        );
    }
}
