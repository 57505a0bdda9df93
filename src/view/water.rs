//! The sheet of a source water: its analysis, its acid, what guides say of it.

use super::amounts::mark;
use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet, facts};
use saltwright_fertilizers::Hazard;
use saltwright_fertilizers::units::LITRES_PER_US_GALLON;
use saltwright_solver::water::limits::Crossed;
use saltwright_solver::water::{BlendReport, DoseRow, Ends, Hardness, WaterReport};
use saltwright_solver::words::listing;

/// Builds the sheet, with doses for a batch where `litres` is given.
pub fn sheet(
    report: &WaterReport,
    measure: Measure,
    litres: Option<f64>,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Sheet {
    let mut parts = vec![hardness(
        "",
        &[
            ("hardness", report.hardness),
            ("alkalinity", report.alkalinity),
        ],
    )];
    parts.push(charge(report));
    let ec = report.ec_ms_cm.map_or_else(
        || "not told".to_owned(),
        |ec| format!("{} mS/cm at 25 °C by its ions", round::ec(ec)),
    );
    parts.push(Part::fact("EC", format!("{ec}.")));
    let at = round::temperature(report.temperature_c, measure);
    parts.extend(ends(&report.ph_before).map(|words| {
        let printed = printed(report);
        Part::fact("pH", format!("{words}, at {at}{printed}."))
    }));
    parts.extend(report.blend.as_ref().map(blend));
    if let Some(blend) = &report.blend {
        parts.push(hardness(
            "blend",
            &[
                ("hardness", blend.hardness),
                ("alkalinity", blend.alkalinity),
            ],
        ));
    }
    if !report.doses.is_empty() {
        parts.push(doses(report, measure, litres, dangers));
    }
    if let (Some(dose), Some(words)) = (&report.dose, ends(&report.ph)) {
        let left = facts::alkalinity(report.residual_meq_l);
        let words = format!("after {}: {left}; pH {words}, at {at}.", dose.id);
        parts.push(Part::fact("then", words));
    }
    parts.extend(report.limits.iter().map(limit));
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    Sheet {
        title: report.water.clone(),
        verdict: String::new(),
        detail: String::new(),
        parts,
    }
}

/// A published limit that is crossed.
fn limit(crossed: &Crossed) -> Part {
    let unit = if crossed.unit.is_empty() {
        String::new()
    } else {
        format!(" {}", crossed.unit)
    };
    let figure = match crossed.unit {
        "mS/cm" => round::ec(crossed.value),
        "" => round::ph(crossed.value),
        _ => round::plain(crossed.value),
    };
    Part::fact(
        "limit",
        format!(
            "{} {figure}{unit}, limit {}: {}. {}.",
            crossed.what,
            round::plain(crossed.limit),
            crossed.words,
            crossed.source
        ),
    )
}

fn hardness(head: &str, rows: &[(&str, Hardness)]) -> Part {
    let heads = ["meq/L", "mg/L CaCO3", "°dH", "°fH", "gpg", "mg/L HCO3"];
    let mut columns = vec![Column::new(head, Kind::Name)];
    columns.extend(heads.map(|head| Column::new(head, Kind::Figures)));
    let rows = rows.iter().map(|(name, amount)| {
        let is_alkalinity = *name == "alkalinity";
        let figures = [
            amount.meq_l,
            amount.mg_l_caco3,
            amount.dh,
            amount.fh,
            amount.gpg,
        ];
        let mut cells = vec![(*name).to_owned()];
        cells.extend(figures.map(round::concentration));
        // Bicarbonate is a way to tell alkalinity, not hardness.
        cells.push(if is_alkalinity {
            round::concentration(amount.mg_l_hco3)
        } else {
            String::new()
        });
        cells
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

fn charge(report: &WaterReport) -> Part {
    let balance = &report.balance;
    let error = balance
        .error_pct
        .map_or_else(String::new, |error| format!(" ({error:+.1} %)"));
    let words = format!(
        "cations {} and anions {} meq/L{error}: {}.",
        round::concentration(balance.cations_meq_l),
        round::concentration(balance.anions_meq_l),
        balance.words
    );
    Part::fact("charge", words)
}

/// The pH of the analysis, where the sheet tells that of another temperature.
fn printed(report: &WaterReport) -> String {
    let ph = report
        .ph_printed
        .filter(|_| (report.temperature_c - 25.0).abs() > 0.5);
    ph.map_or_else(String::new, |ph| {
        format!(" ({} in the analysis, at 25 °C)", round::ph(ph))
    })
}

/// Both ends of a pH in words.
fn ends(ph: &Ends) -> Option<String> {
    let (closed, open) = ph.closed.zip(ph.open)?;
    let (closed, open) = (round::ph(closed), round::ph(open));
    Some(format!("{closed} as it is, {open} after standing in air"))
}

fn blend(blend: &BlendReport) -> Part {
    let because = blend
        .because
        .as_ref()
        .map_or_else(String::new, |because| format!(": {because}"));
    let words = format!(
        "{:.0} % of this water with {:.0} % {}{because}.",
        blend.share_pct,
        100.0 - blend.share_pct,
        blend.with
    );
    Part::fact("blend", words)
}

fn doses(
    report: &WaterReport,
    measure: Measure,
    litres: Option<f64>,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Part {
    let (per, head) = match measure {
        Measure::Metric => (1000.0, "1000 L"),
        Measure::Us => (100.0 * LITRES_PER_US_GALLON, "100 gal"),
    };
    let mut columns = vec![Column::new("one of", Kind::Name)];
    columns.extend(litres.map(|litres| Column::new(round::volume(litres, measure), Kind::Figures)));
    for head in [head, "pH", "in air"] {
        columns.push(Column::new(head, Kind::Figures));
    }
    columns.push(Column::new("brings, mg/L", Kind::Words));
    columns.push(Column::new("", Kind::Words));
    let rows = report.doses.iter().map(|row| {
        let mut cells = vec![row.id.clone()];
        cells.extend(litres.map(|litres| amount(row, litres, measure)));
        cells.push(amount(row, per, measure));
        let ph = |end: Option<f64>| end.map_or_else(String::new, round::ph);
        cells.extend([ph(row.ph.closed), ph(row.ph.open)]);
        let brings = row.brings.iter();
        let brings = brings.map(|(key, mg)| format!("{key} {}", round::concentration(*mg)));
        cells.push(listing(&brings.collect::<Vec<_>>()));
        cells.push(mark(&dangers(&row.id)));
        cells
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

fn amount(row: &DoseRow, litres: f64, measure: Measure) -> String {
    match row.ml_per_l {
        Some(ml) => round::poured(ml * litres, measure),
        None => round::mass(row.g_per_l * litres, measure),
    }
}
