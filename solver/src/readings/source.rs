//! A source water, solved once for all that is mixed into it.

use crate::chemistry::acid::{SourceWater, source_water};
use crate::chemistry::conductivity::conductivity;
use crate::chemistry::{Carbon, Conditions, NotConverged, Protons, Totals, speciate};
use saltwright_fertilizers::Dose;
use saltwright_recipes::Water;

/// A source water, solved once for all that is mixed into it.
#[derive(Clone, Debug)]
pub struct Source<'a> {
    /// The water and its analysis.
    pub water: &'a Water,
    /// What it holds, its carbon included.
    pub totals: Totals,
    /// Its own EC, µS/cm at 25 °C.
    pub us_cm: f64,
}

impl<'a> Source<'a> {
    /// Solves a water.
    ///
    /// # Errors
    /// [`NotConverged`] where its balances are not met.
    pub fn new(water: &'a Water) -> Result<Self, NotConverged> {
        let SourceWater { totals, solved } = source_water(water)?;
        let at = Conditions::reference();
        let solved = match solved {
            Some(solved) => solved,
            None => speciate(at, &totals, Carbon::Closed, Protons::Balance, None)?,
        };
        Ok(Self {
            water,
            totals,
            us_cm: conductivity(at, &solved).us_cm,
        })
    }

    fn with(&self, mix: &[Dose]) -> Totals {
        let mut totals = self.totals;
        totals += totals_of(mix);
        totals
    }

    /// EC of a mix in this water, mS/cm at 25 °C.
    pub fn ec_ms_cm(&self, mix: &[Dose]) -> Result<f64, NotConverged> {
        let at = Conditions::reference();
        let totals = self.with(mix);
        let closed = speciate(at, &totals, Carbon::Closed, Protons::Balance, None)?;
        Ok(conductivity(at, &closed).us_cm / 1000.0)
    }

    /// pH of a mix in this water at 25 °C.
    pub fn ph(&self, mix: &[Dose], carbon: Carbon) -> Result<f64, NotConverged> {
        let (at, totals) = (Conditions::reference(), self.with(mix));
        Ok(speciate(at, &totals, carbon, Protons::Balance, None)?.ph)
    }

    /// Alkalinity, meq/L, that a mix in this water has at a pH (25 °C).
    pub fn alkalinity_at_ph(
        &self,
        mix: &[Dose],
        carbon: Carbon,
        ph: f64,
    ) -> Result<f64, NotConverged> {
        let (at, totals) = (Conditions::reference(), self.with(mix));
        Ok(-speciate(at, &totals, carbon, Protons::Ph(ph), None)?.acid_meq_l)
    }
}

/// What a mix brings to a litre.
pub fn totals_of(mix: &[Dose]) -> Totals {
    let mut totals = Totals::default();
    for dose in mix {
        totals.add_dose(dose);
    }
    totals
}
