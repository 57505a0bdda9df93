//! The `water` job: what an analysis says, and the acid that the water needs.

pub mod limits;
pub mod request;

mod dose;

pub use dose::DoseRow;
pub use request::WaterRequest;

use crate::chemistry::{
    Carbon, Conditions, LOG_PCO2_AIR, NotConverged, Protons, REFERENCE_CELSIUS, Speciation, Totals,
    speciate,
};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::solids::{self, SolidRow};
use crate::words;
use limits::Crossed;
use request::AcidTo;
use saltwright_fertilizers::Nutrient;
use saltwright_recipes::water::{MG_CACO3_PER_MEQ, MG_HCO3_PER_MEQ};
use saltwright_recipes::{Balance as Closure, Water};
use schemars::JsonSchema;
use serde::Serialize;

/// mg of CaO that make 1 meq: half a mole of 56.077 g (CIAAW 2021 weights).
const MG_CAO_PER_MEQ: f64 = 28.0385;
/// mg/L of CaO in a German degree of hardness, by definition.
const MG_CAO_PER_DH: f64 = 10.0;
/// mg/L of CaCO3 in a French degree of hardness, by definition.
const MG_CACO3_PER_FH: f64 = 10.0;
/// mg/L in a grain per US gallon: 64.79891 mg (exact) in 3.785411784 L (exact).
const MG_L_PER_GPG: f64 = 64.798_91 / 3.785_411_784;

/// An amount of hardness or alkalinity in the units that laboratories print.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Hardness {
    /// Milliequivalents per litre.
    pub meq_l: f64,
    /// mg/L of calcium carbonate.
    pub mg_l_caco3: f64,
    /// German degrees: 10 mg/L of CaO.
    pub dh: f64,
    /// French degrees: 10 mg/L of CaCO3.
    pub fh: f64,
    /// Grains of CaCO3 per US gallon.
    pub gpg: f64,
    /// mg/L of bicarbonate.
    pub mg_l_hco3: f64,
}

impl Hardness {
    /// From milliequivalents per litre.
    pub fn of_meq(meq_l: f64) -> Self {
        let mg_l_caco3 = meq_l * MG_CACO3_PER_MEQ;
        Self {
            meq_l,
            mg_l_caco3,
            dh: meq_l * MG_CAO_PER_MEQ / MG_CAO_PER_DH,
            fh: mg_l_caco3 / MG_CACO3_PER_FH,
            gpg: mg_l_caco3 / MG_L_PER_GPG,
            mg_l_hco3: meq_l * MG_HCO3_PER_MEQ,
        }
    }
}

/// Calcium and magnesium of a water, meq/L.
pub fn hardness_meq_l(water: &Water) -> f64 {
    [Nutrient::Ca, Nutrient::Mg]
        .into_iter()
        .map(|n| 2.0 * water.holds[n] / n.atomic_weight())
        .sum()
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WaterReport {
    /// The water's name.
    pub water: String,
    /// How its charges close.
    pub balance: Balance,
    /// Calcium and magnesium.
    pub hardness: Hardness,
    /// Acid that it binds down to the carbonic end point.
    pub alkalinity: Hardness,
    /// EC of the water itself at 25 °C; none where its analysis does not balance.
    pub ec_ms_cm: Option<f64>,
    /// Temperature that every pH below is told at.
    pub temperature_c: f64,
    /// pH as the analysis prints it, taken to be that of 25 °C.
    pub ph_printed: Option<f64>,
    /// pH of the water as it comes, and in balance with air.
    pub ph_before: Ends,
    /// The dose of the acid or base asked for; none where nothing needs to be added or nothing
    /// reaches what was asked.
    pub dose: Option<DoseRow>,
    /// The dose of every acid (or base) that would do.
    pub doses: Vec<DoseRow>,
    /// Acids for which there are no constants here.
    pub not_computed: Vec<String>,
    /// pH after the dose.
    pub ph: Ends,
    /// Alkalinity after the dose, meq/L.
    pub residual_meq_l: f64,
    /// The blend, where one was asked for; doses and pH are then those of the blend.
    pub blend: Option<BlendReport>,
    /// Limits of published guides that the water crosses.
    pub limits: Vec<Crossed>,
    /// What could drop out of the water itself.
    pub solids: Vec<SolidRow>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// Charges of the analysis.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Balance {
    /// Cations, meq/L.
    pub cations_meq_l: f64,
    /// Anions, alkalinity included, meq/L.
    pub anions_meq_l: f64,
    /// 100 (cations - anions)/(cations + anions); none where there are none.
    pub error_pct: Option<f64>,
    /// What that means.
    pub words: String,
}

/// pH right after, and after standing in air.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Ends {
    /// No carbon dioxide has escaped.
    pub closed: Option<f64>,
    /// In balance with air.
    pub open: Option<f64>,
}

impl Ends {
    const fn of(closed: &Speciation, open: &Speciation) -> Self {
        Self {
            closed: Some(closed.ph),
            open: Some(open.ph),
        }
    }
}

/// Two waters poured together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BlendReport {
    /// The water poured in.
    pub with: String,
    /// Share of the source water, percent.
    pub share_pct: f64,
    /// The limit that decides the share; none where the share was given or nothing limits it.
    pub because: Option<String>,
    /// Hardness of the blend.
    pub hardness: Hardness,
    /// Alkalinity of the blend.
    pub alkalinity: Hardness,
    /// EC of the blend at 25 °C.
    pub ec_ms_cm: Option<f64>,
}

/// A water at a temperature, ready to be dosed.
#[derive(Clone)]
struct Basin {
    at: Conditions,
    totals: Totals,
    /// EC at 25 °C; none where the analysis does not balance.
    ec_ms_cm: Option<f64>,
}

impl Basin {
    fn of(water: &Water, celsius: f64) -> Result<Self, NotConverged> {
        let source = Source::new(water)?;
        let is_sound = water.balance() != Closure::Broken;
        Ok(Self {
            at: Conditions::at(celsius),
            totals: source.totals,
            ec_ms_cm: is_sound.then_some(source.us_cm / 1000.0),
        })
    }

    /// Right after mixing, and in balance with air.
    fn solve(&self, totals: &Totals) -> Result<[Speciation; 2], NotConverged> {
        let balance = Protons::Balance;
        let closed = speciate(&self.at, totals, Carbon::Closed, balance, None)?;
        let open = Carbon::Open(LOG_PCO2_AIR);
        let open = speciate(&self.at, totals, open, balance, Some(&closed))?;
        Ok([closed, open])
    }

    fn ends(&self, totals: &Totals) -> Result<Ends, NotConverged> {
        let [closed, open] = self.solve(totals)?;
        Ok(Ends::of(&closed, &open))
    }
}

/// Reads an analysis and works out its acid.
///
/// # Errors
/// A refusal of kind `no-answer` where the chemistry could not be solved.
pub fn water(request: &WaterRequest) -> Result<WaterReport, Refusal> {
    report(request).map_err(|NotConverged| Refusal::unsolved("water"))
}

fn report(request: &WaterRequest) -> Result<WaterReport, NotConverged> {
    let source = &request.water;
    let is_sound = source.balance() != Closure::Broken;
    let celsius = request.celsius.unwrap_or(REFERENCE_CELSIUS);
    let blended = request.blended();
    let own = Basin::of(source, celsius)?;
    let dosed = match &blended {
        Some(blended) => Basin::of(&blended.water, celsius)?,
        None => own.clone(),
    };
    let [closed, open] = own.solve(&own.totals)?;
    let alkalinity_meq_l = -dosed.totals.acid_meq_l;
    let sought = dose::find(request, &dosed)?;
    let after = match &sought.chosen {
        Some(chosen) => dosed.ends(&chosen.totals)?,
        None => dosed.ends(&dosed.totals)?,
    };
    let residual_meq_l = sought
        .chosen
        .as_ref()
        .map_or(alkalinity_meq_l, |chosen| -chosen.totals.acid_meq_l);
    // What rests on an analysis that does not balance is not told.
    let is_blend_sound = blended
        .as_ref()
        .is_none_or(|blended| blended.water.balance() != Closure::Broken);
    let told = |ends: Ends, is_sound: bool| if is_sound { ends } else { Ends::default() };
    let told_of_dosed = |ends: Ends| told(ends, is_sound && is_blend_sound);
    let mut doses = sought.rows;
    let mut dose = sought.chosen.map(|chosen| chosen.row);
    for row in doses.iter_mut().chain(&mut dose) {
        row.ph = told_of_dosed(row.ph);
    }
    let (cations_meq_l, anions_meq_l) = source.charges_meq_l();
    let blend = blended.map(|blended| BlendReport {
        with: words::water::name(&blended.with),
        share_pct: 100.0 * blended.share,
        because: blended.because.clone(),
        hardness: Hardness::of_meq(hardness_meq_l(&blended.water)),
        alkalinity: Hardness::of_meq(blended.water.alkalinity_meq_l),
        ec_ms_cm: dosed.ec_ms_cm,
    });
    let mut report = WaterReport {
        water: words::water::name(source),
        balance: Balance {
            cations_meq_l,
            anions_meq_l,
            error_pct: source.charge_error_pct(),
            words: words::water::balance(source),
        },
        hardness: Hardness::of_meq(hardness_meq_l(source)),
        alkalinity: Hardness::of_meq(source.alkalinity_meq_l),
        ec_ms_cm: own.ec_ms_cm,
        temperature_c: celsius,
        ph_printed: source.ph,
        ph_before: told(Ends::of(&closed, &open), is_sound),
        dose,
        doses,
        not_computed: sought.not_computed,
        ph: told_of_dosed(after),
        residual_meq_l,
        blend,
        limits: limits::crossed(source, own.ec_ms_cm),
        solids: solids::rows(&own.at, &closed, &open),
        cautions: Vec::new(),
    };
    report.cautions = words::water::cautions(request, &report);
    Ok(report)
}

impl AcidTo {
    /// The acid or base still to add, where it is known before any solve, meq/L.
    fn missing_meq_l(self, alkalinity_meq_l: f64) -> Option<f64> {
        match self {
            Self::Residual(residual) => Some(alkalinity_meq_l - residual),
            Self::Ph(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sources: by definition 1 °dH is 10 mg/L CaO, 1 °fH 10 mg/L CaCO3; 1 US gpg is 17.118 mg/L
    /// CaCO3 (NIST Handbook 44, grain and gallon). 1 meq/L is 50.04 mg/L CaCO3 and 2.804 °dH
    /// (DIN 38409-6).
    #[test]
    fn hardness_in_the_units_of_laboratories() {
        let one = Hardness::of_meq(1.0);
        assert!((one.mg_l_caco3 - 50.04).abs() < 0.01);
        assert!((one.dh - 2.804).abs() < 0.001);
        assert!((one.fh - 5.004).abs() < 0.001);
        assert!((one.gpg - 50.043 / 17.118).abs() < 1e-3);
        assert!((one.mg_l_hco3 - 61.02).abs() < 0.01);
    }
}
