//! Curves on the sheet of cheaper salts: cost against what is allowed, corner by corner.

use super::{CURVE, SALT_CURVE};
use crate::view::round;
use crate::view::{Column, Kind, Part};
use saltwright_solver::substitute::report::{CurvePoint, SaltPoint, SubstituteReport};
use saltwright_solver::words;

/// Allowed deviation, percent, beyond which one further corner is shown: more is no recipe any more.
const FAR_OFF: f64 = 30.0;
/// Cells of the longest bar of a curve.
const BAR: f64 = 30.0;

fn bar(value: f64, largest: f64) -> String {
    let share = if largest > 0.0 { value / largest } else { 0.0 };
    let cells = (BAR * share).round();
    (0..)
        .take_while(|at| f64::from(*at) < cells)
        .map(|_| '#')
        .collect()
}

/// The corners of a curve that are worth a look: up to the first that is far off.
pub fn near(curve: &[CurvePoint]) -> &[CurvePoint] {
    let near = curve
        .iter()
        .take_while(|point| point.off_pct_allowed < FAR_OFF);
    &curve[..curve.len().min(near.count() + 1)]
}

/// Cost against allowed deviation: corners, and a bar as long as the cost.
pub(super) fn curve(report: &SubstituteReport, detail: bool) -> Option<Part> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let largest = report.curve.first()?.cost_per_m3;
    let curve = if detail {
        &report.curve
    } else {
        near(&report.curve)
    };
    let last = report.curve.last()?.cost_per_m3;
    for point in curve {
        let off = format!("{} %", round::three(point.off_pct_allowed));
        let cost = words::price(point.cost_per_m3);
        // Corners that no scale tells apart are shown as one, unless all is asked for.
        let same = |row: &Vec<String>| !detail && row.first() == Some(&off);
        if !rows.last().is_some_and(same) {
            rows.push(vec![off, cost, bar(point.cost_per_m3, largest)]);
        }
    }
    let columns = vec![
        Column::new(CURVE, Kind::Figures),
        Column::new(cost(report.currency.as_deref(), last), Kind::Figures),
        Column::new("", Kind::Drawing),
    ];
    Some(Part::Table { columns, rows })
}

/// The head of costs, in their currency where there is one and the last of them is something.
fn cost(currency: Option<&str>, last: f64) -> String {
    match currency {
        Some(currency) if last > 0.0 => format!("{currency} per 1000 L"),
        _ => "1000 L cost".into(),
    }
}

/// Cost against sodium and chloride.
pub(super) fn salt_curve(points: &[SaltPoint], currency: Option<&str>) -> Option<Part> {
    let (first, last) = (points.first()?, points.last()?);
    if points.len() < 2 {
        return None;
    }
    let rows = points.iter().map(|point| {
        vec![
            format!("{} %", round::three(point.ec_share_pct)),
            round::concentration(point.sodium_mg_l),
            round::concentration(point.chloride_mg_l),
            words::price(point.cost_per_m3),
            bar(point.cost_per_m3, first.cost_per_m3),
        ]
    });
    let rows = rows.collect();
    let head = cost(currency, last.cost_per_m3);
    let columns = vec![
        Column::new(SALT_CURVE, Kind::Figures),
        Column::new("Na mg/L", Kind::Figures),
        Column::new("Cl mg/L", Kind::Figures),
        Column::new(head, Kind::Figures),
        Column::new("", Kind::Drawing),
    ];
    Some(Part::Table { columns, rows })
}
