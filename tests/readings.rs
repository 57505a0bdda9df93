//! What the meters show of a mix: the keys of the contract, and what each figure must be.

mod ions;
mod meters;

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
