//! How sure the figures are: half a range beside them, why they are not exact, what to measure next.

use super::{Column, Kind, Part, round};
use saltwright_solver::ec::Ec;
use saltwright_solver::formulate::sure::SureReport;
use saltwright_solver::spread::{CauseRow, Range, Sureness};
use saltwright_solver::words::{self, listing};

/// Causes of a figure that a sheet names.
const NAMED: usize = 3;

/// Half of a range (k = 2) about its figure.
pub fn half_width(range: &Range, nominal: f64) -> f64 {
    range.high - nominal
}

/// Everything about ranges that stands below the table.
pub fn parts(sureness: Option<&Sureness>, ec: &Ec, cost_per_m3: Option<f64>) -> Vec<Part> {
    let Some(sureness) = sureness else {
        return Vec::new();
    };
    let ec_half = ec
        .high_ms_cm
        .map(|high| round::ec(high - ec.predicted_ms_cm));
    let ec_half = ec_half.map(|half| format!("{half} mS/cm"));
    let cost = sureness.cost_range.zip(cost_per_m3);
    let cost_half = cost
        .map(|(range, cost)| half_width(&range, cost))
        .filter(|half| *half > 0.0)
        .map(|half| format!("{} per 1000 L", words::price(half)));
    let mut parts = vec![Part::fact(
        "ranges",
        "± spans two standard uncertainties (k = 2) of what is stated to be off.",
    )];
    for (label, figure, half) in [("EC ±", "EC", ec_half), ("cost ±", "cost", cost_half)] {
        let causes = named(&sureness.causes, figure);
        parts.extend(half.filter(|_| !causes.is_empty()).map(|half| {
            let words = format!("{half}: {}.", listing(&causes));
            Part::fact(label, words)
        }));
    }
    parts.extend(measure(sureness));
    parts
}

/// What safety costs, by how much of the tolerances is guarded against.
pub fn safety(sure: &SureReport) -> Part {
    let columns = vec![
        Column::new("% of every tolerance", Kind::Figures),
        Column::new("per 1000 L", Kind::Figures),
        Column::new("off the aims", Kind::Figures),
        Column::new("", Kind::Words),
    ];
    let rows = sure.curve.iter().map(|at| {
        let cost = at.cost_per_m3.map(words::price);
        let off = at.closeness.map(round::concentration);
        let words = if at.holds { "" } else { "cannot be kept" };
        vec![
            round::plain(at.tolerance_share_pct),
            cost.unwrap_or_default(),
            off.unwrap_or_default(),
            words.to_owned(),
        ]
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

/// The largest causes of a figure with their shares.
fn named(causes: &[CauseRow], figure: &str) -> Vec<String> {
    let of_figure = causes.iter().filter(|row| row.figure == figure);
    of_figure
        .take(NAMED)
        .map(|row| format!("{} {} %", row.cause, round::share(row.share_pct)))
        .collect()
}

/// What would narrow most: the EC, the nutrient that is widest for its size, the cost.
fn measure(sureness: &Sureness) -> Option<Part> {
    let figures = [Some("EC"), sureness.widest, Some("cost")];
    let told: Vec<String> = figures
        .into_iter()
        .flatten()
        .filter_map(|figure| {
            let rows = sureness.measure_next.iter();
            let row = rows.clone().find(|row| row.figure == figure)?;
            let show = |half: f64| match figure {
                "EC" => format!("{} mS/cm", round::ec(half)),
                "cost" => words::price(half),
                _ => format!("{} mg/L", round::half_width(half)),
            };
            let (now, best) = (show(row.half_width), show(row.at_best));
            let words = format!("{} ({figure} ± {now}, at best ± {best})", row.words);
            (now != best).then_some(words)
        })
        .collect();
    (!told.is_empty()).then(|| Part::fact("measure", format!("{}.", told.join("; "))))
}
