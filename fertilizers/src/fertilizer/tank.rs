//! The stock tank that a fertilizer belongs in.

use crate::document::{self, Node};
use crate::fault::{Faults, Problem, nearest};
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
    /// The names in files.
    pub const NAMES: [(&'static str, Self); 5] = [
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

    /// Reads a name; `None` where it is blank, and with a fault where it is not known.
    pub(super) fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let written = document::text(node, path, document::MAX_ID, faults)?.trim();
        if written.is_empty() {
            return None;
        }
        let found = Self::NAMES
            .iter()
            .find(|(name, _)| name.eq_ignore_ascii_case(written))
            .map(|(_, tank)| *tank);
        if found.is_none() {
            let known = Self::NAMES.iter().map(|(name, _)| *name);
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
}
