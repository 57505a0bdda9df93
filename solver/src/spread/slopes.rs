//! How fast the EC moves with what goes in, and what the charge left open adds.
//!
//! A solution whose assays are off does not balance; the rest charge conducts like sodium or
//! chloride, whichever closes it. Its share therefore goes with the size of the charge, not with its
//! sign, and a straight line cannot follow it: the smooth part is a slope for each component, the
//! rest the folded part of a normal variable.

use super::inputs::{Effect, Inputs, Moves};
use crate::chemistry::conductivity::conductivity;
use crate::chemistry::{
    Carbon, Component, Conditions, NotConverged, Protons, Speciation, Totals, speciate,
};
use saltwright_fertilizers::Nutrient;
use std::f64::consts::PI;

/// Share of a total that a difference quotient steps by.
const STEP: f64 = 1e-3;
/// Charge, meq/L, that the rest is moved by to see what it conducts.
const REST_STEP_MEQ_L: f64 = 1e-2;
/// Share of all charges below which an ion moves no EC that a meter shows.
const TRACE: f64 = 2e-4;

/// Slopes of the EC of one solution at 25 °C, right after mixing.
#[derive(Clone, Debug)]
pub struct Slopes {
    /// µS/cm per mmol/L of each component, the open charge held.
    per_mmol: [f64; Component::COUNT],
    /// µS/cm per meq/L of acid, the open charge held.
    per_acid_meq: f64,
    /// µS/cm per meq/L of open charge, where cations are missing and where anions are.
    per_open_meq: [f64; 2],
    /// Open charge of the solution as it is meant, meq/L.
    open: f64,
}

impl Slopes {
    /// Of a solved solution: one more solve for each ion that counts, from its answer.
    ///
    /// # Errors
    /// [`NotConverged`] where the balances are not met.
    pub fn of(totals: &Totals, solved: &Speciation, us_cm: f64) -> Result<Self, NotConverged> {
        let at = Conditions::reference();
        let open_meq_l = totals.rest_meq_l();
        let with_rest = |meq_l: f64| {
            let mut moved = solved.clone();
            moved.rest_meq_l += meq_l;
            (conductivity(at, &moved).us_cm - us_cm) / REST_STEP_MEQ_L
        };
        // Beyond the charge that is open already, each sign conducts by itself.
        let sign = if open_meq_l < 0.0 { -1.0 } else { 1.0 };
        let along = with_rest(sign * REST_STEP_MEQ_L);
        let mut turned = solved.clone();
        turned.rest_meq_l = 0.0;
        let without = conductivity(at, &turned).us_cm;
        turned.rest_meq_l = -sign * REST_STEP_MEQ_L;
        let against = (conductivity(at, &turned).us_cm - without) / REST_STEP_MEQ_L;
        let per_open_meq = if sign > 0.0 {
            [along, against]
        } else {
            [against, along]
        };
        let mut slopes = Self {
            per_mmol: [0.0; Component::COUNT],
            per_acid_meq: 0.0,
            per_open_meq,
            open: open_meq_l,
        };
        let slope = |moved: &Totals, by: f64| {
            let found = speciate(at, moved, Carbon::Closed, Protons::Balance, Some(solved))?;
            let change = conductivity(at, &found).us_cm - us_cm;
            let of_rest = slopes.of_open(moved.rest_meq_l()) - slopes.of_open(open_meq_l);
            Ok::<f64, NotConverged>((change - of_rest) / by)
        };
        let charge = |component: Component, mmol: f64| f64::from(component.charge().abs()) * mmol;
        let charges: f64 = totals.iter().map(|(c, mmol)| charge(c, mmol)).sum();
        let mut per_mmol = [0.0; Component::COUNT];
        for (component, mmol) in totals.iter() {
            let carries = if component == Component::Carbon {
                mmol
            } else {
                charge(component, mmol)
            };
            if carries > TRACE * charges {
                let mut moved = *totals;
                moved[component] += STEP * mmol;
                per_mmol[component.index()] = slope(&moved, STEP * mmol)?;
            }
        }
        let mut moved = *totals;
        let by = STEP * charges;
        moved.acid_meq_l += by;
        slopes.per_acid_meq = if charges > 0.0 {
            slope(&moved, by)?
        } else {
            0.0
        };
        slopes.per_mmol = per_mmol;
        Ok(slopes)
    }

    /// What an open charge conducts, µS/cm.
    pub fn of_open(&self, meq_l: f64) -> f64 {
        let [cations, anions] = self.per_open_meq;
        if meq_l > 0.0 {
            cations * meq_l
        } else {
            -anions * meq_l
        }
    }

    /// How the EC moves with all that an assay of a bag brings.
    pub fn of_assay(&self, inputs: &Inputs, at: usize, nutrient: Nutrient) -> Moves {
        let bag = &inputs.bags[at];
        let brings = Totals::of_assay(&bag.fertilizer, nutrient) * bag.g_per_l;
        let by_component = brings
            .iter()
            .map(|(c, mmol)| self.per_mmol[c.index()] * mmol);
        Moves {
            direct: by_component.sum::<f64>() + self.per_acid_meq * brings.acid_meq_l,
            charge: brings.rest_meq_l(),
        }
    }

    /// How the EC moves with a figure of the water analysis.
    pub fn of_water(&self, inputs: &Inputs, nutrient: Nutrient) -> Moves {
        let component = Component::of_nutrient(nutrient);
        let mmol = inputs.water[nutrient] / nutrient.atomic_weight();
        Moves {
            direct: self.per_mmol[component.index()] * mmol,
            charge: -f64::from(component.charge()) * mmol,
        }
    }

    /// How the EC moves with the alkalinity of the water, its carbon with it.
    pub fn of_alkalinity(&self, alkalinity_meq_l: f64, carbon_mmol_l: f64) -> Moves {
        let of_carbon = self.per_mmol[Component::Carbon.index()] * carbon_mmol_l;
        Moves {
            direct: of_carbon - self.per_acid_meq * alkalinity_meq_l,
            charge: alkalinity_meq_l,
        }
    }

    /// Variance of the EC by each effect, (µS/cm)².
    ///
    /// EC = L + a r + b |r| with the open charge r near normal around r0 with variance s²:
    ///
    /// var |r| = r0² + s² - m²,   m = E|r| = s (2/π)^½ exp(-r0²/2s²) + r0 erf(r0/(s 2^½)),
    /// cov(x, |r|) = cov(x, r) erf(r0/(s 2^½)),   a = (c - d)/2,   b = (c + d)/2,
    ///
    /// c and d being what a meq/L of missing cations and of missing anions conducts. The first two
    /// moments of a folded normal: Leone, Nelson and Nottingham (1961), Technometrics 3, 543-550
    /// (from memory); the covariance by Stein's lemma.
    pub fn variances(&self, effects: &[Effect]) -> Vec<f64> {
        let [cations, anions] = self.per_open_meq;
        let (lean, fold) = (0.5 * (cations - anions), 0.5 * (cations + anions));
        let of_charge = |effect: &Effect| effect.moves.charge.powi(2) / 3.0;
        let charge: f64 = effects.iter().map(of_charge).sum();
        let mean = self.open;
        let (signed, folded) = if charge > 0.0 {
            let s = charge.sqrt();
            let signed = erf(mean / (s * 2_f64.sqrt()));
            let m = s * (2.0 / PI).sqrt() * (-mean * mean / (2.0 * charge)).exp() + mean * signed;
            (signed, (mean * mean + charge - m * m).max(0.0) / charge)
        } else {
            (0.0, 0.0)
        };
        let of_effect = |effect: &Effect| {
            let straight = effect.moves.direct + lean * effect.moves.charge;
            let crossed = 2.0 * fold * signed * straight * effect.moves.charge;
            let variance =
                straight.powi(2) + crossed + fold.powi(2) * folded * effect.moves.charge.powi(2);
            (variance / 3.0).max(0.0)
        };
        effects.iter().map(of_effect).collect()
    }
}

/// The error function, to 1.5e-7.
///
/// Source: Abramowitz and Stegun (1964), Handbook of Mathematical Functions, 7.1.26.
fn erf(x: f64) -> f64 {
    const P: f64 = 0.327_591_1;
    const A: [f64; 5] = [
        0.254_829_592,
        -0.284_496_736,
        1.421_413_741,
        -1.453_152_027,
        1.061_405_429,
    ];
    let t = 1.0 / (1.0 + P * x.abs());
    let sum = A.iter().rev().fold(0.0, |sum, a| (sum + a) * t);
    (1.0 - sum * (-x * x).exp()) * x.signum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sodium bicarbonate with as much carbon dioxide, near pH 6.3: a mmol/L more of sodium conducts what sodium does, a meq/L of acid takes
    /// away what bicarbonate does, either a little less than at infinite dilution.
    ///
    /// Source of the limits, S cm²/mol: CRC Handbook of Chemistry and Physics, table of ionic
    /// conductivity and diffusion at infinite dilution, Na+ 50.08 and HCO3- 44.5.
    #[test]
    fn slopes_are_near_conductivities_at_infinite_dilution() {
        let mut totals = Totals::default();
        let sodium = Component::of_nutrient(Nutrient::Na);
        totals[sodium] = 2.0;
        totals[Component::Carbon] = 4.0;
        totals.acid_meq_l = -2.0;
        let at = Conditions::reference();
        let solved = speciate(at, &totals, Carbon::Closed, Protons::Balance, None).expect("solved");
        let us_cm = conductivity(at, &solved).us_cm;
        let slopes = Slopes::of(&totals, &solved, us_cm).expect("solved");
        for (found, limit) in [
            (slopes.per_mmol[sodium.index()], 50.08),
            (slopes.per_acid_meq, -44.5),
        ] {
            let share = found / limit;
            assert!((0.88..1.0).contains(&share), "{found} for {limit}");
        }
    }
}
