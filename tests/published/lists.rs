//! Published lists in milliequivalents per litre, converted by our code.
//!
//! Source: Takatsuji (1997), Shokubutsu kojo handobukku, pp. 86-87, me/L of eighteen solutions with
//! phosphorus as PO4 3-; the mg/L beside them were computed with another library's atomic weights.

use super::cases::read;
use crate::common::{answer, number, row};
use saltwright_recipes::{Aim, Library};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// One figure of a list.
#[derive(Deserialize)]
struct Figure {
    id: String,
    nutrient: String,
    meq_l: f64,
    p_charge: u32,
    mg_l: f64,
}

/// How far our mg/L may lie from the other library's, percent: atomic weights differ by 0.015 %.
const TOLERANCE_PCT: f64 = 0.05;

/// The lists and the recipes that are shipped for them.
const SHIPPED: [(&str, &str); 16] = [
    ("SACHS1860", "sachs"),
    ("KNOP1865", "knop"),
    ("HOAG2-1938", "hoagland-2"),
    ("ARNHOAG1940", "arnon-hoagland-1940"),
    ("ENSHI", "enshi"),
    ("YAMA-TOMATO", "yamazaki-tomato"),
    ("YAMA-PEPPER", "yamazaki-sweet-pepper"),
    ("YAMA-CUCUMBER", "yamazaki-cucumber"),
    ("YAMA-STRAWBERRY", "yamazaki-strawberry"),
    ("YAMA-LETTUCE", "yamazaki-lettuce"),
    ("YAMA-MITSUBA", "yamazaki-mitsuba"),
    ("YAMA-SHUNGIKU", "yamazaki-shungiku"),
    ("YAMA-SPINACH", "yamazaki-spinach"),
    ("YAMA-NEGI", "yamazaki-welsh-onion"),
    ("YAMA-WATERCRESS", "yamazaki-watercress"),
    ("YAMA-TURNIP", "yamazaki-small-turnip"),
];

fn figures() -> Vec<Figure> {
    read(include_str!("../data/published_recipes_meq.csv"))
}

fn hold(what: &str, ours: f64, theirs: f64) {
    let off = 100.0 * (ours - theirs) / theirs;
    println!("{what}: ours {ours:.4}, other library {theirs} ({off:+.4} %)");
    assert!(off.abs() <= TOLERANCE_PCT, "{what}: {ours} for {theirs}");
}

/// The aims that a request in meq/L comes to are the mg/L of the list.
#[test]
fn milliequivalents_become_milligrams() {
    let figures = figures();
    for (list, _) in SHIPPED {
        let listed: Vec<&Figure> = figures.iter().filter(|figure| figure.id == list).collect();
        let aims: Map<String, Value> = listed
            .iter()
            .map(|figure| (figure.nutrient.clone(), json!(figure.meq_l)))
            .collect();
        let report = answer(&json!({
            "job": "formulate",
            "recipe": {"unit": "meq/L", "P_charge": listed[0].p_charge, "aims": aims},
        }));
        for figure in &listed {
            let aim = number(row(&report, &figure.nutrient), "/aim");
            hold(&format!("{list} {}", figure.nutrient), aim, figure.mg_l);
        }
    }
}

/// The charge of phosphorus is not passed over: counted as H2PO4-, the same list asks for three
/// times as much.
#[test]
fn the_charge_of_phosphorus_counts() {
    let p_aim = |p_charge: u32| {
        let report = answer(&json!({
            "job": "formulate",
            "recipe": {"unit": "meq/L", "P_charge": p_charge, "aims": {"P": 4, "K": 8}},
        }));
        number(row(&report, "P"), "/aim")
    };
    assert!((p_aim(1) / p_aim(3) - 3.0).abs() < 1e-12);
}

/// The recipes that are shipped for these lists carry these values, and no list is left out.
#[test]
fn shipped_recipes_carry_the_lists() {
    let library = Library::shipped().expect("the shipped library");
    let figures = figures();
    let lists: BTreeSet<&str> = figures.iter().map(|figure| figure.id.as_str()).collect();
    assert_eq!(lists, SHIPPED.iter().map(|(list, _)| *list).collect());
    for (list, id) in SHIPPED {
        let recipe = library
            .recipe(id)
            .unwrap_or_else(|| panic!("{id} is not shipped"));
        let mut aims: Vec<(&str, Aim)> = recipe
            .aims()
            .map(|(aimed, aim)| (aimed.key(), aim))
            .collect();
        for figure in figures.iter().filter(|figure| figure.id == list) {
            let at = aims
                .iter()
                .position(|(key, _)| *key == figure.nutrient)
                .unwrap_or_else(|| panic!("{id} names no {}", figure.nutrient));
            let aim = aims.swap_remove(at).1.aim.expect("an aim");
            hold(&format!("{id} {}", figure.nutrient), aim, figure.mg_l);
        }
        // What is left are micronutrients of another source.
        let macros = ["NO3-N", "NH4-N", "N", "P", "K", "Ca", "Mg", "S"];
        assert!(
            aims.iter().all(|(key, _)| !macros.contains(key)),
            "{id}: {aims:?}"
        );
    }
}

/// The modified Sonneveld lettuce list is not neutral with all N as nitrate; about 13 mg/L of its
/// 150 have to be ammonium. Source of the list: Nutrisi hidrofonik, Indonesian handout (author and
/// year not shown). Cations K 210/39.098 + Ca 90/20.039 + Mg 24/12.1525 = 11.837 meq/L, anions N
/// 150/14.007 + P 31/30.974 + S 32/16.03 = 13.706: half the gap is 0.934 mmol/L, 13.1 mg/L of N.
#[test]
fn a_list_that_is_not_neutral_says_how_much_ammonium_it_needs() {
    let report = answer(&json!({"job": "formulate", "recipe": "sonneveld-modified-lettuce"}));
    let cautions = report["cautions"].as_array().expect("a list");
    let said = cautions
        .iter()
        .filter_map(Value::as_str)
        .find(|text| text.contains("balance"));
    let said = said.unwrap_or_else(|| panic!("{cautions:?}"));
    assert!(said.contains("About 13.1 mg/L of it as ammonium"), "{said}");
}
