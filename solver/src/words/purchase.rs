//! Sentences about whole bags.

use super::substitute::money;
use super::{listing, opened};
use crate::formulate::FormulateReport;
use crate::purchase::{PurchaseReport, PurchaseRequest};
use saltwright_fertilizers::{Fault, Problem};

/// Why nothing can be bought that keeps the bands: a fault for each band end of the conflict.
pub(crate) fn impossible(any: &FormulateReport) -> Vec<Fault> {
    let mend = super::mend(any).unwrap_or_else(|| "Drop or widen this band.".into());
    let rows = any.conflict.iter().map(|row| Fault {
        file: None,
        line: None,
        field: match row.nutrient {
            "acidity" => "acid_to".to_owned(),
            nutrient => format!("recipe.aims.{nutrient}.{}", row.side),
        },
        problem: Problem::NoAnswer {
            what: format!(
                "No purchase keeps every band, whole bags or not. {}",
                opened(row.words.trim_end_matches('.'))
            ),
            mend: mend.clone(),
        },
    });
    rows.collect()
}

/// What the mix is among all that the bags allow, in a sentence.
pub fn closest(report: &PurchaseReport) -> String {
    let gaps = report.formulation.proof.iter().map(|row| row.gap.abs());
    format!(
        "No other mix from these bags comes closer to the aims (proof gap {:.0e}).",
        gaps.fold(0.0, f64::max)
    )
}

/// What the bound says, in a sentence.
pub fn proof(report: &PurchaseReport) -> String {
    if report.total <= 0.0 {
        return "Nothing has to be paid.".into();
    }
    let currency = report.currency.as_deref();
    let parts = money(report.bound_in_parts, currency);
    if report.gap_pct < 1e-6 {
        return format!(
            "No other purchase of these bags that keeps the bands costs less{}. If bags could be \
             shared, the season would cost {parts} at least.",
            by_parts(report.search_parts)
        );
    }
    format!(
        "No purchase of these bags that keeps the bands costs less than {}; this one may be up to \
         {:.2} % dearer than the cheapest.",
        money(report.bound, currency),
        report.gap_pct
    )
}

/// How that was proved.
fn by_parts(parts: u64) -> String {
    match parts {
        0 => String::new(),
        1 => " (proved in one step)".to_owned(),
        more => format!(" (proved part by part, {more} in all)"),
    }
}

/// What to heed about a purchase.
pub(crate) fn cautions(request: &PurchaseRequest, report: &PurchaseReport) -> Vec<String> {
    let mut told = Vec::new();
    if report.stopped {
        told.push(
            "The search was stopped before it was through: another run may find a cheaper \
             purchase, though none below the bound."
                .to_owned(),
        );
    }
    if !report.not_sold.is_empty() {
        told.push(format!(
            "{}: allowed, but neither sold nor on hand, so left out.",
            listing(&report.not_sold)
        ));
    }
    if !request.not_allowed.is_empty() {
        told.push(format!(
            "{}: sold or on hand, but not allowed, so left out.",
            listing(&request.not_allowed)
        ));
    }
    told
}
