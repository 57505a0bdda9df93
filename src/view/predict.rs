//! The sheet of a prediction: what goes in and what it comes to.

use super::amounts::{self, Amount, Volumes};
use super::formulate::Show;
use super::round::Measure;
use super::spread::Halves;
use super::{Part, Sheet, chemistry, facts, nutrients, round, spread};
use saltwright_fertilizers::Hazard;
use saltwright_solver::predict::PredictReport;
use saltwright_solver::words;

/// Builds the sheet, with amounts for a batch where `litres` is given; `dangers` knows those of a
/// fertilizer by id.
pub fn sheet(
    report: &PredictReport,
    show: Show,
    litres: Option<f64>,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Sheet {
    let mix: Vec<Amount<'_>> = report
        .mix
        .iter()
        .map(|row| Amount::of(&row.id, row.g_per_l, row.ml_per_l))
        .collect();
    let volumes = Volumes {
        batch: litres,
        ratio: None,
    };
    let mut parts = Vec::new();
    if !mix.is_empty() {
        parts.push(amounts::table(
            "goes in",
            &mix,
            volumes,
            show.measure,
            dangers,
        ));
    }
    parts.push(nutrients::predicted(&report.nutrients, show.unit));
    parts.extend(found(report, show.measure));
    if let Some(cost) = report.cost_per_m3 {
        parts.push(Part::fact(
            "cost",
            format!("{} per 1000 L.", words::price(cost)),
        ));
    }
    let sureness = report.sureness.as_ref();
    let halves = Halves::of(&report.ec, &report.ph, report.cost_per_m3, sureness);
    parts.extend(spread::parts(sureness, halves, show.narrow));
    if show.detail {
        parts.extend(chemistry::detail(
            report.detail.as_ref(),
            &report.solids,
            report.ionic_strength_mol_l,
        ));
    }
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    let what = match mix.len() {
        0 => "Nothing".to_owned(),
        1 => "One fertilizer".to_owned(),
        more => format!("{more} fertilizers"),
    };
    let detail = litres.map(|litres| round::volume(litres, show.measure));
    Sheet {
        title: format!("{what} in {}", report.water),
        verdict: String::new(),
        detail: detail.unwrap_or_default(),
        parts,
    }
}

/// What meters show of it, what could drop out, and how its charges and its acid stand.
fn found(report: &PredictReport, measure: Measure) -> Vec<Part> {
    let mut parts = vec![facts::ec(&report.ec)];
    parts.extend(facts::pens(&report.tds, report.cf));
    parts.extend(
        report
            .at_temperature
            .as_ref()
            .map(|raw| facts::raw_ec(raw, report.temperature_c, measure)),
    );
    parts.extend(facts::ph(&report.ph, None, report.temperature_c, measure));
    parts.extend(facts::solids(&report.solids));
    parts.extend(facts::ratios(&report.ratios));
    parts.extend(facts::charge(report.charge_error_pct));
    parts.extend(report.alkalinity_meq_l.map(|meq_l| {
        let alkalinity = facts::alkalinity(meq_l);
        Part::fact("acid", format!("{alkalinity}."))
    }));
    parts
}
