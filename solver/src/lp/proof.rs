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

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::DMatrix;

    /// x + y = 4 within 0 to 10, at 1 and 2: least at (4, 0), a unit of the row then costs 1.
    fn found(x: [f64; 2], price: f64) -> Certificate {
        let lp = BoxedLp {
            a: DMatrix::from_row_slice(1, 2, &[1.0, 1.0]),
            b: DVector::from_column_slice(&[4.0]),
            lower: vec![0.0; 2],
            upper: vec![10.0; 2],
        };
        Certificate::of(&lp, &[1.0, 2.0], &x, &DVector::from_column_slice(&[price]))
    }

    /// x + y = `right` within 0 to 10.
    fn bound_on_nothing(right: f64, price: f64) -> f64 {
        let lp = BoxedLp {
            a: DMatrix::from_row_slice(1, 2, &[1.0, 1.0]),
            b: DVector::from_column_slice(&[right]),
            lower: vec![0.0; 2],
            upper: vec![10.0; 2],
        };
        emptiness(&lp, &DVector::from_column_slice(&[price]))
    }

    #[test]
    fn emptiness_shows_what_no_point_reaches() {
        // At most 20 of 30; whatever the price, the shortfall is in units of the row.
        assert!((bound_on_nothing(30.0, 1.0) - 10.0).abs() < 1e-12);
        assert!((bound_on_nothing(30.0, 7.0) - 10.0).abs() < 1e-12);
        assert!((bound_on_nothing(-5.0, -1.0) - 5.0).abs() < 1e-12);
        // What can be reached is not shown empty by any price.
        for price in [-2.0, -1.0, 0.0, 0.5, 3.0] {
            assert!(bound_on_nothing(12.0, price) <= 0.0, "{price}");
        }
    }

    #[test]
    fn only_an_optimum_with_its_prices_is_proved() {
        let best = found([4.0, 0.0], 1.0);
        assert!(best.holds() && best.can_be_told(), "{best:?}");
        assert!((best.objective - 4.0).abs() < 1e-12 && best.gap.abs() < 1e-12);
        // A dearer point of the program, with the same prices: 8 instead of 4.
        let dear = found([0.0, 4.0], 1.0);
        assert!(
            dear.primal_holds() && !dear.holds() && !dear.can_be_told(),
            "{dear:?}"
        );
        assert!((dear.gap - 4.0).abs() < 1e-12);
        // The optimum with prices that do not show it.
        let unshown = found([4.0, 0.0], 0.5);
        assert!(unshown.primal_holds() && !unshown.holds(), "{unshown:?}");
        assert!((unshown.dual_residual - 0.5).abs() < 1e-12);
        // Cheaper, but beside the row.
        let beside = found([3.0, 0.0], 1.0);
        assert!(!beside.primal_holds() && !beside.holds(), "{beside:?}");
        assert!((beside.primal_residual - 1.0).abs() < 1e-12);
    }
}
