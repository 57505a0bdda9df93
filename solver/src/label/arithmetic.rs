//! Can these ingredients give these numbers at all?
//!
//! Over all mixtures x of the ingredients (shares of the mass, summing to one; an inert filler may
//! make up the rest) with every assay within its tolerance:
//!
//! ```text
//! low_i <= content_i(x) <= high_i   for every figure i of the label
//! content_f = sum_j a_jf x_j,  a_jf within a(1 - t_j) .. a(1 + t_j), each assay on its own
//! ```
//!
//! as a linear program whose every row has slacks of its own. If it cannot be met, the row prices
//! weigh the label's figures into one index that it promises and no ingredient reaches: a proof
//! anyone can check with the assays alone ([`Certificate`]).

use super::certificate::Certificate;
use super::model::{Model, row_of_demand};
use super::region::Region;
use crate::lp::Stuck;
use saltwright_fertilizers::guarantee::Printed;
use saltwright_fertilizers::{Aimed, Fertilizer, Nutrient};
use std::sync::Arc;

/// A miss, relative to the figure, that counts as none.
pub(super) const KEPT: f64 = 1e-7;
/// Row prices below this are rounding.
const SUPPORT: f64 = 1e-9;

/// An ingredient and how far its assays may be off.
#[derive(Clone, Debug)]
pub struct Ingredient {
    /// What.
    pub fertilizer: Arc<Fertilizer>,
    /// Relative half-width of each assay, a fraction.
    pub tolerance: f64,
    /// How much stronger or weaker than its assay the whole of it may be (drier or damper), a
    /// fraction.
    pub strength: f64,
}

impl Ingredient {
    /// With the tolerance that its own row states.
    pub fn of(fertilizer: Arc<Fertilizer>) -> Self {
        let tolerance = fertilizer.tolerance_pct.unwrap_or(0.0) / 100.0;
        Self {
            fertilizer,
            tolerance,
            strength: 0.0,
        }
    }

    /// With assays taken as they stand.
    fn exact(&self) -> Self {
        Self {
            fertilizer: Arc::clone(&self.fertilizer),
            tolerance: 0.0,
            strength: 0.0,
        }
    }

    /// With its tolerance taken as one of the whole: all of its assays move together.
    fn as_a_whole(&self) -> Self {
        Self {
            strength: self.tolerance,
            ..self.exact()
        }
    }

    /// The least and the most of a form, percent.
    pub fn assay(&self, form: Nutrient) -> (f64, f64) {
        let assay = self.fertilizer.assay_pct[form];
        (
            assay * (1.0 - self.tolerance),
            assay * (1.0 + self.tolerance),
        )
    }
}

/// One figure that a label promises, percent of the element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// The key as printed.
    pub printed: Printed,
    /// What it counts.
    pub aimed: Aimed,
    /// The figure itself.
    pub declared_pct: f64,
    /// The least that keeps the promise.
    pub low_pct: f64,
    /// The most; none where the label promises a minimum.
    pub high_pct: Option<f64>,
    /// True where a shortfall counts in the label's sum of shortfalls.
    pub in_sum: bool,
    /// What the factors of oxides leave open on either side, percent of the element.
    pub slack_pct: f64,
}

/// A miss, relative to the printed figure, that counts as none: sets of atomic weights differ by as
/// much in the factors of oxides.
pub const FACTORS: f64 = 1e-5;

impl Demand {
    /// The least that passes for the promise, percent of the element.
    pub fn least_pct(&self) -> f64 {
        (self.low_pct - self.slack_pct).max(0.0)
    }

    /// The most that passes for the promise.
    pub fn most_pct(&self) -> Option<f64> {
        self.high_pct.map(|high| high + self.slack_pct)
    }
}

/// The forms that a figure adds up.
pub(crate) fn forms(aimed: Aimed) -> Vec<Nutrient> {
    match aimed {
        Aimed::Form(form) => vec![form],
        Aimed::TotalN => Nutrient::N_FORMS.to_vec(),
    }
}

/// Everything that a mixture must keep.
#[derive(Clone, Debug)]
pub struct Mixtures {
    /// What it may be made of.
    pub ingredients: Vec<Ingredient>,
    /// The figures of the label.
    pub demands: Vec<Demand>,
    /// True where an inert filler may make up the rest.
    pub filler: bool,
    /// The most that the shortfalls of the figures marked so may sum to, percentage points as
    /// printed.
    pub most_sum: Option<f64>,
}

/// Which end of a promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The least.
    Low,
    /// The most.
    High,
}

/// A mixture: percent of each ingredient, and of filler.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    /// In the order of the ingredients.
    pub pct: Vec<f64>,
    /// The inert rest.
    pub filler_pct: f64,
    /// True where it keeps the label only with assays at the ends of their tolerances.
    pub at_tolerance: bool,
}

/// One promise of a contradiction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Broken {
    /// Position among the demands.
    pub demand: usize,
    /// Which end of it.
    pub end: End,
    /// How far the figure comes while all other promises are kept, percent of the element; none
    /// where the others alone contradict each other.
    pub reachable_pct: Option<f64>,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// One mixture that keeps every promise.
    Possible(Mixture),
    /// A smallest set of promises that no mixture keeps, and the proof.
    Impossible {
        /// Drop any one of them and the others can be kept.
        broken: Vec<Broken>,
        /// Checked before it is handed on.
        certificate: Certificate,
    },
}

impl Mixtures {
    /// The same with every ingredient stronger or weaker as a whole, so that its ions stay in
    /// proportion; shares are those of an ingredient of nominal strength.
    pub(crate) fn of_wholes(&self) -> Self {
        Self {
            ingredients: self
                .ingredients
                .iter()
                .map(Ingredient::as_a_whole)
                .collect(),
            ..self.clone()
        }
    }

    /// Decides.
    ///
    /// # Errors
    /// [`Stuck`] where neither a mixture nor a proof that holds was found.
    pub(crate) fn judge(&self) -> Result<Verdict, Stuck> {
        let exact = Self {
            ingredients: self.ingredients.iter().map(Ingredient::exact).collect(),
            ..self.clone()
        };
        if let Some(region) = Region::new(&exact)? {
            return region.plainest(false).map(Verdict::Possible);
        }
        match Region::new(self)? {
            Some(region) => region.plainest(true).map(Verdict::Possible),
            None => self.contradiction(),
        }
    }

    /// A smallest set of promises that cannot be kept together.
    fn contradiction(&self) -> Result<Verdict, Stuck> {
        let model = Model::new(self);
        let ends = self.ends();
        let (_, simplex) = model.miss(&ends)?;
        let mut broken: Vec<(usize, End)> = ends
            .iter()
            .copied()
            .filter(|(demand, end)| {
                let price = simplex.y[row_of_demand(*demand)];
                match end {
                    End::Low => price > SUPPORT,
                    End::High => price < -SUPPORT,
                }
            })
            .collect();
        // Micronutrients are tried first, so that what remains speaks of macronutrients.
        let mut order = broken.clone();
        order.sort_by_key(|(demand, _)| match self.demands[*demand].aimed {
            Aimed::Form(form) => !form.is_micro(),
            Aimed::TotalN => true,
        });
        for tried in order {
            let rest: Vec<_> = broken.iter().copied().filter(|b| *b != tried).collect();
            if model.miss(&rest)?.0 > KEPT {
                broken = rest;
            }
        }
        let (_, simplex) = model.miss(&broken)?;
        let weights: Vec<f64> = (0..self.demands.len())
            .map(|demand| {
                let price = simplex.y[row_of_demand(demand)] / model.scale[demand];
                let named = |end| broken.contains(&(demand, end));
                if (price > 0.0 && named(End::Low)) || (price < 0.0 && named(End::High)) {
                    price
                } else {
                    0.0
                }
            })
            .collect();
        let certificate = self.certificate(weights);
        if !certificate.holds() {
            return Err(Stuck::Outside);
        }
        let reached = broken
            .iter()
            .map(|(demand, end)| {
                Ok(Broken {
                    demand: *demand,
                    end: *end,
                    reachable_pct: self.reachable(*demand, *end)?,
                })
            })
            .collect::<Result<_, Stuck>>()?;
        Ok(Verdict::Impossible {
            broken: reached,
            certificate,
        })
    }

    pub(super) fn ends(&self) -> Vec<(usize, End)> {
        let each = |(at, demand): (usize, &Demand)| {
            let high = demand.high_pct.map(|_| (at, End::High));
            std::iter::once((at, End::Low)).chain(high)
        };
        self.demands.iter().enumerate().flat_map(each).collect()
    }

    /// How far a figure comes while every other promise is kept to the letter; else within what
    /// the factors of oxides leave open.
    fn reachable(&self, demand: usize, end: End) -> Result<Option<f64>, Stuck> {
        let mut others = self.clone();
        let asked = others.demands.remove(demand);
        let mut to_the_letter = others.clone();
        for demand in &mut to_the_letter.demands {
            demand.slack_pct = 0.0;
        }
        for of in [&to_the_letter, &others] {
            if let Some(region) = Region::new(of)? {
                let (low, high) = region.content(asked.aimed)?;
                return Ok(Some(match end {
                    End::Low => high,
                    End::High => low,
                }));
            }
        }
        Ok(None)
    }
}

/// The most of a figure that an ingredient may hold, percent.
pub(super) fn most(ingredient: &Ingredient, aimed: Aimed) -> f64 {
    let forms = forms(aimed);
    forms.iter().map(|form| ingredient.assay(*form).1).sum()
}
