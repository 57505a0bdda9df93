//! The linear-programming engine, kept at arm's length. The only file that names it.
//!
//! The engine is good_lp's `minilp` feature (served by microlp). Its answers are a starting point
//! for our own basis and proof, never printed: it has been seen to call feasible problems
//! infeasible, to cycle, and to answer NaN with a wrong optimum. So: nothing that is not finite
//! reaches it, a time limit ends a cycle, a panic is caught, and no status of it is believed.
//! Whole bags go through good_lp too; what is then solved is its microlp model, in slices, because
//! good_lp itself does not hand on a search that was stopped.

use super::lp::BoxedLp;
use good_lp::solvers::microlp::{MicroLpProblem, microlp};
use good_lp::{
    Expression, Solution, SolverModel, Variable, WithTimeLimit, constraint, variable, variables,
};
use microlp::{ResumeOptions, SolveOptions, SolveOutcome};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

/// Seconds after which the engine is stopped; what then answers is our own pivots.
const TIME_LIMIT_S: f64 = 1.0;
/// Seconds between two looks at a search for whole bags.
const SLICE_S: f64 = 0.2;
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
        let objective = sum(columns.iter().zip(cost).map(|(x, c)| (*c, *x)));
        let mut model = vars
            .minimise(objective)
            .using(microlp)
            .with_time_limit(TIME_LIMIT_S);
        for row in 0..lp.rows() {
            let terms = sum(columns
                .iter()
                .enumerate()
                .map(|(j, x)| (lp.a[(row, j)], *x)));
            model.add_constraint(constraint!(terms == lp.b[row]));
        }
        let solution = model
            .solve()
            .map_err(|error| EngineFault::Refused(error.to_string()))?;
        Ok(columns.iter().map(|x| solution.value(*x)).collect())
    }
}

/// The sum of these multiples, without those of nothing.
fn sum(terms: impl Iterator<Item = (f64, Variable)>) -> Expression {
    let mut sum = Expression::default();
    for (factor, variable) in terms.filter(|(factor, _)| *factor != 0.0) {
        sum.add_mul(factor, variable);
    }
    sum
}

/// A program some of whose columns only take multiples of a step: whole bags.
pub struct WholeProgram<'a> {
    lp: &'a BoxedLp,
    cost: &'a [f64],
    /// Column and size of its step.
    steps: &'a [(usize, f64)],
}

impl<'a> WholeProgram<'a> {
    pub(crate) const fn new(lp: &'a BoxedLp, cost: &'a [f64], steps: &'a [(usize, f64)]) -> Self {
        Self { lp, cost, steps }
    }

    /// How many variables there are.
    pub fn columns(&self) -> usize {
        self.lp.columns()
    }

    fn step(&self, column: usize) -> Option<f64> {
        let step = self.steps.iter().find(|(at, _)| *at == column);
        step.map(|(_, size)| *size)
    }

    /// The program as the engine takes it, bags counted; columns fixed at nothing are left out.
    fn model(&self) -> (MicroLpProblem, Vec<usize>) {
        let lp = self.lp;
        let mut vars = variables!();
        let mut columns: Vec<(usize, f64, Variable)> = Vec::new();
        for j in (0..lp.columns()).filter(|j| lp.upper[*j] != 0.0 || lp.lower[*j] != 0.0) {
            let (low, high) = (lp.lower[j], lp.upper[j]);
            let (unit, definition) = match self.step(j) {
                Some(size) => {
                    let count = |bound: f64| (bound / size).round();
                    let bounded = variable().min(count(low)).max(count(high));
                    (size, bounded.integer())
                }
                None => (1.0, variable().min(low).max(high)),
            };
            columns.push((j, unit, vars.add(definition)));
        }
        let terms = |of: &dyn Fn(usize) -> f64| -> Expression {
            sum(columns.iter().map(|(j, unit, x)| (of(*j) * unit, *x)))
        };
        let mut model = vars.minimise(terms(&|j| self.cost[j])).using(microlp);
        for row in 0..lp.rows() {
            model.add_constraint(constraint!(terms(&|j| lp.a[(row, j)]) == lp.b[row]));
        }
        (model, columns.into_iter().map(|(j, ..)| j).collect())
    }
}

/// How far a search for whole numbers has come.
#[derive(Clone, Debug, PartialEq)]
pub struct Sought {
    /// The best point so far, in the order of the columns.
    pub point: Option<Vec<f64>>,
    /// Seconds that the search has taken.
    pub seconds: f64,
    /// True once the engine calls the point an optimum.
    pub done: bool,
}

/// Anything that looks for the best point of a program with whole steps.
pub trait WholeEngine: Sync {
    /// Looks until the optimum is reached or `watch`, asked every now and then, says no.
    fn seek(
        &self,
        program: &WholeProgram<'_>,
        watch: &mut dyn FnMut(&Sought) -> bool,
    ) -> Result<Sought, EngineFault>;
}

impl WholeEngine for Minilp {
    fn seek(
        &self,
        program: &WholeProgram<'_>,
        watch: &mut dyn FnMut(&Sought) -> bool,
    ) -> Result<Sought, EngineFault> {
        let plain = Program::new(program.lp, program.cost);
        if !plain.is_fit()
            || program
                .steps
                .iter()
                .any(|(_, size)| *size < *COEFFICIENTS.start())
        {
            return Err(EngineFault::Unfit);
        }
        let refused = |error: microlp::Error| EngineFault::Refused(error.to_string());
        let (model, columns) = program.model();
        let slice = Some(Duration::from_secs_f64(SLICE_S));
        let mut options = SolveOptions::default();
        options.time_limit = slice;
        let mut outcome = model.as_inner().solve_with(options).map_err(refused)?;
        loop {
            let sought = read(&outcome, program, &columns);
            if sought.done || !watch(&sought) {
                return Ok(sought);
            }
            let mut options = ResumeOptions::default();
            options.time_limit = slice;
            outcome = outcome.resume_with(options).map_err(refused)?;
        }
    }
}

fn read(outcome: &SolveOutcome, program: &WholeProgram<'_>, columns: &[usize]) -> Sought {
    let point = outcome.solution().map(|solution| {
        let mut point = vec![0.0; program.lp.columns()];
        for (column, (_, value)) in columns.iter().zip(solution) {
            point[*column] = value * program.step(*column).unwrap_or(1.0);
        }
        point
    });
    let stats = outcome.stats();
    Sought {
        point,
        seconds: stats.elapsed.as_secs_f64(),
        done: outcome.is_optimal(),
    }
}

/// Asks for whole numbers and lets nothing of the engine's faults through but their name.
pub(crate) fn guarded_whole(
    engine: &dyn WholeEngine,
    program: &WholeProgram<'_>,
    watch: &mut dyn FnMut(&Sought) -> bool,
) -> Result<Sought, EngineFault> {
    catch_unwind(AssertUnwindSafe(|| engine.seek(program, watch)))
        .map_err(|_| EngineFault::Panicked)?
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
