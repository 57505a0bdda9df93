//! Alkalinity, the carbon of a source water, and the acid or base that brings it to a pH.

use super::LOG_PCO2_AIR;
use super::component::{Component, Totals};
use super::equilibrium::{Carbon, NotConverged, Protons, Speciation, speciate};
use super::species::{Conditions, Table};
use saltwright_recipes::Water;

/// First dissociation constant of carbonic acid, as -log10, where the search for carbon starts.
const PK1: f64 = 6.35;
/// How closely the measured alkalinity is met, relative.
const ALKALINITY: f64 = 1e-7;
/// How closely a dose meets its pH.
const PH: f64 = 1e-6;
/// Steps after which a search is given up.
const MOST_STEPS: usize = 40;

/// A source water as the chemistry sees it.
#[derive(Clone, Debug)]
pub struct SourceWater {
    /// What a litre holds, inorganic carbon included.
    pub totals: Totals,
    /// Its species at 25 °C; none for a blend or a water of unknown pH, which has to be solved.
    pub solved: Option<Speciation>,
}

/// Totals of a source water, with the carbon that its alkalinity and pH stand for.
///
/// The measured alkalinity wins over the ion sum: what the analysis leaves open is carried as an
/// inert charge. A blend holds what its waters hold. Where the pH is not known, or there is no
/// alkalinity, the water is taken to be in balance with air; pure water holds no carbon.
///
/// # Errors
/// [`NotConverged`] where a balance is not found.
pub fn source_water(water: &Water) -> Result<SourceWater, NotConverged> {
    if !water.parts.is_empty() {
        let mut totals = Totals::default();
        for (part, share) in &water.parts {
            totals += source_water(part)?.totals * *share;
        }
        let solved = None;
        return Ok(SourceWater { totals, solved });
    }
    let mut totals = Totals::default();
    totals.add_composition(&water.holds);
    totals.acid_meq_l = -water.alkalinity_meq_l;
    if water.is_pure() {
        let solved = None;
        return Ok(SourceWater { totals, solved });
    }
    match water.ph {
        Some(ph) if water.alkalinity_meq_l > 0.0 => carbon_from_ph(totals, ph),
        _ => {
            let at = Conditions::reference();
            let open = Carbon::Open(LOG_PCO2_AIR);
            let solved = speciate(at, &totals, open, Protons::Balance, None)?;
            totals[Component::Carbon] = carbon_mmol_l(&solved);
            let solved = None;
            Ok(SourceWater { totals, solved })
        }
    }
}

/// Inorganic carbon in all species, mmol/L.
pub fn carbon_mmol_l(solution: &Speciation) -> f64 {
    let species = &Table::shipped().species;
    let holding = species
        .iter()
        .enumerate()
        .filter(|(_, species)| species.holds.contains(&Component::Carbon));
    holding.map(|(position, _)| solution.mmol_l(position)).sum()
}

/// The carbon at which a water of this pH (25 °C) has its measured alkalinity.
///
/// Secant on the alkalinity of the water solved at fixed pH, which is nearly a straight line in the
/// carbon; from Alk (1 + 10^(pK1 - pH)).
fn carbon_from_ph(mut totals: Totals, ph: f64) -> Result<SourceWater, NotConverged> {
    let at = Conditions::reference();
    let alkalinity = -totals.acid_meq_l;
    let mut carbon = alkalinity * (1.0 + 10_f64.powf(PK1 - ph));
    let mut before: Option<(f64, f64)> = None;
    let mut solved: Option<Speciation> = None;
    for _ in 0..MOST_STEPS {
        totals[Component::Carbon] = carbon;
        let found = speciate(
            at,
            &totals,
            Carbon::Closed,
            Protons::Ph(ph),
            solved.as_ref(),
        )?;
        let excess = -found.acid_meq_l - alkalinity;
        solved = Some(found);
        if excess.abs() <= ALKALINITY * alkalinity {
            break;
        }
        let next = match before {
            Some((last, last_excess)) if (excess - last_excess).abs() > 0.0 => {
                carbon - excess * (carbon - last) / (excess - last_excess)
            }
            _ => carbon * alkalinity / (alkalinity + excess),
        };
        before = Some((carbon, excess));
        // At a pH where hydroxide alone carries more than was measured, no carbon is left.
        let next = next.max(0.0);
        if (next - carbon).abs() <= 1e-15 * carbon {
            break;
        }
        carbon = next;
    }
    // The rest charge of a solve at fixed pH is that of the totals: the answer is the water.
    Ok(SourceWater { totals, solved })
}

/// How much of something brings a solution to a pH: the factor on `brings`, not negative; none
/// where no amount does.
///
/// At fixed pH the acid that a solution needs is nearly a straight line in what is added, so a
/// secant on it settles in a few solves, also for phosphoric acid, which gives up part of a second
/// proton.
///
/// # Errors
/// [`NotConverged`] where a balance is not found.
pub fn dose_to_ph(
    at: &Conditions,
    totals: &Totals,
    brings: &Totals,
    carbon: Carbon,
    ph: f64,
) -> Result<Option<f64>, NotConverged> {
    // Acid missing at this pH with this much added.
    let mut solved: Option<Speciation> = None;
    let mut missing = |amount: f64| -> Result<f64, NotConverged> {
        let mut mixed = *totals;
        mixed += *brings * amount;
        let found = speciate(at, &mixed, carbon, Protons::Ph(ph), solved.as_ref())?;
        let missing = found.acid_meq_l - mixed.acid_meq_l;
        solved = Some(found);
        Ok(missing)
    };
    if brings.acid_meq_l == 0.0 {
        return Ok(None);
    }
    let (mut last, mut last_missing) = (0.0, missing(0.0)?);
    let mut amount = last_missing / brings.acid_meq_l;
    for _ in 0..MOST_STEPS {
        if amount < 0.0 || !amount.is_finite() {
            return Ok(None);
        }
        let now = missing(amount)?;
        if now.abs() <= 1e-12 * (amount * brings.acid_meq_l).abs() {
            break;
        }
        let slope = (now - last_missing) / (amount - last);
        (last, last_missing) = (amount, now);
        // A slope of the wrong sign leads away: this dose cannot reach the pH.
        if slope * brings.acid_meq_l >= 0.0 {
            return Ok(None);
        }
        let step = now / slope;
        if step.abs() <= 1e-13 * amount {
            break;
        }
        amount -= step;
    }
    let mut mixed = *totals;
    mixed += *brings * amount;
    let reached = speciate(at, &mixed, carbon, Protons::Balance, None)?.ph;
    Ok(((reached - ph).abs() <= PH).then_some(amount))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check_water() -> Totals {
        let mut totals = Totals::default();
        for (component, mmol) in [
            (Component::Calcium, 2.5),
            (Component::Magnesium, 0.8),
            (Component::Sodium, 1.5),
            (Component::Potassium, 0.08),
            (Component::Chloride, 1.4),
            (Component::Sulfate, 0.8),
        ] {
            totals[component] = mmol;
        }
        totals.acid_meq_l = -5.18;
        totals
    }

    /// Source: own reference model, written apart from this program; confirmed by PHREEQC 3.8.6.
    #[test]
    fn carbon_of_a_hard_water() {
        let water = carbon_from_ph(check_water(), 7.5).expect("solved");
        assert!((water.totals[Component::Carbon] - 5.4687).abs() < 5e-5);
    }

    /// Nitric acid in percent of the alkalinity, pH right after and in balance with air.
    /// Source: as above.
    #[test]
    fn nitric_acid_in_a_hard_water() {
        let water = carbon_from_ph(check_water(), 7.5).expect("solved").totals;
        let at = Conditions::reference();
        let air = Carbon::Open(LOG_PCO2_AIR);
        for (percent, closed, open) in [
            (0.0, 7.50, 8.78),
            (50.0, 6.25, 8.51),
            (80.0, 5.66, 8.14),
            (100.0, 4.31, 5.60),
            (110.0, 3.34, 3.34),
        ] {
            let mut dosed = water;
            dosed += Totals::neutral([(Component::Nitrate, 5.18 * percent / 100.0)]);
            for (carbon, ph) in [(Carbon::Closed, closed), (air, open)] {
                let solved = speciate(at, &dosed, carbon, Protons::Balance, None);
                let found = solved.expect("solved").ph;
                assert!((found - ph).abs() < 0.006, "{percent} %: {found} for {ph}");
            }
        }
    }

    /// A dose to a pH gives that pH, for one and two protons, and a base for a pH above.
    #[test]
    fn a_dose_reaches_its_ph() {
        let water = carbon_from_ph(check_water(), 7.5).expect("solved").totals;
        let at = Conditions::reference();
        for (component, ph) in [
            (Component::Nitrate, 5.8),
            (Component::Phosphate, 6.2),
            (Component::Sulfate, 4.5),
            (Component::Potassium, 8.5),
        ] {
            let brings = Totals::neutral([(component, 1.0)]);
            let dose = dose_to_ph(at, &water, &brings, Carbon::Closed, ph).expect("solved");
            let mut dosed = water;
            dosed += brings * dose.expect("reachable");
            let solved = speciate(at, &dosed, Carbon::Closed, Protons::Balance, None);
            assert!((solved.expect("solved").ph - ph).abs() < 1e-6);
        }
        let lye = Totals::neutral([(Component::Potassium, 1.0)]);
        let dose = dose_to_ph(at, &water, &lye, Carbon::Closed, 5.0);
        assert_eq!(dose, Ok(None), "lye does not lower a pH");
    }
}
