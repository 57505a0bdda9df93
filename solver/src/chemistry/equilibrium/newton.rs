//! The Newton step on the balances.

use super::balances::{Point, System, UNKNOWNS};
use nalgebra::{SMatrix, SVector};
use std::f64::consts::LN_10;

/// The Newton step at fixed ionic strength, and how it moves with it.
pub(super) struct Newton {
    pub step: SVector<f64, UNKNOWNS>,
    pub step_per_strength: SVector<f64, UNKNOWNS>,
    /// Acid that moves the pH by one while all totals stay, mol/kg; none where the pH is given.
    pub buffer: Option<f64>,
}

impl Newton {
    pub(super) fn at(system: &System<'_>, point: &Point) -> Option<Self> {
        let factor = Factor::of(&point.hessian, system.unknowns)?;
        let step = factor.solve(&-point.gradient);
        let finite = step.iter().all(|value| value.is_finite());
        finite.then(|| Self {
            step,
            step_per_strength: factor.solve(&-point.kappa_row),
            buffer: system.proton.map(|proton| {
                // ln 10 times the Schur complement of H+ in the Hessian: H+ is the last unknown,
                // so its pivot is the complement.
                let pivot = factor.lower[(proton, proton)] / factor.scale[proton];
                LN_10 * pivot * pivot
            }),
        })
    }
}

/// Cholesky factor of the Hessian scaled to a diagonal of one, S H S = L L', of the unknowns that are
/// there.
struct Factor {
    unknowns: usize,
    /// L; what stands above its diagonal is never read.
    lower: SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    scale: SVector<f64, UNKNOWNS>,
}

impl Factor {
    /// With as much of a ridge on the diagonal as rounding asks for; none where none is enough.
    fn of(hessian: &SMatrix<f64, UNKNOWNS, UNKNOWNS>, unknowns: usize) -> Option<Self> {
        let mut scale = SVector::<f64, UNKNOWNS>::from_element(1.0);
        for j in 0..unknowns {
            scale[j] = 1.0 / hessian[(j, j)].max(f64::MIN_POSITIVE).sqrt();
        }
        let mut ridge = 1e-14;
        while ridge < 1.0 {
            let mut lower = SMatrix::zeros();
            for j in 0..unknowns {
                for i in j..unknowns {
                    lower[(i, j)] = hessian[(i, j)] * scale[i] * scale[j];
                }
                lower[(j, j)] += ridge;
            }
            let mut factor = Self {
                unknowns,
                lower,
                scale,
            };
            if factor.eliminate() {
                return Some(factor);
            }
            ridge *= 100.0;
        }
        None
    }

    /// False where a pivot is not positive.
    fn eliminate(&mut self) -> bool {
        let n = self.unknowns;
        for j in 0..n {
            let (before, behind) = self.lower.as_mut_slice().split_at_mut((j + 1) * UNKNOWNS);
            let column = &mut before[j * UNKNOWNS..][..n];
            if column[j].is_nan() || column[j] <= 0.0 {
                return false;
            }
            column[j] = column[j].sqrt();
            let inverse = 1.0 / column[j];
            for entry in &mut column[j + 1..] {
                *entry *= inverse;
            }
            for (k, other) in (j + 1..n).zip(behind.chunks_exact_mut(UNKNOWNS)) {
                let factor = column[k];
                if factor != 0.0 {
                    for (entry, lower) in other[k..n].iter_mut().zip(&column[k..]) {
                        *entry -= factor * lower;
                    }
                }
            }
        }
        true
    }

    /// x with H x = `right`.
    fn solve(&self, right: &SVector<f64, UNKNOWNS>) -> SVector<f64, UNKNOWNS> {
        let n = self.unknowns;
        let column = |j: usize| &self.lower.as_slice()[j * UNKNOWNS..][..n];
        let mut x = right.component_mul(&self.scale);
        for j in 0..n {
            let column = column(j);
            let value = x[j] / column[j];
            x[j] = value;
            for (entry, lower) in x.as_mut_slice()[j + 1..].iter_mut().zip(&column[j + 1..]) {
                *entry -= value * lower;
            }
        }
        for j in (0..n).rev() {
            let column = column(j);
            let known = column[j + 1..].iter().zip(&x.as_slice()[j + 1..]);
            let known: f64 = known.map(|(lower, x)| lower * x).sum();
            x[j] = (x[j] - known) / column[j];
        }
        x.component_mul(&self.scale)
    }
}

impl Point {
    /// Slope of the ionic strength's residual along the Newton path.
    pub(super) fn strength_slope(&self, newton: &Newton) -> f64 {
        1.0 - self.kappa_strength - self.strength_row.dot(&newton.step_per_strength)
    }
}
