//! Searches around the linear program, for what it cannot say itself: the strength at which the
//! finished solution reads an EC, the alkalinity to leave so that it has a pH.
//!
//! In: a request.  Out: the settled problem with its optimum. Every step is a whole formulation.

use super::bracket::Bracket;
use super::engine::Engine;
use super::lp::Stuck;
use super::problem::{Acidity, Problem, Setting};
use super::request::{AcidityAsk, End, FormulateRequest, Strength};
use super::stages::{self, Solved};
use super::sure::Guards;
use super::{no_answer, write};
use crate::chemistry::{Carbon, LOG_PCO2_AIR, NotConverged};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::words::figure;
use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::{Dose, Problem as Fault};

/// How closely an EC is reached, relative: a tenth of what is promised.
const EC_REACHED: f64 = 1e-4;
/// How closely a pH is reached.
const PH_REACHED: f64 = 1e-4;
/// How closely the alkalinity asked for is the one that its solution needs, meq/L, where no acid or
/// base can follow.
const RESIDUAL_REACHED: f64 = 1e-9;
/// Formulations after which a search is given up; a smooth one takes four to six.
const MOST_STEPS: usize = 60;

/// A formulation at a setting.
pub(crate) struct Settled {
    pub setting: Setting,
    pub problem: Problem,
    pub solved: Solved,
    /// True where two mixes that are equally close were poured together to reach an EC.
    pub is_poured: bool,
}

/// What every step of a search needs.
pub(crate) struct Search<'a> {
    pub request: &'a FormulateRequest,
    pub engine: &'a dyn Engine,
    pub twins: &'a [(usize, usize)],
    pub source: &'a Source<'a>,
    /// How far assays may be off before a band is left, where that is asked.
    pub guards: Option<&'a Guards>,
}

impl Search<'_> {
    /// Settles everything that the request leaves open.
    pub fn settle(&self) -> Result<Settled, Refusal> {
        match self.request.strength {
            Strength::Factor(strength) => self.at_strength(strength),
            Strength::ToEc(ec) => self.to_ec(ec),
        }
    }

    /// The formulation at a setting.
    pub fn solve(&self, setting: Setting) -> Result<Settled, Refusal> {
        let mut problem = Problem::new(self.request, setting);
        if let Some(guards) = self.guards {
            problem = problem.guarded(self.request, guards);
        }
        let solved = stages::solve(&problem, self.engine, self.request.simplest, self.twins)
            .map_err(|_: Stuck| no_answer())?;
        Ok(Settled {
            setting,
            problem,
            solved,
            is_poured: false,
        })
    }

    fn in_tank(&self, settled: &Settled) -> Vec<Dose> {
        write::in_tank(self.request, &settled.problem, &settled.solved)
    }

    /// The formulation at a strength, with the acid that the request asks for.
    fn at_strength(&self, strength: f64) -> Result<Settled, Refusal> {
        let with = |acidity| Setting { strength, acidity };
        match self.request.acidity {
            AcidityAsk::Off => self.solve(with(None)),
            AcidityAsk::Residual(residual) => self.solve(with(Some(Acidity {
                residual_meq_l: residual.0,
                exact: false,
            }))),
            AcidityAsk::Ph { ph, end } => self.to_ph(strength, ph, end),
        }
    }

    /// The alkalinity to leave so that the finished solution has a pH.
    ///
    /// What a solution of this pH leaves depends on what is in it, and what is in it on what is to
    /// be left: sought is the residual that its own solution needs. Each formulation tells the
    /// next; once one asked for too little and one for too much, false position between them.
    fn to_ph(&self, strength: f64, ph: f64, end: End) -> Result<Settled, Refusal> {
        let carbon = match end {
            End::Closed => Carbon::Closed,
            End::Open => Carbon::Open(LOG_PCO2_AIR),
        };
        let unsolved = |NotConverged| no_answer();
        let ph_off = |mix: &[Dose]| Ok(self.source.ph(mix, carbon).map_err(unsolved)? - ph);
        let mut bracket = Bracket::default();
        let mut residual_meq_l = super::request::RESIDUAL_MEQ_L;
        let mut before: Option<(f64, f64)> = None;
        for step in 0..MOST_STEPS {
            let acidity = Some(Acidity {
                residual_meq_l,
                exact: true,
            });
            let settled = self.solve(Setting { strength, acidity })?;
            let mix = self.in_tank(&settled);
            if ph_off(&mix)?.abs() <= PH_REACHED {
                return Ok(settled);
            }
            let needs = self.source.alkalinity_at_ph(&mix, carbon, ph);
            let missing = needs.map_err(unsolved)? - residual_meq_l;
            if missing.abs() <= RESIDUAL_REACHED {
                // Asked for what it needs, and no acid or base to give it: a conflict.
                return Ok(settled);
            }
            bracket.narrow(residual_meq_l, -missing, settled);
            if bracket.is_leap() {
                return self.poured_together(bracket, PH_REACHED, &ph_off);
            }
            let here = (residual_meq_l, missing);
            residual_meq_l = match bracket.between(step) {
                Some(between) => between,
                None => residual_meq_l + missing * stride(before, here),
            };
            before = Some(here);
        }
        Err(no_answer())
    }

    /// The strength at which the finished solution reads an EC.
    ///
    /// EC rises with strength, nearly in a straight line: false position between a strength that
    /// reads too low and one that reads too high.
    fn to_ec(&self, aim_ms_cm: f64) -> Result<Settled, Refusal> {
        let already = self.ec_ms_cm(&self.request.already)?;
        if already >= aim_ms_cm {
            return Err(too_strong(already, aim_ms_cm));
        }
        let ec_off = |mix: &[Dose]| Ok(self.ec_ms_cm(mix)? - aim_ms_cm);
        let reached = EC_REACHED * aim_ms_cm;
        let mut bracket = Bracket::from_nothing(already - aim_ms_cm);
        let mut strength = 1.0;
        for step in 0..MOST_STEPS {
            let settled = self.at_strength(strength)?;
            let off = ec_off(&self.in_tank(&settled))?;
            if off.abs() <= reached {
                return Ok(settled);
            }
            bracket.narrow(strength, off, settled);
            if bracket.is_leap() {
                return self.poured_together(bracket, reached, &ec_off);
            }
            strength = match bracket.between(step) {
                Some(between) => between,
                None => {
                    // Not strong enough yet: a little beyond a straight line, tenfold at most.
                    let gained = off + aim_ms_cm - already;
                    let needed = 1.01 * (aim_ms_cm - already) / gained;
                    strength * if gained > 0.0 { needed } else { 10.0 }.clamp(1.01, 10.0)
                }
            };
            if strength > Limits::STRENGTH.high {
                return Err(too_weak(off + aim_ms_cm, aim_ms_cm));
            }
            if strength < Limits::STRENGTH.low {
                return Err(too_strong(off + aim_ms_cm, aim_ms_cm));
            }
        }
        Err(no_answer())
    }

    /// The mix between two that are equally close, where the answer leaps from one to the other and
    /// what is sought lies in the leap.
    ///
    /// At the leap both ends are optima of the closest stage, and so is every share of one with the
    /// rest of the other. A later stage keeps its proof only where both ends are as good in it.
    fn poured_together(
        &self,
        bracket: Bracket,
        reached: f64,
        off: &dyn Fn(&[Dose]) -> Result<f64, Refusal>,
    ) -> Result<Settled, Refusal> {
        let (low, mut between) = bracket.into_ends().ok_or_else(no_answer)?;
        between.is_poured = true;
        between.solved.keep_shared(&low.solved);
        let high = between.solved.grams.clone();
        let mut shares = (0.0, 1.0);
        for _ in 0..MOST_STEPS {
            let share = f64::midpoint(shares.0, shares.1);
            let grams = low.solved.grams.iter().zip(&high);
            between.solved.grams = grams.map(|(a, b)| a + share * (b - a)).collect();
            let off = off(&self.in_tank(&between))?;
            if off.abs() <= reached {
                return Ok(between);
            }
            if off < 0.0 {
                shares.0 = share;
            } else {
                shares.1 = share;
            }
        }
        Err(no_answer())
    }

    fn ec_ms_cm(&self, mix: &[Dose]) -> Result<f64, Refusal> {
        self.source
            .ec_ms_cm(mix)
            .map_err(|NotConverged| no_answer())
    }
}

/// How far to go from a residual towards what its solution needs, as a share of the way: all of it
/// at first, then as the last two tries suggest.
fn stride(before: Option<(f64, f64)>, here: (f64, f64)) -> f64 {
    let Some(before) = before else { return 1.0 };
    let slope = (here.1 - before.1) / (here.0 - before.0);
    if slope < 0.0 {
        (-1.0 / slope).clamp(0.2, 8.0)
    } else {
        2.0
    }
}

/// An EC with no more digits than a meter has.
fn reading(ec_ms_cm: f64) -> String {
    figure((1000.0 * ec_ms_cm).round() / 1000.0)
}

fn too_strong(reads: f64, aim: f64) -> Refusal {
    let what = format!(
        "the water and what is in it already read {} mS/cm, and {} are asked for",
        reading(reads),
        figure(aim)
    );
    let mend = "Use a purer water or blend it, or ask for a higher EC.".to_owned();
    Refusal::of("strength", Fault::NoAnswer { what, mend })
}

fn too_weak(reads: f64, aim: f64) -> Refusal {
    let what = format!(
        "with these fertilizers the solution reads {} mS/cm at most, and {} are asked for",
        reading(reads),
        figure(aim)
    );
    let mend = "Allow more fertilizers, or ask for a lower EC.".to_owned();
    Refusal::of("strength", Fault::NoAnswer { what, mend })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_residual_goes_on_as_the_last_two_tries_suggest() {
        let went = |before, here, far: f64| (stride(before, here) - far).abs() < 1e-12;
        assert!(went(None, (1.0, 0.4), 1.0));
        // Of two meq/L more 0.8 were of use: 2.5 times as far.
        assert!(went(Some((1.0, 2.0)), (3.0, 1.2), 2.5));
        assert!(went(Some((1.0, 2.0)), (1.1, -8.0), 0.2));
        // Away from the aim: another try, not backwards.
        assert!(went(Some((1.0, 2.0)), (2.0, 2.5), 2.0));
    }
}
