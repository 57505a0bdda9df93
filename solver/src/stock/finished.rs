//! What stocks come to when they are diluted, with a range on every figure.

use super::request::StockRequest;
use crate::ec::Ec;
use crate::ph::Ph;
use crate::predict::{PredictNutrient, PredictRequest, predict};
use crate::spread::{Stated, Sureness};
use schemars::JsonSchema;
use serde::Serialize;

/// The finished solution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Finished {
    /// What every nutrient comes to, mg/L, and where it may lie.
    pub nutrients: Vec<PredictNutrient>,
    /// What the EC meter should show.
    pub ec: Ec,
    /// What the pH meter should show.
    pub ph: Ph,
    /// Why figures are not exact, and what would narrow them.
    #[serde(flatten)]
    pub sureness: Option<Sureness>,
}

impl Finished {
    /// Of the stocks at a ratio; none where no ranges are asked for.
    ///
    /// The smallest tank is weighed for as much finished solution as it makes: a division of the
    /// scale matters there most.
    pub fn of(request: &StockRequest, ratio: Option<f64>) -> Option<Self> {
        let stated = request.ranges?;
        let smallest = request.tank_litres.iter().copied().reduce(f64::min);
        let with_scale = Stated {
            scale_g: if stated.scale_g > 0.0 {
                stated.scale_g
            } else {
                request.scale_g.unwrap_or(0.0)
            },
            ..stated
        };
        let predicted = predict(&PredictRequest {
            mix: request.mix.clone(),
            water: request.water.clone(),
            temperature_c: None,
            prices_per_kg: vec![None; request.mix.len()],
            litres: smallest.zip(ratio).map(|(litres, ratio)| litres * ratio),
            ranges: Some(with_scale),
        });
        let report = predicted.ok()?;
        Some(Self {
            nutrients: report.nutrients,
            ec: report.ec,
            ph: report.ph,
            sureness: report.sureness,
        })
    }
}
