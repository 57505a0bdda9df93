//! The sheet of a meter: what it shows and what is true, what to weigh for a check.

use super::{Column, Kind, Part, Sheet, round};
use saltwright_solver::reservoir::meter::report::{
    CheckSolution, Health, MeterReport, OnScale, PointRow, ScaleRow,
};

/// Builds the sheet.
pub fn sheet(report: &MeterReport) -> Sheet {
    let findings = report.words.lines().map(str::to_owned);
    let mut parts: Vec<Part> = findings.map(Part::Note).collect();
    parts.extend(points(&report.points));
    parts.extend(scales(&report.scales));
    if let Some(reading) = &report.reading {
        parts.extend(on_scales(&reading.on_scales));
    }
    parts.extend(solutions(&report.solutions));
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    let verdict = match (report.verdict, report.ph.map(|ph| ph.verdict)) {
        (None, None) => "",
        (Some(Health::Doubtful), _) | (_, Some(Health::Doubtful)) => "DOUBTFUL",
        (Some(Health::Calibrate), _) | (_, Some(Health::Calibrate)) => "CALIBRATE",
        _ => "good",
    };
    Sheet {
        title: "Meters".into(),
        verdict: verdict.into(),
        detail: String::new(),
        parts,
    }
}

fn points(points: &[PointRow]) -> Option<Part> {
    let mut columns = vec![
        Column::new("check, mS/cm at 25 °C", Kind::Figures),
        Column::new("shows", Kind::Figures),
        Column::new("off", Kind::Figures),
    ];
    let is_cold = points.iter().any(|point| point.raw_ms_cm.is_some());
    if is_cold {
        columns.push(Column::new("conducts as it is", Kind::Figures));
    }
    let rows = points.iter().map(|point| {
        let mut row = vec![
            round::check_ec(point.true_ms_cm),
            round::check_ec(point.shows_ms_cm),
            point.off_pct.map_or_else(String::new, round::percent),
        ];
        if is_cold {
            row.push(point.raw_ms_cm.map_or_else(String::new, round::check_ec));
        }
        row
    });
    table(columns, rows.collect())
}

fn scales(scales: &[ScaleRow]) -> Option<Part> {
    let columns = vec![
        Column::new("ppm per mS/cm", Kind::Figures),
        Column::new("off", Kind::Figures),
        Column::new("verdict", Kind::Words),
    ];
    let rows = scales.iter().map(|row| {
        vec![
            row.scale.to_string(),
            round::percent(row.off_pct),
            if row.fits { "fits" } else { "" }.to_owned(),
        ]
    });
    table(columns, rows.collect())
}

fn on_scales(rows: &[OnScale]) -> Option<Part> {
    let columns = vec![
        Column::new("if the scale is", Kind::Figures),
        Column::new("EC, mS/cm", Kind::Figures),
    ];
    let rows = rows
        .iter()
        .map(|row| vec![row.scale.to_string(), round::ec(row.ec_ms_cm)]);
    table(columns, rows.collect())
}

fn solutions(solutions: &[CheckSolution]) -> Option<Part> {
    let columns = vec![
        Column::new("check solution, mS/cm", Kind::Figures),
        Column::new("salt", Kind::Name),
        Column::new("in a litre", Kind::Figures),
    ];
    let rows = solutions.iter().map(|row| {
        vec![
            round::check_ec(row.ec_ms_cm),
            row.salt.to_owned(),
            round::mass(row.g_per_l, round::Measure::Metric),
        ]
    });
    table(columns, rows.collect())
}

fn table(columns: Vec<Column>, rows: Vec<Vec<String>>) -> Option<Part> {
    (!rows.is_empty()).then_some(Part::Table { columns, rows })
}
