//! The sheet of a formulation: what to weigh, what comes of it, why not better, what to heed.

use super::amounts::{self, Amount, Volumes};
use super::nutrients::{self, Unit};
use super::round::{self, Measure};
use super::spread::Halves;
use super::{Part, Sheet, chemistry, facts, spread};
use saltwright_fertilizers::Hazard;
use saltwright_solver::formulate::report::{FormulateReport, Outcome};
use saltwright_solver::words;

/// How figures are to be shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Show {
    /// Metric or US.
    pub measure: Measure,
    /// Unit of the nutrient table.
    pub unit: Unit,
    /// Everything that was found, not only the answer.
    pub detail: bool,
    /// The figure for which is told what to measure next; none for the usual ones.
    pub narrow: Option<&'static str>,
}

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &FormulateReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let inside = report.outcome == Outcome::WithinBands;
    let mut parts = body(report, show, dangers);
    parts.push(Part::fact("next", next(report)));
    Sheet {
        title: title(report),
        verdict: if inside {
            "within bands"
        } else {
            "closest answer, OUTSIDE the bands"
        }
        .into(),
        detail: detail(report, show.measure),
        parts,
    }
}

/// What it is about.
pub(super) fn title(report: &FormulateReport) -> String {
    format!("{} in {}", report.recipe, report.water)
}

/// What to weigh and what comes of it.
pub(super) fn body(
    report: &FormulateReport,
    show: Show,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Vec<Part> {
    let inside = report.outcome == Outcome::WithinBands;
    let volumes = Volumes {
        batch: report.litres,
        ratio: report.ratio,
    };
    let mix: Vec<Amount<'_>> = report
        .mix
        .iter()
        .map(|row| Amount {
            id: &row.id,
            g_per_l: row.g_per_l,
            ml_per_l: row.ml_per_l,
            tank: row.tank,
        })
        .collect();
    let mut parts = Vec::new();
    if mix.is_empty() {
        parts.push(Part::Note("Nothing needs to be added.".into()));
    } else {
        parts.push(amounts::table(
            "weigh",
            &mix,
            volumes,
            show.measure,
            dangers,
        ));
    }
    if !inside {
        parts.extend(misses(report));
    }
    parts.push(nutrients::formulated(report, show.unit));
    parts.push(facts::ec(&report.ec));
    parts.extend(facts::pens(&report.tds, report.cf));
    parts.extend(facts::ph(&report.ph, report.ph_band, 25.0, show.measure));
    parts.extend(facts::solids(&report.solids));
    parts.extend(facts::ratios(&report.ratios));
    parts.extend(facts::charge(report.charge_error_pct));
    parts.extend(facts::acid(report.acidity));
    parts.extend(cost(report));
    parts.push(Part::fact("proof", words::proof(report)));
    let sure = report.sure.as_ref();
    parts.extend(sure.map(|sure| Part::fact("sure", format!("{}.", sure.words))));
    let sureness = report.sureness.as_ref();
    let halves = Halves::of(&report.ec, &report.ph, report.cost_per_m3, sureness);
    parts.extend(spread::parts(sureness, halves, show.narrow));
    if show.detail {
        parts.extend(sure.map(spread::safety));
        parts.extend(chemistry::detail(
            report.detail.as_ref(),
            &report.solids,
            report.ionic_strength_mol_l,
        ));
    }
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    parts
}

/// Batch and strength.
fn detail(report: &FormulateReport, measure: Measure) -> String {
    let batch = report.litres.map(|litres| round::volume(litres, measure));
    let batch = batch.map(|volume| format!("{volume} of finished solution"));
    let as_written = (report.strength - 1.0).abs() < 1e-12;
    let strength = format!(
        "at {} times the strength of the recipe",
        round::plain(report.strength)
    );
    let strength = (!as_written).then_some(strength);
    let words: Vec<String> = [batch, strength].into_iter().flatten().collect();
    words.join(", ")
}

fn cost(report: &FormulateReport) -> Option<Part> {
    let cost = words::price(report.cost_per_m3?);
    let more = words::dearest(report).map_or_else(String::new, |words| format!("; {words}"));
    Some(Part::fact("cost", format!("{cost} per 1000 L{more}.")))
}

/// What is off and by how much, why, and what would mend it.
pub(super) fn misses(report: &FormulateReport) -> Vec<Part> {
    let mut off: Vec<String> = report
        .nutrients
        .iter()
        .filter_map(|row| {
            let miss = nutrients::miss(report, row)?;
            Some(format!(
                "{} comes to {} mg/L, {} {} its {} of {}",
                row.nutrient,
                round::concentration(miss.comes_to),
                round::concentration(miss.by),
                miss.beyond,
                miss.side,
                round::concentration(miss.bound)
            ))
        })
        .collect();
    if let Some(acid) = report.acidity.filter(|_| off.is_empty()) {
        off.push(format!(
            "the acid comes to {} meq/L, not to {}",
            round::concentration(acid.reached_meq_l),
            round::concentration(acid.target_meq_l)
        ));
    }
    let mut parts = Vec::new();
    if !off.is_empty() {
        parts.push(Part::fact("off", format!("{}.", off.join("; "))));
    }
    parts.extend(
        report
            .conflict
            .iter()
            .map(|row| Part::fact("why", row.words.clone())),
    );
    parts.extend(words::mend(report).map(|words| Part::fact("mend", words)));
    parts
}

/// What to type next.
fn next(report: &FormulateReport) -> String {
    let mut words = Vec::new();
    if report.litres.is_none() {
        words.push("--tank \"120 L\" gives the batch");
    } else if report.cost_per_m3.is_none() {
        words.push("--prices FILE finds the cheapest of the equally close");
    } else if report.ratio.is_none() {
        words.push("--ratio 100 gives grams per litre of stock");
    }
    words.push(
        "--out FILE.csv keeps the mix; predict --mix FILE.csv and stock --mix FILE.csv go on from it",
    );
    format!("{}.", words.join("; "))
}
