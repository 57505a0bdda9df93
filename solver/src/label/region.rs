//! All mixtures that keep a label: the plainest of them, and how far any linear figure goes.

use super::arithmetic::{KEPT, Mixture, Mixtures, forms};
use super::model::{Model, Slack, optimum};
use crate::lp::{Simplex, Stuck};
use saltwright_fertilizers::Aimed;

/// A share of the mass below which nothing is in the mixture.
const NOTHING: f64 = 1e-12;

/// All mixtures that keep a label, and a corner of them to start from.
pub(crate) struct Region<'a> {
    model: Model<'a>,
    corner: Simplex,
}

impl<'a> Region<'a> {
    /// `None` where there are none.
    pub fn new(of: &'a Mixtures) -> Result<Option<Self>, Stuck> {
        let mut model = Model::new(of);
        let (miss, corner) = model.miss(&of.ends())?;
        if miss > KEPT {
            return Ok(None);
        }
        let beyond = (0..of.demands.len())
            .flat_map(|at| [Slack::ShortBeyond, Slack::OverBeyond].map(|slack| (at, slack)));
        for (at, slack) in beyond {
            let column = model.slack(at, slack);
            model.lp.upper[column] = 0.0;
        }
        let missing = model.missing();
        model.lp.upper[missing] = 0.0;
        Ok(Some(Self { model, corner }))
    }

    /// The mixture nearest to the printed figures; of those the one with the least mass of
    /// ingredients.
    pub fn plainest(&self, at_tolerance: bool) -> Result<Mixture, Stuck> {
        let (model, of) = (&self.model, self.model.of);
        let mut lp = model.lp.clone();
        let mut off = vec![0.0; lp.columns()];
        for demand in 0..of.demands.len() {
            off[model.slack(demand, Slack::ShortWithin)] = 1.0;
            off[model.slack(demand, Slack::OverWithin)] = 1.0;
        }
        let near = optimum(&lp, &off, &self.corner)?;
        lp.hold(&near);
        let mut mass = vec![0.0; lp.columns()];
        for (cost, k) in mass.iter_mut().zip(&model.column) {
            *cost = 1.0 / k;
        }
        let simplex = optimum(&lp, &mass, &near)?;
        Ok(Mixture {
            at_tolerance,
            ..self.mixture(&simplex)
        })
    }

    /// Any of them.
    pub fn any(&self) -> Mixture {
        self.mixture(&self.corner)
    }

    fn mixture(&self, simplex: &Simplex) -> Mixture {
        let shares = simplex.x.iter().zip(&self.model.column);
        let pct: Vec<f64> = shares
            .map(|(x, k)| {
                if *x / k <= NOTHING {
                    0.0
                } else {
                    100.0 * x / k
                }
            })
            .collect();
        let filler_pct = (100.0 - pct.iter().sum::<f64>()).max(0.0);
        Mixture {
            pct,
            filler_pct,
            at_tolerance: false,
        }
    }

    /// The mixture of the greatest sum of `per_share` times share.
    pub fn most_of(&self, per_share: &[f64]) -> Result<(f64, Mixture), Stuck> {
        let lp = &self.model.lp;
        let mut cost = vec![0.0; lp.columns()];
        for ((cost, worth), k) in cost.iter_mut().zip(per_share).zip(&self.model.column) {
            *cost = -worth / k;
        }
        let (value, simplex) = self.least(cost)?;
        Ok((-value, self.mixture(&simplex)))
    }

    /// The least and the most of a figure, percent of the element.
    pub fn content(&self, aimed: Aimed) -> Result<(f64, f64), Stuck> {
        Ok((self.end(aimed, false)?, self.end(aimed, true)?))
    }

    fn end(&self, aimed: Aimed, highest: bool) -> Result<f64, Stuck> {
        let model = &self.model;
        let mut content = vec![0.0; model.lp.columns()];
        for form in forms(aimed) {
            let loose = model.loose.iter().position(|known| *known == form);
            for (j, ingredient) in model.of.ingredients.iter().enumerate() {
                let (least, most) = ingredient.assay(form);
                // Where the form has a row, the row's slack takes off what is not used.
                let pct = if highest || loose.is_some() {
                    most
                } else {
                    least
                };
                content[j] += pct / model.column[j];
            }
            if let Some(at) = loose {
                content[model.unused(at).0] = -model.form_scale(form);
            }
        }
        let sign = if highest { -1.0 } else { 1.0 };
        let cost = content.into_iter().map(|pct| sign * pct).collect();
        let (value, _) = self.least(cost)?;
        Ok((sign * value).max(0.0))
    }

    /// The least of a cost, which is scaled to one for the pivots.
    fn least(&self, mut cost: Vec<f64>) -> Result<(f64, Simplex), Stuck> {
        let unit = cost.iter().map(|c| c.abs()).fold(0.0, f64::max);
        if unit > 0.0 {
            for c in &mut cost {
                *c /= unit;
            }
        }
        let simplex = optimum(&self.model.lp, &cost, &self.corner)?;
        Ok((simplex.objective(&cost) * unit, simplex))
    }
}
