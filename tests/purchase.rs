//! Whole bags for a season: what the report promises, what is refused, the command.

use crate::common::{answer, delivered, number, run, stderr, stdout};
use serde_json::{Value, json};

/// A season on four salts; the prices are invented.
fn season() -> Value {
    json!({
        "job": "purchase", "id": 8, "season_m3": 100, "acid": null,
        "recipe": {"aims": {"N": {"min": 90, "max": 140}, "K": {"min": 160, "max": 220},
                            "Ca": {"min": 60, "max": 110}, "P": {"min": 25, "max": 40}}},
        "fertilizers": ["calcium-nitrate-tetrahydrate", "potassium-nitrate",
                        "monopotassium-phosphate", "potassium-sulfate"],
        "bags": {
            "calcium-nitrate-tetrahydrate": {"sizes": [{"bag_kg": 25, "price_per_bag": 30}]},
            "potassium-nitrate": {"sizes": [{"bag_kg": 5, "price_per_bag": 13},
                                            {"bag_kg": 25, "price_per_bag": 50}],
                                  "on_hand_kg": 3},
            "monopotassium-phosphate": {"sizes": [{"bag_kg": 10, "price_per_bag": 28}]},
            "potassium-sulfate": {"on_hand_kg": 4},
        },
    })
}

fn with(key: &str, value: Value) -> Value {
    let mut request = season();
    request[key] = value;
    request
}

#[test]
fn the_report_adds_up() {
    let report = answer(&season());
    assert_eq!(
        (&report["job"], &report["id"]),
        (&json!("purchase"), &json!(8))
    );
    let buy = report["buy"].as_array().expect("a list");
    let paid: f64 = buy.iter().map(|row| number(row, "/cost")).sum();
    assert!((paid - number(&report, "/total")).abs() < 1e-9);
    assert!(number(&report, "/gap_pct") < 1e-6, "{report}");
    assert!(number(&report, "/bound_in_parts") < number(&report, "/bound"));
    for (nutrient, min, max) in [("N", 90.0, 140.0), ("K", 160.0, 220.0), ("P", 25.0, 40.0)] {
        let reached = delivered(&report, nutrient);
        assert!(
            reached > min - 1e-6 && reached < max + 1e-6,
            "{nutrient} {reached}"
        );
    }
    // On hand and bought is used and left over.
    let left = report["left_over"].as_array().expect("a list");
    let row = |rows: &[Value], id: &str| rows.iter().find(|row| row["id"] == id).cloned();
    let nitrate = row(left, "potassium-nitrate").expect("a row");
    let bought: f64 = buy
        .iter()
        .filter(|row| row["id"] == "potassium-nitrate")
        .map(|row| number(row, "/bag_kg") * number(row, "/bags"))
        .sum();
    let mix = report["mix"].as_array().expect("a list");
    let used = row(mix, "potassium-nitrate").map_or(0.0, |row| number(&row, "/g_per_l") * 100.0);
    assert!((3.0 + bought - used - number(&nitrate, "/kg")).abs() < 1e-6);
}

/// A label of the currency stands beside what is paid, and changes nothing.
#[test]
fn the_currency_is_a_label() {
    let report = answer(&with("currency", json!("EUR")));
    assert_eq!(report["currency"], "EUR");
    assert_eq!(report["total"], answer(&season())["total"]);
    let refused = answer(&with("currency", json!("doubloons of the realm")));
    assert_eq!(refused["refusal"]["where"], "currency", "{refused}");
    // Every part of the search was closed by its own proof.
    assert!(number(&report, "/search_parts") >= 1.0);
    assert_eq!(report["stopped"], false);
    assert_eq!(report["bound"], report["total"]);
}

/// Two bands that cannot both be kept are told in sentences that begin like sentences.
#[test]
fn every_sentence_of_a_refusal_begins_with_a_capital() {
    let mut request = season();
    request["recipe"]["aims"]["P"] = json!({"min": 60, "max": 80});
    request["recipe"]["aims"]["K"] = json!({"max": 60});
    let refused = answer(&request);
    let faults = refused["faults"].as_array().expect("several");
    for fault in faults {
        for key in ["what", "mend"] {
            let words = fault[key].as_str().expect("a text");
            let inside = words.split(". ").skip(1);
            let sentences = inside.chain((key == "mend").then_some(words));
            for sentence in sentences {
                let first = sentence.chars().next().expect("a letter");
                assert!(!first.is_lowercase(), "{fault}");
            }
        }
    }
    let whats = refused.to_string();
    assert!(whats.contains("whole bags or not. At "), "{whats}");
}

#[test]
fn what_is_on_hand_is_used_first() {
    let none = number(&answer(&season()), "/total");
    let mut request = season();
    request["bags"]["calcium-nitrate-tetrahydrate"]["on_hand_kg"] = json!(60);
    request["bags"]["potassium-nitrate"]["on_hand_kg"] = json!(60);
    request["bags"]["monopotassium-phosphate"]["on_hand_kg"] = json!(60);
    let all = answer(&request);
    assert!(none > 0.0);
    assert_eq!((&all["total"], &all["gap_pct"]), (&json!(0.0), &json!(0.0)));
    assert_eq!(all["buy"], json!([]));
}

#[test]
fn prices_by_the_kilogram_have_no_say() {
    let mut priced = with("prices", json!({"urea": 0.1, "potassium-nitrate": 99}));
    priced["id"] = json!(8);
    assert_eq!(answer(&priced), answer(&season()));
}

#[test]
fn what_is_not_sold_or_not_allowed_is_told() {
    let mut request = season();
    let fertilizers = request["fertilizers"].as_array_mut().expect("a list");
    fertilizers.push(json!("urea"));
    request["bags"]["borax"] = json!({"on_hand_kg": 1});
    let report = answer(&request);
    assert_eq!(report["not_sold"], json!(["urea"]));
    let cautions = report["cautions"].to_string();
    assert!(
        cautions.contains("urea: allowed, but neither sold nor on hand"),
        "{cautions}"
    );
    assert!(
        cautions.contains("borax: sold or on hand, but not allowed"),
        "{cautions}"
    );
}

#[test]
fn acid_and_a_strength_that_is_sought_are_settled_before() {
    let mut request = with("strength", json!("to-ec"));
    request["ec_ms_cm"] = json!(1.2);
    let report = answer(&request);
    assert_eq!(report["outcome"], "within-bands", "{report}");
    assert!(
        (number(&report, "/ec/predicted_ms_cm") - 1.2).abs() < 0.1,
        "{report}"
    );
    let mut request = season();
    request["water"] = json!("quarry-end-well");
    request["recipe"]["aims"]["Ca"] = json!({"max": 200});
    request.as_object_mut().expect("a table").remove("acid");
    let fertilizers = request["fertilizers"].as_array_mut().expect("a list");
    fertilizers.push(json!("nitric-acid-38"));
    request["bags"]["nitric-acid-38"] = json!({"sizes": [{"bag_kg": 25, "price_per_bag": 29}]});
    let report = answer(&request);
    assert!(
        (number(&report, "/acidity/residual_meq_l") - 0.5).abs() < 0.051,
        "{report}"
    );
    request["acid_to"] = json!({"ph": 6.0});
    let report = answer(&request);
    assert_eq!(report["outcome"], "within-bands", "{report}");
    assert!(
        (number(&report, "/ph/closed") - 6.0).abs() < 0.05,
        "{}",
        report["ph"]
    );
}

#[test]
fn no_answer_is_explained_by_its_bands() {
    let mut request = season();
    request["recipe"]["aims"]["Mg"] = json!({"min": 20, "max": 40});
    let refusal = answer(&request)["refusal"].clone();
    assert_eq!(refusal["kind"], "no-answer");
    assert_eq!(refusal["where"], "recipe.aims.Mg.min");
    let what = refusal["what"].as_str().expect("words");
    assert!(
        what.contains("No fertilizer in the choice brings magnesium"),
        "{what}"
    );
    let mend = refusal["mend"].as_str().expect("words");
    assert!(mend.contains("magnesium"), "{mend}");
    // Four kilograms of the only sulfate, and more is asked for.
    let mut request = season();
    request["recipe"]["aims"]["S"] = json!({"min": 30, "max": 60});
    let refusal = answer(&request)["refusal"].clone();
    assert_eq!(refusal["where"], "recipe.aims.S.min", "{refusal}");
}

#[test]
fn broken_bags_are_refused_by_name() {
    let bag = |bag: Value| json!({"potassium-nitrate": {"sizes": [bag]}});
    let cases = [
        (
            json!({"potassium-nitrat": {"on_hand_kg": 1}}),
            "unknown-name",
            "bags.potassium-nitrat",
        ),
        (
            bag(json!({"bag_kg": 0, "price_per_bag": 1})),
            "too-small",
            "sizes[0].bag_kg",
        ),
        (
            bag(json!({"bag_kg": -5, "price_per_bag": 1})),
            "negative",
            "sizes[0].bag_kg",
        ),
        (
            bag(json!({"bag_kg": 5, "price_per_bag": -1})),
            "negative",
            "sizes[0].price_per_bag",
        ),
        (bag(json!({"bag_kg": 5})), "empty", "sizes[0].price_per_bag"),
        (bag(json!({"price_per_bag": 5})), "empty", "sizes[0].bag_kg"),
        (
            bag(json!({"bag_kg": 5, "price": 5})),
            "empty",
            "sizes[0].price_per_bag",
        ),
        (
            bag(json!({"bag_kg": "x", "price_per_bag": 5})),
            "not-a-number",
            "sizes[0].bag_kg",
        ),
        (
            bag(json!({"bag_kg": 5, "price_per_bag": 1e7})),
            "too-large",
            "sizes[0].price_per_bag",
        ),
        (
            json!({"potassium-nitrate": {"on_hand_kg": -1}}),
            "negative",
            "on_hand_kg",
        ),
        (
            json!({"potassium-nitrate": {}}),
            "empty",
            "bags.potassium-nitrate",
        ),
        (
            json!({"potassium-nitrate": 5}),
            "unreadable",
            "bags.potassium-nitrate",
        ),
        (json!({}), "empty", "bags"),
        (json!([]), "unreadable", "bags"),
        (Value::Null, "empty", "bags"),
        (
            json!({"potassium-nitrate": {"sizes": [{"bag_kg": 5, "price_per_bag": 1},
                                                   {"bag_kg": 5, "price_per_bag": 2}]}}),
            "contradiction",
            "sizes[1]",
        ),
    ];
    for (bags, kind, place) in cases {
        let refusal = answer(&with("bags", bags.clone()))["refusal"].clone();
        assert_eq!(refusal["kind"], kind, "{bags}: {refusal}");
        let found = refusal["where"].as_str().expect("a place");
        assert!(found.ends_with(place), "{bags}: {refusal}");
    }
    let sizes: Vec<Value> = (1..=31)
        .map(|kg| json!({"bag_kg": kg, "price_per_bag": kg}))
        .collect();
    let many =
        json!({"potassium-nitrate": {"sizes": sizes}, "potassium-sulfate": {"sizes": sizes}});
    assert_eq!(answer(&with("bags", many))["refusal"]["kind"], "too-large");
    for (key, value, kind) in [
        ("season_m3", Value::Null, "empty"),
        ("season_m3", json!(0), "too-small"),
        ("season_m3", json!(-1), "negative"),
        ("season_m3", json!(1e7), "too-large"),
        ("search_s", json!(-1), "negative"),
        ("seson_m3", json!(1), "unknown-name"),
        ("sure", json!("worst-case"), "no-answer"),
    ] {
        let refusal = answer(&with(key, value))["refusal"].clone();
        assert_eq!(
            (&refusal["kind"], &refusal["where"]),
            (&json!(kind), &json!(key)),
            "{refusal}"
        );
    }
    // A gram a bag for a season of a million cubic metres.
    let mut request = with("season_m3", json!(1e6));
    request["bags"]["monopotassium-phosphate"]["sizes"][0]["bag_kg"] = json!(0.001);
    let refusal = answer(&request)["refusal"].clone();
    assert_eq!(
        (&refusal["kind"], &refusal["where"]),
        (&json!("too-large"), &json!("bags"))
    );
}

const COMMAND: [&str; 8] = [
    "purchase",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
    "--season",
    "120m3",
    "--prices",
    "recipes/data/demo/bags.csv",
];

#[test]
fn the_command_says_what_to_buy_and_keeps_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("season.csv");
    let path = path.to_str().expect("UTF-8");
    let output = run(&[&COMMAND[..], &["--out", path]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    for part in [
        "cheapest bags",
        "left over",
        "No other purchase",
        "120000 L",
        "within",
    ] {
        let hidden = part == "within" && text.contains("bands");
        assert!(text.contains(part) || hidden, "{part}: {text}");
    }
    let report = stdout(&run(&[&COMMAND[..], &["--json"]].concat()));
    let report: Value = serde_json::from_str(&report).expect("JSON");
    let bags = std::fs::read_to_string(folder.path().join("season-bags.csv")).expect("written");
    assert_eq!(
        bags.lines().count(),
        1 + report["buy"].as_array().expect("rows").len()
    );
    assert!(bags.starts_with("id,bag_kg,bags,cost\n"), "{bags}");
    // The mix is read back.
    let again = run(&[
        "predict",
        "--mix",
        path,
        "--water",
        "larch-hollow-spring",
        "--json",
    ]);
    let again: Value = serde_json::from_str(&stdout(&again)).expect("JSON");
    assert!((delivered(&again, "K") - delivered(&report, "K")).abs() < 1e-9);
}

#[test]
fn a_season_in_gallons_and_pounds() {
    let season = ["--season", "31700 gal", "--gallons"];
    let text = stdout(&run(&[&COMMAND[..4], &season, &COMMAND[6..]].concat()));
    assert!(
        text.contains("31700 gal of finished solution") && text.contains(" lb"),
        "{text}"
    );
}
