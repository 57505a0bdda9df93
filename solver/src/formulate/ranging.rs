//! The price of a nutrient: what one more or one less of it would cost.
//!
//! A row price of the cheapest stage is the rate at which its cost moves with that row's figure.
//! At a degenerate optimum the rate upward and the rate downward differ; each is the cost of the
//! best direction, found by dual pivots from the optimal basis.

use super::model::{Model, Slack};
use super::problem::{Figure, Problem};
use super::stages::Priced;

/// Price of one row, in price per unit of the row per m3 of finished solution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowPrice {
    /// The row's entry in the dual solution.
    pub price: f64,
    /// What one less would save; `None` where less cannot be had.
    pub low: Option<f64>,
    /// What one more would cost; `None` where more cannot be had.
    pub high: Option<f64>,
}

/// Litres in a cubic metre.
const LITRES_PER_M3: f64 = 1000.0;

/// Prices of all rows.
pub(crate) fn prices(problem: &Problem, model: &Model, priced: &Priced) -> Vec<(Figure, RowPrice)> {
    let degenerate = priced.simplex.is_degenerate(&priced.lp);
    problem
        .rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let unit = priced.unit * LITRES_PER_M3 / model.row_scale[i];
            let price = priced.simplex.y[i];
            let (low, high) = if degenerate {
                let column = model.slack(i, Slack::ShortInside);
                let rate = |sign| priced.simplex.rate(&priced.lp, &priced.cost, column, sign);
                (rate(-1.0).map(|rate| -rate), rate(1.0))
            } else {
                (Some(price), Some(price))
            };
            let price = RowPrice {
                price: tidy(price) * unit,
                low: low.map(|low| tidy(low) * unit),
                high: high.map(|high| tidy(high) * unit),
            };
            (row.figure, price)
        })
        .collect()
}

/// Rates below the tolerance of pricing are nothing.
fn tidy(rate: f64) -> f64 {
    if rate.abs() <= super::lp::REDUCED_COST {
        0.0
    } else {
        rate
    }
}
