//! Worked tanks, computed with two other programs. What limits a stock, how strong it may be, and
//! its state at one ratio. Tolerances are those that the source states for another implementation
//! of the same model; what the model itself is worth stands in `tests/data/stock/SOURCES.md`.

use super::{cell, set, stock_of, table};
use crate::common::number;
use serde_json::{Value, json};
use std::collections::HashMap;

type Row = HashMap<String, String>;

fn salts(row: &Row) -> Vec<(&str, f64)> {
    row["contents"]
        .split("; ")
        .map(|part| {
            let (formula, grams) = part.split_once('=').expect("formula=grams");
            (formula, grams.parse().expect("a number"))
        })
        .collect()
}

fn ask(row: &Row, more: &Value) -> Value {
    let t = cell(row, "t_c");
    let mut request = json!({"tanks": 1, "coldest_c": t, "hottest_c": t});
    set(&mut request, more);
    stock_of(&salts(row), &request)
}

/// Percent: phosphates of calcium and magnesium hang on a pH and constants that differ.
fn tolerance(solid: &str) -> f64 {
    if solid.starts_with("newberyite") || solid.starts_with("brushite") {
        10.0
    } else {
        3.0
    }
}

#[test]
fn largest_ratios_and_what_ends_them() {
    let rows = table("worked_tanks");
    assert_eq!(rows.len(), 60);
    for row in &rows {
        let at = format!("{} at {} °C", row["tank_id"], row["t_c"]);
        for (margin, ratio, solid) in [
            (0.0, "ratio_margin_0", "solid_margin_0"),
            (0.1, "ratio_margin_0.1", "solid_margin_0.1"),
        ] {
            let report = ask(row, &json!({"margin_index": margin}));
            let (ours, theirs) = (number(&report, "/largest_ratio"), cell(row, ratio));
            let off = 100.0 * (ours - theirs) / theirs;
            let named = report["limited_by"]["name"].as_str().expect("a name");
            println!(
                "{at}, margin {margin}: 1:{ours:.1} against 1:{theirs:.1}, {off:+.1} %; {named}"
            );
            assert_eq!(named, row[solid], "{at}");
            assert!(off.abs() < tolerance(named), "{at}: {off:+.1} %");
        }
        let report = ask(row, &json!({}));
        let (ours, theirs) = (
            number(&report, "/cautious_ratio"),
            cell(row, "ratio_cautious"),
        );
        let off = 100.0 * (ours - theirs) / theirs;
        assert!(
            off.abs() < tolerance(&row["solid_cautious"]),
            "{at}, cautious: {off:+.1} %"
        );
    }
}

#[test]
fn states_at_one_ratio() {
    for row in &table("worked_tanks") {
        let at = format!("{} at {} °C", row["tank_id"], row["t_c"]);
        let report = ask(row, &json!({"ratio": cell(row, "state_ratio")}));
        let tank = &report["tanks"][0];
        let clear = row["clear_margin_0.1"] == "yes";
        assert_eq!(tank["clear"], json!(clear), "{at}");
        let density = number(tank, "/density_g_per_ml") / cell(row, "density_kg_per_l") - 1.0;
        assert!(density.abs() < 0.002, "{at}: density {density}");
        let strength =
            number(tank, "/ionic_strength_mol_kg") / cell(row, "ionic_strength_mol_kg") - 1.0;
        assert!(strength.abs() < 0.005, "{at}: ionic strength {strength}");
        if row["ph_rule"] == "charge balance" {
            let ph = number(tank, "/ph") - cell(row, "pH");
            assert!(ph.abs() < 0.2, "{at}: pH {ph:+.2}");
        } else {
            assert!(tank["ph"].is_null(), "{at}");
        }
        let ours = tank["indices"].as_array().expect("a list");
        for part in row["indices"].split("; ") {
            let (solid, index) = part.rsplit_once(' ').expect("solid index");
            let found = ours.iter().find(|row| row["solid"] == solid).expect(solid);
            let index: f64 = index.parse().expect("a number");
            let off = number(found, "/coldest") - index;
            let phosphate = tolerance(solid) > 5.0 || solid.starts_with("struvite");
            let most = if phosphate { 0.10 } else { 0.05 };
            assert!(off.abs() < most, "{at}, {solid}: {off:+.3}");
        }
    }
}
