//! Searches around the linear program, for what it cannot say itself: the strength at which the
//! finished solution reads an EC, the alkalinity to leave so that it has a pH.
//!
//! In: a request.  Out: the settled problem with its optimum. Every step is a whole formulation.

use super::engine::Engine;
use super::lp::Stuck;
use super::problem::{Acidity, Problem, Setting};
use super::request::{AcidityAsk, End, FormulateRequest, Strength};
use super::stages::{self, Solved};
use super::{no_answer, write};
use crate::chemistry::{Carbon, LOG_PCO2_AIR, NotConverged};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::words::figure;
use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::{Dose, Problem as Fault};

/// How closely an EC is reached, relative: a tenth of what is promised.
const EC_REACHED: f64 = 1e-4;
/// Formulations after which the search for a strength is given up.
const MOST_STRENGTHS: usize = 40;
/// How closely a pH is reached.
const PH_REACHED: f64 = 1e-4;
/// Formulations that a search for a pH may take.
const MOST_RESIDUALS: usize = 6;

/// A formulation at a setting.
pub(super) struct Settled {
    pub setting: Setting,
    pub problem: Problem,
    pub solved: Solved,
}

/// What every step of a search needs.
pub(super) struct Search<'a> {
    pub request: &'a FormulateRequest,
    pub engine: &'a dyn Engine,
    pub twins: &'a [(usize, usize)],
    pub source: &'a Source<'a>,
}

impl Search<'_> {
    /// Settles everything that the request leaves open.
    pub fn settle(&self) -> Result<Settled, Refusal> {
        match self.request.strength {
            Strength::Factor(strength) => self.at_strength(strength),
            Strength::ToEc(ec) => self.to_ec(ec),
        }
    }

    fn solve(&self, setting: Setting) -> Result<Settled, Refusal> {
        let problem = Problem::new(self.request, setting);
        let solved = stages::solve(&problem, self.engine, self.request.simplest, self.twins)
            .map_err(|_: Stuck| no_answer())?;
        Ok(Settled {
            setting,
            problem,
            solved,
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
    /// What a solution of this pH leaves depends on what is in it, and what is in it hardly on what
    /// is left: starting from the solution itself, each formulation tells the next.
    fn to_ph(&self, strength: f64, ph: f64, end: End) -> Result<Settled, Refusal> {
        let carbon = match end {
            End::Closed => Carbon::Closed,
            End::Open => Carbon::Open(LOG_PCO2_AIR),
        };
        let mut residual_meq_l = super::request::RESIDUAL_MEQ_L;
        let mut settled = None;
        for _ in 0..MOST_RESIDUALS {
            let acidity = Some(Acidity {
                residual_meq_l,
                exact: true,
            });
            let found = self.solve(Setting { strength, acidity })?;
            let mix = self.in_tank(&found);
            let unsolved = |NotConverged| no_answer();
            let needs = self.source.alkalinity_at_ph(&mix, carbon, ph);
            let reached = self.source.ph(&mix, carbon).map_err(unsolved)?;
            settled = Some(found);
            if (reached - ph).abs() <= PH_REACHED {
                break;
            }
            residual_meq_l = needs.map_err(unsolved)?;
        }
        settled.ok_or_else(no_answer)
    }

    /// The strength at which the finished solution reads an EC.
    ///
    /// EC rises with strength, nearly in a straight line: false position between a strength that
    /// reads too low and one that reads too high (Illinois variant).
    fn to_ec(&self, aim_ms_cm: f64) -> Result<Settled, Refusal> {
        let already = self.ec_ms_cm(&self.request.already)?;
        if already >= aim_ms_cm {
            return Err(too_strong(already, aim_ms_cm));
        }
        let (mut low, mut high): (f64, Option<(f64, f64)>) = (0.0, None);
        let mut low_off = already - aim_ms_cm;
        let mut strength = 1.0;
        let mut side = 0_i8;
        for _ in 0..MOST_STRENGTHS {
            let settled = self.at_strength(strength)?;
            let reading = self.ec_ms_cm(&self.in_tank(&settled))?;
            let off = reading - aim_ms_cm;
            let bracket = high.map_or(f64::INFINITY, |(high, _)| high - low);
            if off.abs() <= EC_REACHED * aim_ms_cm || bracket <= 1e-12 * strength {
                return Ok(settled);
            }
            if off < 0.0 {
                if side == -1 {
                    high = high.map(|(at, off)| (at, 0.5 * off));
                }
                (low, low_off, side) = (strength, off, -1);
            } else {
                if side == 1 {
                    low_off *= 0.5;
                }
                (high, side) = (Some((strength, off)), 1);
            }
            strength = match high {
                Some((high, high_off)) => {
                    low + (high - low) * (low_off / (low_off - high_off)).clamp(0.01, 0.99)
                }
                // Not strong enough yet: straight on, a little beyond, at most tenfold.
                None => {
                    let gained = reading - already;
                    let needed = (aim_ms_cm - already) / gained;
                    strength * if gained > 0.0 { 1.01 * needed } else { 10.0 }.clamp(1.01, 10.0)
                }
            };
            if strength > Limits::STRENGTH.high {
                return Err(too_weak(reading, aim_ms_cm));
            }
            if strength < Limits::STRENGTH.low {
                return Err(too_strong(reading, aim_ms_cm));
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

fn too_strong(reads: f64, aim: f64) -> Refusal {
    let what = format!(
        "the water and what is in it already read {} mS/cm, and {} are asked for",
        figure(reads),
        figure(aim)
    );
    let mend = "Use a purer water or blend it, or ask for a higher EC.".to_owned();
    Refusal::of("strength", Fault::NoAnswer { what, mend })
}

fn too_weak(reads: f64, aim: f64) -> Refusal {
    let what = format!(
        "with these fertilizers the solution reads {} mS/cm at most, and {} are asked for",
        figure(reads),
        figure(aim)
    );
    let mend = "Allow more fertilizers, or ask for a lower EC.".to_owned();
    Refusal::of("strength", Fault::NoAnswer { what, mend })
}
