//! Ions that add up, fit their protons and their iron, and leave an open charge in sight.

use super::*;

/// How many atoms of an element a species holds.
type Atoms = fn(&str) -> f64;

/// Shares of all ions are all of the EC, and the ions of an element are all of it.
#[test]
fn ions_add_up() {
    let report = predict(json!({"mix": feed(), "water": "tallow-street-tap"}));
    let shares: f64 = list(&report, "ions")
        .iter()
        .map(|row| number(row, "/ec_share_pct"))
        .sum();
    assert!((shares - 100.0).abs() < 0.01, "{shares}");
    assert!(
        list(&report, "ions")
            .windows(2)
            .all(|pair| { number(&pair[0], "/ec_share_pct") >= number(&pair[1], "/ec_share_pct") })
    );
    // (nutrient, atomic weight by CIAAW 2021, how many atoms of it an ion holds)
    let atoms: [(&str, f64, Atoms); 6] = [
        ("Ca", 40.078, |ion| {
            f64::from(u8::from(ion.starts_with("Ca")))
        }),
        ("Mg", 24.305, |ion| {
            f64::from(u8::from(ion.starts_with("Mg")))
        }),
        ("K", 39.0983, |ion| {
            f64::from(u8::from(ion.starts_with('K')))
        }),
        ("S", 32.06, |ion| f64::from(u8::from(ion.contains("SO4")))),
        ("P", 30.973_761_998, |ion| {
            f64::from(u8::from(ion.contains("PO4")))
        }),
        ("Cl", 35.45, |ion| f64::from(u8::from(ion == "Cl-"))),
    ];
    for (nutrient, weight, holds) in atoms {
        let mmol: f64 = list(&report, "ions")
            .iter()
            .map(|row| holds(row["ion"].as_str().expect("a name")) * number(row, "/mmol_l"))
            .sum();
        let mg = crate::common::delivered(&report, nutrient);
        assert!(
            (mmol * weight / mg - 1.0).abs() < 1e-4,
            "{nutrient}: {} of {mg}",
            mmol * weight
        );
    }
    // Charges of all ions cancel, and their half squares are the ionic strength.
    let charge = |ion: &str| -> f64 {
        let tail = ion.rsplit(['+', '-']).next().unwrap_or_default();
        let size: f64 = tail.parse().unwrap_or(1.0);
        if ion.contains('+') {
            size
        } else if ion.contains('-') {
            -size
        } else {
            0.0
        }
    };
    let (mut sum, mut all, mut strength) = (0.0, 0.0, 0.0);
    for row in list(&report, "ions") {
        let z = charge(row["ion"].as_str().expect("a name"));
        let mmol = number(row, "/mmol_l");
        sum += z * mmol;
        all += z.abs() * mmol;
        strength += 0.5 * z * z * mmol / 1000.0;
    }
    assert!(sum.abs() < 1e-4 * all, "{sum} of {all}");
    let told = number(&report, "/ionic_strength_mol_l");
    assert!((strength / told - 1.0).abs() < 1e-3, "{strength} {told}");
}

/// Forms of phosphorus are all of it; at pH 5.5 nearly all is H2PO4-: pK2 is 7.2 (CRC Handbook).
#[test]
fn phosphate_by_its_protons() {
    let report = predict(json!({"mix": feed()}));
    let forms = &report["phosphate"];
    let sum: f64 = ["h3po4_pct", "h2po4_pct", "hpo4_pct", "po4_pct"]
        .iter()
        .map(|key| forms[*key].as_f64().expect("a share"))
        .sum();
    assert!((sum - 100.0).abs() < 1e-9, "{forms}");
    assert!(
        forms["h2po4_pct"].as_f64().expect("a share") > 90.0,
        "{forms}"
    );
    assert!(predict(json!({"mix": []}))["phosphate"].is_null());
}

#[test]
fn an_acid_without_constants_has_no_ph() {
    let mix = json!([{"id": "citric-acid-monohydrate", "g_per_l": 0.1},
        {"id": "potassium-nitrate", "g_per_l": 0.5}]);
    let report = predict(json!({"mix": mix, "water": "tallow-street-tap", "temperature_c": 20}));
    for path in [
        "/ph/closed",
        "/ph/open",
        "/ec/low_ms_cm",
        "/ec/high_ms_cm",
        "/alkalinity_meq_l",
    ] {
        assert_eq!(report.pointer(path), Some(&Value::Null), "{path}");
    }
    assert!(
        cautions(&report).contains("no constants"),
        "{}",
        cautions(&report)
    );
    // With none of it, everything is told.
    let mix = json!([{"id": "citric-acid-monohydrate", "g_per_l": 0},
        {"id": "potassium-nitrate", "g_per_l": 0.5}]);
    let report = predict(json!({"mix": mix, "water": "tallow-street-tap"}));
    assert!(report["ph"]["closed"].is_number() && report["alkalinity_meq_l"].is_number());
}

/// Urea carries no charge: it changes neither EC nor pH, and that is said.
#[test]
fn urea_conducts_nothing() {
    let with = |urea: f64| {
        let mut mix = feed();
        mix.as_array_mut()
            .expect("rows")
            .push(json!({"id": "urea", "g_per_l": urea}));
        predict(json!({"mix": mix, "water": "tallow-street-tap"}))
    };
    let (without, with) = (with(0.0), with(0.3));
    for path in ["/ec/predicted_ms_cm", "/ph/closed", "/ph/open"] {
        let (a, b) = (number(&without, path), number(&with, path));
        // It takes the room of a little water.
        assert!((a / b - 1.0).abs() < 1e-4, "{path}: {a} {b}");
    }
    assert!(cautions(&with).contains("urea shows no EC"));
    assert!(!cautions(&without).contains("urea shows no EC"));
}

/// Iron by its form: a sulfate is said to drop out, a chelate is an ion of its own and holds up to
/// its pH, a chloride that hydrolyses is no free acid of the model.
#[test]
fn iron_by_its_form() {
    let with = |id: &str| {
        let mut mix = feed();
        let rows = mix.as_array_mut().expect("rows");
        rows.retain(|row| row["id"] != "fe-dtpa-11");
        rows.push(json!({"id": id, "g_per_l": 0.02}));
        predict(
            json!({"mix": mix, "water": "quarry-end-well", "fertilizers": [
            "calcium-nitrate-fertilizer", "potassium-nitrate", "magnesium-sulfate-heptahydrate",
            "monopotassium-phosphate", "boric-acid", "ferrous-sulfate-heptahydrate", "fe-edta-13",
            "fe-dtpa-11", "fe-eddha-6", {"id": "ferric-chloride", "formula": "FeCl3.6H2O"}]}),
        )
    };
    let sulfate = with("ferrous-sulfate-heptahydrate");
    assert!(cautions(&sulfate).contains("iron without a chelate drops out"));
    assert!(ion(&sulfate, "Fe+2").is_some(), "{}", sulfate["ions"]);
    for (id, name, to) in [
        ("fe-edta-13", "FeEDTA-", Some("6.5")),
        ("fe-dtpa-11", "FeDTPA-2", Some("7")),
        ("fe-eddha-6", "FeEDDHA-", None),
    ] {
        let report = with(id);
        assert!(ion(&report, name).is_some(), "{id}: {}", report["ions"]);
        assert!(
            !cautions(&report).contains("iron without a chelate"),
            "{id}"
        );
        // In air this hard water ends near pH 8.7.
        let said = format!("holds iron to about pH {}", to.unwrap_or("9"));
        assert_eq!(
            cautions(&report).contains(&said),
            to.is_some(),
            "{id}: {}",
            cautions(&report)
        );
    }
    let chloride = with("ferric-chloride");
    assert!(cautions(&chloride).contains("iron without a chelate drops out"));
}

/// A label whose charges do not close leaves an open charge: listed, and widening the range.
#[test]
fn an_open_charge_is_listed() {
    let of = |assay: Value| {
        predict(
            json!({"mix": [{"id": "own", "g_per_l": 1.0}], "fertilizers": [{"id": "own", "assay_pct": assay}]}),
        )
    };
    let closed = of(json!({"NO3-N": 14.007, "K": 39.098}));
    assert!(ion(&closed, "open charge +").is_none() && ion(&closed, "open charge -").is_none());
    for (assay, name) in [
        (json!({"NO3-N": 14.007, "K": 35.0}), "open charge +"),
        (json!({"NO3-N": 12.0, "K": 39.098}), "open charge -"),
    ] {
        let report = of(assay);
        let row = ion(&report, name).unwrap_or_else(|| panic!("{}", report["ions"]));
        assert!((number(row, "/mmol_l") - 1.1).abs() < 0.4, "{row}");
        let width =
            |report: &Value| number(report, "/ec/high_ms_cm") - number(report, "/ec/low_ms_cm");
        assert!(width(&report) > 1.5 * width(&closed), "{}", report["ec"]);
        assert!(
            cautions(&report).contains("charge open"),
            "{}",
            cautions(&report)
        );
    }
}

/// A water whose analysis does not balance refuses nothing: a wide range, and no verdict.
#[test]
fn an_unbalanced_water_widens_the_range() {
    let water = |ca: f64| json!({"holds": {"Ca": ca, "Na": 20, "Cl": 30.8}, "alkalinity_meq_l": 2.5, "ph": 7.5});
    // 50.1 mg/L of calcium is 2.5 meq/L; twice that leaves 2.5 meq/L open, about 50 µS/cm a meq.
    let (sound, broken) = (water(50.1), water(100.2));
    let wide = |report: &Value| number(report, "/ec/high_ms_cm") - number(report, "/ec/low_ms_cm");
    for (job, more) in [
        ("predict", json!({"mix": feed()})),
        (
            "formulate",
            json!({"recipe": "sonneveld-modified-lettuce", "ec_ms_cm": 1.4}),
        ),
    ] {
        let ask = |water: &Value| {
            let mut request = more.clone();
            request["job"] = json!(job);
            request["water"] = water.clone();
            let report = answer(&request);
            assert!(report["refusal"].is_null(), "{report}");
            report
        };
        let (sound, broken) = (ask(&sound), ask(&broken));
        assert!(
            wide(&broken) > wide(&sound) + 2.0 * 0.1,
            "{job}: {} {}",
            sound["ec"],
            broken["ec"]
        );
        assert!(broken["ec"]["water_ms_cm"].is_null() && sound["ec"]["water_ms_cm"].is_number());
        assert!(cautions(&broken).contains("no verdict is given"), "{job}");
        if job == "formulate" {
            assert_eq!(broken["ec"]["verdict"], "cannot-tell");
            assert_ne!(sound["ec"]["verdict"], "cannot-tell");
        }
    }
}

/// What is said of the pH where hardly anything holds it.
#[test]
fn an_unbuffered_solution_is_called_so() {
    let salt = json!([{"id": "potassium-nitrate", "g_per_l": 1.0}]);
    let report = predict(json!({"mix": salt}));
    assert_eq!(report["ph"]["unbuffered"], true);
    let width = number(&report, "/ph/closed_high") - number(&report, "/ph/closed_low");
    assert!(width > 1.0, "{}", report["ph"]);
    let hard = predict(json!({"mix": salt, "water": "quarry-end-well"}));
    assert_eq!(hard["ph"]["unbuffered"], false);
    for end in ["closed", "open"] {
        let of = |report: &Value, side: &str| number(report, &format!("/ph/{end}{side}"));
        assert!(
            of(&hard, "_low") < of(&hard, "") && of(&hard, "") < of(&hard, "_high"),
            "{}",
            hard["ph"]
        );
    }
}
