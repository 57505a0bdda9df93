//! How likely a mix keeps its bands, and which budgets would make each end likely enough.

use super::sums::Sum;
use super::{Guards, Worked};
use crate::formulate::problem::{Figure, Row};
use saltwright_fertilizers::{Aimed, Nutrient};

/// A figure with its band and how it is spread.
struct Spread {
    aimed: Aimed,
    delivered: f64,
    row: Row,
    sum: Sum,
}

/// What may happen to every figure of a mix.
pub(super) struct Odds(Vec<Spread>);

impl Odds {
    /// Of a formulation.
    pub fn of(worked: &Worked<'_>) -> Self {
        let (request, problem) = (worked.request, &worked.settled.problem);
        let doses = request.already.iter().cloned().chain(worked.doses());
        let doses: Vec<_> = doses.collect();
        let spread = problem.figures.iter().filter_map(|row| {
            let Figure::Nutrient(aimed) = row.figure else {
                return None;
            };
            let forms: Vec<Nutrient> = match aimed {
                Aimed::Form(nutrient) => vec![nutrient],
                Aimed::TotalN => Nutrient::N_FORMS.to_vec(),
            };
            let water = request.water.holds.aimed(aimed);
            let (mut delivered, mut parts) = (water, Vec::new());
            for nutrient in forms {
                // One bag is off once, however often it is used.
                let mut bags: Vec<(&str, f64)> = Vec::new();
                for dose in &doses {
                    let mg_l = dose.fertilizer.mg_per_g()[nutrient] * dose.amount.0;
                    let off = request.tolerance(&dose.fertilizer) * mg_l;
                    delivered += mg_l;
                    let id = dose.fertilizer.id.as_str();
                    match bags.iter_mut().find(|(known, _)| *known == id) {
                        Some((_, sum)) => *sum += off,
                        None => bags.push((id, off)),
                    }
                }
                parts.extend(bags.into_iter().map(|(_, off)| off));
            }
            Some(Spread {
                aimed,
                delivered,
                row: *row,
                sum: Sum::of(&parts),
            })
        });
        Self(spread.collect())
    }

    /// A probability with which all bands hold together at least.
    ///
    /// Different nutrients are off independently; total nitrogen depends on its forms, so what it
    /// may miss is taken off in full.
    pub fn all(&self) -> f64 {
        let (mut forms, mut total_n) = (1.0, 1.0);
        for spread in &self.0 {
            if spread.aimed == Aimed::TotalN {
                total_n = spread.holds();
            } else {
                forms *= spread.holds();
            }
        }
        (forms + total_n - 1.0).max(0.0)
    }

    /// For each end of a band the share of its worst case that is exceeded with this probability.
    pub fn budgets(&self, probability: f64) -> Guards {
        let mut guards = Guards::uniform(1.0);
        for spread in &self.0 {
            if spread.sum.reach > 0.0 {
                let share = spread.sum.exceeded(probability) / spread.sum.reach;
                guards.0[spread.aimed.index()] = [share; 2];
            }
        }
        guards
    }
}

impl Spread {
    /// Probability that the band holds.
    fn holds(&self) -> f64 {
        // What misses by rounding alone has not left its band.
        let slack = 1e-9 * self.row.scale();
        let max = self.row.max.map(|max| max - self.delivered + slack);
        let min = self.row.min.map(|min| self.delivered - min + slack);
        let below = max.map_or(1.0, |room| self.sum.at_most(room));
        let above = min.map_or(1.0, |room| self.sum.at_most(room));
        (below + above - 1.0).max(0.0)
    }
}
