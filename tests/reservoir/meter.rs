//! Meters: scales of pens, offset and slope, check solutions, a proportioner.

use crate::common::{answer, number};
use serde_json::json;

/// Source: primary standards of potassium chloride at 25 °C (tests/data/chemistry), and the bottles
/// sold as 1413 µS/cm (0.01 mol/L, 0.7455 g/L) and 2.77 mS/cm (0.02 mol/L, 1.491 g/L; from memory).
#[test]
fn what_to_weigh_for_a_check() {
    let report = answer(&json!({"job": "meter", "make_ms_cm": [1.413, 2.77]}));
    let rows = report["solutions"].as_array().expect("rows");
    let grams = |ec: f64| {
        let row = rows
            .iter()
            .find(|row| row["salt"] == "KCl" && row["ec_ms_cm"] == json!(ec));
        row.expect("there")["g_per_l"].as_f64().expect("grams")
    };
    for (ec, bottle) in [(1.413, 0.7455), (2.77, 1.491)] {
        let off = 100.0 * (grams(ec) / bottle - 1.0);
        println!(
            "KCl for {ec} mS/cm: {:.4} g/L for {bottle}, {off:+.2} %",
            grams(ec)
        );
        assert!(off.abs() < 0.5, "{off}");
    }
}

/// Common practice, no source: lettuce at about 1.2 mS/cm and at 540 to 800 ppm. The two agree on
/// the 500 and 640 scales (600 and 768 ppm), not on the 700 scale (840).
#[test]
fn one_strength_on_every_scale() {
    let report = answer(&json!({"job": "meter", "reading": {"ec_ms_cm": 1.2}}));
    let ppm = |at: usize| number(&report, &format!("/reading/tds/{at}/ppm"));
    assert!(ppm(0) < 800.0 && ppm(1) < 800.0 && ppm(2) > 800.0);
    let unknown = answer(&json!({"job": "meter", "reading": {"ppm": 650}}));
    assert_eq!(unknown["scale"], json!(null));
    let known = answer(&json!({"job": "meter", "reading": {"ppm": 650, "scale": 500}}));
    assert!(
        (number(&known, "/reading/ec_ms_cm") - 1.3).abs() < 1e-9,
        "{known}"
    );
    for (at, ec) in [(0, 1.3), (1, 1.015_625), (2, 0.928_571)] {
        let found = number(&unknown, &format!("/reading/on_scales/{at}/ec_ms_cm"));
        assert!((found - ec).abs() < 1e-5, "{found}");
    }
    assert!(
        unknown["words"]
            .as_str()
            .expect("words")
            .contains("only the scale of the pen tells")
    );
}

/// Two borrowed pens beside one EC meter (invented demonstration), and a check in ppm.
#[test]
fn a_known_pair_tells_the_scale() {
    for (pairs, scale) in [
        (json!([{"ppm": 745, "ec_ms_cm": 1.49}]), json!(500)),
        (json!([{"ppm": 1015, "ec_ms_cm": 1.45}]), json!(700)),
        (json!([{"ppm": 768, "ec_ms_cm": 1.2}]), json!(640)),
        (
            json!([{"ppm": 745, "ec_ms_cm": 1.49}, {"ppm": 1015, "ec_ms_cm": 1.45}]),
            json!(null),
        ),
        (json!([{"ppm": 900, "ec_ms_cm": 1.0}]), json!(null)),
    ] {
        let report = answer(&json!({"job": "meter", "pairs": pairs}));
        assert_eq!(report["scale"], scale, "{report}");
    }
    let pen = answer(&json!({"job": "meter",
        "points": [{"kcl_g_per_l": 0.7455, "shows": 700, "unit": "ppm"}]}));
    assert_eq!(pen["scale"], json!(500), "{pen}");
    assert!(
        (number(&pen, "/slope") - 1.4 / 1.413).abs() < 0.003,
        "{pen}"
    );
}

#[test]
fn offset_and_slope_and_what_they_do() {
    let report = answer(&json!({"job": "meter", "aim_ms_cm": 1.4, "points": [
        {"true_ms_cm": 0.1, "shows": 140, "unit": "uS/cm"},
        {"true_ms_cm": 1.413, "shows": 14.53, "unit": "CF"}]}));
    // (1.453 - 0.14)/(1.413 - 0.1) = 1, offset 0.04.
    assert!((number(&report, "/slope") - 1.0).abs() < 1e-9, "{report}");
    assert!((number(&report, "/offset_ms_cm") - 0.04).abs() < 1e-9);
    assert!((number(&report, "/at_aim/true_ms_cm") - 1.36).abs() < 1e-9);
    assert!((number(&report, "/at_aim/show_instead_ms_cm") - 1.44).abs() < 1e-9);
    assert_eq!(report["verdict"], "calibrate");
    let ph = answer(&json!({"job": "meter",
        "ph_points": [{"true_ph": 7, "shows": 7.1}, {"true_ph": 4, "shows": 4.2}]}));
    assert!((number(&ph, "/ph/offset_at_7") - 0.1).abs() < 1e-9, "{ph}");
    assert!((number(&ph, "/ph/slope_pct") - 96.666_67).abs() < 1e-3);
}

/// A proportioner set to 1:100 that draws 10 % too little: found again from the EC of what such a
/// mix reads.
#[test]
fn a_proportioner_is_checked_the_same_way() {
    let stock = json!({"ratio": 100, "tanks": [
        {"name": "A", "mix": [{"id": "calcium-nitrate-fertilizer", "g_per_l_stock": 40}]},
        {"name": "B", "mix": [{"id": "potassium-nitrate", "g_per_l_stock": 50}]}]});
    let mix = |share: f64| {
        json!([
        {"id": "calcium-nitrate-fertilizer", "g_per_l": 40.0 * share},
        {"id": "potassium-nitrate", "g_per_l": 50.0 * share}])
    };
    let water = "quarry-end-well";
    let fed = answer(&json!({"job": "predict", "mix": mix(0.009), "water": water}));
    let shows = number(&fed, "/ec/predicted_ms_cm");
    let ask = |shows: f64, points: serde_json::Value| {
        answer(&json!({
        "job": "meter", "water": water, "points": points,
        "doser": {"stock": stock, "shows_ms_cm": shows}}))
    };
    let report = ask(shows, json!([]));
    assert!(
        (number(&report, "/doser/off_pct") + 10.0).abs() < 0.01,
        "{report}"
    );
    assert!((number(&report, "/doser/delivers_ratio") - 100.0 / 0.9).abs() < 0.02);
    let right = answer(&json!({"job": "predict", "mix": mix(0.01), "water": water}));
    let expected = number(&report, "/doser/expected_ms_cm");
    assert!((expected - number(&right, "/ec/predicted_ms_cm")).abs() < 1e-9);
    // A meter that shows 5 % too much is allowed for.
    let high = ask(
        1.05 * shows,
        json!([{"true_ms_cm": 1.413, "shows": 1.413 * 1.05}]),
    );
    assert!(
        (number(&high, "/doser/off_pct") + 10.0).abs() < 0.01,
        "{high}"
    );
    assert!(
        report["words"]
            .as_str()
            .expect("words")
            .contains("too little stock")
    );
    let none = ask(0.3, json!([]));
    assert_eq!(none["doser"]["delivers_ratio"], json!(null));
}

/// A meter that shows what a check solution conducts in the cold does not compensate; its slope is
/// not what is off. Source: primary standards of potassium chloride, 0.01 mol/kg, 1408.23 µS/cm at
/// 25 °C and 1141.45 at 15 °C (Wu, Koch and Pratt 1991, as tabulated in the CRC Handbook, p. 5-73;
/// tests/data/chemistry).
#[test]
fn a_meter_without_compensation_is_named() {
    let ask = |celsius: f64, shows: f64| {
        answer(&json!({"job": "meter", "temperature_c": celsius,
            "points": [{"true_ms_cm": 1.40823, "shows": shows}]}))
    };
    let without = ask(15.0, 1.14145);
    let raw = number(&without, "/points/0/raw_ms_cm");
    println!("KCl at 15 °C: {raw:.5} mS/cm for 1.14145");
    assert!((raw / 1.14145 - 1.0).abs() < 0.002, "{raw}");
    assert_eq!(without["compensates"], json!(false));
    assert_eq!(without["verdict"], "good");
    let words = without["words"].as_str().expect("words");
    assert!(words.contains("does not compensate"), "{words}");
    let with = ask(15.0, 1.38);
    assert_eq!(with["compensates"], json!(true));
    assert!((number(&with, "/slope") - 1.38 / 1.408_23).abs() < 1e-9);
    assert_eq!(ask(24.0, 1.39)["compensates"], json!(null));
    assert_eq!(ask(99.0, 1.39)["refusal"]["where"], "temperature_c");
}
