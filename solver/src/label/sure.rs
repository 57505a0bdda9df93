//! How sure the found mixture is: what its ingredients may be off does to the figures of the label, and
//! how much of each ingredient any mixture that keeps the label can hold.

use super::arithmetic::Mixtures;
use super::region::Region;
use super::report::{AnalysisRow, ShareRow};
use super::request::LabelRequest;
use crate::lp::Stuck;
use crate::spread::{self, Inputs, Spread, Stated, Sureness};
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Composition, Dose, Fertilizer};
use std::sync::Arc;

/// A hundredth of a gram in ten litres brings as many mg/L as the share of the mass has percent of
/// an element: with it the figures of a mixture are worked out as those of a solution.
const PERCENT_AS_MG_L: f64 = 1e-3;

/// Ranges of a mixture.
pub(super) struct Ranges {
    spread: Spread,
    /// Ingredients whose assays count as exact.
    pub caution: Option<String>,
}

impl Ranges {
    /// Of a mixture, percent of each ingredient; none where no ranges are asked for.
    ///
    /// What a grower's scale and tank may be off has no say in what is in a bag.
    pub fn of(request: &LabelRequest, parts: &[(Arc<Fertilizer>, f64)]) -> Option<Self> {
        let stated = request.ranges?;
        let of_bags = Stated {
            tolerance_pct: stated.tolerance_pct,
            purity_pct: stated.purity_pct,
            ..Stated::default()
        };
        let doses: Vec<Dose> = parts
            .iter()
            .map(|(part, pct)| Dose {
                fertilizer: Arc::clone(part),
                amount: GramsPerL(pct * PERCENT_AS_MG_L),
            })
            .collect();
        let inputs = Inputs::new(&doses, Composition::ZERO, None, &of_bags);
        Some(Self {
            spread: Spread::new(inputs),
            caution: spread::caution(&doses, &of_bags),
        })
    }

    /// Writes beside a figure of the label what the mixture holds, percent as printed.
    pub fn fill(&self, row: &mut AnalysisRow) {
        let Some(aimed) = row.nutrient else { return };
        let of_element = 1.0 / row.printed.factor;
        let range = self.spread.range(aimed);
        row.mixture_pct = Some(self.holds(aimed) * of_element);
        row.range = Some(range.times(of_element));
    }

    /// Percent of the element in the mixture.
    fn holds(&self, aimed: Aimed) -> f64 {
        let bags = self.spread.inputs.bags.iter();
        bags.map(|bag| bag.brings.aimed(aimed)).sum()
    }

    /// Causes, and what would narrow the figures.
    pub fn sureness(&self) -> Sureness {
        self.spread.sureness(&[], None)
    }
}

/// The least and the most of every ingredient over all mixtures that keep the label.
pub(super) fn shares(of: &Mixtures) -> Result<Vec<ShareRow>, Stuck> {
    let Some(region) = Region::new(of)? else {
        return Ok(Vec::new());
    };
    let count = of.ingredients.len();
    let ends = |worth: &[f64]| {
        let less: Vec<f64> = worth.iter().map(|worth| -worth).collect();
        let (most, _) = region.most_of(worth)?;
        let (least, _) = region.most_of(&less)?;
        Ok::<(f64, f64), Stuck>((-100.0 * least, 100.0 * most))
    };
    let mut rows = Vec::with_capacity(count + 1);
    for (at, ingredient) in of.ingredients.iter().enumerate() {
        let mut worth = vec![0.0; count];
        worth[at] = 1.0;
        let (low, high) = ends(&worth)?;
        rows.push(ShareRow::new(&ingredient.fertilizer.id, low, high));
    }
    if of.filler {
        let (low, high) = ends(&vec![1.0; count])?;
        rows.push(ShareRow::new("filler", 100.0 - high, 100.0 - low));
    }
    rows.retain(|row| row.high_pct > 0.0);
    Ok(rows)
}
