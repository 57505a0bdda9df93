//! The linear program of a problem, scaled so that every number means a share of an aim.
//!
//! Scales: s_i = the aim of row i (else its maximum, else its minimum, else 1);
//! k_j = max_i |a_ij| / s_i. Variables t_j = k_j x_j ("the largest share of an aim that this
//! fertilizer brings") and for each row four slacks:
//!
//! ```text
//! sum_j A_ij t_j + n_i + u_i - p_i - o_i = (r_i - present_i) / s_i,   A_ij = a_ij / (s_i k_j)
//! n short inside the band, p over inside, u short beyond it, o over beyond
//! ```
//!
//! Because each row has its own slacks there is always an answer, and because every variable is
//! boxed every answer has a proof.

use super::lp::{BoxedLp, ON_BOUND, Simplex, Stuck};
use super::problem::{Figure, Problem, Row};
use nalgebra::{DMatrix, DVector};

/// Cost of a unit of deviation beyond a band against one inside it. Measured: at 1000 "outside"
/// agrees with the hard-banded problem being infeasible in all of 1,000 recipes, and larger
/// factors only multiply an engine's rounding.
pub(crate) const BEYOND: f64 = 1000.0;
/// First guess at the largest deviation beyond a band, in aims; doubled where it is reached.
const ROOM: f64 = 20.0;

/// The slacks of a row, as offsets behind the fertilizers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slack {
    ShortInside = 0,
    OverInside = 1,
    ShortBeyond = 2,
    OverBeyond = 3,
}

/// A scaled program and what its numbers mean.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    pub lp: BoxedLp,
    /// Positions in `problem.columns` of the fertilizers that touch a row.
    pub salts: Vec<usize>,
    /// k_j of each of them, 1/(g/L).
    pub column_scale: Vec<f64>,
    /// s_i of each row, in the unit of the row.
    pub row_scale: Vec<f64>,
    /// r_i of each row, in the unit of the row.
    reference: Vec<f64>,
    /// Bounds that are ours rather than the problem's: a variable that ends there gets more room.
    artificial: Vec<bool>,
    /// Salts kept out of the engine's sight because another brings the same in parallel.
    pub twins: Vec<Twin>,
}

/// A fertilizer that brings the same as another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Twin {
    /// Position among the model's salts.
    pub salt: usize,
}

impl Model {
    pub fn new(problem: &Problem) -> Self {
        let rows = &problem.rows;
        let row_scale: Vec<f64> = rows.iter().map(Row::scale).collect();
        let reference: Vec<f64> = rows
            .iter()
            .map(|row| row.aim.or(row.min).unwrap_or(0.0))
            .collect();
        let largest_share = |column: usize| {
            let column = &problem.columns[column];
            rows.iter()
                .zip(&row_scale)
                .map(|(row, s)| column.brings_to(row).abs() / s)
                .fold(0.0, f64::max)
        };
        let (salts, column_scale): (Vec<usize>, Vec<f64>) = (0..problem.columns.len())
            .map(|column| (column, largest_share(column)))
            .filter(|(_, k)| *k > 0.0)
            .unzip();
        let width = salts.len() + 4 * rows.len();
        let mut a = DMatrix::zeros(rows.len(), width);
        for (j, (salt, k)) in salts.iter().zip(&column_scale).enumerate() {
            for (i, (row, s)) in rows.iter().zip(&row_scale).enumerate() {
                a[(i, j)] = problem.columns[*salt].brings_to(row) / (s * k);
            }
        }
        let b = rows
            .iter()
            .zip(reference.iter().zip(&row_scale))
            .map(|(row, (r, s))| (r - row.present) / s);
        let mut model = Self {
            lp: BoxedLp {
                a,
                b: DVector::from_iterator(rows.len(), b),
                lower: vec![0.0; width],
                upper: vec![0.0; width],
            },
            salts,
            column_scale,
            row_scale,
            reference,
            artificial: vec![false; width],
            twins: Vec::new(),
        };
        for (i, row) in rows.iter().enumerate() {
            model.bound_slacks(i, row);
        }
        for j in 0..model.salts.len() {
            model.bound_salt(j, problem);
        }
        model
    }

    /// Notes pairs (twin, kept) of problem columns as twins among the salts.
    pub fn note_twins(&mut self, pairs: &[(usize, usize)]) {
        let salt = |column: usize| self.salts.iter().position(|salt| *salt == column);
        self.twins = pairs
            .iter()
            .filter_map(|(twin, kept)| {
                salt(*kept)?;
                salt(*twin).map(|salt| Twin { salt })
            })
            .collect();
    }

    /// Index of a slack variable.
    pub fn slack(&self, row: usize, slack: Slack) -> usize {
        self.salts.len() + 4 * row + slack as usize
    }

    /// The slacks of a row that lie beyond its band.
    pub fn beyond(&self, row: usize) -> impl Iterator<Item = usize> {
        [Slack::ShortBeyond, Slack::OverBeyond]
            .into_iter()
            .map(move |slack| self.slack(row, slack))
    }

    /// Cost of leaving the bands: their sum in aims.
    pub fn cost_of_leaving(&self) -> Vec<f64> {
        let mut cost = vec![0.0; self.lp.columns()];
        for row in 0..self.lp.rows() {
            for slack in self.beyond(row) {
                cost[slack] = 1.0;
            }
        }
        cost
    }

    fn bound_slacks(&mut self, i: usize, row: &Row) {
        let (r, s) = (self.reference[i], self.row_scale[i]);
        let room = ROOM + row.present.abs() / s + r.abs() / s;
        // A nutrient can fall to nothing; acidity can fall below it, where bases are dosed.
        let floor = if row.figure == Figure::Acidity {
            None
        } else {
            Some(0.0)
        };
        let sides = [
            (
                Slack::ShortInside,
                row.min.or(floor).map(|low| (r - low) / s),
                1.0,
            ),
            (Slack::OverInside, row.max.map(|high| (high - r) / s), -1.0),
            (Slack::ShortBeyond, None, 1.0),
            (Slack::OverBeyond, None, -1.0),
        ];
        for (slack, bound, sign) in sides {
            let j = self.slack(i, slack);
            self.lp.a[(i, j)] = sign;
            self.lp.upper[j] = bound.map_or(room, |bound| bound.max(0.0));
            self.artificial[j] = bound.is_none();
        }
    }

    fn bound_salt(&mut self, j: usize, problem: &Problem) {
        let touched = problem
            .rows
            .iter()
            .enumerate()
            .filter(|(i, _)| self.lp.a[(*i, j)] != 0.0);
        let widest = touched
            .map(|(i, row)| row.max.unwrap_or(0.0) / self.row_scale[i])
            .fold(1.0, f64::max);
        let most = problem.columns[self.salts[j]].at_most_g_per_l;
        let cap = most.map(|most| most * self.column_scale[j]);
        let bound = 2.0 * widest;
        self.artificial[j] = cap.is_none_or(|cap| cap > bound);
        self.lp.upper[j] = cap.map_or(bound, |cap| cap.min(bound));
    }

    /// Whether a variable ended at a bound of ours.
    pub fn needs_room(&self, x: &[f64]) -> bool {
        x.iter().enumerate().any(|(j, x)| self.is_cramped(j, *x))
    }

    fn is_cramped(&self, j: usize, x: f64) -> bool {
        let high = self.lp.upper[j];
        self.artificial[j] && high > 0.0 && high - x <= ON_BOUND * high
    }

    /// Gives more room to every variable that ended at a bound of ours; `true` where there was one.
    pub fn widen(&mut self, problem: &Problem, x: &[f64]) -> bool {
        let mut widened = false;
        for (j, value) in x.iter().enumerate() {
            if self.is_cramped(j, *value) {
                let high = self.lp.upper[j];
                let cap = self.salts.get(j).and_then(|salt| {
                    let most = problem.columns[*salt].at_most_g_per_l?;
                    Some(most * self.column_scale[j])
                });
                self.lp.upper[j] = cap.map_or(4.0 * high, |cap| cap.min(4.0 * high));
                self.artificial[j] = cap.is_none_or(|cap| cap > 4.0 * high);
                widened = true;
            }
        }
        widened
    }

    /// The point with no fertilizer at all, each row closed by its own slack: always inside.
    pub fn without_salts(&self) -> Result<Simplex, Stuck> {
        let (x, closing) = self.closing();
        Simplex::from_unit_basis(&self.lp, &closing, x)
    }

    /// The values of that point, and the slack that closes each row.
    pub fn closing(&self) -> (Vec<f64>, Vec<usize>) {
        let mut x = self.lp.lower.clone();
        let closing = (0..self.lp.rows())
            .map(|i| {
                let need = self.lp.b[i];
                let (inside, beyond) = if need >= 0.0 {
                    (Slack::ShortInside, Slack::ShortBeyond)
                } else {
                    (Slack::OverInside, Slack::OverBeyond)
                };
                let inside = self.slack(i, inside);
                if need.abs() <= self.lp.upper[inside] {
                    inside
                } else {
                    x[inside] = self.lp.upper[inside];
                    self.slack(i, beyond)
                }
            })
            .collect();
        (x, closing)
    }

    /// Cost of the closest stage: weighted relative deviation inside, [`BEYOND`] times as much
    /// beyond.
    pub fn cost_of_distance(&self, problem: &Problem) -> Vec<f64> {
        let mut cost = vec![0.0; self.lp.columns()];
        for (i, row) in problem.rows.iter().enumerate() {
            cost[self.slack(i, Slack::ShortInside)] = row.weight;
            cost[self.slack(i, Slack::OverInside)] = row.weight;
            cost[self.slack(i, Slack::ShortBeyond)] = BEYOND;
            cost[self.slack(i, Slack::OverBeyond)] = BEYOND;
        }
        cost
    }

    /// Cost of money: price of a gram; `None` where some fertilizer has no price.
    pub fn cost_of_money(&self, problem: &Problem) -> Option<Vec<f64>> {
        let prices: Option<Vec<f64>> = problem
            .columns
            .iter()
            .map(|column| column.price_per_g)
            .collect();
        let prices = prices?;
        Some(self.cost_of_salts(|salt| prices[salt]))
    }

    /// Cost of mass: grams.
    pub fn cost_of_mass(&self) -> Vec<f64> {
        self.cost_of_salts(|_| 1.0)
    }

    fn cost_of_salts(&self, per_gram: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut cost = vec![0.0; self.lp.columns()];
        for (j, (salt, k)) in self.salts.iter().zip(&self.column_scale).enumerate() {
            cost[j] = per_gram(*salt) / k;
        }
        cost
    }

    /// Grams per litre of every column of the problem.
    pub fn grams(&self, problem: &Problem, x: &[f64]) -> Vec<f64> {
        let mut grams = vec![0.0; problem.columns.len()];
        for (j, (salt, k)) in self.salts.iter().zip(&self.column_scale).enumerate() {
            grams[*salt] = if x[j] <= NOTHING { 0.0 } else { x[j] / k };
        }
        grams
    }
}

/// A share of an aim below which nothing is dosed: far below any scale, above rounding.
const NOTHING: f64 = 1e-12;
