//! Solids that could drop out of a finished solution, told with what would keep them dissolved.

use crate::chemistry::solids::{Nearness, Reported, indices};
use crate::chemistry::{Conditions, Speciation};
use crate::words;
use schemars::JsonSchema;
use serde::Serialize;

/// One solid of a report.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SolidRow {
    /// Its mineral name.
    pub solid: &'static str,
    /// Saturation index right after mixing: log10 of ion product over solubility product.
    pub index_closed: f64,
    /// After standing in air.
    pub index_open: f64,
    /// Standard uncertainty of both.
    pub index_uncertainty: f64,
    /// True where it forms over days to months if at all, whatever the index says.
    pub slow: bool,
    /// What that means and what would change it.
    pub words: String,
}

impl SolidRow {
    /// The larger of both indices.
    pub const fn index(&self) -> f64 {
        self.index_closed.max(self.index_open)
    }

    /// How near it is, at the worse of both ends.
    pub fn nearness(&self) -> Nearness {
        Nearness::of(self.index())
    }
}

/// The solids that can come first as a solution gets stronger; those of iron(II) rust in air before.
const LEADING: [&str; 4] = ["gypsum", "calcite", "brushite", "struvite"];

/// The solids whose ions are there, the nearest first; those of iron(II) behind, slow ones last.
pub fn rows(at: &Conditions, closed: &Speciation, open: &Speciation) -> Vec<SolidRow> {
    let in_air: Vec<(Reported, f64)> = indices(at, open).collect();
    let mut rows: Vec<SolidRow> = indices(at, closed)
        .map(|(reported, index_closed)| {
            let open = in_air.iter().find(|(other, _)| other.id == reported.id);
            let index_open = open.map_or(index_closed, |(_, index)| *index);
            SolidRow {
                solid: reported.name,
                index_closed,
                index_open,
                index_uncertainty: reported.uncertainty,
                slow: reported.is_slow,
                words: words::solids::tell(reported, index_closed, index_open),
            }
        })
        .collect();
    rows.sort_by(|a, b| {
        let rank = |row: &SolidRow| (row.slow, !LEADING.contains(&row.solid));
        rank(a)
            .cmp(&rank(b))
            .then_with(|| b.index().total_cmp(&a.index()))
    });
    rows
}

/// The solid that comes first as a solution gets stronger, where any may form.
pub fn first(rows: &[SolidRow]) -> Option<&SolidRow> {
    rows.iter()
        .find(|row| LEADING.contains(&row.solid) && row.nearness() >= Nearness::CanForm)
}
