//! Prices that decide: at which price an unused fertilizer comes in, how far the price of a used
//! one may move, what room in a band would save.
//!
//! A mix stays cheapest until some small step away from it stops costing. For one price that is a
//! small program of its own: the fertilizer is forced up or down by a little, the rest makes up for
//! it as cheaply as it can, and what that costs is the price at which it pays. Exact also where
//! many programs describe one mix, where reading it off a basis is wrong about every second time
//! (measured, DEVELOPERS.md). Every end is then held against a re-solve on either side.

use super::program::{Outcome, Program};
use super::report::{BreakEven, HoldsWhile, Loosened};
use crate::formulate::model::{Model, Slack};
use crate::formulate::problem::{Figure, Problem};
use crate::formulate::request::{Candidate, FormulateRequest};
use crate::formulate::stages::{Priced, Solved, normalised};
use crate::lp::{ON_BOUND, Simplex, Stuck};
use crate::words::substitute as words;
use saltwright_fertilizers::document::Limits;

/// How far beyond an end, of the way to it and of the price, a re-solve looks.
const BEYOND_END: (f64, f64) = (1e-3, 1e-5);
/// How far a fertilizer has to move, as a share of an aim, to make another mix.
const MOVED: f64 = 1e-7;
/// Share of a price that is rounding.
const ROUNDING: f64 = 1e-9;
/// Halvings until an end is found where the small program and the re-solve disagree.
const HALVINGS: usize = 60;
/// Grams in a kilogram.
const G_PER_KG: f64 = 1000.0;

/// The cheapest stage at the mix that is shown.
pub(super) struct Deciding<'a> {
    request: &'a FormulateRequest,
    problem: &'a Problem,
    model: &'a Model,
    priced: &'a Priced,
    at: Simplex,
}

/// Which way a price moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Down,
    Up,
}

impl<'a> Deciding<'a> {
    /// From a settled formulation; `None` where no cheapest stage stands behind its mix.
    pub fn of(
        request: &'a FormulateRequest,
        problem: &'a Problem,
        solved: &'a Solved,
    ) -> Result<Option<Self>, Stuck> {
        let (Some(priced), Some(last)) = (&solved.cheapest, &solved.last) else {
            return Ok(None);
        };
        let mut at = last.clone();
        at.optimise(&priced.lp, &priced.cost)?;
        Ok(Some(Self {
            request,
            problem,
            model: &solved.model,
            priced,
            at,
        }))
    }

    fn candidate(&self, column: usize) -> &Candidate {
        &self.request.choice[self.problem.columns[column].candidate]
    }

    /// What one unit of the program's cost is as a price per kilogram of a fertilizer.
    fn per_kg(&self, salt: usize) -> f64 {
        self.priced.unit * self.model.column_scale[salt] * G_PER_KG
    }

    /// Every column with its price and its place among the model's fertilizers.
    fn columns(&self, used: &[f64], wanted: bool) -> Vec<(usize, f64, Option<usize>)> {
        let columns = (0..self.problem.columns.len()).filter(|at| (used[*at] > 0.0) == wanted);
        columns
            .map(|column| {
                let price = self.candidate(column).price_per_kg.unwrap_or(0.0);
                let salt = self.model.salts.iter().position(|salt| *salt == column);
                (column, price, salt)
            })
            .collect()
    }

    /// The price at which each unused fertilizer comes in.
    pub fn break_even(&self, grams: &[f64]) -> Result<Vec<BreakEven>, Stuck> {
        let unused = self.columns(grams, false).into_iter();
        let rows = unused.map(|(column, price, salt)| {
            let price_per_kg = match salt {
                Some(salt) if self.may_rise(salt) => {
                    let paid = self.priced.simplex_rate(&self.at, salt, -1.0);
                    self.end(salt, price, paid.map(|rate| -rate), Way::Down)?
                }
                _ => None,
            };
            Ok(BreakEven {
                id: self.candidate(column).fertilizer.id.clone(),
                price_per_kg,
                price_now_per_kg: price,
            })
        });
        rows.collect()
    }

    /// The prices of each used fertilizer between which the mix stays a cheapest one.
    pub fn holds_while(&self, grams: &[f64]) -> Result<Vec<HoldsWhile>, Stuck> {
        let used = self.columns(grams, true).into_iter();
        let rows = used.map(|(column, price, salt)| {
            let (mut low_price, mut high_price) = (None, None);
            if let Some(salt) = salt {
                let mut fixed = self.priced.clone();
                fixed.lp.lower[salt] = self.at.x[salt];
                fixed.lp.upper[salt] = self.at.x[salt];
                if self.may_rise(salt) {
                    let rate = fixed.simplex_rate(&self.at, salt, -1.0);
                    low_price = self.end(salt, price, rate.map(|rate| -rate), Way::Down)?;
                }
                if self.at.x[salt] - self.priced.lp.lower[salt] > ON_BOUND {
                    let rate = fixed.simplex_rate(&self.at, salt, 1.0);
                    high_price = self.end(salt, price, rate, Way::Up)?;
                }
            }
            Ok(HoldsWhile {
                id: self.candidate(column).fertilizer.id.clone(),
                low_price,
                high_price,
                price_now_per_kg: price,
            })
        });
        rows.collect()
    }

    fn may_rise(&self, salt: usize) -> bool {
        self.priced.lp.upper[salt] - self.at.x[salt] > ON_BOUND
    }

    /// An end of a price as found, held against re-solves; `None` where no price that can be asked
    /// ends it. `found` is in the program's cost, prices are per kilogram.
    fn end(
        &self,
        salt: usize,
        price: f64,
        found: Option<f64>,
        way: Way,
    ) -> Result<Option<f64>, Stuck> {
        let last = match way {
            Way::Down => Limits::PRICE.low,
            Way::Up => Limits::PRICE.high,
        };
        let found = found.map(|rate| rate * self.per_kg(salt));
        let reachable = found.filter(|end| match way {
            Way::Down => *end > last + ROUNDING * price,
            Way::Up => *end < last,
        });
        let Some(end) = reachable else {
            return if self.stays(salt, last)? {
                Ok(None)
            } else {
                self.halved(salt, price, last).map(Some)
            };
        };
        // Rounding may put an end just on the wrong side of the price that is paid.
        let end = match way {
            Way::Down => end.min(price),
            Way::Up => end.max(price),
        };
        let (of_way, of_price) = BEYOND_END;
        let step = of_way * (end - price).abs() + of_price * end.abs().max(price);
        let (inside, outside) = match way {
            Way::Down => ((end + step).min(price), (end - step).max(0.0)),
            Way::Up => ((end - step).max(price), end + step),
        };
        if self.stays(salt, inside)? && (outside == 0.0 || !self.stays(salt, outside)?) {
            Ok(Some(end))
        } else if self.stays(salt, last)? {
            Ok(None)
        } else {
            self.halved(salt, price, last).map(Some)
        }
    }

    /// True where the mix is still a cheapest one at another price of one fertilizer: where it is
    /// not, there is more or less of that one in those that are.
    fn stays(&self, salt: usize, price_per_kg: f64) -> Result<bool, Stuck> {
        let mut cost = self.priced.cost.clone();
        cost[salt] = price_per_kg / self.per_kg(salt);
        let (cost, _) = normalised(&cost);
        let mut other = self.at.clone();
        other.refine(&self.priced.lp, &cost)?;
        Ok((other.x[salt] - self.at.x[salt]).abs() <= MOVED)
    }

    /// The price between one at which the mix stays and one at which it does not, by halving.
    fn halved(&self, salt: usize, stays: f64, leaves: f64) -> Result<f64, Stuck> {
        let (mut stays, mut leaves) = (stays, leaves);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(stays, leaves);
            if self.stays(salt, middle)? {
                stays = middle;
            } else {
                leaves = middle;
            }
        }
        Ok(stays)
    }
}

impl Priced {
    /// What the rest of a mix costs, in the program's cost, when it has to give (+1) or to do
    /// without (-1) what one unit of a fertilizer brings.
    fn simplex_rate(&self, at: &Simplex, salt: usize, sign: f64) -> Option<f64> {
        at.rate(&self.lp, &self.cost, salt, sign)
    }
}

/// Shares of a figure's measure that one would say: 1, 2 or 5 times a power of ten, at most a tenth
/// of it.
fn round_step(measure: f64) -> f64 {
    let tenth = measure / 10.0;
    let power = 10.0_f64.powf(tenth.log10().floor());
    let lead = tenth / power;
    let round = if lead >= 5.0 {
        5.0
    } else if lead >= 2.0 {
        2.0
    } else {
        1.0
    };
    round * power
}

/// What every band end that costs something would save if it were loosened a little.
pub(super) fn loosened(
    program: &mut Program<'_>,
    priced: &Priced,
    (cost_per_m3, currency): (f64, Option<&str>),
) -> Result<Vec<Loosened>, Stuck> {
    /// A saving, relative, below which there is none.
    const NOTHING: f64 = 1e-9;
    let mut rows = Vec::new();
    for (at, row) in program.problem.rows.iter().enumerate() {
        let Figure::Nutrient(nutrient) = row.figure else {
            continue;
        };
        let sides = [
            ("min", row.min, Slack::ShortInside),
            ("max", row.max, Slack::OverInside),
        ];
        for (side, bound, slack) in sides {
            let Some(bound_mg_l) = bound else { continue };
            let mut by_mg_l = round_step(row.scale());
            if side == "min" {
                by_mg_l = by_mg_l.min(bound_mg_l);
            }
            // Only an end that the cheapest mix lies at can save anything.
            let column = program.model.slack(at, slack);
            let at_end = priced.lp.upper[column] - priced.simplex.x[column] <= ON_BOUND;
            if by_mg_l <= 0.0 || !at_end {
                continue;
            }
            let wider = by_mg_l / row.scale();
            let outcome = program.solve(&|model| model.lp.upper[column] += wider)?;
            let Outcome::Cheapest(optimum) = outcome else {
                continue;
            };
            let saves_per_m3 = cost_per_m3 - optimum.per_m3;
            if saves_per_m3 > NOTHING * cost_per_m3.max(1e-6) {
                rows.push(Loosened {
                    nutrient,
                    side,
                    bound_mg_l,
                    by_mg_l,
                    saves_per_m3,
                    words: words::loosened(
                        nutrient,
                        side,
                        (bound_mg_l, by_mg_l),
                        (saves_per_m3, currency),
                    ),
                });
            }
        }
    }
    rows.sort_by(|a, b| b.saves_per_m3.total_cmp(&a.saves_per_m3));
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_at_most_a_tenth() {
        for (measure, step) in [
            (24.0, 2.0),
            (210.0, 20.0),
            (0.024, 0.002),
            (60.0, 5.0),
            (1.0, 0.1),
        ] {
            assert!(
                (round_step(measure) - step).abs() < 1e-12 * step,
                "{measure}"
            );
        }
    }
}
