//! How fast an optimum's cost moves with one right side: dual pivots from its basis.

use super::{BoxedLp, ON_BOUND, PIVOT, Simplex};

/// Where a variable may go from an optimal point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Anywhere,
    Up,
    Down,
    Nowhere,
}

impl Way {
    fn of(lp: &BoxedLp, x: &[f64], j: usize) -> Self {
        let up = lp.upper[j] - x[j] > ON_BOUND;
        let down = x[j] - lp.lower[j] > ON_BOUND;
        match (up, down) {
            (true, true) => Self::Anywhere,
            (true, false) => Self::Up,
            (false, true) => Self::Down,
            (false, false) => Self::Nowhere,
        }
    }

    /// How far a step goes where this variable may not.
    fn violation(self, step: f64) -> f64 {
        match self {
            Self::Anywhere => 0.0,
            Self::Up => (-step).max(0.0),
            Self::Down => step.max(0.0),
            Self::Nowhere => step.abs(),
        }
    }
}

impl Simplex {
    /// Rate at which the optimal cost changes when the right side moves along `sign` times the
    /// unit vector that `unit_column` is; `None` where it cannot move.
    ///
    /// Dual simplex on the cone of directions: start from the optimal basis and repair the basic
    /// variables that would leave their bounds.
    pub fn rate(&self, lp: &BoxedLp, cost: &[f64], unit_column: usize, sign: f64) -> Option<f64> {
        const SMALL: f64 = 1e-9;
        const MOST_REPAIRS: usize = 200;
        let ways: Vec<Way> = (0..lp.columns()).map(|j| Way::of(lp, &self.x, j)).collect();
        let mut step: Vec<f64> = self.column(unit_column).iter().map(|e| sign * e).collect();
        let worst = |basis: &[usize], step: &[f64]| {
            let broken = basis.iter().zip(step).map(|(j, s)| ways[*j].violation(*s));
            broken
                .enumerate()
                .filter(|(_, violation)| *violation > SMALL)
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(row, _)| row)
        };
        if worst(&self.basis, &step).is_some() {
            let mut moving = self.clone();
            let mut d = moving.d.clone();
            for _ in 0..MOST_REPAIRS {
                let Some(row) = worst(&moving.basis, &step) else {
                    return Some(moving.cost_of(cost, &step));
                };
                let rises = step[row] < 0.0;
                let column = moving.repairing(lp, &ways, &d, row, rises)?;
                let pivot = moving.tableau[column * moving.rows + row];
                let move_by = step[row] / pivot;
                for (entry, step) in moving.column(column).iter().zip(&mut step) {
                    *step -= entry * move_by;
                }
                step[row] = move_by;
                let out = moving.basis[row];
                moving.basic[out] = false;
                moving.pivot(row, column);
                moving.enter(row, column);
                let at = d[column];
                for (j, reduced) in d.iter_mut().enumerate() {
                    *reduced -= at * moving.tableau[j * moving.rows + row];
                }
            }
            return None;
        }
        Some(self.cost_of(cost, &step))
    }

    fn cost_of(&self, cost: &[f64], step: &[f64]) -> f64 {
        self.basis.iter().zip(step).map(|(j, s)| cost[*j] * s).sum()
    }

    /// The variable that repairs a row at the least loss.
    fn repairing(
        &self,
        lp: &BoxedLp,
        ways: &[Way],
        d: &[f64],
        row: usize,
        rises: bool,
    ) -> Option<usize> {
        (0..lp.columns())
            .filter(|j| !self.basic[*j])
            .filter_map(|j| {
                let entry = self.tableau[j * self.rows + row];
                // The row's variable changes by -entry times what enters.
                let helps = match ways[j] {
                    Way::Up => (entry < 0.0) == rises,
                    Way::Down => (entry > 0.0) == rises,
                    Way::Anywhere => true,
                    Way::Nowhere => false,
                };
                (helps && entry.abs() > PIVOT).then(|| (d[j].abs() / entry.abs(), j))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .map(|(_, j)| j)
    }
}
