//! A basis as lower times upper triangle, by elimination with the largest pivot of each column.
//!
//! P B = L U, column by column in one piece of memory. A basis holds mostly unit columns: what is zero
//! is passed over.

use super::{BoxedLp, Stuck};

/// L below the diagonal (its own is one), U on and above it.
pub(super) struct Factors {
    rows: usize,
    entries: Vec<f64>,
    /// The row of the basis that became this row.
    order: Vec<usize>,
}

impl Factors {
    /// Of these columns of a program.
    pub fn new(lp: &BoxedLp, basis: &[usize]) -> Result<Self, Stuck> {
        let rows = basis.len();
        let mut entries = Vec::with_capacity(rows * rows);
        for column in basis {
            entries.extend_from_slice(lp.column(*column));
        }
        let mut factors = Self {
            rows,
            entries,
            order: (0..rows).collect(),
        };
        for step in 0..rows {
            factors.eliminate(step)?;
        }
        Ok(factors)
    }

    fn eliminate(&mut self, step: usize) -> Result<(), Stuck> {
        let rows = self.rows;
        let (before, behind) = self.entries.split_at_mut((step + 1) * rows);
        let column = &mut before[step * rows..];
        let largest = (step..rows).max_by(|a, b| column[*a].abs().total_cmp(&column[*b].abs()));
        let pivot_row = largest.ok_or(Stuck::Singular)?;
        if column[pivot_row] == 0.0 || !column[pivot_row].is_finite() {
            return Err(Stuck::Singular);
        }
        let inverse = 1.0 / column[pivot_row];
        column.swap(step, pivot_row);
        let (_, below) = column.split_at_mut(step + 1);
        let mut is_unit = true;
        for entry in below.iter_mut() {
            is_unit &= *entry == 0.0;
            *entry *= inverse;
        }
        for other in behind.chunks_exact_mut(rows) {
            other.swap(step, pivot_row);
            let factor = other[step];
            if factor != 0.0 && !is_unit {
                for (entry, lower) in other[step + 1..].iter_mut().zip(below.iter()) {
                    *entry -= factor * lower;
                }
            }
        }
        // Rows of L that are there already change places, too.
        for earlier in before[..step * rows].chunks_exact_mut(rows) {
            earlier.swap(step, pivot_row);
        }
        self.order.swap(step, pivot_row);
        Ok(())
    }

    fn column(&self, at: usize) -> &[f64] {
        &self.entries[at * self.rows..(at + 1) * self.rows]
    }

    /// x with B x = `right`.
    pub fn solve(&self, right: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = self.order.iter().map(|row| right[*row]).collect();
        for at in 0..self.rows {
            let value = x[at];
            if value != 0.0 {
                let lower = &self.column(at)[at + 1..];
                for (entry, lower) in x[at + 1..].iter_mut().zip(lower) {
                    *entry -= value * lower;
                }
            }
        }
        for at in (0..self.rows).rev() {
            let column = self.column(at);
            let value = x[at] / column[at];
            x[at] = value;
            if value != 0.0 {
                for (entry, upper) in x[..at].iter_mut().zip(column) {
                    *entry -= value * upper;
                }
            }
        }
        x
    }

    /// y with B' y = `right`.
    pub fn solve_transposed(&self, right: &[f64]) -> Vec<f64> {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut w = right.to_vec();
        for at in 0..self.rows {
            let column = self.column(at);
            w[at] = (w[at] - dot(&column[..at], &w[..at])) / column[at];
        }
        for at in (0..self.rows).rev() {
            let lower = &self.column(at)[at + 1..];
            w[at] -= dot(lower, &w[at + 1..]);
        }
        let mut y = vec![0.0; self.rows];
        for (value, row) in w.into_iter().zip(&self.order) {
            y[*row] = value;
        }
        y
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};
    use proptest::prelude::*;

    fn program(rows: usize, entries: &[f64]) -> BoxedLp {
        let columns = entries.len() / rows;
        BoxedLp {
            a: DMatrix::from_column_slice(rows, columns, entries),
            b: DVector::zeros(rows),
            lower: vec![0.0; columns],
            upper: vec![1.0; columns],
        }
    }

    proptest! {
        /// Both ways back from a known answer, with zeros and with columns in any order.
        #[test]
        fn a_known_answer_is_found_again(
            entries in proptest::collection::vec(prop_oneof![Just(0.0), -3.0..3.0_f64], 49),
            answer in proptest::collection::vec(-5.0..5.0_f64, 7),
        ) {
            let lp = program(7, &entries);
            let basis = [3, 0, 6, 1, 5, 2, 4];
            let matrix = lp.a.select_columns(basis.iter());
            let known = DVector::from_column_slice(&answer);
            // Where the matrix is all but singular, no digits are left to be compared.
            let worst = matrix.clone().svd(false, false).singular_values.min();
            prop_assume!(worst > 1e-3);
            let factors = Factors::new(&lp, &basis).expect("not singular");
            let x = DVector::from_vec(factors.solve((&matrix * &known).as_slice()));
            prop_assert!((x - &known).amax() < 1e-9);
            let y = DVector::from_vec(factors.solve_transposed((matrix.transpose() * &known).as_slice()));
            prop_assert!((y - &known).amax() < 1e-9);
        }
    }

    #[test]
    fn a_basis_that_cannot_be_solved_is_told() {
        let lp = program(2, &[1.0, 2.0, 0.5, 1.0, f64::NAN, 0.0]);
        assert_eq!(Factors::new(&lp, &[0, 1]).err(), Some(Stuck::Singular));
        assert_eq!(Factors::new(&lp, &[2, 0]).err(), Some(Stuck::Singular));
        assert!(Factors::new(&lp, &[]).is_ok());
    }
}
