//! Verdicts that anybody can check: the demonstration, certificates, contradictions, commands.

use super::*;

/// Source: our own invented scenario; the shares behind mix 1 and the 111 g of mix 2 were found
/// with another linear-programming library.
#[test]
fn the_demonstration_labels() {
    let library = saltwright_fertilizers::Table::shipped().expect("sound");
    let free_of_calcium: Vec<&str> = library
        .iter()
        .filter(|row| row.assay_pct[saltwright_fertilizers::Nutrient::Ca] == 0.0)
        .filter(|row| !row.is_acid() && !row.is_base() && !row.is_liquid())
        .map(|row| row.id.as_str())
        .collect();
    let second = answer(&json!({
        "job": "label", "ingredients": free_of_calcium,
        "guarantee": {"N": 10, "NO3-N": 10, "P2O5": 14, "K2O": 36, "Mg": 3},
    }));
    assert_eq!(second["arithmetic"]["possible"], false, "{second}");
    // With exact assays the label would need 111 g in 100 g; bags at their best 2 % less.
    let most = number(&second, "/arithmetic/certificate/most");
    assert!((100.0 / most * 100.0 - 111.0).abs() < 3.0, "{most}");
    let output = run(&["label", "recipes/data/demo/label.toml", "--json"]);
    assert_eq!(
        output.status.code(),
        Some(3),
        "phosphorus falls short: {}",
        stderr(&output)
    );
    let first: Value = serde_json::from_str(&stdout(&output)).expect("JSON");
    let shares = &first["arithmetic"]["mix_pct"];
    for (id, pct) in [
        ("potassium-nitrate", 36.0),
        ("monopotassium-phosphate", 21.0),
        ("potassium-sulfate", 13.0),
        ("magnesium-sulfate-heptahydrate", 28.5),
    ] {
        assert!(
            (shares[id].as_f64().expect(id) - pct).abs() < 0.5,
            "{shares}"
        );
    }
    let short: Vec<&Value> = first["allowances"]
        .as_array()
        .expect("rows")
        .iter()
        .filter(|row| row["verdict"] != "within")
        .map(|row| &row["nutrient"])
        .collect();
    assert_eq!(short, ["P2O5"]);
}

/// The proof of a contradiction, checked from nothing but the shipped assays, their tolerances and
/// what the report prints.
#[test]
fn an_outsider_can_check_the_proof() {
    let table = saltwright_fertilizers::Table::shipped().expect("sound");
    let cases = [
        (
            "us",
            "20-20-20",
            "potassium-nitrate,monoammonium-phosphate,monopotassium-phosphate",
            true,
        ),
        (
            "us",
            "15-30-30",
            "potassium-nitrate,urea,monopotassium-phosphate,diammonium-phosphate",
            true,
        ),
        (
            "us",
            "12-12-36 + 4Mg",
            "potassium-nitrate,monoammonium-phosphate,potassium-sulfate,magnesium-sulfate-heptahydrate",
            false,
        ),
        (
            "eu",
            "3-8-10",
            "potassium-nitrate,diammonium-phosphate",
            false,
        ),
        ("us-md", "5-5-5", "urea,monopotassium-phosphate", false),
    ];
    for (convention, label, ids, filler) in cases {
        let ids: Vec<&str> = ids.split(',').collect();
        let report = answer(&json!({
            "job": "label", "guarantee": label, "convention": convention, "ingredients": ids,
            "filler": filler,
        }));
        assert_eq!(report["arithmetic"]["possible"], false, "{label}");
        let certificate = &report["arithmetic"]["certificate"];
        let weights = certificate["weights"].as_object().expect("weights");
        let rows = report["arithmetic"]["contradiction"]
            .as_array()
            .expect("rows");
        let weight = |key: &str| weights.get(key).and_then(Value::as_f64).unwrap_or(0.0);
        let asked: f64 = rows
            .iter()
            .map(|row| {
                weight(row["guarantee"].as_str().expect("a key"))
                    * row["bound_pct"].as_f64().expect("a bound")
            })
            .sum();
        let holds = |id: &&str| -> f64 {
            let row = table.get(id).expect("shipped");
            let tolerance = row.tolerance_pct.unwrap_or(0.0) / 100.0;
            let forms = saltwright_fertilizers::Nutrient::ALL;
            let points = forms.into_iter().map(|form| {
                let keys = saltwright_fertilizers::guarantee::Printed::all();
                let point: f64 = keys
                    .filter(|printed| match printed.nutrient() {
                        Some(saltwright_fertilizers::Aimed::Form(one)) => one == form,
                        Some(saltwright_fertilizers::Aimed::TotalN) => form.index() < 3,
                        None => false,
                    })
                    .map(|printed| weight(printed.key) / printed.factor)
                    .sum();
                point * row.assay_pct[form] * (1.0 + point.signum() * tolerance)
            });
            points.sum()
        };
        let floor = if filler { 0.0 } else { f64::NEG_INFINITY };
        let most = ids.iter().map(holds).fold(floor, f64::max);
        assert!(asked > most, "{label}: {asked} {most}");
        assert!(
            (most - certificate["most"].as_f64().expect("most")).abs() < 1e-6,
            "{label}"
        );
        let told = certificate["asked"].as_f64().expect("asked");
        assert!(
            (asked - told).abs() < 1e-3 * (asked.abs() + 100.0),
            "{label}: {asked} {told}"
        );
    }
}

#[test]
fn a_bought_mix_is_completed_to_a_recipe() {
    let ask = |more: Value| {
        let mut request = json!({
            "job": "label", "guarantee": "15-5-15", "ingredients": [
                "potassium-nitrate", "ammonium-nitrate", "monoammonium-phosphate"],
            "recipe": "sonneveld-modified-lettuce", "water": "larch-hollow-spring",
        });
        for (key, value) in more.as_object().expect("an object") {
            request[key] = value.clone();
        }
        answer(&request)
    };
    let free = ask(json!({}));
    let used = free["complete"]["mix"].as_array().expect("a mix");
    assert!(used.iter().any(|row| row["id"] == "bought-mix"), "{used:?}");
    assert!(free["complete"]["cost_per_m3"].is_null());
    let cautions = free["cautions"].to_string();
    assert!(
        cautions.contains("Without prices the bought mix counts as paid for"),
        "{cautions}"
    );
    assert!(!cautions.contains("its figures are in doubt"), "{cautions}");
    assert_eq!(
        free["alone"]["outcome"], "outside-bands",
        "no calcium, no magnesium, no iron"
    );
    let prices: Map<String, Value> = saltwright_fertilizers::Table::shipped()
        .expect("sound")
        .iter()
        .map(|row| (row.id.clone(), json!(2.0)))
        .collect();
    // As cheap as the bands allow is never dearer than as close as possible.
    let priced = |keep: &str| {
        let report = ask(json!({"prices": prices, "price_per_kg": 1.0, "keep": keep}));
        assert_eq!(report["complete"]["outcome"], "within-bands", "{keep}");
        number(&report, "/complete/cost_per_m3")
    };
    assert!(priced("bands") < priced("aims"));
    // A dose that is fixed counts as what is in the tank already.
    let dosed = ask(json!({"dose": {"g_per_l": 0.2}}));
    let n = crate::common::row(&dosed["complete"], "N");
    assert!(
        (n["water"].as_f64().expect("N") - (0.2 * 150.0 + 1.2)).abs() < 1.0,
        "{n}"
    );
}

#[test]
fn a_contradiction_says_what_it_takes_and_what_comes_with_it() {
    let report = answer(&json!({
        "job": "label", "guarantee": {"N": 9, "P2O5": 30, "K2O": 26},
        "ingredients": ["potassium-nitrate", "monoammonium-phosphate"],
    }));
    let rows = report["arithmetic"]["contradiction"]
        .as_array()
        .expect("rows");
    let words: Vec<&str> = rows
        .iter()
        .filter_map(|row| row["words"].as_str())
        .collect();
    let words = words.join("\n");
    // 46.1 % K2O, at best 47.0: 26 % of it need 55.3 % of the bag, with 7.6 % N in it.
    for said in [
        "K2O 26 % needs at least 55.3 % of potassium-nitrate, which brings 7.58 % N with it",
        "P2O5 30 % needs at least 48.4 % of monoammonium-phosphate",
        "with all other figures met it comes to",
    ] {
        assert!(words.contains(said), "{words}");
    }
}

#[test]
fn commands_end_as_the_label_deserves() {
    for (arguments, code, said) in [
        (
            vec!["label", "13.9-0-46", "--ingredients", "potassium-nitrate"],
            0,
            "at the ends",
        ),
        (vec!["label", "N=15", "K2O=40"], 0, "it could be"),
        (
            vec![
                "label",
                "20-20-20",
                "--ingredients",
                "potassium-nitrate",
                "--no-filler",
            ],
            3,
            "none does",
        ),
        (vec!["label", "20-10-10", "--found", "N=19.3"], 0, "within"),
        (
            vec!["label", "20-10-10", "--found", "N=19.2"],
            3,
            "DEFICIENT",
        ),
        (
            vec![
                "label",
                "20-10-10",
                "--convention",
                "us-md",
                "--found",
                "N=22.1",
            ],
            3,
            "EXCESS",
        ),
    ] {
        let output = run(&arguments);
        let text = stdout(&output).replace("\n        ", " ");
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {text}");
        assert!(text.contains(said), "{arguments:?}: {text}");
    }
}
