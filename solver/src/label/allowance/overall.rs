//! Figures over several nutrients: the sum of shortfalls and the overall index.

use super::{Finding, Judged, PRIMARY, ROUNDING, table_factor};
use crate::label::convention::Convention;
use saltwright_fertilizers::guarantee::{Counted, Guarantee};
use schemars::JsonSchema;
use serde::Serialize;

/// A figure over several nutrients: an index or a sum of shortfalls.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Overall {
    /// What it comes to.
    pub value: f64,
    /// Where it must stay: an index above, a sum below.
    pub limit: f64,
    /// What that is.
    pub verdict: Finding,
    /// The rule and where it was read.
    pub rule: String,
}

impl Judged<'_> {
    /// The shortfalls of N, P2O5 and K2O together, percentage points as oxides, and whether all
    /// that are claimed were found.
    pub(super) fn shortfalls(&self, found: &Guarantee) -> (f64, bool) {
        let mut sum = 0.0;
        let mut all = true;
        for primary in PRIMARY {
            let Some(stated) = self.guarantee.get(Counted::Nutrient(primary)) else {
                continue;
            };
            let Some(got) = found.element_pct(primary) else {
                all &= stated.pct <= 0.0;
                continue;
            };
            let factor = table_factor(stated.printed);
            sum += ((stated.element_pct() - got) / factor).max(0.0);
        }
        (sum, all)
    }

    /// The sum of shortfalls, where the convention limits it.
    pub fn sum(&self, found: &Guarantee) -> Option<Overall> {
        let limit = self.most_sum()?;
        let (value, all) = self.shortfalls(found);
        Some(Overall {
            value,
            limit,
            verdict: if value > limit + ROUNDING {
                Finding::Deficient
            } else if all {
                Finding::Within
            } else {
                Finding::NotJudged
            },
            rule: "negative deviations of N, P2O5 and K2O together, Regulation (EC) 2003/2003, \
                   Annex II, 2.2"
                .into(),
        })
    }

    /// The overall index, where the convention has one and the laboratory found all that it needs.
    pub fn index(&self, found: &Guarantee) -> Option<Overall> {
        let (weights, limit, relative, rule) = match self.convention {
            Convention::Us => (
                [3.0, 2.0, 1.0],
                98.0,
                true,
                "value found in percent of value guaranteed, N 3, P2O5 2, K2O 1 (weights from \
                 memory); limit 98 in a reprint of the association's statement, 97 in Wisconsin, \
                 Minnesota and Illinois",
            ),
            Convention::Ca => (
                [2.5, 2.0, 1.0],
                f64::NAN,
                false,
                "2.5 N + 2.0 P2O5 + 1.0 K2O found against guaranteed: Fertilizers Regulations, \
                 section 13, in force 2006-03-22 to 2013-04-25 and repealed since; for comparison \
                 only",
            ),
            _ => return None,
        };
        if self.primaries() < 2 {
            return None;
        }
        let (mut promised, mut got) = (0.0, 0.0);
        for (primary, weight) in PRIMARY.into_iter().zip(weights) {
            let Some(stated) = self.guarantee.get(Counted::Nutrient(primary)) else {
                continue;
            };
            if stated.pct <= 0.0 {
                continue;
            }
            let factor = table_factor(stated.printed);
            promised += weight * stated.element_pct() / factor;
            got += weight * found.element_pct(primary)? / factor;
        }
        let (value, limit) = if relative {
            (100.0 * got / promised, limit)
        } else {
            (got, promised)
        };
        Some(Overall {
            value,
            limit,
            verdict: if value < limit - ROUNDING {
                Finding::Deficient
            } else {
                Finding::Within
            },
            rule: rule.into(),
        })
    }
}
