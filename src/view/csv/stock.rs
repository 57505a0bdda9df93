//! Stock tanks and the sheet by the scale as CSV.

use super::{optional, write};
use saltwright_solver::stock::report::{Step, TankRow};

/// Columns of the table of stock tanks, as it is written and read.
pub const TANKS: [&str; 9] = [
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

/// Stock tanks: a line for every fertilizer in every tank.
pub fn tanks(rows: &[TankRow]) -> String {
    write(
        &TANKS,
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
