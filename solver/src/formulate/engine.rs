//! The linear-programming engine, kept at arm's length. The only file that names it.
//!
//! The engine is good_lp's `minilp` feature (served by microlp). Its answers are a starting point
//! for our own basis and proof, never printed: it has been seen to call feasible problems
//! infeasible, to cycle, and to answer NaN with a wrong optimum. So: nothing that is not finite
//! reaches it, a time limit ends a cycle, a panic is caught, and no status of it is believed.

use super::lp::BoxedLp;
use good_lp::solvers::microlp::microlp;
use good_lp::{
    Expression, Solution, SolverModel, Variable, WithTimeLimit, constraint, variable, variables,
};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Seconds after which the engine is stopped; what then answers is our own pivots.
const TIME_LIMIT_S: f64 = 1.0;
/// Smallest and largest size of a coefficient that the engine is given.
const COEFFICIENTS: std::ops::RangeInclusive<f64> = 1e-9..=1e6;
/// Most variables that the engine is given.
const MOST_COLUMNS: usize = 2000;

/// Why the engine gave no point.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EngineFault {
    /// The problem holds a number that the engine mishandles.
    Unfit,
    /// It stopped with a panic.
    Panicked,
    /// It gave a verdict (infeasible, unbounded, singular, time limit) instead of a point.
    Refused(String),
}

/// Anything that proposes an optimal point of a boxed linear program.
pub trait Engine: Sync {
    /// A proposal, in the order of the columns.
    fn propose(&self, program: &Program<'_>) -> Result<Vec<f64>, EngineFault>;
}

/// The program as an engine sees it: minimise `cost` x with rows A x = b inside bounds.
pub struct Program<'a> {
    lp: &'a BoxedLp,
    cost: &'a [f64],
}

impl<'a> Program<'a> {
    pub(super) const fn new(lp: &'a BoxedLp, cost: &'a [f64]) -> Self {
        Self { lp, cost }
    }

    /// How many variables there are.
    pub fn columns(&self) -> usize {
        self.lp.columns()
    }

    /// True where every number is one that the engine handles.
    fn is_fit(&self) -> bool {
        let fit = |a: &f64| *a == 0.0 || COEFFICIENTS.contains(&a.abs());
        self.columns() <= MOST_COLUMNS
            && self.lp.a.iter().all(fit)
            && self.cost.iter().all(fit)
            && self.lp.b.iter().all(|b| b.is_finite())
            && (0..self.columns()).all(|j| {
                let (low, high) = (self.lp.lower[j], self.lp.upper[j]);
                low.is_finite() && high.is_finite() && low <= high
            })
    }
}

/// The engine of the customer's design card.
#[derive(Clone, Copy, Debug, Default)]
pub struct Minilp;

impl Engine for Minilp {
    fn propose(&self, program: &Program<'_>) -> Result<Vec<f64>, EngineFault> {
        if !program.is_fit() {
            return Err(EngineFault::Unfit);
        }
        let (lp, cost) = (program.lp, program.cost);
        let mut vars = variables!();
        let columns: Vec<Variable> = (0..lp.columns())
            .map(|j| vars.add(variable().min(lp.lower[j]).max(lp.upper[j])))
            .collect();
        let objective: Expression = columns.iter().zip(cost).map(|(x, c)| *c * *x).sum();
        let mut model = vars
            .minimise(objective)
            .using(microlp)
            .with_time_limit(TIME_LIMIT_S);
        for row in 0..lp.rows() {
            let terms = columns.iter().enumerate().filter_map(|(j, x)| {
                let a = lp.a[(row, j)];
                (a != 0.0).then(|| a * *x)
            });
            model.add_constraint(constraint!(terms.sum::<Expression>() == lp.b[row]));
        }
        let solution = model
            .solve()
            .map_err(|error| EngineFault::Refused(error.to_string()))?;
        Ok(columns.iter().map(|x| solution.value(*x)).collect())
    }
}

/// Asks the engine and lets nothing of its faults through but their name.
pub(crate) fn guarded(
    engine: &dyn Engine,
    lp: &BoxedLp,
    cost: &[f64],
) -> Result<Vec<f64>, EngineFault> {
    let program = Program::new(lp, cost);
    let proposal = catch_unwind(AssertUnwindSafe(|| engine.propose(&program)))
        .map_err(|_| EngineFault::Panicked)??;
    if proposal.len() == lp.columns() && proposal.iter().all(|x| x.is_finite()) {
        Ok(proposal)
    } else {
        Err(EngineFault::Unfit)
    }
}
