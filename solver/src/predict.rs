//! The other way: grams in, nutrients and EC out.

use crate::chemistry::meter::Tds;
use crate::chemistry::{NotConverged, REFERENCE_CELSIUS};
use crate::ec::Ec;
use crate::ions::Detail;
use crate::ph::Ph;
use crate::readings::{Asked, RawEc, Readings, Source, readings};
use crate::refusal::Refusal;
use crate::request::{ENVELOPE, Shelf, water_or_pure};
use crate::solids::{self, SolidRow};
use crate::solution::{Ratios, Solution};
use crate::spread::stated::Batch;
use crate::spread::{self, Inputs, Range, Spread, Stated, Sureness};
use crate::words;
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::{Aimed, Dose, Faults, Problem};
use saltwright_recipes::{Library, Water};
use schemars::JsonSchema;
use serde::Serialize;

/// A mix in a water.
#[derive(Clone, Debug)]
pub struct PredictRequest {
    /// What goes in.
    pub mix: Vec<Dose>,
    /// Into what.
    pub water: Water,
    /// Temperature of the solution.
    pub temperature_c: Option<f64>,
    /// Price of each line of the mix, where known.
    pub prices_per_kg: Vec<Option<f64>>,
    /// Litres that are weighed for at once, where known.
    pub litres: Option<f64>,
    /// What may be off, where every figure is to have its range.
    pub ranges: Option<Stated>,
}

/// What it comes to.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PredictReport {
    /// The water's name.
    pub water: String,
    /// The mix as read.
    pub mix: Vec<PredictMixRow>,
    /// What every nutrient comes to, mg/L.
    pub nutrients: Vec<PredictNutrient>,
    /// What the EC meter should show.
    pub ec: Ec,
    /// EC at the solution's temperature without compensation, mS/cm; none where no
    /// temperature was given, and outside the range of the model.
    pub ec_at_temperature_ms_cm: Option<f64>,
    /// The same with its range and with what compensating meters show.
    pub at_temperature: Option<RawEc>,
    /// EC on the scales of TDS pens.
    pub tds: [Tds; 3],
    /// EC as CF.
    pub cf: f64,
    /// What the pH meter should show, at the solution's temperature.
    pub ph: Ph,
    /// Temperature of the solution.
    pub temperature_c: f64,
    /// What could drop out.
    pub solids: Vec<SolidRow>,
    /// The solid that comes first, where any can form.
    pub first_solid: Option<&'static str>,
    /// Ion by ion, at 25 °C right after mixing.
    #[serde(flatten)]
    pub detail: Option<Detail>,
    /// Ratios growers ask about.
    pub ratios: Ratios,
    /// Ionic strength at 25 °C.
    pub ionic_strength_mol_l: f64,
    /// Alkalinity that is left, meq/L; none where an acid without constants is in the mix.
    pub alkalinity_meq_l: Option<f64>,
    /// 100 (cations - anions)/(cations + anions).
    pub charge_error_pct: Option<f64>,
    /// What 1,000 litres cost, where every line has a price.
    pub cost_per_m3: Option<f64>,
    /// Why figures are not exact, and what would narrow them, where it was asked.
    #[serde(flatten)]
    pub sureness: Option<Sureness>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One line of the mix.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PredictMixRow {
    /// Which.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Grams per litre.
    pub g_per_l: f64,
    /// Millilitres per litre, for what is poured.
    pub ml_per_l: Option<f64>,
}

/// One nutrient.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PredictNutrient {
    /// Which.
    pub nutrient: Aimed,
    /// From the water.
    pub water: f64,
    /// In all.
    pub delivered: f64,
    /// Where it may lie, where that was asked.
    #[serde(flatten)]
    pub range: Option<Range>,
}

impl PredictRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        let shelf = Shelf::read(&mut reader, library, faults);
        let water = water_or_pure(&mut reader, library, faults);
        let mix = if let Some(node) = reader.get("mix") {
            shelf.mix(node, "mix", faults)
        } else {
            let what = "the mix";
            let mend = "Give what goes in: [{\"id\": …, \"g_per_l\": …}].";
            faults.add(reader.line(), "mix", Problem::Empty { what, mend });
            Vec::new()
        };
        let temperature_c = reader.number("temperature_c", Limits::CELSIUS, faults);
        let litres = reader.number("litres", Limits::LITRES, faults);
        let ranges = Stated::read(&mut reader, Batch::Litres(litres), faults);
        reader.close(faults);
        let water = water?;
        faults.is_empty().then(|| Self {
            prices_per_kg: mix
                .iter()
                .map(|dose| shelf.price(&dose.fertilizer))
                .collect(),
            mix,
            water,
            temperature_c,
            litres,
            ranges,
        })
    }
}

/// Adds up a mix in its water.
///
/// # Errors
/// A refusal of kind `no-answer` where the chemistry could not be solved.
pub fn predict(request: &PredictRequest) -> Result<PredictReport, Refusal> {
    report(request).map_err(|NotConverged| Refusal::unsolved("mix"))
}

fn report(request: &PredictRequest) -> Result<PredictReport, NotConverged> {
    let source = Source::new(&request.water)?;
    let spread = request.ranges.as_ref().map(|stated| {
        let holds = request.water.holds;
        Spread::new(Inputs::new(&request.mix, holds, request.litres, stated))
    });
    let asked = Asked {
        celsius: request.temperature_c,
        aim_ms_cm: None,
        detail: true,
        inputs: spread.as_ref().map(|spread| &spread.inputs),
    };
    let readings = readings(&source, &request.mix, asked)?;
    let solution = Solution::of(&request.water, &request.mix);
    let costs = costs(request);
    let cautions = cautions(request, &readings);
    let mut poured = request.mix.iter().filter(|dose| dose.amount.0 > 0.0);
    let is_charted = poured.all(|dose| dose.fertilizer.is_charted());
    Ok(PredictReport {
        water: words::water::name(&request.water),
        mix: request.mix.iter().map(mix_row).collect(),
        nutrients: Aimed::all()
            .map(|aimed| PredictNutrient {
                nutrient: aimed,
                water: request.water.holds.aimed(aimed),
                delivered: solution.composition.aimed(aimed),
                range: spread.as_ref().map(|spread| spread.range(aimed)),
            })
            .collect(),
        ec_at_temperature_ms_cm: readings.raw.as_ref().map(|raw| raw.ms_cm),
        at_temperature: readings.raw,
        tds: readings.ec.tds(),
        cf: readings.ec.cf(),
        ec: readings.ec,
        ph: readings.ph,
        temperature_c: request.temperature_c.unwrap_or(REFERENCE_CELSIUS),
        first_solid: solids::first(&readings.solids).map(|row| row.solid),
        solids: readings.solids,
        detail: readings.detail,
        ratios: solution.ratios(),
        ionic_strength_mol_l: readings.ionic_strength_mol_l,
        alkalinity_meq_l: is_charted.then_some(solution.alkalinity_meq_l),
        charge_error_pct: solution.charge_error_pct(),
        sureness: spread
            .as_ref()
            .map(|spread| spread.sureness(&readings.uncertain, costs.as_deref())),
        cost_per_m3: costs.map(|costs| costs.iter().map(|(_, cost)| cost).sum()),
        cautions,
    })
}

fn mix_row(dose: &Dose) -> PredictMixRow {
    let fertilizer = &dose.fertilizer;
    PredictMixRow {
        id: fertilizer.id.clone(),
        name: fertilizer.name.clone(),
        g_per_l: dose.amount.0,
        ml_per_l: fertilizer.density_g_per_ml.map(|d| dose.amount.0 / d),
    }
}

/// What each fertilizer costs in a cubic metre; none where one has no price.
fn costs(request: &PredictRequest) -> Option<Vec<(&str, f64)>> {
    let priced = request.mix.iter().zip(&request.prices_per_kg);
    let costs: Option<Vec<(&str, f64)>> = priced
        .map(|(dose, price)| Some((dose.fertilizer.id.as_str(), (*price)? * dose.amount.0)))
        .collect();
    costs.filter(|costs| !costs.is_empty())
}

fn cautions(request: &PredictRequest, readings: &Readings) -> Vec<String> {
    let (mix, water) = (&request.mix, &request.water);
    let mut cautions = words::hazard_cautions(mix.iter().map(|dose| &dose.fertilizer));
    cautions.extend(words::water::doubts(water));
    cautions.extend(words::mix_cautions(mix));
    cautions.extend(words::readings::cautions(readings, water, mix));
    let stated = request.ranges.as_ref();
    cautions.extend(stated.and_then(|stated| spread::caution(mix, stated)));
    cautions
}
