//! What ends up in a litre: water plus everything weighed or poured into it.

use saltwright_fertilizers::{Composition, Dose, Nutrient};
use saltwright_recipes::Water;
use schemars::JsonSchema;
use serde::Serialize;

/// What a mix brings to a litre.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Brought {
    /// mg/L of each nutrient.
    pub composition: Composition,
    /// Acid equivalents, meq/L (negative for bases).
    pub acid_meq_l: f64,
    /// Cation charges, meq/L.
    pub cations_meq_l: f64,
    /// Anion charges, meq/L.
    pub anions_meq_l: f64,
}

/// Adds up a mix.
pub fn brought(mix: &[Dose]) -> Brought {
    let mut sum = Brought::default();
    for dose in mix {
        let grams = dose.amount.0;
        let (cations, anions) = dose.fertilizer.charges_meq_per_g();
        sum.composition += dose.fertilizer.mg_per_g() * grams;
        sum.acid_meq_l += dose.fertilizer.acid_meq_per_g() * grams;
        sum.cations_meq_l += cations * grams;
        sum.anions_meq_l += anions * grams;
    }
    sum
}

/// A finished solution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solution {
    /// mg/L of each nutrient, water included.
    pub composition: Composition,
    /// Alkalinity that is left, meq/L; below zero is free acid.
    pub alkalinity_meq_l: f64,
    /// Cation charges, free acid included, meq/L.
    pub cations_meq_l: f64,
    /// Anion charges, remaining alkalinity included, meq/L.
    pub anions_meq_l: f64,
}

impl Solution {
    /// A mix in a water.
    pub fn of(water: &Water, mix: &[Dose]) -> Self {
        let brought = brought(mix);
        let (water_cations, water_anions) = water.charges_meq_l();
        let alkalinity = water.alkalinity_meq_l - brought.acid_meq_l;
        Self {
            composition: water.holds + brought.composition,
            alkalinity_meq_l: alkalinity,
            cations_meq_l: water_cations + brought.cations_meq_l + (-alkalinity).max(0.0),
            anions_meq_l: water_anions - water.alkalinity_meq_l
                + brought.anions_meq_l
                + alkalinity.max(0.0),
        }
    }

    /// 100 (cations - anions)/(cations + anions), percent; `None` where there are none.
    pub fn charge_error_pct(&self) -> Option<f64> {
        let both = self.cations_meq_l + self.anions_meq_l;
        (both > 0.0).then(|| 100.0 * (self.cations_meq_l - self.anions_meq_l) / both)
    }

    /// Charges of the cations that a handbook counts: ammonium, potassium, calcium, magnesium and
    /// sodium, meq/L.
    pub fn main_cations_meq_l(&self) -> f64 {
        use Nutrient::{AmmoniumN, Ca, K, Mg, Na};
        [AmmoniumN, K, Ca, Mg, Na]
            .into_iter()
            .map(|n| self.composition[n] / n.atomic_weight() * f64::from(n.charge()))
            .sum()
    }

    /// The ratios growers ask about.
    pub fn ratios(&self) -> Ratios {
        let amounts = [Nutrient::K, Nutrient::Ca, Nutrient::Mg].map(|n| self.composition[n]);
        let least = amounts.into_iter().fold(f64::INFINITY, f64::min);
        let total_n = self.composition.total_n();
        Ratios {
            k_ca_mg: (least > 0.0).then(|| amounts.map(|amount| amount / least)),
            nh4_share_pct: (total_n > 0.0)
                .then(|| 100.0 * self.composition[Nutrient::AmmoniumN] / total_n),
        }
    }
}

/// Ratios between nutrients.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Ratios {
    /// K : Ca : Mg by mass, the least of them 1.
    #[serde(rename = "K:Ca:Mg")]
    pub k_ca_mg: Option<[f64; 3]>,
    /// Ammonium's share of total nitrogen, percent.
    #[serde(rename = "NH4_share_pct")]
    pub nh4_share_pct: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pure_water_has_no_charge_to_miss() {
        let nothing = Solution::of(&Water::pure(), &[]);
        assert_eq!(nothing.charge_error_pct(), None);
    }
}
