//! What is poured together: the tank, source water, stocks, acids and bases.

use crate::chemistry::acid::carbon_mmol_l;
use crate::chemistry::conductivity::conductivity;
use crate::chemistry::{
    Carbon, Component, Conditions, LOG_PCO2_AIR, NotConverged, Protons, Speciation, Totals,
    speciate,
};
use crate::readings::{Source, totals_of};
use crate::solution::brought;
use saltwright_fertilizers::{Composition, Dose, Fertilizer, Nutrient};
use std::ops::{AddAssign, Mul};

/// In balance with outdoor air.
pub(super) const AIR: Carbon = Carbon::Open(LOG_PCO2_AIR);
/// pH above which a tank is not taken to have drawn all the carbonate from the air that its pH
/// would hold there: waters in balance with air and lime stand near it (Stumm and Morgan, Aquatic
/// Chemistry, from memory).
const DRAWN_FROM_AIR_TO: f64 = 8.3;
/// Rounds in which the nitrate that a pH stands for settles: ionic strength hardly moves with it.
const ROUNDS: usize = 4;

/// Which anion goes with the acid that a pH stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum By {
    /// Nitrate.
    Nitrate,
    /// One that is not known and does nothing.
    Inert,
}

/// What a litre holds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Liquid {
    /// For the chemistry, mmol/L.
    pub totals: Totals,
    /// For the grower, mg/L of each nutrient.
    pub holds: Composition,
}

impl Liquid {
    /// A source water.
    pub fn of_water(source: &Source<'_>) -> Self {
        Self {
            totals: source.totals,
            holds: source.water.holds,
        }
    }

    /// What a mix brings to a litre.
    pub fn of_mix(mix: &[Dose]) -> Self {
        Self {
            totals: totals_of(mix),
            holds: brought(mix).composition,
        }
    }

    /// What one assay of a fertilizer brings with a gram.
    pub fn of_assay(fertilizer: &Fertilizer, nutrient: Nutrient) -> Self {
        let mut holds = Composition::ZERO;
        holds[nutrient] = fertilizer.mg_per_g()[nutrient];
        Self {
            totals: Totals::of_assay(fertilizer, nutrient),
            holds,
        }
    }

    /// What one figure of an analysis brings, mg/L.
    pub fn of_figure(nutrient: Nutrient, mg_l: f64) -> Self {
        let mut liquid = Self::default();
        liquid.holds[nutrient] = mg_l;
        liquid.totals.add_composition(&liquid.holds);
        liquid
    }

    /// Free acid of so many milliequivalents in a litre, its anion unknown and inert.
    pub fn of_acid(meq_l: f64) -> Self {
        let mut totals = Totals::default();
        totals.acid_meq_l = meq_l;
        let holds = Composition::ZERO;
        Self { totals, holds }
    }

    /// Acid (or base, below zero) as nitrate that came (or was eaten), as far as there is any.
    pub fn add_nitric(&mut self, meq_l: f64) {
        let nitrate = &mut self.totals[Component::Nitrate];
        let change = meq_l.max(-*nitrate);
        *nitrate += change;
        self.holds[Nutrient::NitrateN] += change * Nutrient::NitrateN.atomic_weight();
        self.holds[Nutrient::NitrateN] = self.holds[Nutrient::NitrateN].max(0.0);
        self.totals.acid_meq_l += meq_l;
    }

    /// No less than nothing of anything.
    pub fn at_least_nothing(&mut self) {
        for (component, _) in Component::NAMED {
            self.totals[component] = self.totals[component].max(0.0);
        }
        let holds = self
            .holds
            .iter()
            .map(|(nutrient, mg)| (nutrient, mg.max(0.0)));
        self.holds = holds.collect();
    }

    /// Lets it stand in air at these conditions.
    pub fn stand(&mut self, at: &Conditions) -> Result<(), NotConverged> {
        let solved = speciate(at, &self.totals, AIR, Protons::Balance, None)?;
        self.totals[Component::Carbon] = carbon_mmol_l(&solved);
        Ok(())
    }

    /// Gives it the acid and the carbon that this pH stands for in a tank that stood in air.
    ///
    /// `By::Nitrate`: acid that is missing came with nitrate, acid that is too much went with
    /// nitrate; nitric acid is what growers pour, and what plants take up of nitrate raises the pH.
    /// `By::Inert`: the charges that an analysis leaves open are carried as they are.
    pub fn read_ph(&mut self, at: &Conditions, ph: f64, by: By) -> Result<(), NotConverged> {
        let carbon_of = |liquid: &Self, ph: f64| {
            let solved = speciate(at, &liquid.totals, AIR, Protons::Ph(ph), None)?;
            Ok((carbon_mmol_l(&solved), solved.acid_meq_l))
        };
        let brought = self.totals[Component::Carbon];
        for _ in 0..ROUNDS {
            let (carbon, mut acid) = carbon_of(self, ph)?;
            self.totals[Component::Carbon] = carbon;
            if ph > DRAWN_FROM_AIR_TO {
                let most = carbon_of(self, DRAWN_FROM_AIR_TO)?.0.max(brought);
                if carbon > most {
                    self.totals[Component::Carbon] = most;
                    let closed = Carbon::Closed;
                    acid = speciate(at, &self.totals, closed, Protons::Ph(ph), None)?.acid_meq_l;
                }
            }
            match by {
                By::Nitrate => self.add_nitric(acid - self.totals.acid_meq_l),
                By::Inert => self.totals.acid_meq_l = acid,
            }
        }
        Ok(())
    }

    /// EC as it is, mS/cm at 25 °C.
    pub fn ec_ms_cm(&self) -> Result<f64, NotConverged> {
        self.raw_ms_cm(Conditions::reference())
    }

    /// What it conducts at its own temperature, mS/cm.
    pub fn raw_ms_cm(&self, at: &Conditions) -> Result<f64, NotConverged> {
        Ok(conductivity(at, &self.solve(at)?).us_cm / 1000.0)
    }

    /// Species as it is, no carbon dioxide escaping.
    pub fn solve(&self, at: &Conditions) -> Result<Speciation, NotConverged> {
        speciate(at, &self.totals, Carbon::Closed, Protons::Balance, None)
    }

    /// pH as it is.
    pub fn ph(&self, at: &Conditions) -> Result<f64, NotConverged> {
        Ok(self.solve(at)?.ph)
    }
}

impl AddAssign for Liquid {
    fn add_assign(&mut self, other: Self) {
        self.totals += other.totals;
        self.holds += other.holds;
    }
}

impl Mul<f64> for Liquid {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self {
            totals: self.totals * factor,
            holds: self.holds * factor,
        }
    }
}

/// So many litres of a liquid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tank {
    /// How many.
    pub litres: f64,
    /// Of what.
    pub liquid: Liquid,
}

impl Tank {
    /// Pours in so many litres of another liquid; volumes add up.
    pub fn pour(&mut self, litres: f64, liquid: &Liquid) {
        self.dissolve(&(*liquid * litres), litres);
    }

    /// Adds what a dose brings in all (mmol, mg), and its litres.
    pub fn dissolve(&mut self, brings: &Liquid, litres: f64) {
        let mut both = self.liquid * self.litres;
        both += *brings;
        self.litres += litres;
        self.liquid = both * (1.0 / self.litres);
    }
}
