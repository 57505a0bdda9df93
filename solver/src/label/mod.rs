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

#[cfg(test)]
mod laws;

pub use complete::MIX;
pub use report::LabelReport;
pub use request::LabelRequest;

use crate::refusal::Refusal;
use allowance::{Finding, Judged as JudgedLabel};
use arithmetic::{Demand, End, FACTORS, Ingredient, Mixture, Mixtures, Verdict};
use certificate::Certificate;
use convention::Convention;
use meter::EcModel;
use region::Region;
use report::{
    AnalysisRow, Arithmetic, CertificateReport, ContradictionRow, Judged, PenaltyRow, UndeclaredRow,
};
use request::Made;
use saltwright_fertilizers::guarantee::Stated;
use saltwright_fertilizers::{Aimed, Fertilizer, Problem};
use std::sync::Arc;
use sure::Ranges;

/// How many times the value of a deficiency is charged: Maryland, Code of Regulations 15.18.03.09
/// and Agriculture article 6-219; Rhode Island, General Laws 2-7-8.
const PENALTY_TIMES: f64 = 3.0;

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
    let meter = match (&request.meter, region_of) {
        (Some(dissolved), Some(of)) => {
            let tested = meter::test(dissolved, of, request.water.as_ref(), model);
            Some(tested.map_err(|_| no_answer())?)
        }
        (Some(dissolved), None) => Some(unjudged(dissolved)),
        (None, _) => None,
    };
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

fn analysis(request: &LabelRequest, stated: &Stated) -> AnalysisRow {
    let statutory = request.convention.statutory_factor(stated.printed.key);
    AnalysisRow {
        printed: stated.printed,
        pct: stated.pct,
        nutrient: stated.printed.nutrient(),
        element_pct: stated.element_pct(),
        statutory_element_pct: statutory.map(|factor| factor * stated.pct),
        mixture_pct: None,
        range: None,
    }
}

fn arithmetic_report(mixtures: &Mixtures, ingredients: Judged, verdict: &Verdict) -> Arithmetic {
    let blank = Arithmetic {
        possible: false,
        ingredients,
        at_tolerance: false,
        mix_pct: std::collections::BTreeMap::new(),
        shares: Vec::new(),
        contradiction: Vec::new(),
        certificate: None,
        words: String::new(),
    };
    match verdict {
        Verdict::Possible(mixture) => Arithmetic {
            possible: true,
            at_tolerance: mixture.at_tolerance,
            mix_pct: mix_pct(mixtures, mixture),
            words: words::possible(ingredients, mixture.at_tolerance),
            ..blank
        },
        Verdict::Impossible {
            broken,
            certificate,
        } => {
            let rows: Vec<ContradictionRow> = broken
                .iter()
                .filter_map(|one| contradiction(mixtures, one))
                .collect();
            let scale = if certificate.asked > 0.0 {
                100.0 / certificate.asked
            } else {
                1.0
            };
            let keys: Vec<String> = rows
                .iter()
                .map(|row| format!("{} {} %", row.guarantee.key, crate::words::figure(row.pct)))
                .collect();
            Arithmetic {
                words: words::impossible(mixtures, ingredients, &keys, certificate, scale),
                contradiction: rows,
                certificate: Some(certificate_report(mixtures, certificate, scale)),
                ..blank
            }
        }
    }
}

fn mix_pct(mixtures: &Mixtures, mixture: &Mixture) -> std::collections::BTreeMap<String, f64> {
    let ingredients = mixtures.ingredients.iter().zip(&mixture.pct);
    let used = ingredients.filter(|(_, pct)| **pct > 0.0);
    let mut shares: std::collections::BTreeMap<String, f64> = used
        .map(|(i, pct)| (i.fertilizer.id.clone(), *pct))
        .collect();
    if mixtures.filler && mixture.filler_pct > 1e-9 {
        shares.insert("filler".into(), mixture.filler_pct);
    }
    shares
}

fn contradiction(mixtures: &Mixtures, broken: &arithmetic::Broken) -> Option<ContradictionRow> {
    let demand = mixtures.demands.get(broken.demand)?;
    let factor = demand.printed.factor;
    let bound = match broken.end {
        End::Low => demand.low_pct,
        End::High => demand.high_pct?,
    };
    let others = mixtures.demands.len() - 1;
    Some(ContradictionRow {
        guarantee: demand.printed,
        pct: demand.declared_pct / factor,
        side: match broken.end {
            End::Low => "min",
            End::High => "max",
        },
        bound_pct: bound / factor,
        reachable_pct: broken.reachable_pct.map(|pct| pct / factor),
        words: words::broken(
            mixtures,
            broken.demand,
            broken.end,
            broken.reachable_pct,
            others,
        ),
    })
}

fn certificate_report(
    mixtures: &Mixtures,
    certificate: &Certificate,
    scale: f64,
) -> CertificateReport {
    let weights = mixtures.demands.iter().zip(&certificate.weights);
    let used = weights.filter(|(_, weight)| **weight != 0.0);
    CertificateReport {
        weights: used
            .map(|(demand, weight)| {
                let points = weight * demand.printed.factor * scale;
                (demand.printed.key, points)
            })
            .collect(),
        asked: certificate.asked * scale,
        most: certificate.most * scale,
        richest: certificate
            .richest
            .and_then(|at| mixtures.ingredients.get(at))
            .map_or("filler".into(), |i| i.fertilizer.id.clone()),
    }
}

/// The interval of everything that the label does not name.
fn undeclared(request: &LabelRequest, of: &Mixtures) -> Result<Vec<UndeclaredRow>, Refusal> {
    let Some(region) = Region::new(of).map_err(|_| no_answer())? else {
        return Ok(Vec::new());
    };
    let unnamed = Aimed::all().filter(|aimed| request.guarantee.element_pct(*aimed).is_none());
    unnamed
        .map(|nutrient| {
            let (low_pct, high_pct) = region.content(nutrient).map_err(|_| no_answer())?;
            Ok(UndeclaredRow {
                nutrient,
                low_pct,
                high_pct: high_pct.max(low_pct),
            })
        })
        .collect()
}

/// What deficiencies are worth, where the request says what a nutrient is worth.
fn penalties(request: &LabelRequest, rows: &[allowance::AllowanceRow]) -> Vec<PenaltyRow> {
    let short = rows.iter().filter(|row| row.verdict == Finding::Deficient);
    short
        .filter_map(|row| {
            let (printed, value) = request
                .values_per_kg
                .iter()
                .find(|(printed, _)| printed.counted == row.nutrient.counted)?;
            // In the unit that the value is of.
            let points = (row.guaranteed - row.found) * row.nutrient.factor / printed.factor;
            let short_kg_per_t = 10.0 * points;
            Some(PenaltyRow {
                nutrient: *printed,
                short_kg_per_t,
                value_per_kg: *value,
                times: PENALTY_TIMES,
                per_t: PENALTY_TIMES * short_kg_per_t * value,
                rule: "three times the value of the deficiency: Maryland, Agriculture article \
                       6-219; Rhode Island, General Laws 2-7-8",
            })
        })
        .collect()
}
