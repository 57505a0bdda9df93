//! Tables of a report as CSV, exact, for a spreadsheet and for reading back.

use saltwright_solver::formulate::report::{MixRow, NutrientRow};
use saltwright_solver::predict::{PredictMixRow, PredictNutrient};
use saltwright_solver::stock::report::{Step, TankRow};

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

/// The nutrients of a formulation, mg/L.
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
    write(
        &head,
        rows.iter().map(|row| {
            vec![
                row.nutrient.key().to_owned(),
                optional(row.aim),
                optional(row.min),
                optional(row.max),
                row.water.to_string(),
                row.delivered.to_string(),
                optional(row.off_pct),
                optional(row.price_per_mg_l_m3),
            ]
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

/// The nutrients of a prediction, mg/L.
pub fn predicted_nutrients(rows: &[PredictNutrient]) -> String {
    write(
        &["nutrient", "water", "delivered"],
        rows.iter().map(|row| {
            vec![
                row.nutrient.key().to_owned(),
                row.water.to_string(),
                row.delivered.to_string(),
            ]
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

fn optional(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn write(head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let head = std::iter::once(head.iter().map(|cell| (*cell).to_owned()).collect());
    for record in head.chain(rows) {
        // Writing to memory fails only where rows differ in length, which these do not.
        if writer.write_record(&record).is_err() {
            break;
        }
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}
