//! The proof that a stage is optimal, checked from the data alone.
//!
//! For any row prices y, weak duality gives a lower bound on what any point can reach:
//!
//! L(y) = b'y + sum over j of min(d_j lower_j, d_j upper_j),   d = c - A'y
//!
//! because every variable has two finite bounds. A point whose cost equals L(y) is optimal,
//! however it was found.

use super::{BoxedLp, ON_BOUND};
use nalgebra::DVector;

/// Largest violation of a row or bound that is accepted, relative to an aim.
const MAX_PRIMAL: f64 = 1e-9;
/// Largest gap that is accepted, relative to the objective where that is above one.
const MAX_GAP: f64 = 1e-9;

/// Largest gap and dual residual that are told, relative to the objective where that is above one.
const MAX_TOLD: f64 = 1e-7;

/// Residuals of one stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Certificate {
    /// What the stage reached.
    pub objective: f64,
    /// Largest violation of a row or a bound.
    pub primal_residual: f64,
    /// Largest reduced cost of a variable strictly inside its bounds.
    pub dual_residual: f64,
    /// Objective less the lower bound L(y).
    pub gap: f64,
}

impl Certificate {
    /// Works out the residuals from the data, a point and row prices; knows nothing of bases.
    pub(crate) fn of(lp: &BoxedLp, cost: &[f64], x: &[f64], y: &DVector<f64>) -> Self {
        let mut rows: Vec<f64> = lp.b.iter().map(|b| -b).collect();
        for (j, x) in x.iter().enumerate() {
            for (row, entry) in rows.iter_mut().zip(lp.column(j)) {
                *row += entry * x;
            }
        }
        let mut primal = rows.iter().fold(0.0, |most: f64, row| most.max(row.abs()));
        let mut dual: f64 = 0.0;
        let mut bound = lp.b.dot(y);
        for (j, d) in lp.reduced_costs(cost, y.as_slice()).into_iter().enumerate() {
            let (low, high) = (lp.lower[j], lp.upper[j]);
            primal = primal.max(low - x[j]).max(x[j] - high);
            if x[j] > low + ON_BOUND && x[j] < high - ON_BOUND {
                dual = dual.max(d.abs());
            }
            bound += (d * low).min(d * high);
        }
        let objective: f64 = cost.iter().zip(x).map(|(c, x)| c * x).sum();
        Self {
            objective,
            primal_residual: primal,
            dual_residual: dual,
            gap: objective - bound,
        }
    }

    /// True where the residuals prove the point optimal to printing precision.
    pub fn holds(&self) -> bool {
        self.primal_holds() && self.gap.abs() <= MAX_GAP * self.objective.abs().max(1.0)
    }

    /// True where the point is one of the program.
    pub(crate) fn primal_holds(&self) -> bool {
        self.primal_residual <= MAX_PRIMAL
    }

    /// True where the residuals, in the units that are told, are small beside the objective.
    pub(crate) fn can_be_told(&self) -> bool {
        let most = MAX_TOLD * self.objective.abs().max(1.0);
        self.gap.abs() <= most && self.dual_residual <= most
    }

    /// The same certificate for an objective in other units.
    pub(crate) fn rescaled(self, factor: f64) -> Self {
        Self {
            objective: self.objective * factor,
            primal_residual: self.primal_residual,
            dual_residual: self.dual_residual * factor,
            gap: self.gap * factor,
        }
    }
}

/// A lower bound on "nothing" (a cost of zero everywhere): above nothing where no point meets the rows
/// inside the bounds, relative to the largest of the prices.
pub(crate) fn emptiness(lp: &BoxedLp, y: &DVector<f64>) -> f64 {
    let largest = y.amax();
    if largest <= 0.0 {
        return 0.0;
    }
    let nothing = vec![0.0; lp.columns()];
    let mut bound = lp.b.dot(y);
    for (j, d) in lp
        .reduced_costs(&nothing, y.as_slice())
        .into_iter()
        .enumerate()
    {
        bound += (d * lp.lower[j]).min(d * lp.upper[j]);
    }
    bound / largest
}
