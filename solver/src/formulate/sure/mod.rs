//! Bands that hold for any bag within its tolerance, or with a stated probability; and what that
//! safety costs.
//!
//! The worst case is linear: what a fertilizer brings is never negative, so a minimum is in most
//! danger where every assay is low and a maximum where every one is high (Soyster 1973, Operations
//! Research 21, 1154-1157, from memory). For a probability each row guards against a share of its
//! worst case, its budget (after Bertsimas and Sim 2004, Operations Research 52, 35-53, from memory);
//! the budgets are sought so that all bands together hold as often as asked, by the distribution of
//! the sums themselves, each assay anywhere within its tolerance alike and on its own.

mod guards;
mod odds;
mod report;
mod sums;

pub use guards::Guards;
pub use report::{CurvePoint, SureReport};

use super::engine::Engine;
use super::report::{FormulateReport, Outcome};
use super::request::FormulateRequest;
use super::stages::Stage;
use super::{Worked, search::Settled};
use crate::refusal::Refusal;
use crate::words::spread as words;
use odds::Odds;

/// How sure the bands are to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sure {
    /// For every assay within its tolerance.
    WorstCase,
    /// All bands together with this probability.
    Probability(f64),
}

/// Shares of the worst case at which the cost of safety is told.
const CURVE: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
/// Formulations that settle the budgets at one probability of a row.
const MOST_ROUNDS: usize = 5;
/// How closely budgets must agree with the mix that they lead to.
const SETTLED: f64 = 2e-3;
/// How often the probability of a row is doubled or halved.
const MOST_STEPS: usize = 8;
/// Formulations that find the largest share of the tolerances that can be guarded against.
const SHARE_STEPS: usize = 10;

/// Formulates so that the bands are sure to hold.
pub(super) fn formulate(
    request: &FormulateRequest,
    sure: Sure,
    engine: &dyn Engine,
) -> Result<FormulateReport, Refusal> {
    let request = &FormulateRequest {
        ranges: Some(request.ranges.unwrap_or_default()),
        ..request.clone()
    };
    let seeking = Seeking { request, engine };
    let plain = Worked::of(request, engine)?;
    let (found, reached) = match sure {
        Sure::Probability(asked) if asked < 1.0 => seeking.probable(asked, &plain.settled)?,
        _ => (seeking.guarded(&Guards::uniform(1.0))?, None),
    };
    let nominal = plain.report()?;
    let mut report = found.report()?;
    let mut told = SureReport::new(sure, reached, &report, &nominal);
    for share in CURVE {
        let at = seeking.guarded(&Guards::uniform(share))?;
        told.curve.push(at.point(share)?);
    }
    if report.outcome == Outcome::OutsideBands && nominal.outcome == Outcome::WithinBands {
        let possible = seeking.largest_share()?;
        told.possible_share_pct = Some(100.0 * possible);
        told.stands_in_the_way = seeking.in_the_way(&plain)?;
    }
    told.words = words::sure(&told, report.outcome, nominal.outcome);
    report.sure = Some(told);
    Ok(report)
}

/// What every formulation on the way needs.
struct Seeking<'a> {
    request: &'a FormulateRequest,
    engine: &'a dyn Engine,
}

impl<'a> Seeking<'a> {
    fn guarded(&self, guards: &Guards) -> Result<Worked<'a>, Refusal> {
        Worked::guarded(self.request, self.engine, Some(guards))
    }

    /// The mix whose bands hold together as often as asked, and how often they do.
    ///
    /// Every side of a band may be left equally seldom; that chance is doubled while the bands
    /// still hold as often as asked, for many of them are in no danger. Where no budget is enough
    /// the worst case is, where it can be had.
    fn probable(&self, asked: f64, plain: &Settled) -> Result<(Worked<'a>, Option<f64>), Refusal> {
        let sides = plain.problem.rows.iter();
        let sides: usize = sides
            .map(|row| usize::from(row.min.is_some()) + usize::from(row.max.is_some()))
            .sum();
        #[allow(clippy::cast_precision_loss)] // a handful of rows
        let mut chance = (1.0 - asked) / sides.max(1) as f64;
        let mut best: Option<(Worked<'a>, f64)> = None;
        for _ in 0..MOST_STEPS {
            let tried = self.with_chance(chance)?;
            let holds = Odds::of(&tried).all();
            if holds >= asked && !tried.settled.solved.outside {
                best = Some((tried, holds));
                chance *= 2.0;
                if chance > 0.5 {
                    break;
                }
            } else if best.is_some() {
                break;
            } else if tried.settled.solved.outside {
                return Ok((tried, Some(holds)));
            } else {
                chance *= 0.5;
            }
        }
        if let Some((found, holds)) = best {
            return Ok((found, Some(holds)));
        }
        let worst = self.guarded(&Guards::uniform(1.0))?;
        let holds = Odds::of(&worst).all();
        Ok((worst, Some(holds)))
    }

    /// The mix each of whose band ends is left with at most this probability.
    fn with_chance(&self, chance: f64) -> Result<Worked<'a>, Refusal> {
        let mut guards = Guards::uniform(1.0);
        let mut found = self.guarded(&guards)?;
        for _ in 0..MOST_ROUNDS {
            let next = Odds::of(&found).budgets(chance);
            let pairs = guards.0.iter().flatten().zip(next.0.iter().flatten());
            let moved = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            guards = next;
            found = self.guarded(&guards)?;
            if moved <= SETTLED {
                break;
            }
        }
        Ok(found)
    }

    /// The largest share of all tolerances for which the bands can be kept in every case.
    fn largest_share(&self) -> Result<f64, Refusal> {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..SHARE_STEPS {
            let share = f64::midpoint(low, high);
            if self
                .guarded(&Guards::uniform(share))?
                .settled
                .solved
                .outside
            {
                high = share;
            } else {
                low = share;
            }
        }
        Ok(low)
    }

    /// Fertilizers of a mix, any one of which with exact assays would make it possible.
    fn in_the_way(&self, plain: &Worked<'_>) -> Result<Vec<String>, Refusal> {
        let mut ids = Vec::new();
        for dose in plain.doses() {
            let exact = self.request.with_exact(&dose.fertilizer.id);
            let found = Worked::guarded(&exact, self.engine, Some(&Guards::uniform(1.0)))?;
            if !found.settled.solved.outside {
                ids.push(dose.fertilizer.id.clone());
            }
        }
        Ok(ids)
    }
}

impl Worked<'_> {
    /// Cost and closeness, where the bands hold.
    fn point(&self, share: f64) -> Result<CurvePoint, Refusal> {
        let holds = !self.settled.solved.outside;
        let report = self.report()?;
        Ok(CurvePoint {
            tolerance_share_pct: 100.0 * share,
            holds,
            cost_per_m3: report.cost_per_m3.filter(|_| holds),
            closeness: closeness(&report).filter(|_| holds),
        })
    }
}

/// Sum of weighted relative deviations from the aims; none where the aims have no say.
fn closeness(report: &FormulateReport) -> Option<f64> {
    let closest = report.proof.iter().find(|row| row.stage == Stage::Closest);
    let has_aims = report.nutrients.iter().any(|row| row.aim.is_some());
    closest.filter(|_| has_aims).map(|row| row.objective)
}
