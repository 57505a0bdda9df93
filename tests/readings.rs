//! What the meters show of a mix: the keys of the contract, and what each figure must be.

use crate::common::{answer, number};
use saltwright_recipes::Library;
use serde_json::{Value, json};

/// The answer to a `predict` request; a refusal fails the test.
fn predict(mut request: Value) -> Value {
    request["job"] = json!("predict");
    let report = answer(&request);
    assert!(report["refusal"].is_null(), "{request}: {report}");
    report
}

fn feed() -> Value {
    json!([
        {"id": "calcium-nitrate-fertilizer", "g_per_l": 0.45},
        {"id": "potassium-nitrate", "g_per_l": 0.45},
        {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.24},
        {"id": "monopotassium-phosphate", "g_per_l": 0.136},
        {"id": "fe-dtpa-11", "g_per_l": 0.012},
        {"id": "boric-acid", "g_per_l": 0.001},
    ])
}

fn list<'a>(report: &'a Value, key: &str) -> &'a [Value] {
    report[key]
        .as_array()
        .unwrap_or_else(|| panic!("{key} in {report}"))
}

fn ion<'a>(report: &'a Value, name: &str) -> Option<&'a Value> {
    list(report, "ions").iter().find(|row| row["ion"] == name)
}

fn cautions(report: &Value) -> String {
    report["cautions"].to_string()
}

#[test]
fn the_keys_of_the_contract() {
    let report =
        predict(json!({"mix": feed(), "water": "larch-hollow-spring", "temperature_c": 18}));
    for path in [
        "/nutrients/0/nutrient",
        "/nutrients/0/water",
        "/nutrients/0/delivered",
        "/ec/predicted_ms_cm",
        "/ec/low_ms_cm",
        "/ec/high_ms_cm",
        "/ec/handbook_ms_cm",
        "/ec_at_temperature_ms_cm",
        "/ph/closed",
        "/ph/open",
        "/ionic_strength_mol_l",
        "/ions/0/ion",
        "/ions/0/mmol_l",
        "/ions/0/ec_share_pct",
        "/solids/0/solid",
        "/solids/0/index_closed",
        "/solids/0/index_open",
        "/solids/0/words",
        "/tds/0/scale",
        "/tds/0/ppm",
        "/cf",
        "/charge_error_pct",
    ] {
        assert!(
            report.pointer(path).is_some_and(|value| !value.is_null()),
            "{path}"
        );
    }
    assert_eq!(report["ec"]["verdict"], "no-aim");
    let formula = answer(&json!({"job": "formulate", "recipe": "sonneveld-modified-lettuce"}));
    for path in [
        "/ec/predicted_ms_cm",
        "/ec/verdict",
        "/ph/closed",
        "/ph/open",
        "/solids/0/solid",
    ] {
        assert!(
            formula.pointer(path).is_some_and(|value| !value.is_null()),
            "{path}"
        );
    }
}

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
    let text = include_str!("data/chemistry/kcl_standards.csv");
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

/// The same mix by `formulate` and by `predict` of what it says: same nutrients, EC, pH, solids.
#[test]
fn predict_reads_what_formulate_says() {
    let library = Library::shipped().expect("sound");
    let already = json!([{"id": "potassium-sulfate", "g_per_l": 0.05}, {"id": "urea", "g_per_l": 0.01},
        {"id": "nitric-acid-38", "ml_per_l": 0.05}]);
    for (position, recipe) in library.recipes.iter().enumerate() {
        let water = &library.waters[position % library.waters.len()].id;
        let mut request = json!({"job": "formulate", "recipe": recipe.id, "water": water});
        let is_filled = position % 2 == 0;
        if is_filled {
            request["already"] = already.clone();
        }
        let formula = answer(&request);
        assert!(formula["refusal"].is_null(), "{request}: {formula}");
        let mut mix: Vec<Value> = formula["mix"].as_array().expect("rows").clone();
        if is_filled {
            // An id may stand once: what is in already is added to its line.
            for row in already.as_array().expect("rows") {
                mix.push(row.clone());
            }
        }
        let report = predict(json!({"mix": merged(&mix), "water": water}));
        for path in [
            "/ec/predicted_ms_cm",
            "/ec/low_ms_cm",
            "/ec/high_ms_cm",
            "/ph/closed",
            "/ph/open",
            "/ph/closed_low",
            "/ph/open_high",
            "/ionic_strength_mol_l",
        ] {
            let of = |report: &Value| report.pointer(path).and_then(Value::as_f64);
            match (of(&formula), of(&report)) {
                (Some(a), Some(b)) => assert!(
                    (a - b).abs() <= 1e-8 * a.abs(),
                    "{} {path}: {a} {b}",
                    recipe.id
                ),
                (a, b) => assert_eq!(a, b, "{} {path}", recipe.id),
            }
        }
        assert_eq!(
            list(&formula, "solids").len(),
            list(&report, "solids").len(),
            "{}",
            recipe.id
        );
    }
}

/// Lines of one id added up, in g/L.
fn merged(mix: &[Value]) -> Value {
    let table = saltwright_fertilizers::Table::shipped().expect("sound");
    let mut grams: std::collections::BTreeMap<String, f64> = std::collections::BTreeMap::new();
    for row in mix {
        let id = row["id"].as_str().expect("an id");
        let density = || {
            table
                .get(id)
                .and_then(|row| row.density_g_per_ml)
                .expect("a density")
        };
        let g_per_l = row["g_per_l"]
            .as_f64()
            .unwrap_or_else(|| row["ml_per_l"].as_f64().expect("mL/L") * density());
        *grams.entry(id.to_owned()).or_default() += g_per_l;
    }
    let rows = grams
        .into_iter()
        .map(|(id, g_per_l)| json!({"id": id, "g_per_l": g_per_l}));
    Value::Array(rows.collect())
}

/// Gypsum at saturation: 2.4 g of CaSO4.2H2O a litre of water at 25 °C (CRC Handbook), named first,
/// with what to change.
#[test]
fn gypsum_comes_where_the_handbook_says() {
    let of = |g: f64| {
        // Equal moles of calcium and sulfate from gypsum itself.
        predict(
            json!({"mix": [{"id": "gypsum", "g_per_l": g}], "fertilizers": [{"id": "gypsum", "formula": "CaSO4.2H2O"}]}),
        )
    };
    let index = |g: f64| {
        let report = of(g);
        let row = list(&report, "solids")
            .iter()
            .find(|row| row["solid"] == "gypsum")
            .cloned()
            .expect("gypsum");
        number(&row, "/index_closed")
    };
    assert!(
        index(2.2) < 0.0 && index(2.8) > 0.0,
        "{} {}",
        index(2.2),
        index(2.8)
    );
    let strong = of(3.0);
    assert_eq!(strong["first_solid"], "gypsum");
    assert!(
        list(&strong, "solids")[0]["words"]
            .as_str()
            .expect("words")
            .contains("less calcium or sulfate")
    );
    assert!(of(1.0)["first_solid"].is_null());
}
