//! The problem of a formulation solved again and again: with some fertilizers shut out, a band
//! moved, another price.
//!
//! ```text
//! least sum beyond the bands; where that is nothing: nothing beyond, then least cost
//! ```

use crate::formulate::model::Model;
use crate::formulate::problem::Problem;
use crate::formulate::stages::{MOST_WIDENINGS, normalised};
use crate::lp::{BoxedLp, Simplex, Stuck};

/// Litres in a cubic metre.
const LITRES_PER_M3: f64 = 1000.0;
/// Sum of deviations beyond the bands, in aims, from which they count as not kept.
const KEPT: f64 = 1e-9;

/// A problem that is all priced, as a program.
pub(super) struct Program<'a> {
    pub problem: &'a Problem,
    pub model: Model,
}

/// What came of it.
pub(super) enum Outcome {
    /// The cheapest mix within the bands.
    Cheapest(Box<Optimum>),
    /// Some band must be left.
    Left(Box<Missed>),
}

/// The cheapest mix within the bands.
pub(super) struct Optimum {
    /// What 1,000 L cost.
    pub per_m3: f64,
    /// Grams per litre of every column of the problem.
    pub grams: Vec<f64>,
    /// Reduced costs, per 1,000 L and unit of each variable.
    pub d: Vec<f64>,
}

/// How far the bands must be left.
pub(super) struct Missed {
    /// In aims, summed.
    pub by: f64,
    /// Reduced costs of that sum.
    pub d: Vec<f64>,
}

impl Outcome {
    /// The cheapest mix, where the bands can be kept.
    pub fn kept(self) -> Option<Optimum> {
        match self {
            Self::Cheapest(optimum) => Some(*optimum),
            Self::Left(_) => None,
        }
    }
}

impl<'a> Program<'a> {
    pub fn new(problem: &'a Problem) -> Self {
        Self {
            problem,
            model: Model::new(problem),
        }
    }

    /// Solves the program as `shape` bends it.
    pub fn solve(&mut self, shape: &dyn Fn(&mut Model)) -> Result<Outcome, Stuck> {
        for _ in 0..MOST_WIDENINGS {
            let mut model = self.model.clone();
            shape(&mut model);
            let mut simplex = model.without_salts()?;
            let leaving = model.cost_of_leaving();
            simplex.optimise(&model.lp, &leaving)?;
            let by = simplex.objective(&leaving);
            if by > KEPT {
                if self.model.widen(self.problem, &simplex.x) {
                    continue;
                }
                let d = simplex.d;
                return Ok(Outcome::Left(Box::new(Missed { by, d })));
            }
            let lp = shut(&model, &simplex);
            let money = model.cost_of_money(self.problem).unwrap_or_default();
            let (cost, unit) = normalised(&money);
            simplex.optimise(&lp, &cost)?;
            if self.model.widen(self.problem, &simplex.x) {
                continue;
            }
            let per_m3 = unit * LITRES_PER_M3;
            return Ok(Outcome::Cheapest(Box::new(Optimum {
                per_m3: simplex.objective(&cost) * per_m3,
                grams: model.grams(self.problem, &simplex.x),
                d: simplex.d.iter().map(|d| d * per_m3).collect(),
            })));
        }
        Err(Stuck::Endless)
    }
}

/// The program with nothing beyond the bands.
fn shut(model: &Model, within: &Simplex) -> BoxedLp {
    let mut lp = model.lp.clone();
    for row in 0..lp.rows() {
        for slack in model.beyond(row) {
            lp.upper[slack] = within.x[slack].max(0.0);
        }
    }
    lp
}
