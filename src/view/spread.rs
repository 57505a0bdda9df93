//! How sure the figures are: half a range beside them, why they are not exact, what to measure next.

use super::{Column, Kind, Part, round};
use saltwright_fertilizers::Aimed;
use saltwright_solver::ec::Ec;
use saltwright_solver::formulate::sure::SureReport;
use saltwright_solver::ph::Ph;
use saltwright_solver::spread::next::NextRow;
use saltwright_solver::spread::{COST, CauseRow, EC, PH, Range, Sureness};
use saltwright_solver::words::{self, listing};

/// Causes of a figure that a sheet names.
const NAMED: usize = 3;

/// Half of a range (k = 2) about its figure.
pub fn half_width(range: &Range, nominal: f64) -> f64 {
    range.high - nominal
}

/// Figures beside nutrients, with half of their ranges.
#[derive(Clone, Copy, Debug, Default)]
pub struct Halves {
    /// mS/cm.
    pub ec: Option<f64>,
    /// pH after standing in air.
    pub ph: Option<f64>,
    /// Per 1,000 litres.
    pub cost: Option<f64>,
    /// True where nutrients are told in percent of a mix, not in mg/L.
    pub in_percent: bool,
}

impl Halves {
    /// Of a solution that was worked out.
    pub fn of(ec: &Ec, ph: &Ph, cost: Option<f64>, sureness: Option<&Sureness>) -> Self {
        let range = sureness.and_then(|sureness| sureness.cost_range);
        let ends = ph.open_low.zip(ph.open_high);
        Self {
            ec: ec.high_ms_cm.map(|high| high - ec.predicted_ms_cm),
            ph: ends.map(|(low, high)| 0.5 * (high - low)),
            cost: range
                .zip(cost)
                .map(|(range, cost)| half_width(&range, cost)),
            in_percent: false,
        }
    }

    /// Unit of nutrients.
    const fn unit(self) -> &'static str {
        if self.in_percent { "%" } else { "mg/L" }
    }

    /// As they are shown, figure by figure.
    fn shown(self) -> [(&'static str, &'static str, Option<String>); 3] {
        let ec = self.ec.map(|half| format!("{} mS/cm", round::ec(half)));
        let ph = self.ph.map(round::half_of_ph);
        let cost = self.cost.filter(|half| *half > 0.0);
        let cost = cost.map(|half| format!("{} per 1000 L", words::price(half)));
        [("EC ±", EC, ec), ("pH ±", PH, ph), ("cost ±", COST, cost)]
    }
}

/// Everything about ranges that stands below the table; `narrow` names the figure whose next
/// measurement is asked for.
pub fn parts(
    sureness: Option<&Sureness>,
    halves: Halves,
    narrow: Option<&'static str>,
) -> Vec<Part> {
    let Some(sureness) = sureness else {
        return Vec::new();
    };
    let usual = || measure(sureness, halves.unit());
    with_measure(sureness, halves, narrow, usual)
}

/// The same, with what is told to be measured next where no figure is named.
pub fn with_measure(
    sureness: &Sureness,
    halves: Halves,
    narrow: Option<&'static str>,
    usual: impl FnOnce() -> Option<Part>,
) -> Vec<Part> {
    let mut parts = vec![Part::fact(
        "ranges",
        "± spans two standard uncertainties (k = 2) of what is stated to be off.",
    )];
    for (label, figure, half) in halves.shown() {
        let causes = named(&sureness.causes, figure);
        parts.extend(half.filter(|_| !causes.is_empty()).map(|half| {
            let words = format!("{half}: {}.", listing(&causes));
            Part::fact(label, words)
        }));
    }
    parts.extend(match narrow {
        Some(figure) => Some(chosen(sureness, figure, halves.unit())),
        None => usual(),
    });
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
fn measure(sureness: &Sureness, unit: &str) -> Option<Part> {
    let figures = [Some(EC), sureness.widest, Some(COST)];
    let figures = figures.into_iter().flatten();
    told(figures.filter_map(|figure| next(sureness, figure, unit)))
}

/// What to measure next, in a part of its own.
pub fn told(improvements: impl Iterator<Item = String>) -> Option<Part> {
    let told: Vec<String> = improvements.collect();
    (!told.is_empty()).then(|| Part::fact("measure", format!("{}.", told.join("; "))))
}

/// What would narrow the figure that was chosen, and why it is not exact.
fn chosen(sureness: &Sureness, figure: &'static str, unit: &str) -> Part {
    let causes = named(&sureness.causes, figure);
    let words = match next(sureness, figure, unit) {
        Some(next) => format!("{next}: {}.", listing(&causes)),
        None if causes.is_empty() => format!("nothing is stated to be off about {figure}."),
        None => format!(
            "nothing that can be measured narrows {figure}: {}.",
            listing(&causes)
        ),
    };
    Part::fact("measure", words)
}

/// What would narrow a figure; none where it would not show.
fn next(sureness: &Sureness, figure: &str, unit: &str) -> Option<String> {
    let row = sureness
        .measure_next
        .iter()
        .find(|row| row.figure == figure)?;
    narrowed(row, figure, &|half| half_of(figure, half, unit))
}

/// Half of a figure's range with its unit; nutrients in this one.
pub fn half_of(figure: &str, half: f64, unit: &str) -> String {
    match figure {
        EC => format!("{} mS/cm", round::ec(half)),
        PH => round::half_of_ph(half),
        COST => words::price(half),
        _ => format!("{} {unit}", round::half_width(half)),
    }
}

/// What an improvement brings to a figure of this name; none where it would not show.
pub fn narrowed(row: &NextRow, name: &str, show: &dyn Fn(f64) -> String) -> Option<String> {
    let (now, best) = (show(row.half_width), show(row.at_best));
    let words = format!("{} ({name} ± {now}, at best ± {best})", row.words);
    (now != best).then_some(words)
}

/// A figure that can be chosen, as it is typed.
pub fn figure(typed: &str) -> Option<&'static str> {
    let typed = typed.trim();
    figures().find(|figure| figure.eq_ignore_ascii_case(typed))
}

/// Figures that can be chosen.
pub fn figures() -> impl Iterator<Item = &'static str> {
    let nutrients = Aimed::all().map(Aimed::key);
    [EC, PH, COST].into_iter().chain(nutrients)
}
