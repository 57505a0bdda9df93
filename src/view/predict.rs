//! The sheet of a prediction.

use super::formulate::{Show, ec_words, fact, mark, ratio_words};
use super::round::{self, Measure};
use super::{Part, Sheet};
use saltwright_fertilizers::Hazard;
use saltwright_fertilizers::units::LITRES_PER_US_GALLON;
use saltwright_solver::predict::PredictReport;
use saltwright_solver::words;

/// Builds the sheet.
pub fn sheet(report: &PredictReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let (one, one_name) = match show.measure {
        Measure::Metric => (1.0, " 1 L"),
        Measure::Us => (LITRES_PER_US_GALLON, " 1 gal"),
    };
    let mix = report
        .mix
        .iter()
        .map(|row| {
            let amount = match row.ml_per_l {
                Some(ml) => round::poured(ml * one, show.measure),
                None => round::mass(row.g_per_l * one, show.measure),
            };
            vec![row.id.clone(), amount, mark(&dangers(&row.id))]
        })
        .collect();
    let nutrients = report
        .nutrients
        .iter()
        .filter(|row| row.delivered > 0.0)
        .map(|row| {
            let shown = |value| show.unit.show(row.nutrient, value);
            vec![
                show.unit.label(row.nutrient),
                shown(row.water),
                shown(row.delivered),
            ]
        })
        .collect();
    let heads = |names: [&str; 3]| names.map(str::to_owned).to_vec();
    let mut parts = Vec::new();
    if !report.mix.is_empty() {
        parts.push(Part::Table {
            heads: heads(["goes in", one_name, ""]),
            rows: mix,
        });
    }
    parts.push(Part::Table {
        heads: heads([show.unit.name(), " water", " delivered"]),
        rows: nutrients,
    });
    parts.push(fact("EC", ec_words(&report.ec)));
    let alkalinity = round::concentration(report.alkalinity_meq_l);
    parts.push(fact(
        "acid",
        format!("{alkalinity} meq/L of alkalinity left."),
    ));
    parts.push(fact(
        "ratios",
        ratio_words(&report.ratios, report.charge_error_pct),
    ));
    if let Some(cost) = report.cost_per_m3 {
        parts.push(fact("cost", format!("{} per 1000 L.", words::price(cost))));
    }
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    Sheet {
        title: format!("A mix of {} in {}", report.mix.len(), report.water),
        verdict: String::new(),
        parts,
    }
}
