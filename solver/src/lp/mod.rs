//! A linear program whose every variable has two finite bounds, and its simplex pivots.
//!
//! ```text
//! minimise c'x   subject to   A x = b,   lower <= x <= upper
//! ```
//!
//! Dense and small (about 17 rows by 120 columns): a tableau of columns, primal pivots with bound
//! flips, and at the end an LU of the original basis columns, so that what is handed on does not
//! carry the pivots' rounding.

mod dual;
mod factors;
pub mod proof;
mod rate;

use self::factors::Factors;
pub(crate) use dual::Again;
use nalgebra::{DMatrix, DVector};

/// Tolerance of pricing and of holding a stage, relative to a cost of about one. The two must be
/// one figure: with different ones, a stage's optimum moves visibly (measured, DEVELOPERS.md).
pub(crate) const REDUCED_COST: f64 = 1e-9;
/// Smallest pivot that is divided by.
const PIVOT: f64 = 1e-9;
/// Distance from a bound that counts as being on it.
pub(crate) const ON_BOUND: f64 = 1e-9;
/// Steps without progress after which the lowest index enters (Bland's rule, which cannot cycle).
const STALLED: usize = 50;
/// More pivots than this are an error, not a wait.
const MOST_PIVOTS: usize = 20_000;

/// The rows, columns and bounds.
#[derive(Clone, Debug)]
pub(crate) struct BoxedLp {
    /// Coefficients, one column a variable.
    pub a: DMatrix<f64>,
    /// Right sides.
    pub b: DVector<f64>,
    /// Lower bounds.
    pub lower: Vec<f64>,
    /// Upper bounds.
    pub upper: Vec<f64>,
}

impl BoxedLp {
    pub fn rows(&self) -> usize {
        self.a.nrows()
    }

    pub fn columns(&self) -> usize {
        self.a.ncols()
    }

    /// Coefficients of a variable.
    pub fn column(&self, j: usize) -> &[f64] {
        &self.a.as_slice()[j * self.rows()..(j + 1) * self.rows()]
    }

    /// `c - A'y`.
    pub fn reduced_costs(&self, cost: &[f64], y: &[f64]) -> Vec<f64> {
        let worth = |j: usize| -> f64 { self.column(j).iter().zip(y).map(|(a, y)| a * y).sum() };
        let costs = cost.iter().enumerate();
        costs.map(|(j, c)| c - worth(j)).collect()
    }

    /// Fixes every variable that an optimum would pay to move: what is left are exactly the points
    /// that are as good.
    pub fn hold(&mut self, optimum: &Simplex) {
        for (j, d) in optimum.d.iter().enumerate() {
            if !optimum.basic[j] && d.abs() > REDUCED_COST {
                self.lower[j] = optimum.x[j];
                self.upper[j] = optimum.x[j];
            }
        }
    }
}

/// Why the pivots stopped without an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stuck {
    /// The basis cannot be solved.
    Singular,
    /// The point lies outside its bounds.
    Outside,
    /// [`MOST_PIVOTS`] were not enough.
    Endless,
}

/// A basic point of a [`BoxedLp`] and the tableau that belongs to it.
#[derive(Clone, Debug)]
pub(crate) struct Simplex {
    /// `B^-1 A`, column by column.
    tableau: Vec<f64>,
    rows: usize,
    /// The variable that is basic in each row.
    pub basis: Vec<usize>,
    /// True where a variable is basic.
    pub basic: Vec<bool>,
    /// Values.
    pub x: Vec<f64>,
    /// Row prices of the last optimum.
    pub y: DVector<f64>,
    /// Reduced costs of the last optimum.
    pub d: Vec<f64>,
}

impl Simplex {
    /// The point with everything at its lower bound and each row closed by the given unit column.
    ///
    /// `closing` names for each row a column with coefficient +-1 in that row alone; `x` holds the
    /// values of all other columns.
    pub fn from_unit_basis(lp: &BoxedLp, closing: &[usize], x: Vec<f64>) -> Result<Self, Stuck> {
        let mut simplex = Self::blank(lp, x);
        for (row, column) in closing.iter().enumerate() {
            let sign = lp.a[(row, *column)];
            if sign.abs() < 0.5 {
                return Err(Stuck::Singular);
            }
            if sign < 0.0 {
                let row = simplex.tableau.iter_mut().skip(row).step_by(simplex.rows);
                row.for_each(|entry| *entry = -*entry);
            }
            simplex.enter(row, *column);
        }
        simplex.settle(lp)?;
        Ok(simplex)
    }

    /// A basic point near `point`: columns inside their bounds first, then slacks (the last
    /// columns) first, by elimination with the largest pivot in a free row.
    pub fn from_point(lp: &BoxedLp, point: &[f64]) -> Result<Self, Stuck> {
        let snapped = point
            .iter()
            .zip(lp.lower.iter().zip(&lp.upper))
            .map(|(x, (low, high))| if x - low <= high - x { *low } else { *high })
            .collect();
        let mut simplex = Self::blank(lp, snapped);
        let inside =
            |j: usize| point[j] > lp.lower[j] + ON_BOUND && point[j] < lp.upper[j] - ON_BOUND;
        let first = (0..lp.columns()).filter(|j| inside(*j));
        let then = (0..lp.columns()).rev().filter(|j| !inside(*j));
        let order: Vec<usize> = first.chain(then).collect();
        let mut free: Vec<bool> = vec![true; simplex.rows];
        let mut left = simplex.rows;
        for column in order {
            if left == 0 {
                break;
            }
            let entries = simplex.column(column);
            let best = (0..simplex.rows)
                .filter(|row| free[*row])
                .max_by(|a, b| entries[*a].abs().total_cmp(&entries[*b].abs()));
            if let Some(row) = best
                && entries[row].abs() >= PIVOT
            {
                simplex.pivot(row, column);
                simplex.enter(row, column);
                free[row] = false;
                left -= 1;
            }
        }
        if left > 0 {
            return Err(Stuck::Singular);
        }
        simplex.settle(lp)?;
        Ok(simplex)
    }

    fn blank(lp: &BoxedLp, x: Vec<f64>) -> Self {
        Self {
            tableau: lp.a.as_slice().to_vec(),
            rows: lp.rows(),
            basis: vec![usize::MAX; lp.rows()],
            basic: vec![false; lp.columns()],
            x,
            y: DVector::zeros(lp.rows()),
            d: vec![0.0; lp.columns()],
        }
    }

    fn enter(&mut self, row: usize, column: usize) {
        self.basis[row] = column;
        self.basic[column] = true;
    }

    fn column(&self, j: usize) -> &[f64] {
        &self.tableau[j * self.rows..(j + 1) * self.rows]
    }

    /// Makes `column` the unit column of `row`.
    fn pivot(&mut self, row: usize, column: usize) {
        let rows = self.rows;
        let pivot_column: Vec<f64> = self.column(column).to_vec();
        let inverse = 1.0 / pivot_column[row];
        for entries in self.tableau.chunks_exact_mut(rows) {
            let scaled = entries[row] * inverse;
            if scaled == 0.0 {
                continue;
            }
            for (entry, factor) in entries.iter_mut().zip(&pivot_column) {
                *entry -= factor * scaled;
            }
            entries[row] = scaled;
        }
    }

    /// Recomputes the basic values from the data; refuses a point outside its bounds.
    fn settle(&mut self, lp: &BoxedLp) -> Result<(), Stuck> {
        let factors = Factors::new(lp, &self.basis)?;
        self.settle_with(lp, &factors)?;
        let outside = |j: &usize| {
            let slack = 1e-7 * lp.upper[*j].abs().max(1.0);
            self.x[*j] < lp.lower[*j] - slack || self.x[*j] > lp.upper[*j] + slack
        };
        if self.basis.iter().any(outside) {
            return Err(Stuck::Outside);
        }
        Ok(())
    }

    fn settle_with(&mut self, lp: &BoxedLp, factors: &Factors) -> Result<(), Stuck> {
        let mut rest = lp.b.as_slice().to_vec();
        for (j, x) in self.x.iter().enumerate() {
            if !self.basic[j] && *x != 0.0 {
                for (rest, entry) in rest.iter_mut().zip(lp.column(j)) {
                    *rest -= x * entry;
                }
            }
        }
        let rest = factors.solve(&rest);
        for (row, column) in self.basis.iter().enumerate() {
            let value = rest[row];
            if !value.is_finite() {
                return Err(Stuck::Singular);
            }
            self.x[*column] = value;
        }
        Ok(())
    }

    /// Pivots to the optimum of `cost`, then recomputes values and prices from the data.
    ///
    /// Where the recomputed prices still leave something to gain, the pivots go on.
    pub fn optimise(&mut self, lp: &BoxedLp, cost: &[f64]) -> Result<(), Stuck> {
        for _ in 0..4 {
            let pivots = self.run(lp, cost)?;
            let factors = Factors::new(lp, &self.basis)?;
            self.settle_with(lp, &factors)?;
            self.y = self.prices(&factors, cost)?;
            self.d = lp.reduced_costs(cost, self.y.as_slice());
            if pivots == 0 || self.entering(lp, &self.d, false).is_none() {
                return Ok(());
            }
        }
        Ok(())
    }

    /// True where no pivot lowers this cost.
    pub fn is_optimal(&self, lp: &BoxedLp, cost: &[f64]) -> bool {
        self.entering(lp, &self.tableau_costs(cost), false)
            .is_none()
    }

    /// Pivots on where a thousandth of the usual tolerance can still be gained: prices far apart
    /// leave small ones below it.
    pub fn refine(&mut self, lp: &BoxedLp, cost: &[f64]) -> Result<(), Stuck> {
        const FINER: f64 = 1e3;
        let finer: Vec<f64> = cost.iter().map(|cost| cost * FINER).collect();
        self.optimise(lp, &finer)?;
        self.y /= FINER;
        for d in &mut self.d {
            *d /= FINER;
        }
        Ok(())
    }

    /// `y = B^-T c_B`.
    fn prices(&self, factors: &Factors, cost: &[f64]) -> Result<DVector<f64>, Stuck> {
        let basic: Vec<f64> = self.basis.iter().map(|j| cost[*j]).collect();
        let y = factors.solve_transposed(&basic);
        if y.iter().all(|price| price.is_finite()) {
            Ok(DVector::from_vec(y))
        } else {
            Err(Stuck::Singular)
        }
    }

    /// Reduced costs from the tableau.
    fn tableau_costs(&self, cost: &[f64]) -> Vec<f64> {
        let costly = self.basis.iter().map(|j| cost[*j]).enumerate();
        let costly: Vec<(usize, f64)> = costly.filter(|(_, cost)| *cost != 0.0).collect();
        let worth = |entries: &[f64]| -> f64 {
            costly.iter().map(|(row, cost)| cost * entries[*row]).sum()
        };
        let costs = cost.iter().enumerate();
        costs.map(|(j, c)| c - worth(self.column(j))).collect()
    }

    /// The variable that gains most by leaving its bound; with `first`, the lowest index that
    /// gains at all.
    fn entering(&self, lp: &BoxedLp, d: &[f64], first: bool) -> Option<usize> {
        let mut best = None;
        let mut most = REDUCED_COST;
        for (j, reduced) in d.iter().enumerate() {
            if self.basic[j] || lp.upper[j] <= lp.lower[j] {
                continue;
            }
            let at_lower = self.at_lower(lp, j);
            let gain = if at_lower { -reduced } else { *reduced };
            if gain > most {
                best = Some(j);
                if first {
                    break;
                }
                most = gain;
            }
        }
        best
    }

    fn at_lower(&self, lp: &BoxedLp, j: usize) -> bool {
        self.x[j] - lp.lower[j] <= lp.upper[j] - self.x[j]
    }

    fn run(&mut self, lp: &BoxedLp, cost: &[f64]) -> Result<usize, Stuck> {
        let mut d = self.tableau_costs(cost);
        let mut stalled = 0;
        for pivots in 0..MOST_PIVOTS {
            let Some(column) = self.entering(lp, &d, stalled > STALLED) else {
                return Ok(pivots);
            };
            let up = self.at_lower(lp, column);
            let direction = if up { 1.0 } else { -1.0 };
            let (step, leaving) = self.ratio(lp, column, direction);
            stalled = if step * d[column].abs() > 1e-12 {
                0
            } else {
                stalled + 1
            };
            let entries = self.column(column).to_vec();
            for (row, entry) in entries.iter().enumerate() {
                self.x[self.basis[row]] -= direction * step * entry;
            }
            match leaving {
                None => {
                    self.x[column] = if up {
                        lp.upper[column]
                    } else {
                        lp.lower[column]
                    }
                }
                Some((row, to_upper)) => {
                    self.x[column] += direction * step;
                    let out = self.basis[row];
                    self.x[out] = if to_upper {
                        lp.upper[out]
                    } else {
                        lp.lower[out]
                    };
                    self.basic[out] = false;
                    self.pivot(row, column);
                    self.enter(row, column);
                    let at = d[column];
                    for (j, reduced) in d.iter_mut().enumerate() {
                        *reduced -= at * self.tableau[j * self.rows + row];
                    }
                    d[column] = 0.0;
                }
            }
        }
        Err(Stuck::Endless)
    }

    /// How far `column` can move, and which row then leaves at which bound (`None`: the column
    /// flips to its own other bound). Ties go to the largest pivot.
    fn ratio(&self, lp: &BoxedLp, column: usize, direction: f64) -> (f64, Option<(usize, bool)>) {
        let mut step = lp.upper[column] - lp.lower[column];
        let mut leaving = None;
        let mut best_pivot = 0.0;
        for (row, entry) in self.column(column).iter().enumerate() {
            let rate = direction * entry;
            if rate.abs() < PIVOT {
                continue;
            }
            let out = self.basis[row];
            let to_upper = rate < 0.0;
            let room = if to_upper {
                lp.upper[out] - self.x[out]
            } else {
                self.x[out] - lp.lower[out]
            };
            let limit = (room / rate.abs()).max(0.0);
            let tie = (limit - step).abs() <= 1e-12;
            if limit < step - 1e-12 || (tie && leaving.is_some() && rate.abs() > best_pivot) {
                step = step.min(limit);
                leaving = Some((row, to_upper));
                best_pivot = rate.abs();
            }
        }
        (step, leaving)
    }

    /// True where some basic variable sits on a bound, so that prices need not be unique.
    pub fn is_degenerate(&self, lp: &BoxedLp) -> bool {
        self.basis
            .iter()
            .any(|j| self.x[*j] - lp.lower[*j] <= ON_BOUND || lp.upper[*j] - self.x[*j] <= ON_BOUND)
    }

    /// Value of `cost` at this point.
    pub fn objective(&self, cost: &[f64]) -> f64 {
        cost.iter().zip(&self.x).map(|(c, x)| c * x).sum()
    }
}
