//! What the EC meter should show.
//!
//! For now the handbook rule, named as such, with the range it can claim.

use crate::solution::Solution;
use schemars::JsonSchema;
use serde::Serialize;

/// Slope of the handbook rule, mS/cm per meq/L of cations.
const SLOPE: f64 = 0.095;
/// Intercept of the handbook rule, mS/cm.
const INTERCEPT: f64 = 0.19;
/// How far the rule may be off for full-strength feeds, relative: the largest deviation found
/// against a speciated conductivity model over nutrient solutions (11 %; 3.7 % on average).
const RANGE: f64 = 0.11;
/// Ionic strengths, mol/L, inside which the rule has any meaning; below, its intercept rules.
const STRENGTHS: std::ops::RangeInclusive<f64> = 0.012..=0.06;

/// EC by the handbook rule, mS/cm at 25 °C.
///
/// EC = 0.095 x (sum of cations, meq/L) + 0.19
///
/// Source: Sonneveld (1999), as printed in ARSIA Quaderno 5/2004, p. 179.
pub fn handbook_ms_cm(main_cations_meq_l: f64) -> f64 {
    SLOPE * main_cations_meq_l + INTERCEPT
}

/// How the expected reading compares with the aim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The aim lies within the expected range.
    Agrees,
    /// The reading will be below the aim.
    Below,
    /// The reading will be above the aim.
    Above,
    /// Outside the range of the rule.
    CannotTell,
    /// There is no aim.
    NoAim,
}

/// The expected reading beside the aim, mS/cm at 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Ec {
    /// The EC asked for.
    pub aim_ms_cm: Option<f64>,
    /// What the meter should show.
    pub predicted_ms_cm: f64,
    /// Lower end of what it may show; none outside the range of the rule.
    pub low_ms_cm: Option<f64>,
    /// Upper end.
    pub high_ms_cm: Option<f64>,
    /// The handbook rule's figure.
    pub handbook_ms_cm: f64,
    /// How it compares.
    pub verdict: Verdict,
}

impl Ec {
    /// What the meter should show for a solution.
    pub fn of(solution: &Solution, aim_ms_cm: Option<f64>) -> Self {
        let handbook = handbook_ms_cm(solution.main_cations_meq_l());
        let inside = STRENGTHS.contains(&solution.ionic_strength_mol_l());
        let end = |factor: f64| inside.then_some(handbook * factor);
        let (low, high) = (end(1.0 - RANGE), end(1.0 + RANGE));
        let verdict = match (aim_ms_cm, low, high) {
            (None, ..) => Verdict::NoAim,
            (Some(aim), Some(_), Some(high)) if high < aim => Verdict::Below,
            (Some(aim), Some(low), Some(_)) if low > aim => Verdict::Above,
            (Some(_), Some(_), Some(_)) => Verdict::Agrees,
            (Some(_), ..) => Verdict::CannotTell,
        };
        Self {
            aim_ms_cm,
            predicted_ms_cm: handbook,
            low_ms_cm: low,
            high_ms_cm: high,
            handbook_ms_cm: handbook,
            verdict,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_recipes::Water;

    /// Source: Sonneveld (1999) in ARSIA Quaderno 5/2004, p. 179: 20 meq/L of cations is 2.09.
    #[test]
    fn the_handbook_rule() {
        assert!((handbook_ms_cm(20.0) - 2.09).abs() < 1e-12);
    }

    #[test]
    fn pure_water_is_outside_the_rule() {
        let ec = Ec::of(&Solution::of(&Water::pure(), &[]), Some(1.4));
        assert_eq!(ec.verdict, Verdict::CannotTell);
        assert_eq!(ec.low_ms_cm, None);
    }
}
