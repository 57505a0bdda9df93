//! A bought mix against its label.
//!
//! ```text
//! request -> demands -> mixtures (LP) -> possible, or a contradiction with its proof
//!                          |-> intervals of what is undeclared -> EC of a spoonful -> meter
//!                          `-> the mix as a fertilizer -> what completes it
//! found -> allowances
//! ```

pub mod allowance;
pub mod arithmetic;
pub mod certificate;
pub mod convention;
pub mod meter;
pub mod report;
pub mod request;
pub mod words;

mod complete;
mod model;
mod region;
mod sure;
mod write;

#[cfg(test)]
mod laws;

pub use complete::MIX;
pub use report::LabelReport;
pub use request::LabelRequest;

use crate::refusal::Refusal;
use allowance::Judged as JudgedLabel;
use arithmetic::{Demand, FACTORS, Ingredient, Mixtures, Verdict};
use convention::Convention;
use meter::EcModel;
use report::Judged;
use request::Made;
use saltwright_fertilizers::guarantee::Stated;
use saltwright_fertilizers::{Fertilizer, Problem};
use std::sync::Arc;
use sure::Ranges;
use write::{analysis, arithmetic_report, penalties, undeclared};

/// Judges a label.
///
/// # Errors
/// A refusal of kind `no-answer` where neither a mixture nor a proof was found.
pub fn label(request: &LabelRequest) -> Result<LabelReport, Refusal> {
    label_with(request, meter::model())
}

/// The same with a model of EC of the caller's.
pub fn label_with(
    request: &LabelRequest,
    model: Option<&dyn EcModel>,
) -> Result<LabelReport, Refusal> {
    let (mixtures, judged_with, verdict) = judge(request)?;
    let region_of = match &verdict {
        Verdict::Possible(_) => Some(&mixtures),
        Verdict::Impossible { .. } => None,
    };
    let judged = judged(request, straight(request));
    let found = request.found.as_ref();
    let allowances = found.map(|found| judged.judge(found)).unwrap_or_default();
    let undeclared = region_of.map(|of| undeclared(request, of)).transpose()?;
    let meter = tested(request, region_of, model)?;
    let dosage = request
        .dose_g_per_l
        .map(|dose| complete::dosage(request, dose, region_of, model))
        .transpose()
        .map_err(|_| no_answer())?;
    let parts = parts(&mixtures, &verdict);
    let ranges = parts
        .as_deref()
        .and_then(|parts| Ranges::of(request, parts));
    let completed = request
        .complete
        .as_ref()
        .zip(complete::fertilizer(request, parts.as_deref()))
        .map(|(completing, mix)| complete::complete(request, completing, mix));
    // What was found about the label stands, whatever becomes of the recipe.
    let unproven = matches!(completed, Some(Err(_)));
    let (complete, alone) = completed.and_then(Result::ok).unzip();
    let mut report = LabelReport {
        name: request.name.clone(),
        convention: request.convention,
        prints: request.convention.prints(),
        form: request.form,
        analysis: request
            .guarantee
            .claims()
            .map(|one| analysis(request, one))
            .collect(),
        arithmetic: arithmetic_report(&mixtures, judged_with, &verdict),
        undeclared: undeclared.unwrap_or_default(),
        meter,
        penalties: penalties(request, &allowances),
        index: found.and_then(|found| judged.index(found)),
        sum: found.and_then(|found| judged.sum(found)),
        allowances,
        dosage,
        complete,
        alone,
        sureness: ranges.as_ref().map(Ranges::sureness),
        cautions: Vec::new(),
    };
    report.cautions = words::cautions(request, &report, unproven);
    if let Some(ranges) = &ranges {
        for row in &mut report.analysis {
            ranges.fill(row);
        }
        report.arithmetic.shares = sure::shares(&mixtures).map_err(|_| no_answer())?;
        report.cautions.extend(ranges.caution.clone());
    }
    Ok(report)
}

fn no_answer() -> Refusal {
    let what = "no proven answer was found for these numbers".to_owned();
    let mend = "Check for figures that differ by many powers of ten; round them.".to_owned();
    Refusal::of("guarantee", Problem::NoAnswer { what, mend })
}

/// The test with the meter, where there was one.
fn tested(
    request: &LabelRequest,
    region_of: Option<&Mixtures>,
    model: Option<&dyn EcModel>,
) -> Result<Option<meter::MeterReport>, Refusal> {
    let Some(dissolved) = &request.meter else {
        return Ok(None);
    };
    let tested = match region_of {
        Some(of) => {
            meter::test(dissolved, of, request.water.as_ref(), model).map_err(|_| no_answer())?
        }
        None => unjudged(dissolved),
    };
    Ok(Some(tested))
}

/// A meter test of a label that no mixture keeps.
fn unjudged(dissolved: &meter::Dissolved) -> meter::MeterReport {
    meter::MeterReport {
        words: "No mixture keeps this label, so no reading can be held against it.".into(),
        ..meter::MeterReport::blank(dissolved)
    }
}

pub(crate) fn judged<'a>(request: &'a LabelRequest, straight: Option<&'a str>) -> JudgedLabel<'a> {
    JudgedLabel {
        guarantee: &request.guarantee,
        convention: request.convention,
        form: request.form,
        straight,
    }
}

/// The one ingredient that was named.
fn straight(request: &LabelRequest) -> Option<&str> {
    match &request.made {
        Made::Of(list) => match list.as_slice() {
            [only] => Some(&only.id),
            _ => None,
        },
        Made::Unsaid { .. } => None,
    }
}

/// The promises of a label as rows of arithmetic.
fn demands(request: &LabelRequest) -> Vec<Demand> {
    let judged = judged(request, straight(request));
    let one = |stated: &Stated| -> Option<Demand> {
        let aimed = stated.printed.nutrient()?;
        let factor = stated.printed.factor;
        let declared_pct = stated.element_pct();
        let allowed = judged.allowed(stated);
        let (low_pct, high_pct) = match (request.convention, allowed) {
            (Convention::Eu | Convention::Eu2003, Some(allowed)) => {
                let least = judged.minimum(stated.printed).unwrap_or(0.0);
                let low = (stated.pct - allowed.below)
                    .max(least)
                    .min(stated.pct)
                    .max(0.0);
                let high = allowed.above.map(|above| (stated.pct + above) * factor);
                (low * factor, high)
            }
            (Convention::UsMd, Some(allowed)) => {
                let high = allowed.above.map(|above| (stated.pct + above) * factor);
                (declared_pct, high)
            }
            _ => (declared_pct, None),
        };
        Some(Demand {
            printed: stated.printed,
            aimed,
            declared_pct,
            low_pct,
            high_pct,
            slack_pct: FACTORS * declared_pct,
            in_sum: judged.most_sum().is_some() && allowance::counts_in_sum(stated.printed),
        })
    };
    request.guarantee.claims().filter_map(one).collect()
}

fn mixtures(request: &LabelRequest, of: &[Arc<Fertilizer>]) -> Mixtures {
    let mut of: Vec<Arc<Fertilizer>> = of.to_vec();
    of.sort_by(|a, b| a.id.cmp(&b.id));
    Mixtures {
        ingredients: of.into_iter().map(Ingredient::of).collect(),
        demands: demands(request),
        filler: request.filler,
        most_sum: judged(request, None).most_sum(),
    }
}

/// The arithmetic with the named ingredients; else with the common ones, else with all.
fn judge(request: &LabelRequest) -> Result<(Mixtures, Judged, Verdict), Refusal> {
    let tried: Vec<(Judged, &[Arc<Fertilizer>])> = match &request.made {
        Made::Of(list) => vec![(Judged::Named, list)],
        Made::Unsaid { common, any } => vec![(Judged::Common, common), (Judged::Known, any)],
    };
    let mut last = None;
    for (with, list) in tried {
        let mixtures = mixtures(request, list);
        let verdict = mixtures.judge().map_err(|_| no_answer())?;
        let possible = matches!(verdict, Verdict::Possible(_));
        last = Some((mixtures, with, verdict));
        if possible {
            break;
        }
    }
    last.ok_or_else(no_answer)
}

/// A share below which an ingredient has no say in what the mix brings, percent: a gram in a tonne.
const DUST_PCT: f64 = 1e-4;

/// The mixture that was found, ingredient by ingredient.
fn parts(mixtures: &Mixtures, verdict: &Verdict) -> Option<Vec<(Arc<Fertilizer>, f64)>> {
    let Verdict::Possible(mixture) = verdict else {
        return None;
    };
    let ingredients = mixtures.ingredients.iter().zip(&mixture.pct);
    let used = ingredients.filter(|(_, pct)| **pct > DUST_PCT);
    Some(
        used.map(|(i, pct)| (Arc::clone(&i.fertilizer), *pct))
            .collect(),
    )
}
