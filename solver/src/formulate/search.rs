//! Searches around the linear program, for what it cannot say itself: the strength at which the
//! finished solution reads an EC, the alkalinity to leave so that it has a pH.
//!
//! In: a request.  Out: the settled problem with its optimum. Every step is a whole formulation.

use super::engine::Engine;
use super::lp::Stuck;
use super::problem::{Acidity, Problem, Setting};
use super::request::{AcidityAsk, End, FormulateRequest, Strength};
use super::stages::{self, Solved};
use super::{no_answer, report};
use crate::chemistry::{Carbon, LOG_PCO2_AIR, NotConverged};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::words::figure;
use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::{Dose, Problem as Fault};

/// How closely an EC is reached, relative: a tenth of what is promised.
const EC_REACHED: f64 = 1e-4;
/// Formulations after which the search for a strength is given up.
const MOST_STRENGTHS: usize = 60;
/// Formulations after which the search halves: false position is quick where EC is smooth, and slow
/// at a leap.
const SMOOTH: usize = 12;
/// Width, relative, at which what lies between two strengths is a leap.
const LEAP: f64 = 1e-11;
/// How closely a pH is reached.
const PH_REACHED: f64 = 1e-4;
/// Formulations that a search for a pH may take.
const MOST_RESIDUALS: usize = 6;

/// A formulation at a setting.
pub(super) struct Settled {
    pub setting: Setting,
    pub problem: Problem,
    pub solved: Solved,
    /// True where two mixes that are equally close were poured together to reach an EC.
    pub is_poured: bool,
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
            is_poured: false,
        })
    }

    fn in_tank(&self, settled: &Settled) -> Vec<Dose> {
        report::in_tank(self.request, &settled.problem, &settled.solved)
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
    /// reads too low and one that reads too high. Where the answer leaps from one mix to another
    /// and the aim lies in the leap, the two are poured together.
    fn to_ec(&self, aim_ms_cm: f64) -> Result<Settled, Refusal> {
        let already = self.ec_ms_cm(&self.request.already)?;
        if already >= aim_ms_cm {
            return Err(too_strong(already, aim_ms_cm));
        }
        let mut bracket = Bracket::from_nothing(already - aim_ms_cm);
        let mut strength = 1.0;
        for step in 0..MOST_STRENGTHS {
            let settled = self.at_strength(strength)?;
            let reading = self.ec_ms_cm(&self.in_tank(&settled))?;
            let off = reading - aim_ms_cm;
            if off.abs() <= EC_REACHED * aim_ms_cm {
                return Ok(settled);
            }
            bracket.narrow(strength, off, settled);
            if bracket.is_leap() {
                return self.poured_together(bracket, aim_ms_cm);
            }
            strength = bracket.next(step);
            if strength > Limits::STRENGTH.high {
                return Err(too_weak(reading, aim_ms_cm));
            }
            if strength < Limits::STRENGTH.low {
                return Err(too_strong(reading, aim_ms_cm));
            }
        }
        Err(no_answer())
    }

    /// The mix between two that are equally close at one strength.
    ///
    /// At the strength where the answer leaps both ends are optima of the closest stage, and so is
    /// every share of one with the rest of the other. A later stage keeps its proof only where both
    /// ends are as good in it.
    fn poured_together(&self, bracket: Bracket, aim_ms_cm: f64) -> Result<Settled, Refusal> {
        let (Some(low), Some(high)) = (bracket.low.settled, bracket.high.settled) else {
            return Err(no_answer());
        };
        let mut between = high;
        between.is_poured = true;
        between.solved.keep_shared(&low.solved);
        let high = between.solved.grams.clone();
        let (mut at_low, mut at_high) = ((0.0, bracket.low.off), (1.0, bracket.high.off));
        for _ in 0..MOST_STRENGTHS {
            let share = at_low.0 + (at_high.0 - at_low.0) * at_low.1 / (at_low.1 - at_high.1);
            let grams = low.solved.grams.iter().zip(&high);
            between.solved.grams = grams.map(|(a, b)| a + share * (b - a)).collect();
            let off = self.ec_ms_cm(&self.in_tank(&between))? - aim_ms_cm;
            if off.abs() <= EC_REACHED * aim_ms_cm {
                return Ok(between);
            }
            if off < 0.0 {
                at_low = (share, off);
            } else {
                at_high = (share, off);
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

/// A strength that was tried, and by how much its EC misses the aim, mS/cm.
struct Tried {
    strength: f64,
    off: f64,
    /// The miss as false position weighs it: halved while the other end keeps moving.
    weighed: f64,
    settled: Option<Settled>,
}

/// Two strengths with the one sought between them (Illinois variant of false position, then
/// halving).
struct Bracket {
    low: Tried,
    high: Tried,
    /// What no fertilizer at all misses, mS/cm; below zero.
    nothing: f64,
    /// Which end moved last: -1 the low one, 1 the high one.
    side: i8,
}

impl Bracket {
    /// Between no fertilizer at all, which reads this much too low, and no limit.
    fn from_nothing(off: f64) -> Self {
        let end = |strength, off| Tried {
            strength,
            off,
            weighed: off,
            settled: None,
        };
        Self {
            low: end(0.0, off),
            high: end(f64::INFINITY, f64::INFINITY),
            nothing: off,
            side: 0,
        }
    }

    fn narrow(&mut self, strength: f64, off: f64, settled: Settled) {
        let tried = Tried {
            strength,
            off,
            weighed: off,
            settled: Some(settled),
        };
        let side = if off < 0.0 { -1 } else { 1 };
        let (moved, other) = match side {
            -1 => (&mut self.low, &mut self.high),
            _ => (&mut self.high, &mut self.low),
        };
        *moved = tried;
        if self.side == side {
            other.weighed *= 0.5;
        }
        self.side = side;
    }

    fn is_leap(&self) -> bool {
        let (low, high) = (self.low.strength, self.high.strength);
        high.is_finite() && high - low <= LEAP * high
    }

    /// The strength to try next.
    fn next(&self, step: usize) -> f64 {
        let (low, high) = (&self.low, &self.high);
        let width = high.strength - low.strength;
        if width.is_infinite() {
            // Not strong enough yet: tenfold at most, and a little beyond a straight line.
            return low.strength * self.straight_on().clamp(1.01, 10.0);
        }
        let share = if step < SMOOTH {
            low.weighed / (low.weighed - high.weighed)
        } else {
            0.5
        };
        low.strength + width * share.clamp(0.01, 0.99)
    }

    /// By what factor the strength would have to grow if EC rose in a straight line from nothing.
    fn straight_on(&self) -> f64 {
        let gained = self.low.off - self.nothing;
        if gained > 0.0 {
            -1.01 * self.nothing / gained
        } else {
            10.0
        }
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
