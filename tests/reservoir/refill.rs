//! What the plants took: an invented fortnight whose uptake is known, and a simulated one.

use crate::common::{answer, delivered, demo_refill, number};
use serde_json::{Value, json};

fn row<'a>(report: &'a Value, list: &str, nutrient: &str) -> &'a Value {
    let rows = report[list].as_array().expect("rows");
    let found = rows.iter().find(|row| row["nutrient"] == nutrient);
    found.unwrap_or_else(|| panic!("{nutrient}"))
}

/// The uptake that the readings were made with, mg per litre drunk (invented), and the litres.
#[test]
fn an_invented_fortnight_is_told_back() {
    let report = demo_refill(&[]);
    assert!(
        (number(&report, "/drunk_l") - 61.2).abs() < 0.1,
        "{}",
        report["drunk_l"]
    );
    assert!((number(&report, "/days") - 14.0).abs() < 1e-9);
    let made_with = [
        ("NO3-N", 117.0),
        ("P", 21.0),
        ("K", 205.0),
        ("Ca", 38.0),
        ("Mg", 12.0),
        ("S", 9.0),
    ];
    for (nutrient, mg) in made_with {
        let found = row(&report, "taken", nutrient);
        let figure = |key: &str| found[key].as_f64().expect("a number");
        println!(
            "{nutrient}: {:.1} ({:.1} to {:.1}), published {:.1}, made with {mg}",
            figure("mg_per_l_drunk"),
            figure("low"),
            figure("high"),
            figure("published")
        );
        assert!(
            figure("low") * 0.95 <= mg && mg <= figure("high") * 1.05,
            "{nutrient}: {found}"
        );
    }
    // Potassium falls and calcium piles up while the EC stands still: what EC alone cannot see.
    assert!(
        row(&report, "drift", "K")["now"].as_f64() < row(&report, "drift", "K")["start"].as_f64()
    );
    assert!(
        row(&report, "drift", "Ca")["now"].as_f64() > row(&report, "drift", "Ca")["start"].as_f64()
    );
    assert!((number(&report, "/ec_by_account_ms_cm") / 1.5 - 1.0).abs() < 0.03);
}

/// With a laboratory the ranges are narrower, and the day of change lies later.
#[test]
fn a_laboratory_narrows_what_the_meters_cannot_tell() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("lab.toml");
    let figures = "[holds]\nNO3-N = 132\nNH4-N = 8.7\nP = 30\nK = 168\nCa = 112\nMg = 28\nS = 41\n";
    std::fs::write(&file, figures).expect("written");
    let (without, with) = (
        demo_refill(&[]),
        demo_refill(&["--analysis", file.to_str().expect("UTF-8")]),
    );
    let width = |report: &Value, nutrient: &str| {
        let row = row(report, "drift", nutrient);
        row["high"].as_f64().expect("high") - row["low"].as_f64().expect("low")
    };
    for nutrient in ["P", "K", "Ca", "Mg"] {
        assert!(
            width(&with, nutrient) < 0.8 * width(&without, nutrient),
            "{nutrient}"
        );
    }
    let now = row(&with, "drift", "K")["now"].as_f64().expect("now");
    assert!((now - 168.0).abs() < 8.0, "{now}");
    assert!(number(&with, "/change_out/in_days") > number(&without, "/change_out/in_days"));
}

/// The top-up brings what was taken, and sodium in the water decides the day of change: by the
/// published arithmetic, days = (limit - now) V/((supplied - taken) W).
#[test]
fn sodium_of_the_water_decides() {
    let readings = json!([
        {"at": "2026-03-01T08:00", "litres": 500, "ec_ms_cm": 1.6, "ph": 6.0},
        {"at": "2026-03-11T08:00", "litres": 500, "ec_ms_cm": 1.7, "ph": 6.0}]);
    let added = json!([{"at": "2026-03-06T08:00", "what": "feed", "litres": 400}]);
    let ask = |limit: f64| {
        answer(&json!({
        "job": "refill", "recipe": "sonneveld-modified-lettuce", "water": "salt-lane-well",
        "readings": readings, "added": added, "limits": {"Na": limit, "Cl": 1e4}}))
    };
    let report = ask(160.0);
    assert!(
        (number(&report, "/drunk_l") - 400.0).abs() < 1e-9,
        "{report}"
    );
    let brought = delivered(&report["top_up"], "Na");
    let taken = row(&report, "taken", "Na")["mg_per_l_drunk"]
        .as_f64()
        .expect("taken");
    let now = row(&report, "drift", "Na")["now"].as_f64().expect("now");
    let rise = (brought - taken) * 40.0 / 500.0;
    let limits = report["change_out"]["limits"].as_array().expect("limits");
    let sodium = limits
        .iter()
        .find(|row| row["nutrient"] == "Na")
        .expect("sodium");
    // What is asked for takes the place of the published limit, the others stay.
    let of = |nutrient: &str| {
        limits
            .iter()
            .filter(|row| row["nutrient"] == nutrient)
            .count()
    };
    assert_eq!([of("Na"), of("Cl")], [1, 1], "{limits:?}");
    assert!(limits.iter().all(|row| row["source"] == "as asked") == (limits.len() == 2));
    let days = sodium["in_days"].as_f64().expect("days");
    assert!(
        (days / ((160.0 - now) / rise).max(1e-12) - 1.0).abs() < 1e-9 || now >= 160.0,
        "{sodium}"
    );
    let k = row(&report, "taken", "K")["mg_per_l_drunk"]
        .as_f64()
        .expect("taken");
    assert!(
        (delivered(&report["top_up"], "K") / k - 1.0).abs() < 0.11,
        "{k}"
    );
    // Above its limit already: now.
    let over = ask(10.0);
    assert_eq!(
        over["change_out"]["in_days"],
        json!(0.0),
        "{}",
        over["change_out"]
    );
    assert!(
        over["change_out"]["because"]
            .as_str()
            .expect("words")
            .contains("sodium")
    );
}
