//! The sheet of a refill: what was taken, what to fill up with, what builds up, when to change.

use super::amounts::{self, Amount, Volumes};
use super::formulate::Show;
use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet};
use saltwright_fertilizers::Hazard;
use saltwright_solver::reservoir::RefillReport;
use saltwright_solver::reservoir::refill::report::{ChangeOut, DrainOption};

/// Builds the sheet, with the top-up for a batch where `litres` is given; `dangers` knows those of a
/// fertilizer by id.
pub fn sheet(
    report: &RefillReport,
    show: Show,
    litres: Option<f64>,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Sheet {
    let mut parts = vec![
        nutrients(report),
        top_up(report, show.measure, litres, dangers),
    ];
    let ec = round::ec(report.top_up.ec.predicted_ms_cm);
    parts.push(Part::fact(
        "EC",
        format!("the top-up reads {ec} mS/cm at 25 °C."),
    ));
    parts.extend(change(&report.change_out, show.measure));
    parts.extend(options(&report.change_out.options, show.measure));
    parts.push(Part::fact("account", account(report)));
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    let drunk = round::volume(report.drunk_l, show.measure);
    let a_day = report.drunk_l_per_day.map_or_else(String::new, |litres| {
        format!(", {} a day", round::volume(litres, show.measure))
    });
    Sheet {
        title: format!("{} in {}", report.recipe, report.water),
        verdict: if report.change_out.in_days == Some(0.0) {
            "CHANGE the solution".into()
        } else {
            String::new()
        },
        detail: format!(
            "{drunk} drunk in {} days{a_day}; {} in the tank",
            round::plain(report.days),
            round::volume(report.litres, show.measure)
        ),
        parts,
    }
}

/// What was taken with each litre, and what the tank holds.
fn nutrients(report: &RefillReport) -> Part {
    let columns = vec![
        Column::new("mg/L", Kind::Name),
        Column::new("taken", Kind::Figures),
        Column::new("between", Kind::Words),
        Column::new("at first", Kind::Figures),
        Column::new("now", Kind::Figures),
        Column::new("between", Kind::Words),
        Column::new("fresh", Kind::Figures),
    ];
    let between = |low, high| {
        let (low, high) = (round::concentration(low), round::concentration(high));
        format!("{low} to {high}")
    };
    let rows = report
        .taken
        .iter()
        .zip(&report.drift)
        .map(|(taken, drift)| {
            vec![
                taken.nutrient.to_string(),
                round::concentration(taken.mg_per_l_drunk),
                between(taken.low, taken.high),
                round::concentration(drift.start),
                round::concentration(drift.now),
                between(drift.low, drift.high),
                round::concentration(drift.fresh),
            ]
        });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

fn top_up(
    report: &RefillReport,
    measure: Measure,
    litres: Option<f64>,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Part {
    let mix: Vec<Amount<'_>> = report
        .top_up
        .mix
        .iter()
        .map(|row| Amount::of(&row.id, row.g_per_l, row.ml_per_l))
        .collect();
    let volumes = Volumes {
        batch: litres,
        ratio: None,
    };
    amounts::table("top-up", &mix, volumes, measure, dangers)
}

fn change(change: &ChangeOut, measure: Measure) -> [Part; 2] {
    let by = match (&change.by, change.in_days) {
        (Some(_), Some(0.0)) => format!("now: {}.", change.because),
        (Some(by), Some(days)) => format!("by {by}, in {days:.0} days: {}.", change.because),
        _ => format!("not asked for: {}.", change.because),
    };
    let wasted = format!(
        "a change-out lets go {} with {} of nitrate nitrogen.",
        round::volume(change.litres, measure),
        round::mass(change.nitrate_n_g, measure)
    );
    [Part::fact("change", by), Part::fact("waste", wasted)]
}

fn options(options: &[DrainOption], measure: Measure) -> Option<Part> {
    let columns = vec![
        Column::new("let out", Kind::Figures),
        Column::new("every", Kind::Figures),
        Column::new("wasted a day", Kind::Figures),
        Column::new("roots stand in, mg/L", Kind::Figures),
    ];
    let rows: Vec<Vec<String>> = options
        .iter()
        .map(|option| {
            vec![
                format!("{} %", round::plain(option.share_pct)),
                format!("{} days", round::plain(option.every_days)),
                round::volume(option.litres_per_day, measure),
                round::concentration(option.mean_mg_l),
            ]
        })
        .collect();
    (!rows.is_empty()).then_some(Part::Table { columns, rows })
}

fn account(report: &RefillReport) -> String {
    format!(
        "{} It comes to {} mS/cm where the meter showed {}.",
        report.assumed,
        round::ec(report.ec_by_account_ms_cm),
        round::ec(report.ec_read_ms_cm)
    )
}
