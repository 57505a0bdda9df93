//! How far assays may be off together before a band is left: rows of the problem, judged at an end.

use crate::formulate::problem::{Figure, Judged, Problem, Row};
use crate::formulate::request::FormulateRequest;
use saltwright_fertilizers::Aimed;

/// For each figure how much of its worst case is guarded against: at the minimum, at the maximum.
/// One is all of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Guards(pub [[f64; 2]; Aimed::COUNT]);

impl Guards {
    /// The same share everywhere.
    pub const fn uniform(share: f64) -> Self {
        Self([[share; 2]; Aimed::COUNT])
    }
}

impl Problem {
    /// The problem whose bands hold although assays are off.
    ///
    /// A band is two rows: sum of a (1 - g t) x at least its minimum, sum of a (1 + g t) x at most
    /// its maximum, t the tolerance of each fertilizer and g the guarded share. Closeness is
    /// counted by the assays as they are stated.
    #[must_use]
    pub fn guarded(mut self, request: &FormulateRequest, guards: &Guards) -> Self {
        let mut rows = Vec::with_capacity(3 * self.rows.len());
        for row in &self.rows {
            let Figure::Nutrient(aimed) = row.figure else {
                rows.push(*row);
                continue;
            };
            let [least, most] = guards.0[aimed.index()];
            let off = already_off(request, aimed);
            if row.aim.is_some() {
                let (min, max) = (None, None);
                rows.push(Row { min, max, ..*row });
            }
            let judged = Row {
                aim: None,
                weight: 0.0,
                ..*row
            };
            if row.min.is_some_and(|min| min > 0.0) {
                rows.push(Row {
                    max: None,
                    judged: Judged::AtLeast(least),
                    present: row.present - least * off,
                    ..judged
                });
            }
            if let Some(max) = row.max {
                let present = row.present + most * off;
                rows.push(Row {
                    min: None,
                    // Below what is there no default maximum can be kept.
                    max: Some(if row.default_max {
                        max.max(present)
                    } else {
                        max
                    }),
                    judged: Judged::AtMost(most),
                    present,
                    ..judged
                });
            }
        }
        self.rows = rows;
        self
    }
}

/// How much a figure may be off by what is in the tank already, mg/L.
fn already_off(request: &FormulateRequest, aimed: Aimed) -> f64 {
    let doses = request.already.iter().map(|dose| {
        let brings = dose.fertilizer.mg_per_g().aimed(aimed) * dose.amount.0;
        request.tolerance(&dose.fertilizer) * brings
    });
    doses.sum()
}
