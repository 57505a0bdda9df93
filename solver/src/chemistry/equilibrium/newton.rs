//! The Newton step on the balances.

use super::balances::{Point, System, UNKNOWNS};
use nalgebra::{Cholesky, Const, SMatrix, SVector};
use std::f64::consts::LN_10;

/// The Newton step at fixed ionic strength, and how it moves with it.
pub(super) struct Newton {
    pub step: SVector<f64, UNKNOWNS>,
    pub step_per_strength: SVector<f64, UNKNOWNS>,
    /// Acid that moves the pH by one while all totals stay, mol/kg; none where the pH is given.
    pub buffer: Option<f64>,
}

type Factor = Cholesky<f64, Const<UNKNOWNS>>;

impl Newton {
    pub(super) fn at(system: &System<'_>, point: &Point) -> Option<Self> {
        let (factor, scale) = factorise(&point.hessian, system.unknowns)?;
        let mut sides = SMatrix::<f64, UNKNOWNS, 2>::zeros();
        sides.set_column(0, &-point.gradient.component_mul(&scale));
        sides.set_column(1, &-point.kappa_row.component_mul(&scale));
        factor.solve_mut(&mut sides);
        let step = sides.column(0).component_mul(&scale);
        let finite = step.iter().all(|value| value.is_finite());
        finite.then(|| Self {
            step,
            step_per_strength: sides.column(1).component_mul(&scale),
            buffer: system.proton.map(|proton| {
                // ln 10 times the Schur complement of H+ in the Hessian: H+ is the last unknown,
                // so its pivot is the complement.
                let pivot = factor.l_dirty()[(proton, proton)] / scale[proton];
                LN_10 * pivot * pivot
            }),
        })
    }
}

/// Cholesky factor of the scaled Hessian with the scale it took, unknowns that are not there
/// standing apart.
fn factorise(
    hessian: &SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    unknowns: usize,
) -> Option<(Factor, SVector<f64, UNKNOWNS>)> {
    let mut scale = SVector::<f64, UNKNOWNS>::from_element(1.0);
    for j in 0..unknowns {
        scale[j] = 1.0 / hessian[(j, j)].max(f64::MIN_POSITIVE).sqrt();
    }
    let mut ridge = 1e-14;
    while ridge < 1.0 {
        let mut scaled = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::identity();
        for j in 0..unknowns {
            for i in j..unknowns {
                scaled[(i, j)] = hessian[(i, j)] * scale[i] * scale[j];
            }
            scaled[(j, j)] += ridge;
        }
        if let Some(factor) = Cholesky::new(scaled) {
            return Some((factor, scale));
        }
        ridge *= 100.0;
    }
    None
}

impl Point {
    /// Slope of the ionic strength's residual along the Newton path.
    pub(super) fn strength_slope(&self, newton: &Newton) -> f64 {
        1.0 - self.kappa_strength - self.strength_row.dot(&newton.step_per_strength)
    }
}
