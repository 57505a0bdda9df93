//! The sentences of a label report.

use super::allowance::{AllowanceRow, Finding, Overall};
use super::arithmetic::{End, Ingredient, Mixtures, forms};
use super::certificate::Certificate;
use super::convention::Convention;
use super::meter::MeterReport;
use super::report::{Judged, LabelReport};
use super::request::LabelRequest;
use crate::words::{figure, listing};
use saltwright_fertilizers::guarantee::{Counted, Printed};
use saltwright_fertilizers::{Aimed, Nutrient};

/// Why a meter test is not judged while there is no model of EC.
pub fn no_model() -> String {
    "The EC of a mixture is not worked out by this version, so the reading is not judged.".into()
}

/// Why a meter test cannot be judged.
pub fn outside_model() -> String {
    "This solution is outside the range of the EC model; dissolve less and read again.".into()
}

/// The meter test in words.
pub fn meter(report: &MeterReport, in_range: bool) -> String {
    let (Some(low), Some(high)) = (report.low_ms_cm, report.high_ms_cm) else {
        return outside_model();
    };
    let expected = format!(
        "A true label shows {low:.2} to {high:.2} mS/cm at {} g/L",
        figure(report.g_per_l)
    );
    let judged = match (report.reading_ms_cm, report.agrees) {
        _ if !in_range => format!(
            "{expected}, but that is stronger than the EC model is checked for: dissolve less and \
             read again."
        ),
        (Some(shown), Some(true)) => format!("{expected}; {shown:.2} agrees."),
        (Some(shown), _) if shown < low => format!(
            "{expected}; {shown:.2} is too low: the bag is damp or short of salts, the spoon was \
             light, or it holds something silent that the label does not name."
        ),
        (Some(shown), _) => format!(
            "{expected}; {shown:.2} is too high: it holds more salt than the label says, or the \
             spoon was heavy."
        ),
        (None, _) => format!("{expected}."),
    };
    let silent = report.silent_pct.filter(|silent| *silent >= 0.5);
    let silent = silent.map(|silent| {
        format!(
            "Urea, boric acid and filler show no EC: up to {} % of the mass may be silent, so EC \
             alone cannot vouch for it.",
            figure(silent)
        )
    });
    let sharpest = report.sharpest_g_per_l;
    let sharpest = sharpest.map(|dose| format!("{} g/L makes the test sharpest.", figure(dose)));
    let sentences: Vec<String> = [Some(judged), silent, sharpest]
        .into_iter()
        .flatten()
        .collect();
    sentences.join(" ")
}

/// `K2O 20 %`.
fn named(printed: Printed, pct: f64) -> String {
    format!("{} {} %", printed.key, figure(pct))
}

/// What the arithmetic comes to.
pub fn possible(judged: Judged, at_tolerance: bool) -> String {
    let of = match judged {
        Judged::Named => "The named ingredients can give this label",
        Judged::Common => "Common fertilizers can give this label",
        Judged::Known => "Fertilizers beyond the common ones can give this label",
    };
    let how = if at_tolerance {
        ", but only with assays at the ends of their tolerances"
    } else {
        ""
    };
    format!("{of}{how}. Other mixtures may do so, too.")
}

/// What a contradiction comes to, with its proof.
pub fn impossible(
    mixtures: &Mixtures,
    judged: Judged,
    keys: &[String],
    certificate: &Certificate,
    scale: f64,
) -> String {
    let of = match judged {
        Judged::Named => "the named ingredients",
        Judged::Common | Judged::Known => "all fertilizers that are known here",
    };
    let weights: Vec<String> = mixtures
        .demands
        .iter()
        .zip(&certificate.weights)
        .filter(|(_, weight)| **weight != 0.0)
        .map(|(demand, weight)| {
            let points = weight * demand.printed.factor * scale;
            format!("{} {}", demand.printed.key, figure(points))
        })
        .collect();
    let richest = certificate
        .richest
        .and_then(|at| mixtures.ingredients.get(at))
        .map_or("filler", |ingredient| ingredient.fertilizer.id.as_str());
    let stand = if keys.len() == 1 {
        format!("{} cannot be made of {of}", listing(keys))
    } else {
        format!(
            "{} cannot stand together in a mixture of {of}",
            listing(keys)
        )
    };
    format!(
        "{stand}. Proof: count {} points for each percent; the label asks for {} points, and the \
         richest ingredient, {richest}, holds {} in itself alone.",
        listing(&weights),
        figure(certificate.asked * scale),
        figure(certificate.most * scale)
    )
}

/// One figure of a contradiction in words: what it takes, what comes with it, how far it goes.
pub fn broken(
    mixtures: &Mixtures,
    demand: usize,
    end: End,
    reachable_pct: Option<f64>,
    others: usize,
) -> String {
    let Some(asked) = mixtures.demands.get(demand) else {
        return String::new();
    };
    let printed = asked.printed;
    let bound = match end {
        End::Low => asked.low_pct,
        End::High => asked.high_pct.unwrap_or(100.0),
    } / printed.factor;
    let reached = match reachable_pct {
        Some(reached) => {
            let (how, met) = match end {
                End::Low => ("at most", "comes to"),
                End::High => ("at least", "comes to"),
            };
            let given = if others == 0 {
                ""
            } else {
                "with all other figures met it "
            };
            let given = if given.is_empty() { "it " } else { given };
            format!("{given}{met} {} % {how}", figure(reached / printed.factor))
        }
        None => "the other figures cannot be met together either".to_owned(),
    };
    match end {
        End::High => format!("{} at most {} %: {reached}.", printed.key, figure(bound)),
        End::Low => format!(
            "{}; {reached}.",
            needs(mixtures, asked.aimed, printed, bound)
        ),
    }
}

/// "K2O 20 % needs at least 43.4 % of potassium-nitrate, which brings 5.9 % N with it".
fn needs(mixtures: &Mixtures, aimed: Aimed, printed: Printed, bound: f64) -> String {
    let most = |ingredient: &Ingredient| -> f64 {
        let assay = &ingredient.fertilizer.assay_pct;
        let sum: f64 = forms(aimed).into_iter().map(|form| assay[form]).sum();
        sum * (1.0 + ingredient.tolerance) / printed.factor
    };
    let sources: Vec<&Ingredient> = mixtures
        .ingredients
        .iter()
        .filter(|i| most(i) > 0.0)
        .collect();
    let Some(richest) = sources
        .iter()
        .copied()
        .max_by(|a, b| most(a).total_cmp(&most(b)))
    else {
        return format!(
            "{} needs an ingredient that holds it, and none does",
            named(printed, bound)
        );
    };
    let share = 100.0 * bound / most(richest);
    let id = &richest.fertilizer.id;
    let lead = if sources.len() == 1 {
        format!(
            "{} needs at least {} % of {id}",
            named(printed, bound),
            figure(share)
        )
    } else {
        format!(
            "{} needs at least {} % even of the richest source, {id}",
            named(printed, bound),
            figure(share)
        )
    };
    if share > 100.0 {
        return format!("{lead}, more than all of it");
    }
    let comes: Vec<String> = mixtures
        .demands
        .iter()
        .filter(|other| other.aimed != aimed)
        .filter_map(|other| {
            let pct: f64 = forms(other.aimed)
                .into_iter()
                .map(|form| richest.fertilizer.assay_pct[form])
                .sum();
            let brought = share / 100.0 * pct / other.printed.factor;
            (brought >= 0.05).then(|| format!("{} % {}", figure(brought), other.printed.key))
        })
        .collect();
    if comes.is_empty() || sources.len() > 1 {
        lead
    } else {
        format!("{lead}, which brings {} with it", listing(&comes))
    }
}

/// A finding in words.
pub const fn finding(finding: Finding) -> &'static str {
    match finding {
        Finding::Within => "within",
        Finding::Deficient => "DEFICIENT",
        Finding::Excess => "EXCESS",
        Finding::NotJudged => "not judged",
    }
}

/// Everything to heed about a label.
pub(crate) fn cautions(
    request: &LabelRequest,
    report: &LabelReport,
    unproven: bool,
) -> Vec<String> {
    let mut cautions = printing_cautions(request);
    cautions.extend(minimum_cautions(request));
    let overall = [&report.index, &report.sum];
    cautions.extend(finding_cautions(&report.allowances, overall));
    let short = report
        .allowances
        .iter()
        .any(|row| row.verdict == Finding::Deficient);
    if request.convention == Convention::UsMd && short {
        cautions.push(
            "Maryland charges three times the value of a deficiency of N, P2O5 or K2O; for secondary \
             nutrients and micronutrients out of tolerance 5 dollars a ton each, at most 10 (Code of \
             Maryland Regulations 15.18.03.09)."
                .into(),
        );
    }
    if request.found.is_some() {
        cautions.push(
            "One sample proves little: two laboratories have differed by 7 points on one lot. Have \
             it sampled and judged by the authority that is competent where you live; its rules win \
             over these tables."
                .into(),
        );
    }
    cautions.extend(strong_traces(request));
    cautions.extend(completion_caution(request, report, unproven).map(str::to_owned));
    cautions
}

/// What is doubtful about the print itself.
fn printing_cautions(request: &LabelRequest) -> Vec<String> {
    let unexpected = request.guarantee.claims().filter_map(|stated| {
        let expected = request.convention.expected(stated.printed)?;
        Some(format!(
            "{} stands where this convention prints {}: check the label. {} is {} % {}.",
            stated.printed.key,
            expected.key,
            named(stated.printed, stated.pct),
            figure(stated.element_pct() / expected.factor),
            expected.key
        ))
    });
    let mut cautions: Vec<String> = unexpected.collect();
    let forms = request.guarantee.forms_pct();
    let total = request.guarantee.element_pct(Aimed::TotalN);
    if let Some(total) = total.filter(|total| forms > total * 1.02 + 0.1) {
        cautions.push(format!(
            "The forms of nitrogen add up to {} %, more than N {} %: check the breakdown.",
            figure(forms),
            figure(total)
        ));
    }
    if request.guarantee.get(Counted::InsolubleN).is_some() {
        cautions.push(
            "Nitrogen that does not dissolve has no place in a nutrient solution and clogs lines."
                .into(),
        );
    }
    cautions
}

/// What to know about the mix completed to a recipe.
fn completion_caution(
    request: &LabelRequest,
    report: &LabelReport,
    unproven: bool,
) -> Option<&'static str> {
    request.complete.as_ref()?;
    match &report.complete {
        None if unproven => Some("No proven way to complete the mix was found for these numbers."),
        None => Some(
            "The mix cannot be completed: its figures contradict its ingredients and it does not \
             say which forms its nitrogen has.",
        ),
        Some(_) if !report.arithmetic.possible => Some(
            "The mix is completed by its printed figures alone; what it does not name counts as \
             nothing, and its figures are in doubt.",
        ),
        Some(whole) if whole.cost_per_m3.is_none() => Some(
            "Without prices the bought mix counts as paid for, and the least mass beside it is \
             looked for.",
        ),
        Some(_) => None,
    }
}

fn minimum_cautions(request: &LabelRequest) -> Vec<String> {
    let judged = super::judged(request, None);
    let low = request.guarantee.claims().filter_map(|stated| {
        let minimum = judged.minimum(stated.printed)?;
        (stated.pct < minimum).then(|| {
            format!(
                "{} is below {} %, the least that Regulation (EU) 2019/1009 lets be declared.",
                named(stated.printed, stated.pct),
                figure(minimum)
            )
        })
    });
    low.collect()
}

fn finding_cautions(rows: &[AllowanceRow], overall: [&Option<Overall>; 2]) -> Vec<String> {
    let mut cautions = Vec::new();
    let unread: Vec<&str> = rows
        .iter()
        .filter(|row| row.verdict == Finding::NotJudged)
        .map(|row| row.nutrient.key)
        .collect();
    if !unread.is_empty() {
        cautions.push(format!(
            "Not judged: {}; no table that was read covers it.",
            listing(&unread)
        ));
    }
    let short = rows.iter().any(|row| row.verdict == Finding::Deficient);
    let overall = overall
        .into_iter()
        .flatten()
        .any(|one| one.verdict == Finding::Deficient);
    if overall && !short {
        cautions.push(
            "Each nutrient is inside its own allowance, but together they fall short of the rule \
             for the whole."
                .into(),
        );
    }
    cautions
}

/// Boron and copper in a label ask for the usual caution.
fn strong_traces(request: &LabelRequest) -> Option<String> {
    let strong = |form: Nutrient| {
        let pct = request.guarantee.element_pct(Aimed::Form(form));
        pct.is_some_and(|pct| pct >= 0.1)
    };
    (strong(Nutrient::B) || strong(Nutrient::Cu)).then(|| {
        "Boron and copper: need and harm lie close together; keep to the dose of the product's label."
            .to_owned()
    })
}
