//! What a meter or pen shows: scales, temperature, and where the model ends.

use super::*;

/// Pens multiply: ppm = EC in µS/cm times 0.5, 0.64 or 0.7; a CF unit is 0.1 mS/cm.
#[test]
fn pens_show_the_ec_in_other_clothes() {
    let report = predict(json!({"mix": feed()}));
    let ec = number(&report, "/ec/predicted_ms_cm");
    for (position, (scale, factor)) in [(500, 0.5), (640, 0.64), (700, 0.7)]
        .into_iter()
        .enumerate()
    {
        let row = &report["tds"][position];
        assert_eq!(row["scale"], scale);
        let ppm = number(row, "/ppm");
        assert!((ppm / (1000.0 * ec * factor) - 1.0).abs() < 1e-12, "{row}");
    }
    assert!((number(&report, "/cf") - 10.0 * ec).abs() < 1e-12);
}

/// Ionic strength up to 0.06 mol/kg, pH 3 to 10, 5 to 35 °C: beyond, no range, and it is said.
#[test]
fn outside_the_range_it_is_said() {
    let salt = |g: f64| json!([{"id": "potassium-nitrate", "g_per_l": g}]);
    let inside = predict(json!({"mix": salt(5.0)}));
    assert!(inside["ec"]["low_ms_cm"].is_number(), "{}", inside["ec"]);
    assert!(!cautions(&inside).contains("Outside the range"));
    let acid = json!([{"id": "nitric-acid-60", "ml_per_l": 0.2}]);
    let lye = json!([{"id": "potassium-hydroxide", "g_per_l": 0.1}]);
    for (case, mix) in [("ionic strength", salt(7.0)), ("pH", acid), ("pH", lye)] {
        let report = predict(json!({"mix": mix, "temperature_c": 20}));
        assert!(report["ec"]["predicted_ms_cm"].is_number());
        for path in [
            "/ec/low_ms_cm",
            "/ec/high_ms_cm",
            "/ph/closed_low",
            "/ph/open_high",
            "/at_temperature/low_ms_cm",
            "/at_temperature/high_ms_cm",
        ] {
            assert_eq!(
                report.pointer(path),
                Some(&Value::Null),
                "{case} {path}: {report}"
            );
        }
        let said = cautions(&report);
        assert!(
            said.contains("Outside the range") && said.contains(case),
            "{said}"
        );
    }
    for (celsius, told) in [(4.9, false), (5.0, true), (35.0, true), (35.1, false)] {
        let report = predict(json!({"mix": salt(0.5), "temperature_c": celsius}));
        assert_eq!(
            report["ec_at_temperature_ms_cm"].is_number(),
            told,
            "{celsius}"
        );
        assert_eq!(
            cautions(&report).contains("No EC at that temperature"),
            !told,
            "{celsius}"
        );
        // What it reads at 25 °C does not hang on it.
        assert!(report["ec"]["low_ms_cm"].is_number(), "{celsius}");
    }
}

/// KCl 0.01 mol/kg, a primary standard of EC, between 5 and 35 °C. Source: Pratt, Koch, Wu and
/// Berezansky (2001), Pure Appl. Chem. 73:1783, as tabulated in the CRC Handbook p. 5-73.
#[test]
fn a_standard_is_read_at_its_temperature() {
    let text = include_str!("../data/chemistry/kcl_standards.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mut read = 0;
    for row in reader.deserialize::<std::collections::BTreeMap<String, String>>() {
        let row = row.expect("a row");
        let figure = |key: &str| row[key].parse::<f64>().expect("a number");
        let celsius = figure("temp_c");
        if figure("molality_mol_kg") > 0.05 || !(5.0..=35.0).contains(&celsius) {
            continue;
        }
        read += 1;
        // 74.548 g/mol (CIAAW 2021).
        let g_per_l = figure("mmol_per_l") * 0.074_548;
        let report = predict(json!({"temperature_c": celsius,
            "mix": [{"id": "kcl", "g_per_l": g_per_l}],
            "fertilizers": [{"id": "kcl", "formula": "KCl"}]}));
        let found = number(&report, "/ec_at_temperature_ms_cm");
        let measured = figure("kappa_us_cm") / 1000.0;
        assert!(
            (found / measured - 1.0).abs() < 0.003,
            "{celsius}: {found} for {measured}"
        );
        let of = |end: &str| number(&report, &format!("/at_temperature/{end}_ms_cm"));
        assert!(of("low") < measured && measured < of("high"), "{celsius}");
        // A model of a few percent stays one away from 25 °C.
        let wide = of("high") / of("low") - 1.0;
        assert!((0.01..0.15).contains(&wide), "{celsius}: {wide}");
    }
    assert_eq!(read, 8);
    let plain = predict(json!({"mix": feed()}));
    assert!(plain["ec_at_temperature_ms_cm"].is_null() && plain["at_temperature"].is_null());
}

/// A meter that compensates by 1.91 % a degree shows what the solution reads at 25 °C within 1 %
/// from 15 to 30 °C (computed with the reference model: +0.5, +0.1 and +0.1 %).
#[test]
fn a_compensating_meter_shows_about_the_same() {
    let ec = number(&predict(json!({"mix": feed()})), "/ec/predicted_ms_cm");
    for celsius in [15.0, 20.0, 30.0] {
        let report = predict(json!({"mix": feed(), "temperature_c": celsius}));
        let shown = report
            .pointer("/at_temperature/shown")
            .and_then(Value::as_array);
        let shown = shown.expect("rows").iter();
        let row = shown
            .clone()
            .find(|row| row["compensation"] == "1.91 %/°C")
            .expect("a row");
        assert!(
            (number(row, "/ms_cm") / ec - 1.0).abs() < 0.01,
            "{celsius}: {row} {ec}"
        );
        assert!(shown.clone().any(|row| row["compensation"] == "ISO 7888"));
    }
}
