//! What was found of a label, filled into the rows of its report.

use super::allowance::{AllowanceRow, Finding};
use super::arithmetic::{Broken, End, Mixture, Mixtures, Verdict};
use super::certificate::Certificate;
use super::no_answer;
use super::region::Region;
use super::report::{
    AnalysisRow, Arithmetic, CertificateReport, ContradictionRow, Judged, PenaltyRow, UndeclaredRow,
};
use super::request::LabelRequest;
use super::words;
use crate::refusal::Refusal;
use saltwright_fertilizers::Aimed;
use saltwright_fertilizers::guarantee::Stated;
use std::collections::BTreeMap;

/// How many times the value of a deficiency is charged: Maryland, Code of Regulations 15.18.03.09
/// and Agriculture article 6-219; Rhode Island, General Laws 2-7-8.
const PENALTY_TIMES: f64 = 3.0;

pub(super) fn analysis(request: &LabelRequest, stated: &Stated) -> AnalysisRow {
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

pub(super) fn arithmetic_report(
    mixtures: &Mixtures,
    ingredients: Judged,
    verdict: &Verdict,
) -> Arithmetic {
    let blank = Arithmetic {
        possible: false,
        ingredients,
        at_tolerance: false,
        mix_pct: BTreeMap::new(),
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

fn mix_pct(mixtures: &Mixtures, mixture: &Mixture) -> BTreeMap<String, f64> {
    let ingredients = mixtures.ingredients.iter().zip(&mixture.pct);
    let used = ingredients.filter(|(_, pct)| **pct > 0.0);
    let mut shares: BTreeMap<String, f64> = used
        .map(|(i, pct)| (i.fertilizer.id.clone(), *pct))
        .collect();
    if mixtures.filler && mixture.filler_pct > 1e-9 {
        shares.insert("filler".into(), mixture.filler_pct);
    }
    shares
}

fn contradiction(mixtures: &Mixtures, broken: &Broken) -> Option<ContradictionRow> {
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
pub(super) fn undeclared(
    request: &LabelRequest,
    of: &Mixtures,
) -> Result<Vec<UndeclaredRow>, Refusal> {
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
pub(super) fn penalties(request: &LabelRequest, rows: &[AllowanceRow]) -> Vec<PenaltyRow> {
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
