//! What to measure next: the one improvement that would narrow a figure most.

use super::{Cause, Names, Uncertain};
use crate::ec::COVERAGE;
use crate::words::spread as words;
use schemars::JsonSchema;
use serde::Serialize;

/// The improvement that would narrow a figure most.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NextRow {
    /// A nutrient, `EC`, `pH` or `cost`; of a correction also what is poured.
    pub figure: &'static str,
    /// What would be improved, as in `causes`.
    pub cause: String,
    /// Half of the figure's range (k = 2) today, in its own unit.
    pub half_width: f64,
    /// The same with this cause gone: no improvement brings more.
    pub at_best: f64,
    /// What to do.
    pub words: String,
}

impl NextRow {
    /// Of a figure; none where nothing that a grower can improve is off.
    pub(crate) fn of(uncertain: &Uncertain, names: &Names) -> Option<Self> {
        let causes = uncertain.causes.iter();
        let (cause, variance) = causes
            .filter(|(cause, _)| !matches!(cause, Cause::Model | Cause::PhModel))
            .find(|(_, variance)| *variance > 0.0)?;
        let left = (uncertain.variance() - variance).max(0.0);
        Some(Self {
            figure: uncertain.figure,
            cause: names.of(*cause).to_owned(),
            half_width: uncertain.half_width(),
            at_best: COVERAGE * left.sqrt(),
            words: words::improvement(*cause, names.of(*cause)),
        })
    }
}
