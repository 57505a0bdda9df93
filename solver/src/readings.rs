//! What the meters show of a finished solution, what it holds ion by ion, and what could drop out.

use crate::chemistry::acid::{SourceWater, source_water};
use crate::chemistry::conductivity::{conductivity, inert_us_cm};
use crate::chemistry::meter::Compensation;
use crate::chemistry::{
    Carbon, Component, Conditions, EC_CELSIUS, LOG_PCO2_AIR, MOST_IONIC_STRENGTH, NotConverged,
    PH_RANGE, Protons, REFERENCE_CELSIUS, Speciation, Totals, speciate,
};
use crate::ec::{COVERAGE, Conducted, Ec};
use crate::ions::Detail;
use crate::ph::{self, Ph};
use crate::solids::{self, SolidRow};
use crate::solution::Solution;
use crate::spread::{self, Alkalinity, Cause, Effect, Inputs, Moves, Reading, Slopes, Uncertain};
use saltwright_fertilizers::Dose;
use saltwright_recipes::{Balance, Water};
use schemars::JsonSchema;
use serde::Serialize;

/// Relative standard uncertainty that a temperature other than 25 °C adds to a raw EC.
const OF_TEMPERATURE: [(f64, f64); 2] = [(15.0, 0.003), (5.0, 0.008)];

/// What a compensating meter makes of a degree that its thermometer is off, percent: its usual
/// setting (`Compensation::USUAL`).
pub(crate) const METER_PCT_PER_KELVIN: f64 = 2.0;

/// In balance with outdoor air.
const AIR: Carbon = Carbon::Open(LOG_PCO2_AIR);

/// What is asked about a solution.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Its temperature, °C; 25 where nobody says.
    pub celsius: Option<f64>,
    /// The EC to compare with, mS/cm at 25 °C.
    pub aim_ms_cm: Option<f64>,
    /// True where the ions are listed one by one.
    pub detail: bool,
    /// What may be off about the mix, where the range is to cover it.
    pub(crate) inputs: Option<&'a Inputs>,
}

impl Asked<'_> {
    /// A solution at 25 °C.
    pub const fn at_reference(aim_ms_cm: Option<f64>, detail: bool) -> Self {
        Self {
            celsius: None,
            aim_ms_cm,
            detail,
            inputs: None,
        }
    }
}

/// What the meters show.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// EC at 25 °C.
    pub ec: Ec,
    /// pH at the solution's temperature.
    pub ph: Ph,
    /// What could drop out.
    pub solids: Vec<SolidRow>,
    /// Ionic strength at 25 °C, mol/L.
    pub ionic_strength_mol_l: f64,
    /// EC at the solution's temperature, uncompensated.
    pub raw: Option<RawEc>,
    /// What was found ion by ion, where it was asked.
    pub detail: Option<Detail>,
    /// Why EC and pH (after standing in air) are not exact; empty outside the range of the model,
    /// and where no ranges are asked for.
    pub uncertain: Vec<Uncertain>,
    /// Why the model should not be trusted here; empty inside its range.
    pub outside: Vec<Outside>,
}

/// A reason why the model is outside its range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outside {
    /// Ionic strength, mol/kg.
    Strength(f64),
    /// pH.
    Acidity(f64),
    /// Temperature, °C.
    Temperature(f64),
    /// An acid without constants is in the mix.
    Uncharted,
}

/// EC at a temperature, and what meters make of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RawEc {
    /// Conductivity at the solution's temperature, mS/cm.
    pub ms_cm: f64,
    /// Lower end (k = 2); none outside the range of the model.
    pub low_ms_cm: Option<f64>,
    /// Upper end.
    pub high_ms_cm: Option<f64>,
    /// What compensating meters then show.
    pub shown: Vec<Shown>,
}

/// What a meter with some compensation shows.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Shown {
    /// How the meter carries a reading to 25 °C.
    pub compensation: String,
    /// What it shows, mS/cm.
    pub ms_cm: f64,
}

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

/// What the EC makes of what is stated to be off.
#[derive(Clone, Debug, Default)]
struct OfStated {
    /// Variances by cause, (µS/cm)².
    variances: Vec<(Cause, f64)>,
    /// The least and the most with all of it at an end, µS/cm.
    ends: Option<[f64; 2]>,
}

/// A mix in its water, ready for the chemistry.
struct Subject<'a> {
    source: &'a Source<'a>,
    totals: Totals,
    /// Charge that the mix leaves open, meq/L.
    open_charge_meq_l: f64,
    /// Acid equivalents of everything acid or basic in the mix, meq/L.
    acids_meq_l: f64,
    uncharted: bool,
}

impl<'a> Subject<'a> {
    fn new(source: &'a Source<'a>, mix: &[Dose]) -> Self {
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

    fn solve(
        &self,
        at: &Conditions,
        carbon: Carbon,
        start: Option<&Speciation>,
    ) -> Result<Speciation, NotConverged> {
        speciate(at, &self.totals, carbon, Protons::Balance, start)
    }

    fn conducted(&self, solution: f64, stated: f64, inside: bool) -> Conducted {
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
    fn stated(
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
    fn ph(
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

/// Works out what the meters show of a mix in its water.
///
/// What cannot be worked out is none, and `outside` says why; it is never a made-up number.
///
/// # Errors
/// [`NotConverged`] where the balances are not met.
pub fn readings(
    source: &Source<'_>,
    mix: &[Dose],
    asked: Asked<'_>,
) -> Result<Readings, NotConverged> {
    let subject = Subject::new(source, mix);
    let reference = Conditions::reference();
    let closed = subject.solve(reference, Carbon::Closed, None)?;
    let conducted = conductivity(reference, &closed);
    let mut outside = outside(&subject, &closed);
    let inside = outside.is_empty();
    let cations = Solution::of(source.water, mix).main_cations_meq_l();
    let inputs = asked.inputs.filter(|_| inside);
    let stated = match inputs {
        Some(inputs) => subject.stated(inputs, &closed, conducted.us_cm)?,
        None => OfStated::default(),
    };
    let of_stated: f64 = stated.variances.iter().map(|(_, variance)| variance).sum();
    let whole = subject.conducted(conducted.us_cm, of_stated, inside);
    let ec = Ec::of(&whole, cations, asked.aim_ms_cm).with_ends(stated.ends);
    let celsius = asked.celsius.unwrap_or(REFERENCE_CELSIUS);
    let elsewhere = ((celsius - REFERENCE_CELSIUS).abs() > 1e-9).then(|| Conditions::at(celsius));
    let here = elsewhere.as_ref().unwrap_or(reference);
    let closed_here = match &elsewhere {
        Some(here) => subject.solve(here, Carbon::Closed, Some(&closed))?,
        None => closed.clone(),
    };
    let open_here = subject.solve(here, AIR, Some(&closed_here))?;
    let (mut ph, of_ph) = if subject.uncharted {
        (Ph::default(), None)
    } else {
        let (ph, of_ph) = subject.ph(here, &closed_here, &open_here, inputs)?;
        (ph, inputs.map(|_| of_ph))
    };
    if !inside {
        (ph.closed_low, ph.closed_high) = (None, None);
        (ph.open_low, ph.open_high) = (None, None);
    }
    let of_ec = inputs.map(|_| {
        let parts = stated.variances.into_iter().chain(whole.of_model());
        // In (mS/cm)², as the EC is told.
        let parts = parts.map(|(cause, square)| (cause, 1e-6 * square));
        Uncertain::new(spread::EC, parts)
    });
    if !EC_CELSIUS.contains(&celsius) {
        outside.push(Outside::Temperature(celsius));
    }
    Ok(Readings {
        raw: asked.celsius.and_then(|_| raw_ec(here, &closed_here, &ec)),
        ec,
        ph,
        solids: solids::rows(here, &closed_here, &open_here),
        ionic_strength_mol_l: closed.ionic_strength_mol_kg * closed.kg_water_l,
        detail: asked.detail.then(|| Detail::of(&closed, &conducted)),
        uncertain: of_ec.into_iter().chain(of_ph).collect(),
        outside,
    })
}

fn outside(subject: &Subject<'_>, closed: &Speciation) -> Vec<Outside> {
    let strength = closed.ionic_strength_mol_kg;
    let reasons = [
        (strength > MOST_IONIC_STRENGTH).then_some(Outside::Strength(strength)),
        (!PH_RANGE.contains(&closed.ph)).then_some(Outside::Acidity(closed.ph)),
        subject.uncharted.then_some(Outside::Uncharted),
    ];
    reasons.into_iter().flatten().collect()
}

/// EC at a temperature; none outside the range of the conductivity model.
fn raw_ec(at: &Conditions, closed: &Speciation, ec: &Ec) -> Option<RawEc> {
    let celsius = at.celsius;
    if !EC_CELSIUS.contains(&celsius) {
        return None;
    }
    let ms_cm = conductivity(at, closed).us_cm / 1000.0;
    let of_temperature = OF_TEMPERATURE
        .iter()
        .find(|(from, _)| celsius >= *from)
        .map_or(0.0, |(_, relative)| *relative);
    // The range at 25 °C, carried over in proportion and widened by the temperature.
    let at_25 = ec.predicted_ms_cm;
    let reach = ec.high_ms_cm.filter(|_| at_25 > 0.0).map(|high| {
        let at_25 = high / at_25 - 1.0;
        at_25.hypot(COVERAGE * of_temperature) * ms_cm
    });
    let shown = Compensation::USUAL.into_iter().filter_map(|compensation| {
        Some(Shown {
            compensation: compensation.name(),
            ms_cm: compensation.shows(ms_cm, celsius)?,
        })
    });
    Some(RawEc {
        ms_cm,
        low_ms_cm: reach.map(|reach| (ms_cm - reach).max(0.0)),
        high_ms_cm: reach.map(|reach| ms_cm + reach),
        shown: shown.collect(),
    })
}
