//! From one optimum to that of the same program with other bounds: dual pivots from its basis. Where
//! no point is left, the prices that prove it.

use super::factors::Factors;
use super::{BoxedLp, ON_BOUND, PIVOT, Simplex, Stuck};
use nalgebra::DVector;

/// More dual pivots than this are an error, not a wait.
const MOST_REPAIRS: usize = 2_000;

/// What became of a program with other bounds.
pub(crate) enum Again {
    /// Its optimum.
    Optimum(Box<Simplex>),
    /// No point is left: row prices whose bound on "nothing" is above nothing, as the data say it.
    Empty(DVector<f64>),
}

/// A basic variable outside its bounds.
struct Broken {
    row: usize,
    below: bool,
}

impl Simplex {
    /// The optimum of `cost` with the bounds of `lp`, from an optimum with other bounds.
    ///
    /// Reduced costs do not change with bounds: each variable off the basis goes to the bound that its
    /// own asks for, and what is basic and then outside is pivoted out, the least dear first.
    ///
    /// # Errors
    /// [`Stuck`] where the pivots end without either.
    pub fn again(&self, lp: &BoxedLp, cost: &[f64]) -> Result<Again, Stuck> {
        let mut moving = self.clone();
        for j in (0..lp.columns()).filter(|j| !self.basic[*j]) {
            let (low, high) = (lp.lower[j], lp.upper[j]);
            moving.x[j] = if self.d[j] < 0.0 || (self.d[j] == 0.0 && self.x[j] >= high) {
                high
            } else {
                low
            };
        }
        moving.settle_with(lp, &Factors::new(lp, &moving.basis)?)?;
        let mut d = moving.tableau_costs(cost);
        for _ in 0..MOST_REPAIRS {
            let Some(broken) = moving.broken(lp) else {
                moving.optimise(lp, cost)?;
                return Ok(Again::Optimum(Box::new(moving)));
            };
            let Some(column) = moving.cheapest_repair(lp, &d, &broken) else {
                return moving.proof_of_nothing(lp, &broken).map(Again::Empty);
            };
            moving.repair(lp, &mut d, &broken, column);
        }
        Err(Stuck::Endless)
    }

    /// The basic variable that is farthest outside its bounds.
    fn broken(&self, lp: &BoxedLp) -> Option<Broken> {
        let outside = self.basis.iter().enumerate().map(|(row, j)| {
            let below = lp.lower[*j] - self.x[*j];
            let above = self.x[*j] - lp.upper[*j];
            let size = lp.upper[*j].abs().max(1.0);
            (row, below > above, below.max(above) / size)
        });
        let worst = outside
            .filter(|(.., by)| *by > ON_BOUND)
            .max_by(|a, b| a.2.total_cmp(&b.2));
        worst.map(|(row, below, _)| Broken { row, below })
    }

    /// The variable that brings a broken row back at the least price; none where nothing can.
    fn cheapest_repair(&self, lp: &BoxedLp, d: &[f64], broken: &Broken) -> Option<usize> {
        let mut best: Option<(usize, f64, f64)> = None;
        for (j, reduced) in d.iter().enumerate() {
            if self.basic[j] || lp.upper[j] <= lp.lower[j] {
                continue;
            }
            let entry = self.column(j)[broken.row];
            // What leaves its lower bound rises; the row's own falls by the entry.
            let helps = (entry < 0.0) == (self.at_lower(lp, j) == broken.below);
            if !helps || entry.abs() < PIVOT {
                continue;
            }
            let ratio = reduced.abs() / entry.abs();
            let better = best.is_none_or(|(_, least, size)| {
                ratio < least - 1e-12 || (ratio <= least + 1e-12 && entry.abs() > size)
            });
            if better {
                best = Some((j, ratio, entry.abs()));
            }
        }
        best.map(|(j, ..)| j)
    }

    fn repair(&mut self, lp: &BoxedLp, d: &mut [f64], broken: &Broken, column: usize) {
        let out = self.basis[broken.row];
        let bound = if broken.below {
            lp.lower[out]
        } else {
            lp.upper[out]
        };
        let entries = self.column(column).to_vec();
        let step = (self.x[out] - bound) / entries[broken.row];
        for (row, entry) in entries.iter().enumerate() {
            self.x[self.basis[row]] -= step * entry;
        }
        self.x[column] += step;
        self.x[out] = bound;
        self.basic[out] = false;
        self.pivot(broken.row, column);
        self.enter(broken.row, column);
        let at = d[column];
        for (j, reduced) in d.iter_mut().enumerate() {
            *reduced -= at * self.tableau[j * self.rows + broken.row];
        }
        d[column] = 0.0;
    }

    /// Prices by which a row that nothing can repair shows that there is no point: those of the row
    /// itself in the basis.
    fn proof_of_nothing(&self, lp: &BoxedLp, broken: &Broken) -> Result<DVector<f64>, Stuck> {
        let mut unit = vec![0.0; self.rows];
        unit[broken.row] = if broken.below { -1.0 } else { 1.0 };
        let y = Factors::new(lp, &self.basis)?.solve_transposed(&unit);
        if y.iter().all(|price| price.is_finite()) {
            Ok(DVector::from_vec(y))
        } else {
            Err(Stuck::Singular)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::proof::{Certificate, emptiness};
    use super::*;
    use nalgebra::DMatrix;
    use proptest::prelude::*;

    /// Rows closed by a slack each, so that there is always a first point.
    fn program(entries: &[f64], right: &[f64]) -> BoxedLp {
        let rows = right.len();
        let salts = entries.len() / rows;
        let mut a = DMatrix::zeros(rows, salts + rows);
        for (at, entry) in entries.iter().enumerate() {
            a[(at % rows, at / rows)] = *entry;
        }
        for row in 0..rows {
            a[(row, salts + row)] = 1.0;
        }
        BoxedLp {
            a,
            b: DVector::from_column_slice(right),
            lower: vec![0.0; salts + rows],
            upper: vec![10.0; salts + rows],
        }
    }

    proptest! {
        /// With other bounds: the optimum found again has its own proof, and where none is left the
        /// data say so.
        #[test]
        fn other_bounds_are_solved_or_proved_empty(
            entries in prop::collection::vec(0.0..3.0_f64, 24),
            cost in prop::collection::vec(-1.0..1.0_f64, 10),
            low in prop::collection::vec(0.0..4.0_f64, 6),
            wide in prop::collection::vec(0.0..3.0_f64, 6),
        ) {
            let lp = program(&entries, &[8.0, 7.0, 6.0, 9.0]);
            let mut x = vec![0.0; 10];
            x[6..].copy_from_slice(&[8.0, 7.0, 6.0, 9.0]);
            let mut simplex = Simplex::from_unit_basis(&lp, &[6, 7, 8, 9], x).expect("a point");
            simplex.optimise(&lp, &cost).expect("an optimum");
            let mut other = lp.clone();
            for j in 0..6 {
                (other.lower[j], other.upper[j]) = (low[j], low[j] + wide[j]);
            }
            match simplex.again(&other, &cost).expect("an answer") {
                Again::Optimum(found) => {
                    let proof = Certificate::of(&other, &cost, &found.x, &found.y);
                    prop_assert!(proof.holds(), "{proof:?}");
                }
                Again::Empty(y) => {
                    prop_assert!(emptiness(&other, &y) > 0.0);
                    // By hand: the least that the lower bounds alone bring is too much somewhere.
                    let least = |row: usize| -> f64 {
                        (0..6).map(|j| other.a[(row, j)] * other.lower[j]).sum()
                    };
                    prop_assert!((0..4).any(|row| least(row) > lp.b[row]
                        || least(row) + 40.0 < lp.b[row]));
                }
            }
        }
    }
}
