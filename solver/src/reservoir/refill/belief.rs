//! What is believed of the uptake, and how a reading changes it: least squares with a prior.
//!
//! In: means, covariances, observations with their slopes and uncertainty. Knows no chemistry.

use nalgebra::{DMatrix, DVector};

/// Means and covariances of several figures.
#[derive(Clone, Debug)]
pub(super) struct Belief {
    /// What is most likely.
    pub mean: DVector<f64>,
    /// Variances and covariances.
    pub covariance: DMatrix<f64>,
}

impl Belief {
    /// Figures with relative standard uncertainties of their own, and one that they share.
    pub fn new(mean: &[f64], own: &[f64], shared: f64) -> Self {
        let mean = DVector::from_column_slice(mean);
        let alone = mean.zip_map(&DVector::from_column_slice(own), |m, u| (m * u).powi(2));
        let covariance = DMatrix::from_diagonal(&alone) + &mean * mean.transpose() * shared.powi(2);
        Self { mean, covariance }
    }

    /// Takes in that `slopes` x figures was seen to differ by `off` from what the mean says, with
    /// this standard uncertainty.
    ///
    /// K = P h/(h' P h + u2),  mean += K off,  P -= K h' P
    pub fn observe(&mut self, slopes: &DVector<f64>, off: f64, uncertainty: f64) {
        let spread = &self.covariance * slopes;
        let size = slopes.dot(&spread) + uncertainty.powi(2);
        if size <= 0.0 || !size.is_finite() {
            return;
        }
        let gain = &spread / size;
        self.mean += &gain * off;
        self.covariance -= &gain * spread.transpose();
    }

    /// Standard uncertainty of one figure.
    pub fn uncertainty(&self, figure: usize) -> f64 {
        self.covariance[(figure, figure)].max(0.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two independent statements of one figure: the mean weighted by 1/u2, variances as
    /// 1/u2 = 1/u1_2 + 1/u2_2 (JCGM 100:2008, weighted means).
    #[test]
    fn two_statements_of_one_figure() {
        let mut belief = Belief::new(&[10.0], &[0.2], 0.0);
        let one = DVector::from_element(1, 1.0);
        belief.observe(&one, 13.0 - 10.0, 1.0);
        assert!((belief.mean[0] - (10.0 / 4.0 + 13.0) / 1.25).abs() < 1e-12);
        assert!((belief.uncertainty(0) - (1.0_f64 / 1.25).sqrt()).abs() < 1e-12);
    }

    /// A sum alone moves what shares its uncertainty, and leaves the difference as unsure as it was.
    #[test]
    fn a_sum_says_nothing_of_a_difference() {
        let mut belief = Belief::new(&[10.0, 10.0], &[0.1, 0.1], 0.0);
        let sum = DVector::from_element(2, 1.0);
        belief.observe(&sum, 2.0, 1e-6);
        assert!((belief.mean.sum() - 22.0).abs() < 1e-6);
        let difference = DVector::from_column_slice(&[1.0, -1.0]);
        let left = (difference.transpose() * &belief.covariance * &difference)[0];
        assert!((left - 2.0).abs() < 1e-9, "{left}");
    }
}
