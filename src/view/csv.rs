//! Tables of a report as CSV, exact, for a spreadsheet and for reading back.

mod stock;
mod substitute;

pub use stock::{TANKS, order, tanks};
pub use substitute::{curve, deciding_prices, salt_curve, swaps};

use saltwright_fertilizers::grid::guarded;
use saltwright_solver::formulate::report::{MixRow, NutrientRow};
use saltwright_solver::label::report::AnalysisRow;
use saltwright_solver::predict::{PredictMixRow, PredictNutrient};
use saltwright_solver::purchase::report::BuyRow;
use saltwright_solver::reservoir::correct::report::{
    NutrientRow as CorrectNutrient, Step as CorrectStep,
};
use saltwright_solver::spread::Range;

/// The mix of a formulation; `--mix` reads it back.
pub fn mix(rows: &[MixRow]) -> String {
    let head = [
        "id",
        "name",
        "g_per_l",
        "ml_per_l",
        "g",
        "g_per_l_stock",
        "cost_per_m3",
        "cost_share_pct",
        "tank",
    ];
    write(
        &head,
        rows.iter().map(|row| {
            vec![
                row.id.clone(),
                row.name.clone(),
                row.g_per_l.to_string(),
                optional(row.ml_per_l),
                optional(row.g),
                optional(row.g_per_l_stock),
                optional(row.cost_per_m3),
                optional(row.cost_share_pct),
                row.tank.unwrap_or("").to_owned(),
            ]
        }),
    )
}

/// The bags of a purchase.
pub fn bags(rows: &[BuyRow]) -> String {
    write(
        &["id", "bag_kg", "bags", "cost"],
        rows.iter().map(|row| {
            vec![
                row.id.clone(),
                row.bag_kg.to_string(),
                row.bags.to_string(),
                row.cost.to_string(),
            ]
        }),
    )
}

/// The nutrients of a formulation, mg/L; with where they may lie, where that was asked.
pub fn nutrients(rows: &[NutrientRow]) -> String {
    let head = [
        "nutrient",
        "aim",
        "min",
        "max",
        "water",
        "delivered",
        "off_pct",
        "price_per_mg_l_m3",
    ];
    ranged(
        &head,
        rows.iter().map(|row| {
            let cells = vec![
                row.nutrient.key().to_owned(),
                optional(row.aim),
                optional(row.min),
                optional(row.max),
                row.water.to_string(),
                row.delivered.to_string(),
                optional(row.off_pct),
                optional(row.price_per_mg_l_m3),
            ];
            (cells, row.range)
        }),
    )
}

/// The mix of a prediction.
pub fn predicted_mix(rows: &[PredictMixRow]) -> String {
    write(
        &["id", "name", "g_per_l", "ml_per_l"],
        rows.iter().map(|row| {
            vec![
                row.id.clone(),
                row.name.clone(),
                row.g_per_l.to_string(),
                optional(row.ml_per_l),
            ]
        }),
    )
}

/// The nutrients of a prediction, mg/L; with where they may lie, where that was asked.
pub fn predicted_nutrients(rows: &[PredictNutrient]) -> String {
    ranged(
        &["nutrient", "water", "delivered"],
        rows.iter().map(|row| {
            let cells = vec![
                row.nutrient.key().to_owned(),
                row.water.to_string(),
                row.delivered.to_string(),
            ];
            (cells, row.range)
        }),
    )
}

/// The steps of a correction; `low` and `high` where ranges were asked.
pub fn correction(rows: &[CorrectStep]) -> String {
    let head = [
        "step", "do", "tank", "id", "litres", "ml", "g", "minutes", "low", "high", "ec_ms_cm",
        "ph", "words",
    ];
    write(
        &head,
        rows.iter().zip(1_u32..).map(|(row, number)| {
            vec![
                number.to_string(),
                row.what.name().to_owned(),
                row.tank.clone().unwrap_or_default(),
                row.id.clone().unwrap_or_default(),
                optional(row.litres),
                optional(row.ml),
                optional(row.g),
                optional(row.minutes),
                optional(row.low),
                optional(row.high),
                row.then.ec_ms_cm.to_string(),
                optional(row.then.ph),
                row.words.clone(),
            ]
        }),
    )
}

/// What a tank holds before and after a correction, mg/L; `low` and `high` where ranges were asked.
pub fn corrected_nutrients(rows: &[CorrectNutrient]) -> String {
    write(
        &["nutrient", "now", "after", "aim", "low", "high"],
        rows.iter().map(|row| {
            vec![
                row.nutrient.key().to_owned(),
                row.now.to_string(),
                row.after.to_string(),
                optional(row.aim),
                optional(row.range.map(|range| range.low)),
                optional(row.range.map(|range| range.high)),
            ]
        }),
    )
}

/// The figures of a label, percent as printed; with what the found mixture holds and where that may
/// lie, where ranges were asked.
pub fn label(rows: &[AnalysisRow]) -> String {
    ranged(
        &["label", "pct", "element", "element_pct", "mixture_pct"],
        rows.iter().map(|row| {
            let cells = vec![
                row.printed.key.to_owned(),
                row.pct.to_string(),
                row.nutrient
                    .map_or("", |nutrient| nutrient.key())
                    .to_owned(),
                row.element_pct.to_string(),
                optional(row.mixture_pct),
            ];
            (cells, row.range)
        }),
    )
}

/// Rows with their ranges, whose columns stand only where some row has one.
fn ranged(head: &[&str], rows: impl Iterator<Item = (Vec<String>, Option<Range>)>) -> String {
    let rows: Vec<(Vec<String>, Option<Range>)> = rows.collect();
    let mut head = head.to_vec();
    let has_ranges = rows.iter().any(|(_, range)| range.is_some());
    if has_ranges {
        head.extend(["low", "high", "worst_low", "worst_high"]);
    }
    write(
        &head,
        rows.into_iter().map(|(mut cells, range)| {
            if has_ranges {
                cells.extend([
                    optional(range.map(|range| range.low)),
                    optional(range.map(|range| range.high)),
                    optional(range.map(|range| range.worst_low)),
                    optional(range.map(|range| range.worst_high)),
                ]);
            }
            cells
        }),
    )
}

/// A figure, or an empty cell.
pub fn optional(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// A head and rows of the same length.
pub fn write(head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = std::iter::once(head.iter().map(|cell| (*cell).to_owned()).collect());
    for record in head.chain(rows) {
        // Writing to memory fails only where rows differ in length, which these do not.
        let cells = record.iter().map(|cell| guarded(cell).into_owned());
        if writer.write_record(cells.collect::<Vec<_>>()).is_err() {
            break;
        }
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}
