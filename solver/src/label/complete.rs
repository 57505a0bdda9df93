//! What a bought mix lacks: the mix becomes a fertilizer of the table, single salts do the rest.

use super::arithmetic::Mixtures;
use super::meter::{Dissolved, EcModel, test};
use super::region::Region;
use super::report::{Dosage, DosageEc, DosageRow};
use super::request::{Completing, LabelRequest};
use crate::formulate::request::{AcidityAsk, Candidate, Keeps};
use crate::formulate::{FormulateReport, FormulateRequest, formulate};
use crate::lp::Stuck;
use crate::refusal::Refusal;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Composition, Dose, Fertilizer, Nutrient};
use std::sync::Arc;

/// The bought mix in a formulation.
pub const MIX: &str = "bought-mix";

/// The mix as a fertilizer: the mixture that was found, else the printed figures alone, where they
/// say which forms the nitrogen has.
pub(crate) fn fertilizer(
    request: &LabelRequest,
    found: Option<&[(Arc<Fertilizer>, f64)]>,
) -> Option<Fertilizer> {
    let name = if request.name.is_empty() {
        "bought mix"
    } else {
        &request.name
    };
    let mut mix = match found {
        Some(parts) => {
            let parts = parts.iter().map(|(part, pct)| (&**part, pct / 100.0));
            Fertilizer::blend(MIX, name, parts)
        }
        None => Fertilizer::of_assay(MIX, name, printed(request)?),
    };
    mix.price_per_kg = request.price_per_kg;
    // Each of its assays is off by no more than the loosest of its parts.
    mix.tolerance_pct = found.and_then(loosest);
    Some(mix)
}

/// The largest tolerance among the parts of a mix; none where a part states none.
fn loosest(parts: &[(Arc<Fertilizer>, f64)]) -> Option<f64> {
    let stated = parts.iter().map(|(part, _)| part.tolerance_pct);
    let stated: Option<Vec<f64>> = stated.collect();
    stated?.into_iter().reduce(f64::max)
}

/// The printed figures as a composition; none where nitrogen is printed without its forms.
fn printed(request: &LabelRequest) -> Option<Composition> {
    let of = |aimed| request.guarantee.element_pct(aimed);
    let forms: f64 = Nutrient::N_FORMS
        .into_iter()
        .filter_map(|form| of(Aimed::Form(form)))
        .sum();
    if of(Aimed::TotalN).is_some_and(|total| total > forms * 1.02 + 0.05) {
        return None;
    }
    Some(
        Nutrient::ALL
            .into_iter()
            .map(|n| (n, of(Aimed::Form(n)).unwrap_or(0.0)))
            .collect(),
    )
}

/// The mix completed, and the mix alone.
pub(crate) fn complete(
    request: &LabelRequest,
    completing: &Completing,
    mix: Fertilizer,
) -> Result<(FormulateReport, FormulateReport), Refusal> {
    let mix = Arc::new(mix);
    let mut whole = completing.request.clone();
    if completing.bands_only {
        whole.keeps = Keeps::Bands;
    }
    // Without prices the mix counts as paid for and every gram beside it alike, so that the mix is
    // used as far as it serves.
    let priced = whole
        .choice
        .iter()
        .any(|candidate| candidate.price_per_kg.is_some())
        || request.price_per_kg.is_some();
    if !priced {
        for candidate in &mut whole.choice {
            candidate.price_per_kg = Some(1.0);
        }
    }
    let candidate = Candidate {
        fertilizer: Arc::clone(&mix),
        price_per_kg: Some(request.price_per_kg.unwrap_or(0.0)),
        at_most: None,
    };
    let mut alone = FormulateRequest {
        choice: vec![candidate.clone()],
        beyond: Vec::new(),
        acidity: AcidityAsk::Off,
        ..whole.clone()
    };
    whole.choice.retain(|other| other.fertilizer.id != MIX);
    match request.dose_g_per_l {
        None => whole.choice.push(candidate),
        Some(g_per_l) => {
            let dose = Dose {
                fertilizer: Arc::clone(&mix),
                amount: GramsPerL(g_per_l),
            };
            whole.already.push(dose.clone());
            alone.already.push(dose);
            for candidate in &mut alone.choice {
                candidate.at_most = Some(GramsPerL(0.0));
            }
        }
    }
    let (mut whole, mut alone) = (formulate(&whole)?, formulate(&alone)?);
    if !priced {
        without_prices(&mut whole);
    }
    without_prices(&mut alone);
    Ok((whole, alone))
}

/// Takes money out of a report whose prices were only a means.
fn without_prices(report: &mut FormulateReport) {
    report.cost_per_m3 = None;
    for row in &mut report.mix {
        (row.cost_per_m3, row.cost_share_pct) = (None, None);
    }
    for row in &mut report.nutrients {
        (row.price_per_mg_l_m3, row.price_low, row.price_high) = (None, None, None);
    }
    if let Some(acidity) = &mut report.acidity {
        acidity.price_per_meq_l_m3 = None;
    }
}

/// What a dose brings.
pub(crate) fn dosage(
    request: &LabelRequest,
    g_per_l: f64,
    mixtures: Option<&Mixtures>,
    model: Option<&dyn EcModel>,
) -> Result<Dosage, Stuck> {
    let region = mixtures.map(Region::new).transpose()?.flatten();
    let mut nutrients = Vec::new();
    for aimed in Aimed::all() {
        let interval = region
            .as_ref()
            .map(|region| region.content(aimed))
            .transpose()?;
        // A percent is 10 mg in a gram.
        let mg_l = |pct: f64| 10.0 * pct * g_per_l;
        nutrients.push(DosageRow {
            nutrient: aimed,
            label_mg_l: request.guarantee.element_pct(aimed).map(mg_l),
            low_mg_l: interval.map(|(low, _)| mg_l(low)),
            high_mg_l: interval.map(|(_, high)| mg_l(high)),
        });
    }
    let dissolved = Dissolved::of(g_per_l);
    let ec = match (mixtures, model) {
        (Some(mixtures), Some(_)) => {
            let shown = test(&dissolved, mixtures, request.water.as_ref(), model)?;
            Some(DosageEc {
                low_ms_cm: shown.low_ms_cm,
                high_ms_cm: shown.high_ms_cm,
            })
        }
        _ => None,
    };
    Ok(Dosage {
        g_per_l,
        nutrients,
        ec,
    })
}
