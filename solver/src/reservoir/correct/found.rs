//! What was found of a correction, and why the tank does not end where it should.

use super::dose::Remedied;
use super::level::{Dosed, Unmet};
use super::request::CorrectRequest;
use super::start::Grounds;
use crate::reservoir::supply::Way;
use crate::words::reservoir as words;
use saltwright_fertilizers::Fertilizer;
use std::sync::Arc;

/// Facts of a correction from which its sentences are made.
pub(crate) struct Found<'a> {
    /// What was asked.
    pub request: &'a CorrectRequest,
    /// On what grounds the tank is taken to hold something.
    pub grounds: Grounds,
    /// EC of the tank by its ions, mS/cm.
    pub ec_ms_cm: f64,
    /// Why the EC is not met.
    pub(super) unmet: Option<Unmet>,
    /// pH before any acid or base, where it should move.
    pub(super) ph_to_move: Option<f64>,
    /// What was dosed.
    pub(super) dosed: Option<Dosed>,
    /// The extreme pH right after a portion.
    pub extreme_ph: Option<f64>,
    /// Litres let out, and mg/L of nitrogen in them.
    pub drained: Option<(f64, f64)>,
    /// The acid or base that is poured.
    pub(super) remedy: Option<Remedied>,
    /// Ionic strength of the tank, mol/kg, now.
    pub ionic_strength_mol_kg: f64,
}

impl Found<'_> {
    /// Why the tank does not end where it should.
    pub(super) fn why_not(&self, ec_in_band: bool, ph_in_band: bool) -> Option<String> {
        let mut reasons = Vec::new();
        if !ec_in_band {
            reasons.push(match self.unmet {
                Some(Unmet::Water(ec)) => words::water_too_strong(ec),
                Some(Unmet::NoStock) => words::no_stock(),
                Some(Unmet::Stock(ec)) => words::stock_too_weak(ec),
                None => words::ec_missed(),
            });
        }
        if !ph_in_band {
            let way = match self.ph_to_move {
                Some(ph) if ph < self.request.ph_band()[0] => Way::Base,
                _ => Way::Acid,
            };
            reasons.push(words::ph_missed(way, self.dosed.is_some()));
        }
        (!reasons.is_empty()).then(|| reasons.join(" "))
    }

    /// The acid or base poured, and what is handled with it.
    pub(crate) fn handled(&self) -> impl Iterator<Item = &Arc<Fertilizer>> {
        let doses = self.remedy.iter().flat_map(|remedy| &remedy.mix);
        doses.map(|dose| &dose.fertilizer)
    }

    /// Which way the pH is moved, and by a bottle of unknown strength or not.
    pub(crate) fn moved(&self) -> Option<(Way, bool)> {
        let remedy = self.remedy.as_ref()?;
        Some((remedy.way, remedy.judged_meq_per_ml.is_some()))
    }
}
