//! The sheet by the scale: rounding, premixes, order, wrong weighings, files.

use crate::common::{answer, number, run, stderr, stdout};
use serde_json::{Value, json};

const MIX: [&str; 8] = [
    "calcium-nitrate-fertilizer=0.4",
    "potassium-nitrate=0.5",
    "magnesium-sulfate-heptahydrate=0.25",
    "monopotassium-phosphate=0.14",
    "nitric-acid-38=0.05mL",
    "fe-dtpa-11=0.009",
    "copper-sulfate-pentahydrate=0.0001",
    "boric-acid=0.0009",
];

fn request() -> Value {
    json!({"job": "stock", "ratio": 100, "tank_litres": 20, "scale_g": 0.1, "mix": [
        {"id": "calcium-nitrate-fertilizer", "g_per_l": 0.4},
        {"id": "potassium-nitrate", "g_per_l": 0.5},
        {"id": "magnesium-sulfate-heptahydrate", "g_per_l": 0.25},
        {"id": "monopotassium-phosphate", "g_per_l": 0.14},
        {"id": "nitric-acid-38", "ml_per_l": 0.05},
        {"id": "fe-dtpa-11", "g_per_l": 0.009},
        {"id": "copper-sulfate-pentahydrate", "g_per_l": 0.0001},
        {"id": "boric-acid", "g_per_l": 0.0009},
    ]})
}

fn steps<'a>(report: &'a Value, tank: &str) -> Vec<&'a Value> {
    let all = report["order"].as_array().expect("a list");
    all.iter().filter(|step| step["tank"] == tank).collect()
}

#[test]
fn masses_are_what_the_scale_shows() {
    let report = answer(&request());
    for step in report["order"].as_array().unwrap() {
        let (Some(exact), Some(shown)) = (step["g"].as_f64(), step["weigh_g"].as_f64()) else {
            continue;
        };
        assert!((shown - exact).abs() <= 0.05 + 1e-9, "{step}");
        assert!((shown - exact).abs() / exact <= 0.01 + 1e-9, "{step}");
        let readings = shown / 0.1;
        assert!((readings - readings.round()).abs() < 1e-6, "{step}");
    }
    assert!(report["rounding"]["ec_off_pct"].as_f64().unwrap().abs() < 1.0);
    let off = report["rounding"]["nutrients"].as_array().unwrap();
    assert!(
        off.iter()
            .all(|row| row["off_pct"].as_f64().unwrap().abs() < 1.0),
        "{off:?}"
    );
}

#[test]
fn what_is_too_small_comes_from_a_premix() {
    let report = answer(&request());
    let premixes = report["premixes"].as_array().unwrap();
    assert_eq!(premixes.len(), 2, "{premixes:?}");
    for premix in premixes {
        let take = |key: &str| premix[key].as_f64();
        let (weigh, into, taken) = (
            take("weigh_g").unwrap(),
            take("into_ml").unwrap(),
            take("take_ml").unwrap(),
        );
        let again = take("again_take_ml")
            .zip(take("again_into_ml"))
            .map_or(1.0, |(a, b)| a / b);
        let needed = take("needed_g").unwrap();
        let comes_to = weigh * taken / into * again;
        assert!((comes_to / needed - 1.0).abs() < 0.01, "{premix}");
        assert!(weigh >= 5.0 - 1e-9 && taken >= 5.0 - 1e-9, "{premix}");
        // Half of what dissolves: 50.1 g/L of boric acid, 354 g/L of copper sulfate at 20 °C.
        let solubility = if premix["id"] == "boric-acid" {
            50.1
        } else {
            354.0
        };
        assert!(weigh / into * 1000.0 <= 0.5 * solubility, "{premix}");
    }
    // A scale of 1 g needs two dilutions for 0.2 g of copper sulfate.
    let mut coarse = request();
    coarse["scale_g"] = json!(1);
    let report = answer(&coarse);
    let copper = report["premixes"].as_array().unwrap().iter();
    let copper = copper
        .clone()
        .find(|row| row["id"] == "copper-sulfate-pentahydrate")
        .unwrap();
    assert!(
        copper["words"].as_str().unwrap().contains("of which take"),
        "{copper}"
    );
    // One of 500 g cannot weigh any of it, and says so.
    coarse["scale_g"] = json!(500);
    let report = answer(&coarse);
    assert!(
        report["cautions"]
            .to_string()
            .contains("A scale that shows 500 g is too coarse")
    );
    // 0.2 g of copper sulfate: a hundredfold premix on a scale of 0.1 g.
    assert!(
        report["premixes"]
            .to_string()
            .contains("weigh it on a scale that shows 0.1 g")
    );
    // There is an acid, and no base that it could meet.
    assert!(
        !report["cautions"]
            .to_string()
            .contains("Acid and base never meet")
    );
    let weighed = report["order"].as_array().unwrap().iter();
    assert!(
        weighed
            .filter_map(|step| step["weigh_g"].as_f64())
            .all(|grams| grams > 0.0)
    );
}

#[test]
fn steps_stand_in_the_order_of_work() {
    let report = answer(&request());
    let done = |tank: &str| -> Vec<String> {
        let word = |step: &&Value| {
            let id = step["id"].as_str().unwrap_or_default();
            format!("{} {id}", step["do"].as_str().unwrap())
                .trim()
                .to_owned()
        };
        steps(&report, tank).iter().map(word).collect()
    };
    assert_eq!(
        done("A"),
        [
            "water",
            "dissolve calcium-nitrate-fertilizer",
            "chelate fe-dtpa-11",
            "fill",
            "rest"
        ]
    );
    assert_eq!(
        done("B"),
        [
            "water",
            "dissolve monopotassium-phosphate",
            "dissolve magnesium-sulfate-heptahydrate",
            "dissolve potassium-nitrate",
            "premix boric-acid",
            "premix copper-sulfate-pentahydrate",
            "fill",
            "rest"
        ]
    );
    assert_eq!(
        done("acid"),
        ["water", "pour nitric-acid-38", "fill", "rest"]
    );
    let acid = steps(&report, "acid")[1]["caution"].as_str().unwrap();
    assert!(acid.contains("acid into water, never water into acid"));
    let water = steps(&report, "B")[0]["litres"].as_f64().unwrap();
    assert!((12.0..=14.0).contains(&water), "{water}");
}

#[test]
fn a_wrong_weighing_is_brought_back() {
    let mut wrong = request();
    wrong["already"] = json!([{"id": "potassium-nitrate", "g": 1200}]);
    let report = answer(&wrong);
    let mended = &report["mended"][0];
    // 1,200 g for 1,000 g: a fifth more of everything in the tank, in a fifth more water.
    assert!((number(mended, "/fill_to_l") - 24.0).abs() < 1e-9);
    for row in mended["add"].as_array().unwrap() {
        let id = row["id"].as_str().unwrap();
        let line = report["tanks"][1]["mix"].as_array().unwrap().iter();
        let line = line.clone().find(|line| line["id"] == id).unwrap();
        let fifth = 0.2 * line["g"].as_f64().unwrap();
        assert!((row["g"].as_f64().unwrap() - fifth).abs() < 1e-9, "{row}");
    }
    let left = mended["left_as_it_is"]["nutrients"].as_array().unwrap();
    let k = left.iter().find(|row| row["nutrient"] == "K").unwrap();
    assert!(
        (10.0..20.0).contains(&k["off_pct"].as_f64().unwrap()),
        "{k}"
    );
    assert!(
        mended["closest"]["mix"]
            .as_array()
            .is_some_and(|mix| !mix.is_empty())
    );
    let said = |report: &Value| report["mended"][0]["words"].to_string();
    assert!(said(&report).contains("within the usual bands") || said(&report).contains("closest"));
    wrong["already"] = json!([{"tank": "B", "id": "potassium-nitrate", "g": 900}]);
    let report = answer(&wrong);
    assert_eq!(report["mended"][0]["fill_to_l"], json!(20.0));
    // Where everything can be made right in the tank as it is, nothing else is offered.
    assert!(!said(&report).contains("bands"), "{}", said(&report));
    assert!((number(&report, "/mended/0/add/0/g") - 100.0).abs() < 1e-9);
    // What no tank has a place for is not passed over.
    wrong["already"] = json!([{"tank": "D", "id": "potassium-nitrate", "g": 900}]);
    let report = answer(&wrong);
    assert_eq!(report["mended"], json!([]));
    let said = "potassium-nitrate into tank D is not judged: it belongs into B.";
    assert!(report["cautions"].to_string().contains(said), "{report}");
}

/// Ounces, gallons and °F throughout: 40 g/L of stock are 151.4 g or 5.34 oz a US gallon
/// (3.785411784 L, NIST Handbook 44, Appendix C).
#[test]
fn a_grower_in_gallons_reads_gallons() {
    let asked = ["--ratio", "100", "--stock", "5 gal", "--gallons"];
    let (tanks, ..) = ran(&asked);
    let (labels, ..) = ran(&[&asked[..], &["--labels"]].concat());
    for (sheet, said) in [
        (&tanks, "1 gal of stock"),
        (&tanks, "5.34 oz"),
        (&tanks, "kept at 50 °F to 86 °F"),
        (&labels, "5.34 oz/gal"),
        (&labels, "at 50 °F or warmer"),
    ] {
        assert!(sheet.contains(said), "{said}\n{sheet}");
    }
}

/// A sheet of a stock that does not stay clear says so, and why.
#[test]
fn a_sheet_of_a_cloudy_stock_warns() {
    let (out, _, code) = ran(&[
        "--tanks", "1", "--ratio", "100", "--stock", "20L", "--weigh",
    ]);
    assert_eq!(code, Some(3));
    assert!(
        out.contains("NOT clear") && out.contains("too strong for one tank"),
        "{out}"
    );
}

/// An ounce scale that shows a tenth: 2.835 g a step, masses to a tenth of a gram.
#[test]
fn a_scale_in_ounces_shows_no_false_digits() {
    let scale = [
        "--ratio", "100", "--stock", "20L", "--scale", "0.1oz", "--weigh",
    ];
    let (out, ..) = ran(&scale);
    let words: Vec<&str> = out.split_whitespace().collect();
    let plain = words.join(" ");
    assert!(
        plain.contains("shows 2.83 g") && plain.contains("too small for this scale"),
        "{out}"
    );
    let masses = words.iter().filter(|word| word.contains('.'));
    for word in masses {
        let digits = word.rsplit('.').next().unwrap_or_default();
        assert!(digits.len() <= 3, "{word}");
    }
}

#[test]
fn unequal_dosing_moves_what_the_tank_holds() {
    let report = answer(&request());
    let rows = report["unequal"].as_array().unwrap();
    let calcium = rows.iter().find(|row| row["tank"] == "A").unwrap();
    let moved = calcium["nutrients"].as_array().unwrap();
    let ca = moved.iter().find(|row| row["nutrient"] == "Ca").unwrap();
    assert!((ca["off_pct"].as_f64().unwrap() - 10.0).abs() < 1e-6);
    assert!(moved.iter().all(|row| row["nutrient"] != "Mg"));
    assert!(calcium["ec_off_pct"].as_f64().unwrap() > 0.5);
}

fn command(more: &[&str]) -> Vec<String> {
    let words = ["stock"].iter().chain(&MIX).chain(more);
    words.map(|word| (*word).to_owned()).collect()
}

fn ran(more: &[&str]) -> (String, String, Option<i32>) {
    let words = command(more);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = run(&words);
    (stdout(&output), stderr(&output), output.status.code())
}

#[test]
fn sheets_stay_within_the_page() {
    for more in [
        vec![],
        vec!["--tanks", "1"],
        vec!["--tanks", "4", "--ratio", "300"],
        vec!["--ratio", "100", "--stock", "20L", "--scale", "0.01"],
        vec![
            "--ratio",
            "1:100",
            "--stock",
            "20L,5 gal,1L",
            "--scale",
            "0.1",
            "--weigh",
        ],
        vec![
            "--ratio", "100", "--stock", "20L", "--weigh", "--labels", "--batch", "June",
        ],
        vec![
            "--ratio",
            "100",
            "--stock",
            "20L",
            "--weighed",
            "B:potassium-nitrate=1300g",
        ],
        vec!["--store", "41..77 F", "--gallons"],
    ] {
        let (out, err, code) = ran(&more);
        assert!(code == Some(0) || code == Some(3), "{more:?}: {err}");
        for line in out.lines() {
            assert!(line.chars().count() <= 80, "{more:?}: {line}");
        }
    }
}

#[test]
fn the_sheet_has_boxes_lines_and_cautions() {
    let (out, _, code) = ran(&[
        "--ratio", "100", "--stock", "20L", "--scale", "0.1", "--weigh", "--batch", "June",
    ]);
    assert_eq!(code, Some(0));
    for words in [
        "[ ] 1",
        "Tank A, 20 L, 1:100",
        "date ____",
        "Premixes, made up to the mark",
        "June",
        "1000.0 g",
        "acid into water",
        "g/mL at 20 °C",
        "First aid",
        "never",
    ] {
        let plain = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain.contains(words), "{words} in\n{out}");
    }
}

#[test]
fn too_strong_ends_in_three() {
    let (out, _, code) = ran(&["--tanks", "1", "--ratio", "100"]);
    assert_eq!(code, Some(3));
    assert!(
        out.contains("NOT clear") && out.contains("CaSO4.2H2O"),
        "{out}"
    );
}

#[test]
fn what_is_written_can_be_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("tanks.csv");
    let name = path.display().to_string();
    let (out, err, code) = ran(&["--ratio", "100", "--stock", "20L", "--out", &name]);
    assert_eq!(code, Some(0), "{err}");
    assert!(out.contains("tanks-weigh.csv"));
    let tanks = std::fs::read_to_string(&path).expect("written");
    assert!(tanks.starts_with("tank,id,name,g_per_l,g_per_l_stock"));
    let order = std::fs::read_to_string(folder.path().join("tanks-weigh.csv")).expect("written");
    assert!(order.lines().count() > 10);
    // What formulate writes is read.
    let json = folder.path().join("mix.json");
    let formulated = run(&["formulate", "sonneveld-modified-lettuce", "--json"]);
    std::fs::write(&json, formulated.stdout).expect("written");
    let output = run(&["stock", "--mix", &json.display().to_string(), "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
}
