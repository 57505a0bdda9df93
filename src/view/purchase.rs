//! The sheet of a purchase: which bags, what they cost, what is left, and the mix they make.

use super::formulate::{self, Show};
use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet};
use saltwright_fertilizers::Hazard;
use saltwright_solver::purchase::{Progress, PurchaseReport};
use saltwright_solver::words::{self, substitute::money};

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &PurchaseReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let mut parts = vec![bags(report, show.measure)];
    if report.total > 0.0 {
        parts.push(Part::fact("total", total(report)));
    }
    parts.push(Part::fact("bound", words::purchase::proof(report)));
    if !report.left_over.is_empty() {
        parts.push(left_over(report, show.measure));
    }
    parts.extend(mix(report, show, dangers));
    let next = "--out FILE.csv keeps the mix, its nutrients and the bags; stock --mix FILE.csv \
                splits the mix into tanks.";
    parts.push(Part::fact("next", next));
    Sheet {
        title: formulate::title(&report.formulation),
        verdict: match (report.stopped, report.buy.is_empty()) {
            (_, true) => "nothing to buy",
            (true, false) => "cheapest found so far",
            (false, false) => "cheapest bags",
        }
        .into(),
        detail: format!(
            "{} of finished solution in the season",
            round::volume(1000.0 * report.season_m3, show.measure)
        ),
        parts,
    }
}

fn bags(report: &PurchaseReport, measure: Measure) -> Part {
    if report.buy.is_empty() {
        return Part::Note("Nothing has to be bought: what is on hand lasts.".into());
    }
    let cost = match &report.currency {
        Some(currency) => format!("cost, {currency}"),
        None => "cost".to_owned(),
    };
    let columns = vec![
        Column::new("buy", Kind::Name),
        Column::new("bags", Kind::Figures),
        Column::new("of", Kind::Figures),
        Column::new(cost, Kind::Figures),
    ];
    let rows = report.buy.iter().map(|row| {
        vec![
            row.id.clone(),
            row.bags.to_string(),
            round::bag(row.bag_kg, measure),
            words::price(row.cost),
        ]
    });
    let rows = rows.collect();
    Part::Table { columns, rows }
}

/// The mix and what comes of it; its proof is one among what the bags allow.
fn mix(report: &PurchaseReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Vec<Part> {
    let mut parts = formulate::body(&report.formulation, show, dangers);
    for part in &mut parts {
        if let Part::Fact {
            label: "proof",
            words,
        } = part
        {
            *words = words::purchase::closest(report);
        }
    }
    parts
}

fn total(report: &PurchaseReport) -> String {
    let currency = report.currency.as_deref();
    format!(
        "{}, or {} per 1000 L of finished solution.",
        money(report.total, currency),
        money(report.total_per_m3, currency)
    )
}

fn left_over(report: &PurchaseReport, measure: Measure) -> Part {
    let columns = vec![
        Column::new("in the season", Kind::Name),
        Column::new("used", Kind::Figures),
        Column::new("left over", Kind::Figures),
    ];
    let kilograms = |kg: f64| round::mass(1000.0 * kg, measure);
    let rows = report
        .left_over
        .iter()
        .map(|row| vec![row.id.clone(), kilograms(row.used_kg), kilograms(row.kg)]);
    let rows = rows.collect();
    Part::Table { columns, rows }
}

/// A line about a search that goes on.
pub fn progress(progress: &Progress) -> String {
    format!(
        "{:.0} s: {} found, {} at least (gap {:.2} %); Ctrl-C takes what is found",
        progress.seconds,
        words::price(progress.total),
        words::price(progress.bound),
        progress.gap_pct()
    )
}
