//! How labels are printed where they are sold, and what a printed figure promises there.
//!
//! Sources: US model law as enacted, New Hampshire RSA 431:5, and Florida Statutes 576.061 (2014);
//! Code of Maryland Regulations 15.18.03; Regulation (EU) 2019/1009, Annex III; Regulation (EC)
//! 2003/2003, articles 5 and 6; Duengemittelverordnung 2012, paragraph 6; UK Fertilisers Regulations
//! 1991 (SI 1991/2197), schedule 2; Fertilizer Australia, national labelling code (industry
//! summary); Canada, Fertilizers Regulations C.R.C. c. 666, section 15.

use saltwright_fertilizers::guarantee::{Basis, Counted, Printed};
use saltwright_fertilizers::{Aimed, Nutrient};
use schemars::JsonSchema;
use serde::Serialize;

/// A convention of labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Convention {
    /// United States: the model law and its allowances as a state adopted them.
    Us,
    /// Maryland: the same, with limits on both sides.
    UsMd,
    /// European Union since July 2022.
    Eu,
    /// European Union until July 2022.
    #[serde(rename = "eu-2003")]
    Eu2003,
    /// No law: elements throughout, figures as minima.
    Elements,
    /// Germany.
    De,
    /// United Kingdom.
    Uk,
    /// Australia.
    Au,
    /// Canada.
    Ca,
}

/// What is in the bag or bottle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// A powder or granules.
    #[default]
    Solid,
    /// A liquid.
    Liquid,
}

impl Form {
    /// The name in requests.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::Liquid => "liquid",
        }
    }
}

/// Factors from oxide to element that a law prints, rounded.
const EU_FACTORS: [(&str, f64); 6] = [
    ("P2O5", 0.436),
    ("K2O", 0.830),
    ("CaO", 0.715),
    ("MgO", 0.603),
    ("Na2O", 0.742),
    ("SO3", 0.400),
];
/// The German ones; magnesium differs.
const DE_FACTORS: [(&str, f64); 4] = [("P2O5", 0.436), ("K2O", 0.83), ("CaO", 0.715), ("MgO", 0.6)];

impl Convention {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Us,
        Self::UsMd,
        Self::Eu,
        Self::Eu2003,
        Self::Elements,
        Self::De,
        Self::Uk,
        Self::Au,
        Self::Ca,
    ];

    /// The name in requests and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Us => "us",
            Self::UsMd => "us-md",
            Self::Eu => "eu",
            Self::Eu2003 => "eu-2003",
            Self::Elements => "elements",
            Self::De => "de",
            Self::Uk => "uk",
            Self::Au => "au",
            Self::Ca => "ca",
        }
    }

    /// How a grade such as 15-5-15 is meant.
    pub const fn basis(self) -> Basis {
        match self {
            Self::Elements | Self::Au => Basis::Elements,
            _ => Basis::Oxides,
        }
    }

    /// How figures are printed, in words.
    pub const fn prints(self) -> &'static str {
        match self {
            Self::Us | Self::UsMd => {
                "US labels: total N, available phosphate as P2O5, soluble potash as K2O, then Ca, \
                 Mg, S and the micronutrients as elements, all as minima"
            }
            Self::Eu => {
                "EU labels since 2022: N with its forms, P2O5, K2O, then CaO, MgO, SO3 and Na2O as \
                 oxides, micronutrients as elements, declared with a tolerance to both sides"
            }
            Self::Eu2003 => {
                "EU labels until 2022: N, P2O5, K2O, CaO, MgO, Na2O, SO3 as oxides or elements, \
                 declared with a tolerance below"
            }
            Self::Elements => "elements throughout, taken as minima",
            Self::De => {
                "German labels: N, P2O5, K2O, calcium as Ca, CaO or CaCO3, MgO, S and Na as \
                 elements; its tolerances are not judged here, figures are taken as minima"
            }
            Self::Uk => {
                "UK labels: oxides, usually with the element in brackets; tolerances are not judged \
                 here, figures are taken as minima"
            }
            Self::Au => {
                "Australian labels: elements, P and K too; tolerances are not judged here, figures \
                 are taken as minima"
            }
            Self::Ca => {
                "Canadian labels: total N, available phosphoric acid as P2O5, soluble potash as K2O, \
                 Ca, Mg and S as elements, as minima; the law prints no tolerance since 2020"
            }
        }
    }

    /// True where the convention prints this nutrient as its oxide; `None` where either is usual.
    fn prints_oxide(self, aimed: Aimed) -> Option<bool> {
        let primary = matches!(aimed, Aimed::Form(Nutrient::P | Nutrient::K));
        match self {
            Self::Us | Self::UsMd | Self::Ca => Some(primary),
            Self::Eu => Some(true),
            Self::Elements | Self::Au => Some(false),
            Self::De if aimed == Aimed::Form(Nutrient::S) => Some(false),
            Self::Eu2003 | Self::De | Self::Uk => None,
        }
    }

    /// The key that this convention would print where the label has the other one: the trap of
    /// SO3 against S.
    pub fn expected(self, printed: Printed) -> Option<Printed> {
        let Counted::Nutrient(aimed) = printed.counted else {
            return None;
        };
        let other = Printed::all()
            .find(|other| other.counted == printed.counted && other.key != printed.key)?;
        (self.prints_oxide(aimed)? != printed.is_oxide()).then_some(other)
    }

    /// The factor that the law prints for an oxide.
    pub fn statutory_factor(self, oxide: &str) -> Option<f64> {
        let factors: &[(&str, f64)] = match self {
            Self::Eu | Self::Eu2003 => &EU_FACTORS,
            Self::De => &DE_FACTORS,
            _ => &[],
        };
        factors
            .iter()
            .find(|(key, _)| *key == oxide)
            .map(|(_, factor)| *factor)
    }
}
