//! A mix in its water, solved, with what follows for its EC and pH from what may be off.

use super::source::{Source, totals_of};
use super::{AIR, METER_PCT_PER_KELVIN};
use crate::chemistry::conductivity::inert_us_cm;
use crate::chemistry::{
    Carbon, Component, Conditions, NotConverged, Protons, Speciation, Totals, speciate,
};
use crate::ec::{COVERAGE, Conducted};
use crate::ph::{self, Ph};
use crate::spread::{self, Alkalinity, Cause, Effect, Inputs, Moves, Reading, Slopes, Uncertain};
use saltwright_fertilizers::Dose;
use saltwright_recipes::Balance;

/// What the EC makes of what is stated to be off.
#[derive(Clone, Debug, Default)]
pub(super) struct OfStated {
    /// Variances by cause, (µS/cm)².
    pub variances: Vec<(Cause, f64)>,
    /// The least and the most with all of it at an end, µS/cm.
    pub ends: Option<[f64; 2]>,
}

/// A mix in its water, ready for the chemistry.
pub(super) struct Subject<'a> {
    source: &'a Source<'a>,
    totals: Totals,
    /// Charge that the mix leaves open, meq/L.
    open_charge_meq_l: f64,
    /// Acid equivalents of everything acid or basic in the mix, meq/L.
    acids_meq_l: f64,
    pub uncharted: bool,
}

impl<'a> Subject<'a> {
    pub fn new(source: &'a Source<'a>, mix: &[Dose]) -> Self {
        let added = totals_of(mix);
        let mut totals = source.totals;
        totals += added;
        let poured = || mix.iter().filter(|dose| dose.amount.0 > 0.0);
        let acid = |dose: &Dose| (dose.fertilizer.acid_meq_per_g() * dose.amount.0).abs();
        Self {
            source,
            totals,
            open_charge_meq_l: added.rest_meq_l(),
            acids_meq_l: poured().map(acid).sum(),
            uncharted: poured().any(|dose| !dose.fertilizer.is_charted()),
        }
    }

    pub fn solve(
        &self,
        at: &Conditions,
        carbon: Carbon,
        start: Option<&Speciation>,
    ) -> Result<Speciation, NotConverged> {
        speciate(at, &self.totals, carbon, Protons::Balance, start)
    }

    pub fn conducted(&self, solution: f64, stated: f64, inside: bool) -> Conducted {
        let at = Conditions::reference();
        let is_broken = self.source.water.balance() == Balance::Broken;
        let water_rest = self.source.totals.rest_meq_l();
        Conducted {
            solution,
            water: self.source.us_cm,
            open_charge: inert_us_cm(at, self.open_charge_meq_l),
            unbalanced: is_broken.then(|| inert_us_cm(at, water_rest)),
            stated,
            inside,
        }
    }

    /// Variances of the EC by what is stated of bags, scale, tank, water and meter, (µS/cm)², and
    /// its ends where all of that stands at an end, µS/cm.
    pub fn stated(
        &self,
        inputs: &Inputs,
        closed: &Speciation,
        us_cm: f64,
    ) -> Result<OfStated, NotConverged> {
        let slopes = Slopes::of(&self.totals, closed, us_cm)?;
        let mut effects = inputs.effects(
            &|at, nutrient| slopes.of_assay(inputs, at, nutrient),
            &|_| 0.0,
            &|nutrient| slopes.of_water(inputs, nutrient),
        );
        let stated = &inputs.stated;
        let water = Alkalinity {
            meq_l: self.source.water.alkalinity_meq_l,
            carbon_mmol_l: self.source.totals[Component::Carbon],
        };
        let of_alkalinity = slopes.of_alkalinity(water.meq_l, water.carbon_mmol_l);
        let of_pct = |percent: f64, moves: Moves| moves.times(percent / 100.0);
        let per_kelvin = METER_PCT_PER_KELVIN * stated.temperature_c;
        let more = [
            (
                Cause::WaterAnalysis,
                of_pct(stated.water_pct, of_alkalinity),
            ),
            (Cause::Thermometer, of_pct(per_kelvin, Moves::direct(us_cm))),
            (Cause::Meter, of_pct(stated.meter_pct, Moves::direct(us_cm))),
        ];
        effects.extend(more.map(|(cause, moves)| Effect { cause, moves }));
        let causes = effects.iter().map(|effect| effect.cause);
        let reading = Reading([stated.meter_pct / 100.0, per_kelvin / 100.0]);
        let ends = spread::ends(&slopes, inputs, (&self.totals, closed), water, reading)?;
        Ok(OfStated {
            variances: causes.zip(slopes.variances(&effects)).collect(),
            ends: Some(ends),
        })
    }

    /// pH with its range, from both answers at the solution's temperature; and why that after
    /// standing in air is not exact.
    pub fn ph(
        &self,
        at: &Conditions,
        closed: &Speciation,
        open: &Speciation,
        inputs: Option<&Inputs>,
    ) -> Result<(Ph, Uncertain), NotConverged> {
        let parts = ph::charge_variances(
            self.source.water.alkalinity_meq_l,
            self.acids_meq_l,
            self.open_charge_meq_l,
            inputs.map_or_else(Vec::new, Inputs::of_acids),
        );
        let charge: f64 = parts.iter().map(|(_, variance)| variance).sum();
        let meter = inputs.map_or(0.0, |inputs| inputs.stated.meter_ph.powi(2) / 3.0);
        let apart = COVERAGE * (ph::OF_CONSTANTS.powi(2) + meter).sqrt();
        let moved = |carbon, sign: f64, from: &Speciation| {
            let mut totals = self.totals;
            totals.acid_meq_l += sign * COVERAGE * charge.sqrt();
            let moved = speciate(at, &totals, carbon, Protons::Balance, Some(from))?.ph;
            Ok(moved - from.ph)
        };
        let [more, less] = [moved(AIR, 1.0, open)?, moved(AIR, -1.0, open)?];
        let ends = [
            moved(Carbon::Closed, 1.0, closed)?,
            moved(Carbon::Closed, -1.0, closed)?,
        ];
        let told = Ph {
            closed: Some(closed.ph),
            open: Some(open.ph),
            closed_low: Some(closed.ph - ends[0].hypot(apart)),
            closed_high: Some(closed.ph + ends[1].hypot(apart)),
            open_low: Some(open.ph - more.hypot(apart)),
            open_high: Some(open.ph + less.hypot(apart)),
            unbuffered: ph::is_unbuffered(closed.buffer_mol_kg),
        };
        // What charge does to either side, shared out as its variances are.
        let per_charge = (0.5 * (less - more) / COVERAGE).powi(2) / charge;
        let of_charge = parts
            .into_iter()
            .map(|(cause, of)| (cause, of * per_charge));
        let beside = [
            (Cause::PhModel, ph::OF_CONSTANTS.powi(2)),
            (Cause::PhMeter, meter),
        ];
        Ok((told, Uncertain::new(spread::PH, of_charge.chain(beside))))
    }
}
