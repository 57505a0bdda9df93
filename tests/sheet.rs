//! How the sheets of a terminal look.

use crate::common::{REFILL, commands as all_commands, run, stdout, with};
use serde_json::Value;

/// An answer outside its bands.
const MISS: [&str; 6] = [
    "formulate",
    "sonneveld-modified-lettuce",
    "--water",
    "quarry-end-well",
    "--aim",
    "Ca=..50",
];

/// A tank that is too strong and too high in pH.
const CORRECT: [&str; 16] = [
    "correct",
    "sonneveld-modified-lettuce",
    "--water",
    "larch-hollow-spring",
    "--stock",
    "recipes/data/demo/stocks.toml",
    "--reading",
    "1.9",
    "--ph",
    "6.9",
    "--level",
    "110 L",
    "--tank",
    "120 L",
    "--temperature",
    "20",
];

/// The same in US units with everything found, and what meters are checked by.
fn corrections() -> [Vec<&'static str>; 5] {
    [
        REFILL.to_vec(),
        vec!["meter", "--pair", "745ppm=1.49", "--reading", "650ppm"],
        vec![
            "meter",
            "--check",
            "1.413=1.30",
            "--buffer",
            "7=7.4",
            "--make",
            "2.5",
        ],
        CORRECT.to_vec(),
        [&CORRECT[..], &["--gallons", "--detail"]].concat(),
    ]
}

/// A season's bags in US units.
const SEASON: [&str; 7] = [
    "purchase",
    "hoagland-2",
    "--season",
    "40000 gal",
    "--gallons",
    "--prices",
    "recipes/data/demo/bags.csv",
];

#[test]
fn every_line_fits_a_terminal_and_carries_no_colour() {
    let prices = ["--prices", "recipes/data/demo/prices.csv"];
    let mut commands = vec![
        with(&["--tank", "120 L", "--ratio", "100"]),
        with(&[&prices[..], &["--gallons", "--tank", "30 gal"]].concat()),
        with(&[
            "--units",
            "meq",
            "--gallons",
            "--tank",
            "1 m3",
            "--ratio",
            "200",
        ]),
        with(&["--units", "mmol", "--strength", "0.25"]),
        vec!["formulate", "yamazaki-lettuce", "--water", "salt-lane-well"],
        [&MISS[..], &["--units", "meq"]].concat(),
        vec!["predict", "potassium-nitrate=0.5", "nitric-acid-38=1mL"],
        vec!["predict", "urea=1kg", "--tank", "1e6", "--units", "mmol"],
        vec![
            "predict",
            "potassium-nitrate=0.5",
            "--detail",
            "--temperature",
            "65 F",
        ],
        vec![
            "formulate",
            "hoagland-2",
            "--detail",
            "--strength",
            "to-ec",
            "--ec",
            "1.2",
        ],
        vec!["water", "quarry-end-well", "--tank", "30 gal", "--gallons"],
        vec![
            "water",
            "salt-lane-well",
            "--blend-with",
            "rain-barrel",
            "--ph",
            "5.8",
        ],
        vec![
            "label",
            "recipes/data/demo/label.toml",
            "--recipe",
            "hoagland-2",
        ],
        vec![
            "label",
            "20-20-20",
            "--convention",
            "eu",
            "--ingredients",
            "urea,potassium-nitrate",
        ],
        vec![
            "label",
            "3-3-3",
            "--liquid",
            "--convention",
            "eu",
            "--found",
            "N=2.2,K2O=2.9",
        ],
        SEASON.to_vec(),
        vec![],
    ];
    commands.extend(corrections());
    for what in ["recipes", "waters", "fertilizers", "crops"] {
        commands.push(vec!["list", what]);
    }
    commands.push(vec!["--help"]);
    let listed = all_commands();
    for command in &listed {
        let words: Vec<&str> = command.iter().map(String::as_str).collect();
        commands.push([&words[..], &["--help"]].concat());
        if let [name] = words[..] {
            commands.push(vec!["help", name]);
        }
    }
    // The short help names every topic on its last lines.
    let short = stdout(&run(&["help"]));
    let (_, topics) = short.split_once("explains:").expect("topics");
    for topic in topics.split_whitespace() {
        commands.push(vec!["help", topic]);
    }
    for arguments in commands {
        let text = stdout(&run(&arguments));
        assert!(text.len() > 100, "{arguments:?}");
        assert!(!text.contains('\u{1b}'), "{arguments:?}");
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{arguments:?}: {line}");
        }
    }
}

/// An amount on the sheet as grams or millilitres.
fn exact(amount: &str, unit: &str) -> f64 {
    let amount: f64 = amount.parse().expect("a number");
    // Exact by definition: avoirdupois ounce and pound, US fluid ounce.
    amount
        * match unit {
            "mg" => 1e-3,
            "g" | "mL" => 1.0,
            "kg" => 1e3,
            "oz" => 28.349_523_125,
            "lb" => 453.592_37,
            "fl" => 29.573_529_562_5,
            other => panic!("{other}"),
        }
}

#[test]
fn the_sheet_and_the_json_show_the_same_grams() {
    for (tank, litres) in [
        ("120L", 120.0),
        ("1 m3", 1000.0),
        ("30 gal", 113.562_353_52),
    ] {
        for measure in [&["--tank", tank][..], &["--tank", tank, "--gallons"]] {
            let sheet = stdout(&run(&with(measure)));
            let json = stdout(&run(&with(&["--tank", tank, "--json"])));
            let json: Value = serde_json::from_str(&json).expect("JSON");
            for row in json["mix"].as_array().expect("a mix") {
                let id = row["id"].as_str().expect("an id");
                let line = sheet.lines().find(|line| line.starts_with(id));
                let line = line.unwrap_or_else(|| panic!("{id} on the sheet"));
                let cells: Vec<&str> = line.split_whitespace().collect();
                let shown = exact(cells[1], cells[2]);
                let wanted = match row["ml_per_l"].as_f64() {
                    Some(ml) => ml * litres,
                    None => row["g"].as_f64().expect("grams"),
                };
                assert!(
                    (shown - wanted).abs() <= 0.005_01 * wanted,
                    "{line}: {wanted}"
                );
            }
        }
    }
}

#[test]
fn gallons_are_gallons() {
    let sheet = stdout(&run(&with(&[
        "--tank",
        "30 gal",
        "--gallons",
        "--ratio",
        "100",
    ])));
    for said in [
        "30 gal of finished solution",
        " oz ",
        "1 gal",
        "stock 1:100",
    ] {
        assert!(sheet.contains(said), "{said}\n{sheet}");
    }
}

/// Points stand under each other in every column of the nutrient table.
#[test]
fn figures_stand_on_their_decimal_point() {
    let sheet = stdout(&run(&with(&["--tank", "120 L"])));
    let mut lines = sheet.lines().skip_while(|line| !line.starts_with("mg/L"));
    let head = lines.next().expect("the table");
    let end = head.find("below").expect("a bar");
    let table: Vec<&str> = lines.take_while(|line| !line.is_empty()).collect();
    assert!(table.len() > 10);
    let points = |line: &str| -> Vec<usize> {
        let figures = line.get(..end).unwrap_or(line);
        figures.match_indices('.').map(|(at, _)| at).collect()
    };
    let all = table.iter().map(|line| points(line)).max_by_key(Vec::len);
    let all = all.expect("lines");
    assert_eq!(all.len(), 5, "aim, min, max, water, delivered");
    for line in table {
        for at in points(line) {
            assert!(all.contains(&at), "{line}");
        }
    }
}

#[test]
fn what_cannot_be_met_is_said_three_ways() {
    let output = run(&MISS);
    assert_eq!(output.status.code(), Some(3));
    let text = stdout(&output);
    let first = text.lines().next().expect("a title");
    assert!(
        first.ends_with("closest answer, OUTSIDE the bands"),
        "{first}"
    );
    let said = "off     Ca comes to 96.0 mg/L, 46.0 above its maximum of 50.0.";
    for said in [said, "\nwhy     ", "Use a purer water"] {
        assert!(text.contains(said), "{said}\n{text}");
    }
    let marked: Vec<&str> = text.lines().filter(|line| line.ends_with('<')).collect();
    assert_eq!(marked.len(), 1, "{text}");
    assert!(marked[0].starts_with("Ca "), "{}", marked[0]);
    assert!(!stdout(&run(&with(&[]))).contains('<'));
}

#[test]
fn a_way_out_is_named() {
    let output = run(&with(&["--without", "sodium-molybdate-dihydrate"]));
    let text = stdout(&output);
    assert_eq!(output.status.code(), Some(3), "{text}");
    let mend = text.lines().find(|line| line.starts_with("mend"));
    let mend = mend.expect("a way out");
    assert!(
        mend.contains("Allowing sodium-molybdate-dihydrate or"),
        "{mend}"
    );
}

#[test]
fn dangers_are_marked_and_cautioned() {
    let doses = [
        ("potassium-nitrate=0.1", "! fire", "Feeds fire"),
        ("nitric-acid-38=0.1mL", "! acid", "acid into water, never"),
        ("potassium-hydroxide=0.1", "! base", "Caustic base"),
        ("boric-acid=0.001", "! boron", "Boron:"),
        ("copper-sulfate-pentahydrate=0.001", "! copper", "Copper:"),
        ("nickel-sulfate-hexahydrate=0.001", "! nickel", "Nickel:"),
    ];
    for (dose, mark, caution) in doses {
        let text = stdout(&run(&["predict", dose]));
        // A caution may break anywhere.
        let flowing = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for said in [mark, caution, "safety sheets and your local rules"] {
            assert!(flowing.contains(said), "{said}\n{text}");
        }
    }
    let harmless = stdout(&run(&["predict", "magnesium-sulfate-heptahydrate=0.1"]));
    assert!(!harmless.contains('!'), "{harmless}");
}

#[test]
fn a_batch_is_shown_beside_a_litre() {
    let text = stdout(&run(&["predict", "urea=60", "--tank", "120 L"]));
    let line = text
        .lines()
        .find(|line| line.starts_with("urea "))
        .expect("urea");
    let cells: Vec<&str> = line.split_whitespace().collect();
    assert_eq!(cells, ["urea", "60.0", "g", "0.500", "g"]);
}

#[test]
fn each_nutrient_says_its_unit() {
    let meq = stdout(&run(&with(&["--units", "meq"])));
    for label in ["\nmeq/L ", "\nB mg/L ", "\nFe µeq/L ", "\nCa "] {
        assert!(meq.contains(label), "{label}\n{meq}");
    }
    let mmol = stdout(&run(&with(&["--units", "mmol"])));
    assert!(mmol.contains("\nB µmol/L "), "{mmol}");
}
