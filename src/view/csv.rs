//! Tables of a report as CSV, exact, for a spreadsheet and for reading back.

use saltwright_fertilizers::grid::guarded;
use saltwright_solver::formulate::report::{MixRow, NutrientRow};
use saltwright_solver::label::report::AnalysisRow;
use saltwright_solver::predict::{PredictMixRow, PredictNutrient};
use saltwright_solver::purchase::report::BuyRow;
use saltwright_solver::reservoir::correct::report::{
    NutrientRow as CorrectNutrient, Step as CorrectStep,
};
use saltwright_solver::spread::Range;
use saltwright_solver::stock::report::{Step, TankRow};
use saltwright_solver::substitute::report::{CurvePoint, SaltPoint, SubstituteReport, Swap};

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

/// Stock tanks: a line for every fertilizer in every tank.
pub fn tanks(rows: &[TankRow]) -> String {
    let head = [
        "tank",
        "id",
        "name",
        "g_per_l",
        "g_per_l_stock",
        "ml_per_l_stock",
        "g",
        "ml",
        "share",
    ];
    write(
        &head,
        rows.iter().flat_map(|tank| {
            tank.mix.iter().map(|row| {
                vec![
                    tank.name.clone(),
                    row.id.clone(),
                    row.name.clone(),
                    row.g_per_l.to_string(),
                    optional(row.g_per_l_stock),
                    optional(row.ml_per_l_stock),
                    optional(row.g),
                    optional(row.ml),
                    row.share.to_string(),
                ]
            })
        }),
    )
}

/// The sheet by the scale, a line a step.
pub fn order(rows: &[Step]) -> String {
    let head = [
        "tank",
        "step",
        "do",
        "id",
        "g",
        "weigh_g",
        "ml",
        "litres",
        "running_g",
        "words",
        "caution",
    ];
    write(
        &head,
        rows.iter().map(|row| {
            vec![
                row.tank.clone(),
                row.step.to_string(),
                row.what.name().to_owned(),
                row.id.clone().unwrap_or_default(),
                optional(row.g),
                optional(row.weigh_g),
                optional(row.ml),
                optional(row.litres),
                optional(row.running_g),
                row.words.clone(),
                row.caution.clone().unwrap_or_default(),
            ]
        }),
    )
}

/// Swaps, a line each; amounts in g/L, figures after the swap beside today's.
pub fn swaps(rows: &[Swap]) -> String {
    let head = [
        "out",
        "in",
        "g_per_l",
        "saving_per_m3",
        "ec_ms_cm_now",
        "ec_ms_cm",
        "ph_closed_now",
        "ph_closed",
        "sodium_mg_l_now",
        "sodium_mg_l",
        "chloride_mg_l_now",
        "chloride_mg_l",
        "nh4_share_pct_now",
        "nh4_share_pct",
        "tank",
        "clear",
        "first_solid",
    ];
    write(
        &head,
        rows.iter().map(|row| {
            let changes = &row.changes;
            let mut cells = vec![
                row.out.clone(),
                row.into.clone(),
                row.g_per_l.to_string(),
                row.saving_per_m3.to_string(),
            ];
            for change in [
                changes.ec_ms_cm,
                changes.ph_closed,
                changes.sodium_mg_l,
                changes.chloride_mg_l,
                changes.nh4_share_pct,
            ] {
                cells.extend([optional(change.now), optional(change.then)]);
            }
            cells.push(changes.tank.clone().unwrap_or_default());
            cells.push(
                changes
                    .clear
                    .map_or_else(String::new, |clear| clear.to_string()),
            );
            cells.push(changes.first_solid.clone().unwrap_or_default());
            cells
        }),
    )
}

/// Prices that decide, per kg: between which the cheapest mix stays, or below which a fertilizer
/// comes in.
pub fn deciding_prices(report: &SubstituteReport) -> String {
    let head = [
        "id",
        "price_now_per_kg",
        "low_price",
        "high_price",
        "comes_in_below",
    ];
    let used = report.holds_while.iter().map(|row| {
        vec![
            row.id.clone(),
            row.price_now_per_kg.to_string(),
            optional(row.low_price),
            optional(row.high_price),
            String::new(),
        ]
    });
    let unused = report.break_even.iter().map(|row| {
        vec![
            row.id.clone(),
            row.price_now_per_kg.to_string(),
            String::new(),
            String::new(),
            optional(row.price_per_kg),
        ]
    });
    write(&head, used.chain(unused))
}

/// Cost against allowed deviation, corner by corner.
pub fn curve(rows: &[CurvePoint]) -> String {
    write(
        &["off_pct_allowed", "cost_per_m3"],
        rows.iter()
            .map(|row| vec![row.off_pct_allowed.to_string(), row.cost_per_m3.to_string()]),
    )
}

/// Cost against sodium and chloride, corner by corner.
pub fn salt_curve(rows: &[SaltPoint]) -> String {
    write(
        &[
            "ec_share_pct",
            "sodium_mg_l",
            "chloride_mg_l",
            "cost_per_m3",
        ],
        rows.iter().map(|row| {
            vec![
                row.ec_share_pct.to_string(),
                row.sodium_mg_l.to_string(),
                row.chloride_mg_l.to_string(),
                row.cost_per_m3.to_string(),
            ]
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
