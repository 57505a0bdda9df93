//! What the meters show of a finished solution, what it holds ion by ion, and what could drop out.

mod source;
mod subject;

pub use source::{Source, totals_of};

use crate::chemistry::conductivity::conductivity;
use crate::chemistry::meter::Compensation;
use crate::chemistry::{
    Carbon, Conditions, EC_CELSIUS, LOG_PCO2_AIR, MOST_IONIC_STRENGTH, NotConverged, PH_RANGE,
    REFERENCE_CELSIUS, Speciation,
};
use crate::ec::{COVERAGE, Ec};
use crate::ions::Detail;
use crate::ph::Ph;
use crate::solids::{self, SolidRow};
use crate::solution::Solution;
use crate::spread::{self, Inputs, Uncertain};
use saltwright_fertilizers::Dose;
use schemars::JsonSchema;
use serde::Serialize;
use subject::{OfStated, Subject};

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
