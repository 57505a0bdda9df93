//! The proof that no mixture keeps a label, checked from the assays alone.

use super::arithmetic::{Ingredient, Mixtures, forms};
use saltwright_fertilizers::Nutrient;

/// Weights on the label's figures that prove it impossible.
///
/// A mixture's index is the sum of weight times content over the figures. The promises ask for at
/// least `asked`; each ingredient, whatever its share, brings at most `most` for a whole kilogram
/// of it, and so no mixture brings more.
#[derive(Clone, Debug, PartialEq)]
pub struct Certificate {
    /// Weight of each demand, index points per percent of the element; below zero where the
    /// promise is a maximum.
    pub weights: Vec<f64>,
    /// The least index that keeps the promises.
    pub asked: f64,
    /// The highest index of any ingredient, or of the filler (0).
    pub most: f64,
    /// The ingredient that has it; none for the filler.
    pub richest: Option<usize>,
}

impl Certificate {
    /// True where it proves what it claims.
    pub fn holds(&self) -> bool {
        self.asked > self.most
    }
}

impl Mixtures {
    /// The index that these weights make, from the data alone.
    pub fn certificate(&self, weights: Vec<f64>) -> Certificate {
        let of_form = |form: Nutrient| -> f64 {
            let counts = self.demands.iter().zip(&weights);
            counts
                .filter(|(demand, _)| forms(demand.aimed).contains(&form))
                .map(|(_, weight)| weight)
                .sum()
        };
        let by_form: Vec<(Nutrient, f64)> = Nutrient::ALL
            .into_iter()
            .map(|form| (form, of_form(form)))
            .collect();
        let worth = |ingredient: &Ingredient| -> f64 {
            let brings = by_form.iter().map(|(form, weight)| {
                let (least, most) = ingredient.assay(*form);
                (weight * least).max(weight * most)
            });
            brings.sum()
        };
        let (mut most, mut richest) = if self.filler {
            (0.0, None)
        } else {
            (f64::NEG_INFINITY, None)
        };
        for (at, ingredient) in self.ingredients.iter().enumerate() {
            let worth = worth(ingredient);
            if worth > most {
                (most, richest) = (worth, Some(at));
            }
        }
        Certificate {
            asked: self.least_index(&weights),
            weights,
            most,
            richest,
        }
    }

    /// The least index among all contents that keep the promises.
    fn least_index(&self, weights: &[f64]) -> f64 {
        let mut index = 0.0;
        // Shortfalls allowed within the sum: what a printed point saves, and how many there are.
        let mut savings: Vec<(f64, f64)> = Vec::new();
        for (demand, weight) in self.demands.iter().zip(weights) {
            if *weight < 0.0 {
                index += weight * demand.most_pct().unwrap_or(100.0);
            } else if demand.in_sum && self.most_sum.is_some() {
                let factor = demand.printed.factor;
                index += weight * demand.declared_pct;
                let points = (demand.declared_pct - demand.least_pct()) / factor;
                savings.push((weight * factor, points));
            } else {
                index += weight * demand.least_pct();
            }
        }
        let mut left = self.most_sum.unwrap_or(0.0);
        savings.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (per_point, points) in savings {
            let used = points.min(left);
            index -= per_point * used;
            left -= used;
        }
        index
    }
}
