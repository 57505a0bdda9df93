//! What a page shows is what the terminal shows, figure for figure and word for word.

use super::*;

/// Everything that the terminal shows stands on the page, figure for figure and word for word.
#[test]
fn page_and_terminal_show_the_same() {
    let prices = ["--prices", "recipes/data/demo/prices.csv"];
    let miss = [
        "formulate",
        "sonneveld-modified-lettuce",
        "--water",
        "quarry-end-well",
    ];
    let cases: [(Vec<&str>, Query<'_>); 6] = [
        (LETTUCE.to_vec(), question(&[])),
        (
            with(&[&["--tank", "120 L"][..], &prices].concat()),
            question(&[("tank", "120 L"), ("prices", "demo")]),
        ),
        (
            with(&["--tank", "30 gal", "--gallons", "--units", "meq"]),
            question(&[("tank", "30"), ("measure", "us"), ("units", "meq")]),
        ),
        (
            with(&[
                "--strength",
                "0.5",
                "--aim",
                "Fe=0.8..1.2",
                "--ec",
                "0.9",
                "--acid",
                "none",
            ]),
            question(&[
                ("strength", "50 %"),
                ("aim-Fe", "0.8..1.2"),
                ("ec", "900 µS/cm"),
                ("acid", "none"),
            ]),
        ),
        (
            with(&[
                "--tank",
                "120 L",
                "--off",
                "scale=0.1g",
                "--off",
                "meter=2%",
                "--sure",
                "95%",
            ]),
            question(&[
                ("tank", "120 L"),
                ("off-scale", "0.1 g"),
                ("off-meter", "2"),
                ("sure", "95 %"),
            ]),
        ),
        (
            [&miss[..], &["--aim", "Ca=..50", "--ratio", "1:100"]].concat(),
            vec![
                ("recipe", "sonneveld-modified-lettuce"),
                ("water", "quarry-end-well"),
                ("aim-Ca", "..50"),
                ("ratio", "1:100"),
            ],
        ),
    ];
    for (arguments, fields) in cases {
        let page = read(&get("formulate", &fields).text);
        let pieces = terminal(&arguments);
        assert!(pieces.len() > 25, "{arguments:?}");
        for piece in pieces {
            assert!(page.contains(&piece), "{arguments:?}\n{piece}\n{page}");
        }
    }
}

#[test]
fn a_prediction_shows_the_same_too() {
    let arguments = [
        "predict",
        "potassium-nitrate=0.5",
        "nitric-acid-38=1mL",
        "--water",
        "rain-barrel",
    ];
    let mix = "potassium-nitrate 0,5\nnitric-acid-38: 1 mL";
    let page = read(&get("predict", &[("mix", mix), ("water", "rain-barrel")]).text);
    let table = "id;g_per_l;ml_per_l\npotassium-nitrate;0,5;\nnitric-acid-38;;1\n";
    let pasted = read(&get("predict", &[("mix", table), ("water", "rain-barrel")]).text);
    for piece in terminal(&arguments) {
        assert!(
            page.contains(&piece),
            "{piece}
{page}"
        );
        assert!(
            pasted.contains(&piece),
            "{piece}
{pasted}"
        );
    }
}

/// The terminal's words behind `stock` for the same mix.
const TWO_SALTS_TYPED: [&str; 6] = [
    "stock",
    "calcium-nitrate-fertilizer=0.4",
    "potassium-nitrate=0.5",
    "magnesium-sulfate-heptahydrate=0.2",
    "monopotassium-phosphate=0.12",
    "boric-acid=0.0009",
];

#[test]
fn stock_tanks_and_their_sheets_show_the_same_too() {
    let typed: [&str; 8] = [
        "--ratio", "100", "--stock", "20L", "--scale", "0.1", "--batch", "June",
    ];
    let asked = [
        TWO_SALTS,
        ("ratio", "1:100"),
        ("volume", "20 L"),
        ("scale", "0,1 g"),
        ("batch", "June"),
    ];
    let wrong = ("weighed", "potassium-nitrate: 250 g");
    let wrong_typed = "--weighed=potassium-nitrate=250g";
    let cases: [(&[&str], Query<'_>); 6] = [
        (&[], vec![]),
        (
            &["--gallons", "--labels"],
            vec![("measure", "us"), ("paper", "labels")],
        ),
        (&[wrong_typed], vec![wrong]),
        (&["--weigh"], vec![("paper", "weigh")]),
        (&["--labels"], vec![("paper", "labels")]),
        (
            &[
                "--store",
                "5..25",
                "--tanks",
                "3",
                "--margin",
                "0.2",
                "--acid-joins",
            ],
            vec![
                ("coldest", "5"),
                ("hottest", "77 F"),
                ("tanks", "3"),
                ("margin", "0.2"),
                ("acid", "joins"),
            ],
        ),
    ];
    for (more, fields) in cases {
        let page = get("stock", &[&asked[..], &fields].concat());
        assert_eq!(page.status, 200, "{fields:?}");
        let shown = read(&page.text);
        let pieces = terminal(&[&TWO_SALTS_TYPED[..], &typed, more].concat());
        let mut found = 0;
        for word in pieces.iter().flat_map(|piece| piece.split_whitespace()) {
            if word.contains(|c: char| c.is_alphanumeric()) && word.len() > 2 {
                let whole = word.trim_end_matches('-');
                assert!(shown.contains(whole), "{fields:?}\n{word}\n{shown}");
                found += 1;
            }
        }
        assert!(found > 30, "{fields:?}: {found}");
    }
    let csv = get("stock-weigh.csv", &asked);
    assert!(csv.text.starts_with("tank,step,do,id"), "{}", csv.text);
    assert!(get("stock.csv", &asked).text.starts_with("tank,id,name"));
    let unlike = get("stock", &[&asked[..2], &[("volume", "20,5; 10")]].concat()).text;
    assert!(unlike.contains("“20,5” is read as 20.5 L") && unlike.contains("A, 20.5 L"));
}

/// A bought mix: its arithmetic, a meter, a laboratory, a dose and what completes it.
#[test]
fn a_label_shows_the_same_too() {
    let bag = ["label", "4.9-10.8-30.5", "Mg=2.8", "S=6"];
    let made = "potassium-nitrate,monopotassium-phosphate,potassium-sulfate,\
                magnesium-sulfate-heptahydrate,fe-dtpa-11";
    let typed = ["--ingredients", made, "--found", "N=4.6,K2O=29.6"];
    let label = ("label", "4.9-10.8-30.5 + 2.8Mg\nS: 6");
    let asked = [
        label,
        ("ingredients", made),
        ("found", "N 4.6 %\nK2O = 29,6"),
    ];
    let cases: [(&[&str], Query<'_>); 4] = [
        (&[], vec![]),
        (
            &[
                "--dissolve",
                "1",
                "--reads",
                "1.2",
                "--water-reads",
                "0.1",
                "--dose",
                "5mL/gal",
                "--density",
                "1.2",
            ],
            vec![
                ("dissolve", "1 g/L"),
                ("reads", "1,2"),
                ("water-reads", "100 µS/cm"),
                ("dose", "5 mL/gal"),
                ("density", "1.2"),
            ],
        ),
        (
            &["--convention", "us-md", "--liquid", "--no-filler"],
            vec![
                ("convention", "us-md"),
                ("kind", "liquid"),
                ("filler", "none"),
            ],
        ),
        (
            &[
                "--recipe",
                "sonneveld-modified-lettuce",
                "--water",
                "larch-hollow-spring",
                "--tank",
                "120L",
                "--within-bands",
            ],
            vec![
                ("recipe", "sonneveld-modified-lettuce"),
                ("water", "larch-hollow-spring"),
                ("tank", "120"),
                ("keep", "bands"),
            ],
        ),
    ];
    for (more, fields) in cases {
        let page = get("label", &[&asked[..], &fields].concat());
        assert_eq!(page.status, 200, "{fields:?}");
        let shown = read(&page.text);
        let pieces = terminal(&[&bag[..], &typed, more].concat());
        let mut found = 0;
        let words = pieces.iter().flat_map(|piece| piece.split_whitespace());
        for word in words.filter(|word| word.contains(char::is_alphanumeric) && word.len() > 1) {
            assert!(
                shown.contains(word.trim_end_matches('-')),
                "{fields:?}\n{word}\n{shown}"
            );
            found += 1;
        }
        assert!(found > 60, "{fields:?}: {found}");
    }
    let whole = [&asked[..], &[("recipe", "hoagland-2")]].concat();
    assert!(get("label.csv", &whole).text.starts_with("id,name,g_per_l"));
    // Figures a line, without a grade, are read alike.
    let lines = [("label", "N 4.9\nP2O5 10.8\nK2O 30.5\nMg 2.8\nS 6")];
    let lines = get("label", &[&lines[..], &asked[1..]].concat());
    assert_eq!(read(&lines.text), read(&get("label", &asked).text));
}

#[test]
fn waters_are_blended() {
    let shares = "rain-barrel 60 %\nquarry-end-well: 0,4\n";
    let fields = [
        ("recipe", "hoagland-2"),
        ("water", "blend"),
        ("blend", shares),
    ];
    let page = read(&get("formulate", &fields).text);
    let arguments = ["formulate", "hoagland-2", "--blend", "rain-barrel=0.6"];
    let arguments = [&arguments[..], &["--blend", "quarry-end-well=0.4"]].concat();
    for piece in terminal(&arguments) {
        assert!(page.contains(&piece), "{piece}\n{page}");
    }
    let own = ("own-water", "alkalinity_meq_l = 2\n[holds]\nCa = 40\n");
    let half = ("blend", "rain-barrel 50 %\nown 50 %\n");
    let mixed = get(
        "formulate",
        &[("recipe", "hoagland-2"), ("water", "blend"), half, own],
    );
    assert_eq!(mixed.status, 200);
    let less = ("blend", "rain-barrel 50 %\nown 40 %\n");
    let refused = get(
        "formulate",
        &[("recipe", "hoagland-2"), ("water", "blend"), less, own],
    );
    assert_eq!(refused.status, 422);
    let (_, beside) = refused
        .text
        .split_once("id=\"blend-fault\">")
        .expect("a fault");
    assert!(beside.contains("add up to 0.9"), "{beside}");
}

/// A reservoir by the tank: the same steps, takings and meters as the terminal shows.
#[test]
fn a_reservoir_shows_the_same_too() {
    const DEMO: [&str; 4] = [
        "sonneveld-modified-lettuce",
        "--water",
        "larch-hollow-spring",
        "--stock",
    ];
    let stocks = "recipes/data/demo/stocks.toml";
    let pasted = std::fs::read_to_string(stocks).expect("shipped");
    let typed = [
        "--reading",
        "950 ppm@500",
        "--ph",
        "6.9",
        "--level",
        "110 L",
        "--tank",
        "120 L",
        "--temperature",
        "68 F",
        "--gallons",
    ];
    let correct = [&["correct"], &DEMO[..], &[stocks], &typed].concat();
    let corrected = question(&[
        ("stocks", "own"),
        ("own-stocks", &pasted),
        ("reading", "950 ppm@500"),
        ("ph", "6,9"),
        ("level", "110 L"),
        ("tank", "120 L"),
        ("temperature", "68"),
        ("measure", "us"),
    ]);
    let readings = [
        "--readings",
        "recipes/data/demo/readings.csv",
        "--tank",
        "20L",
    ];
    let refill = [&["refill"], &DEMO[..3], &readings].concat();
    let refilled = question(&[("readings", "demo"), ("tank", "20 L")]);
    let meter = vec![
        "meter",
        "--check",
        "1.413=1.38",
        "--buffer",
        "7=7.4",
        "--reading",
        "650ppm",
    ];
    let checked = vec![
        ("checks", "1.413 = 1.38"),
        ("buffers", "7 = 7.4"),
        ("reading", "650 ppm"),
    ];
    for (path, arguments, fields) in [
        ("correct", correct, corrected),
        ("refill", refill, refilled),
        ("meter", meter, checked),
    ] {
        let page = read(&get(path, &fields).text);
        for piece in terminal(&arguments) {
            assert!(page.contains(&piece), "{path}: {piece}\n{page}");
        }
    }
    let opened = read(&get("correct", &[]).text);
    assert!(opened.contains("comes into band"), "{opened}");
}
