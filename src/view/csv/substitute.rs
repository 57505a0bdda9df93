//! What other fertilizers and other prices change, as CSV.

use super::{optional, write};
use saltwright_solver::substitute::report::{CurvePoint, SaltPoint, SubstituteReport, Swap};

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
