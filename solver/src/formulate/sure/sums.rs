//! How a sum of independent errors is spread, each anywhere within its half-width alike.

// Places on the grid are small whole numbers, never negative.
#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss
)]

/// Cells of the grid that a density is kept on.
const CELLS: usize = 2048;

/// The distribution of a sum of independent rectangular errors, symmetric about nothing.
#[derive(Clone, Debug)]
pub struct Sum {
    /// Half of its width: the sum of the half-widths.
    pub reach: f64,
    /// Probability of lying below each border of the grid from `-reach` to `reach`.
    below: Vec<f64>,
}

impl Sum {
    /// Of errors with these half-widths.
    ///
    /// Each error smears the density by a box: the new density at x is the mean of the old one over
    /// x - h to x + h, a difference of its integral.
    pub fn of(half_widths: &[f64]) -> Self {
        let mut half_widths: Vec<f64> = half_widths.iter().copied().filter(|h| *h > 0.0).collect();
        half_widths.sort_by(|a, b| b.total_cmp(a));
        let reach: f64 = half_widths.iter().sum();
        let cell = 2.0 * reach / CELLS as f64;
        let border = |at: usize| -reach + cell * at as f64;
        let Some((first, rest)) = half_widths.split_first() else {
            return Self {
                reach: 0.0,
                below: Vec::new(),
            };
        };
        let mut below: Vec<f64> = (0..=CELLS)
            .map(|at| ((border(at) + first) / (2.0 * first)).clamp(0.0, 1.0))
            .collect();
        for h in rest {
            // Integral of the distribution up to each border, by the trapezoidal rule.
            let mut sums = Vec::with_capacity(below.len());
            let mut sum = 0.0;
            sums.push(0.0);
            for pair in below.windows(2) {
                sum += 0.5 * cell * (pair[0] + pair[1]);
                sums.push(sum);
            }
            let up_to = |x: f64| {
                let place = (x + reach) / cell;
                if place <= 0.0 {
                    return 0.0;
                }
                if place >= CELLS as f64 {
                    // Beyond the reach all lies below.
                    return sum + (x - reach);
                }
                let at = place.floor();
                let share = place - at;
                let at = at as usize;
                // Exact for a density that is even within a cell.
                let slope = below[at + 1] - below[at];
                sums[at] + cell * share * (below[at] + 0.5 * share * slope)
            };
            below = (0..=CELLS)
                .map(|at| {
                    let mean = (up_to(border(at) + h) - up_to(border(at) - h)) / (2.0 * h);
                    mean.clamp(0.0, 1.0)
                })
                .collect();
        }
        Self { reach, below }
    }

    /// Probability of at most `x`.
    pub fn at_most(&self, x: f64) -> f64 {
        if self.below.is_empty() || x >= self.reach {
            return if x >= 0.0 || x >= self.reach {
                1.0
            } else {
                0.0
            };
        }
        if x <= -self.reach {
            return 0.0;
        }
        let place = (x + self.reach) / (2.0 * self.reach) * CELLS as f64;
        let at = (place.floor() as usize).min(CELLS - 1);
        let share = place - at as f64;
        self.below[at] + share * (self.below[at + 1] - self.below[at])
    }

    /// What is exceeded with this probability (at most one half).
    pub fn exceeded(&self, probability: f64) -> f64 {
        let (mut low, mut high) = (0.0, self.reach);
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if 1.0 - self.at_most(middle) > probability {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two equal errors make a triangle, three a curve of parabolas: by integration.
    #[test]
    fn sums_of_equal_errors() {
        let one = Sum::of(&[2.0]);
        assert!((one.at_most(1.0) - 0.75).abs() < 1e-12);
        assert!((one.exceeded(0.05) - 1.8).abs() < 1e-9);
        let two = Sum::of(&[1.0, 0.0, 1.0]);
        for x in [-1.5, -0.3, 0.0, 0.7, 1.9_f64] {
            let tail = (2.0 - x.abs()).powi(2) / 8.0;
            let exact = if x < 0.0 { tail } else { 1.0 - tail };
            assert!((two.at_most(x) - exact).abs() < 1e-5, "{x}");
        }
        let three = Sum::of(&[1.0, 1.0, 1.0]);
        let tail = |x: f64| (3.0 - x).powi(3) / 48.0;
        for x in [1.0, 2.0, 2.5, 2.9] {
            assert!((1.0 - three.at_most(x) - tail(x)).abs() < 1e-5, "{x}");
        }
        assert!((tail(three.exceeded(0.01)) - 0.01).abs() < 1e-5);
        assert!(Sum::of(&[]).at_most(0.0) >= 1.0);
    }
}
