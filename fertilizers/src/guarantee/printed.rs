//! The keys of a label: what each counts, and how it is printed.

use crate::assay::{OXIDES, oxide_factor};
use crate::nutrient::{Aimed, Nutrient};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use std::borrow::Cow;

/// What a figure of a label counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Counted {
    /// A nutrient or total nitrogen that the program accounts for.
    Nutrient(Aimed),
    /// Nitrogen that does not dissolve; a label may name it, a nutrient solution has none.
    InsolubleN,
    /// Cobalt; labels may name it, no recipe does.
    Cobalt,
}

/// One key of a label: what it counts and how it is printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Printed {
    /// As printed: `P2O5`, `Mg`.
    pub key: &'static str,
    /// What it counts.
    pub counted: Counted,
    /// Grams of the element in a gram as printed.
    pub factor: f64,
}

impl Printed {
    /// Every key that a label may use, in the order of reports.
    pub fn all() -> impl Iterator<Item = Self> {
        let plain = |aimed: Aimed| Self {
            key: aimed.key(),
            counted: Counted::Nutrient(aimed),
            factor: 1.0,
        };
        let only_on_labels = [
            ("insoluble-N", Counted::InsolubleN),
            ("Co", Counted::Cobalt),
        ];
        let nutrients = Aimed::all().flat_map(move |aimed| {
            let oxide = Self::oxides().find(|oxide| oxide.counted == Counted::Nutrient(aimed));
            std::iter::once(plain(aimed)).chain(oxide)
        });
        nutrients.chain(only_on_labels.map(|(key, counted)| Self {
            key,
            counted,
            factor: 1.0,
        }))
    }

    /// The oxides of fertilizer tables and, on labels alone, Na2O.
    fn oxides() -> impl Iterator<Item = Self> {
        let sodium = ("Na2O", Nutrient::Na, 2.0, 1.0);
        OXIDES
            .into_iter()
            .chain([sodium])
            .map(|(key, nutrient, atoms, oxygen)| Self {
                key,
                counted: Counted::Nutrient(Aimed::Form(nutrient)),
                factor: oxide_factor(nutrient, atoms, oxygen),
            })
    }

    /// The key as written on a label.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::all().find(|printed| printed.key == key)
    }

    /// The nutrient it counts, where the program accounts for it.
    pub const fn nutrient(self) -> Option<Aimed> {
        match self.counted {
            Counted::Nutrient(aimed) => Some(aimed),
            Counted::InsolubleN | Counted::Cobalt => None,
        }
    }

    /// True where it is printed as an oxide.
    pub fn is_oxide(self) -> bool {
        self.nutrient().is_some_and(|aimed| aimed.key() != self.key)
    }
}

impl Serialize for Printed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key)
    }
}

impl JsonSchema for Printed {
    fn schema_name() -> Cow<'static, str> {
        "Printed".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A figure of a label under the key it is printed with, like P2O5 or Mg.",
            "type": "string",
        })
    }
}

/// Grams of an element in a gram of its oxide; 1 where labels know no oxide of it.
pub(super) fn oxide_share(aimed: Aimed) -> f64 {
    Printed::oxides()
        .find(|oxide| oxide.counted == Counted::Nutrient(aimed))
        .map_or(1.0, |oxide| oxide.factor)
}
