//! The pages, asked without a server: the same figures as the terminal, every field, every fault.

use crate::common::{LETTUCE, run, stdout, with};
use saltwright::web::{Asked, Document, Fields, Media, Method, PAGES, Page, Site};
use serde_json::Value;

thread_local! {
    static SITE: Site = Site::new().expect("the shipped library is sound");
}

/// Most bytes of a page with its style sheet, script and mark.
const WEIGHT: usize = 60_000;

fn ask(method: Method, path: &str, fields: &[(&str, &str)]) -> Document {
    let asked = Asked {
        method,
        base: "/".into(),
        path: path.into(),
        fields: Fields::of(fields),
    };
    SITE.with(|site| site.answer(&asked))
}

fn get(path: &str, fields: &[(&str, &str)]) -> Document {
    ask(Method::Get, path, fields)
}

/// Fields as they are sent.
type Query<'a> = Vec<(&'a str, &'a str)>;

const QUESTION: [(&str, &str); 2] = [
    ("recipe", "sonneveld-modified-lettuce"),
    ("water", "larch-hollow-spring"),
];

fn question<'a>(more: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    QUESTION.iter().chain(more).copied().collect()
}

/// What a reader sees of the answer: words apart by single blanks, drawings left out.
fn read(page: &str) -> String {
    let (_, answer) = page.split_once("id=\"answer\"").expect("an answer");
    let (answer, _) = answer.split_once("</section>").expect("its end");
    let mut text = String::new();
    let mut drawn = false;
    for piece in answer.split('<') {
        let (tag, words) = piece.split_once('>').unwrap_or(("", piece));
        drawn = (drawn || tag.starts_with("svg")) && !tag.starts_with("/svg");
        text.push(' ');
        if !drawn {
            text.push_str(words);
        }
    }
    let blanks = |c: char| c.is_whitespace() || c == '\u{2007}' || c == '\u{2008}';
    let words: Vec<&str> = text.split(blanks).filter(|word| !word.is_empty()).collect();
    words
        .join(" ")
        .replace("&lt;", "<")
        .replace("&amp;", "&")
        .replace("&quot;", "\"")
}

/// What the terminal shows, piece by piece: rows of tables without their bars, and paragraphs; what
/// speaks of its own options is left out.
fn terminal(arguments: &[&str]) -> Vec<String> {
    let heads = ["weigh", "goes in", "top-up", "mg/L", "mmol/L", "meq/L"];
    let words = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut pieces = Vec::new();
    let sheet = stdout(&run(arguments));
    for (at, block) in sheet.split("\n\n").enumerate() {
        if at == 0 {
            let lines = block.lines().flat_map(|line| line.split("   "));
            pieces.extend(lines.map(words));
        } else if heads.iter().any(|head| block.starts_with(head)) {
            let rows = block
                .lines()
                .skip(1)
                .map(|row| row.split("  |").next().unwrap_or(row));
            pieces.extend(rows.map(|row| words(row.split("   #").next().unwrap_or(row))));
        } else {
            let lines = block.lines().take_while(|line| !line.starts_with("next "));
            let lines = lines.map(|line| line.strip_prefix("! ").unwrap_or(line));
            pieces.push(words(&lines.collect::<Vec<_>>().join(" ")));
        }
    }
    pieces.retain(|piece| !piece.is_empty());
    pieces
}

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
fn a_sheet_by_the_scale_has_boxes_and_lines_to_write_on() {
    let asked = [
        TWO_SALTS,
        ("ratio", "100"),
        ("volume", "20"),
        ("scale", "0.1"),
        ("paper", "weigh"),
    ];
    let page = get("stock", &asked).text;
    let boxes = page.matches("<input type=\"checkbox\"><span").count();
    assert!(boxes >= 12, "{boxes}");
    assert_eq!(
        page.matches("class=\"write\"").count(),
        3,
        "batch, date, by"
    );
    assert!(page.contains("<caption>Tank A, 20 L, 1:100</caption>"));
    // A caution at its step has the width of the sheet.
    assert!(page.contains("<tr class=\"more\"><td></td><td colspan=\"4\">! Feeds fire"));
    let labels = get("stock", &[&asked[..4], &[("paper", "labels")]].concat()).text;
    assert_eq!(labels.matches("class=\"label\"").count(), 2);
}

#[test]
fn a_formulation_is_taken_on_to_stock_tanks() {
    let page = get("formulate", &question(&[("ratio", "128")])).text;
    let (_, link) = page.split_once("href=\"/stock?mix=").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let query = format!("mix={}", query.replace("&amp;", "&"));
    let fields = Fields::read(query.as_bytes());
    assert_eq!(fields.get("ratio"), Some("128"));
    let mix = fields.get("mix").expect("a mix").to_owned();
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "stock".into(),
        fields,
    };
    let shown = SITE.with(|site| site.answer(&asked));
    assert_eq!(shown.status, 200);
    let text = read(&shown.text);
    assert!(
        text.contains("1:128, made with Larch Hollow spring"),
        "{text}"
    );
    // The masses are those of the formulation, to more digits than are shown.
    let report: Value =
        serde_json::from_str(&get("formulate.json", &question(&[])).text).expect("JSON");
    for row in report["mix"].as_array().expect("a mix") {
        let id = row["id"].as_str().expect("an id");
        let line = mix
            .lines()
            .find(|line| line.starts_with(id))
            .expect("its line");
        let typed = line.split(' ').nth(1).expect("an amount");
        let typed: f64 = typed.parse().expect("a number");
        let meant = row["ml_per_l"].as_f64().or(row["g_per_l"].as_f64());
        let meant = meant.expect("an amount");
        assert!((typed - meant).abs() <= 5e-6 * meant, "{line}: {meant}");
    }
}

#[test]
fn every_page_opens_and_is_light() {
    let assets: usize = ["sheet.css", "swap.js", "icon.svg"]
        .iter()
        .map(|name| get(name, &[]).text.len())
        .sum();
    for page in PAGES {
        let document = get(page.path(), &[]);
        assert_eq!(document.status, 200, "{}", page.path());
        let text = &document.text;
        assert!(
            text.len() + assets <= WEIGHT,
            "{}: {}",
            page.path(),
            text.len() + assets
        );
        assert!(text.contains("<html lang=\"en\">") && text.contains("<h1>"));
        // Nothing from elsewhere, nothing that the policy of the server would block.
        for forbidden in [
            "http://",
            "https://",
            "//cdn",
            " style=",
            " onclick=",
            "<style",
        ] {
            assert!(!text.contains(forbidden), "{}: {forbidden}", page.path());
        }
    }
    // The heaviest answer: prices with their picture, a batch, a stock, US units.
    let all = [
        ("tank", "120"),
        ("prices", "demo"),
        ("ratio", "100"),
        ("measure", "us"),
        ("units", "meq"),
    ];
    let heaviest = get("formulate", &question(&all)).text.len() + assets;
    assert!(heaviest <= WEIGHT, "{heaviest}");
    for paper in ["", "weigh", "labels"] {
        let asked = [
            TWO_SALTS,
            ("tanks", "4"),
            ("ratio", "100"),
            ("volume", "20"),
            ("scale", "0.1"),
            ("weighed", "potassium-nitrate 900"),
            ("paper", paper),
        ];
        let stock = get("stock", &asked).text.len() + assets;
        assert!(stock <= WEIGHT, "{paper}: {stock}");
    }
    let bag = [
        (
            "label",
            "15-5-15 + 4Ca + 2Mg\nFe 0.1\nMn 0.05\nZn 0.02\nB 0.02\nCu 0.01\nMo 0.01",
        ),
        ("found", "N 14\nK2O 15"),
        ("dissolve", "1"),
        ("reads", "1.4"),
        ("dose", "1"),
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "quarry-end-well"),
        ("prices", "demo"),
        ("measure", "us"),
    ];
    let bag = get("label", &bag).text.len() + assets;
    assert!(bag <= WEIGHT, "{bag}");
    for asset in ["sheet.css", "swap.js"] {
        assert!(!get(asset, &[]).text.contains("http"), "{asset}");
    }
    assert_eq!(
        get("", &[]).text.len(),
        get(PAGES[0].path(), &[]).text.len()
    );
}

#[test]
fn every_path_has_one_page() {
    for (at, page) in PAGES.iter().enumerate() {
        assert!(PAGES[..at].iter().all(|other| other.path() != page.path()));
    }
    assert_eq!(get("no-such-page", &[]).status, 404);
    assert_eq!(get("../etc/passwd", &[]).status, 404);
    assert_eq!(get("how.json", &[]).status, 404);
    assert_eq!(ask(Method::Post, "how", &[]).status, 405);
    assert_eq!(ask(Method::Post, "sheet.css", &[]).status, 405);
}

/// A field of the main job, what is typed into it, and what is said of that.
const FAULTY: [(&str, &str, &str); 16] = [
    ("tank", "abc", "is not a number"),
    ("tank", "1e12", "more than the limit"),
    ("tank", "3 buckets", "unit"),
    ("strength", "-1", "below zero"),
    ("ec", "650 ppm", "unit"),
    ("ratio", "5000", "more than the limit"),
    ("residual", "x", "not a number"),
    ("aim-K", "300..200", "above the maximum"),
    ("aim-K", "much", "not a number"),
    ("only", "urea, uria", "Did you mean \"urea\""),
    ("at-most", "urea 20 g", "litres"),
    ("already", "uria 1", "Did you mean \"urea\""),
    ("measure", "uk", "no choice called"),
    ("off-scale", "lots", "not a number"),
    ("off-water", "120 %", "more than all of it"),
    ("sure", "often", "no way to be sure"),
];

/// A mix for two stock tanks.
const TWO_SALTS: (&str, &str) = (
    "mix",
    "calcium-nitrate-fertilizer 0.4\npotassium-nitrate 0.5\nmagnesium-sulfate-heptahydrate 0.2\n\
     monopotassium-phosphate 0.12\nboric-acid 0.0009",
);

/// Other questions with one fault: the page, its fields, the faulty one and what is said of it.
#[rustfmt::skip]
fn faulty() -> Vec<(&'static str, Query<'static>, &'static str, &'static str)> {
    let own = |text| vec![("recipe", "own"), ("own-recipe", text)];
    let prices = [("prices", "own"), ("own-prices", "id,price_per_kg\nuria,1\n")];
    let tanks = |more: &[(&'static str, &'static str)]| [&[TWO_SALTS], more].concat();
    let bag = |more: &[(&'static str, &'static str)]| {
        // A later field of the same name would be refused as one too many.
        let stands = more.iter().any(|(name, _)| *name == "label");
        let label = (!stands).then_some(("label", "15-5-15"));
        label.into_iter().chain(more.iter().copied()).collect::<Query<'_>>()
    };
    let cheaper = |more: &[(&'static str, &'static str)]| {
        let asked = [("recipe", "hoagland-2"), ("prices", "demo")];
        asked.into_iter().chain(more.iter().copied()).collect::<Query<'_>>()
    };
    let table = "id,formula,K\na,KNO3,20\na,KNO4x,\nb,,abc\n";
    vec![
        ("formulate", question(&[("tank", "1"), ("tank", "2")]), "tank", "stands here twice"),
        ("formulate", vec![("recipe", "own")], "own-recipe", "is empty"),
        ("formulate", own("[aims]\nK = 200\nCaa = 90\n"), "own-recipe", "line 3, aims.Caa"),
        ("formulate", question(&prices), "own-prices", "line 2"),
        ("predict", vec![("mix", "uria 0.5")], "mix", "Did you mean \"urea\""),
        ("predict", vec![("mix", "urea")], "mix", "NAME=VALUE"),
        ("stock", vec![("tanks", "2")], "mix", "is empty"),
        ("stock", tanks(&[("ratio", "10000")]), "ratio", "more than the limit"),
        ("stock", tanks(&[("ratio", "0")]), "ratio", "less than the limit"),
        ("stock", tanks(&[("tanks", "0")]), "tanks", "no choice called"),
        ("stock", tanks(&[("coldest", "80")]), "coldest", "more than the limit"),
        ("stock", tanks(&[("coldest", "-5")]), "coldest", "below zero"),
        ("stock", tanks(&[("coldest", "25"), ("hottest", "5")]), "coldest", "Swap the two"),
        ("stock", tanks(&[("volume", "20 L; much")]), "volume", "not a number"),
        ("stock", tanks(&[("volume", "1e12")]), "volume", "more than the limit"),
        ("stock", tanks(&[("paper", "weigh")]), "volume", "for a tank"),
        ("stock", tanks(&[("volume", "20"), ("weighed", "urea 9 g")]), "weighed", ">urea: "),
        ("stock", tanks(&[("weighed", "urea 9 g")]), "weighed", "how many litres"),
        ("stock", tanks(&[("margin", "7")]), "margin", "more than the limit"),
        ("substitute", vec![("recipe", "hoagland-2")], "prices", "is empty"),
        ("substitute", cheaper(&[("now", "uria 1")]), "now", "Did you mean \"urea\""),
        ("substitute", cheaper(&[("now", "urea")]), "now", "NAME=VALUE"),
        ("substitute", cheaper(&[("now", "urea 0")]), "now", "is empty"),
        ("substitute", cheaper(&[("now", "urea 1"), ("at-hand", "urea")]), "at-hand", "not both"),
        ("substitute", cheaper(&[("at-hand", "uria")]), "at-hand", "Did you mean \"urea\""),
        ("substitute", cheaper(&[("keep", "aims")]), "keep", "no choice called"),
        ("substitute", cheaper(&[("currency", "pieces of eight, old")]), "currency", "16"),
        ("label", vec![("dose", "1 g/L")], "label", "is empty"),
        ("label", bag(&[("label", "15-5-15 + 4Caa")]), "label", "Did you mean \"Ca\""),
        ("label", vec![("label", "N 60\nK2O 60")], "label", "100"),
        ("label", vec![("label", "N much")], "label", "not a number"),
        ("label", vec![("label", "15-5")], "label", "grade"),
        ("label", bag(&[("convention", "mars")]), "convention", "no choice called"),
        ("label", bag(&[("ingredients", "urea, uria")]), "ingredients", ">uria: "),
        ("label", bag(&[("reads", "1.4")]), "dissolve", "the dose that was dissolved is empty"),
        ("label", bag(&[("dissolve", "5 mL/gal")]), "dissolve", "further down"),
        ("label", bag(&[("dissolve", "1 g"), ("reads", "650 ppm")]), "reads", "unit"),
        ("label", bag(&[("found", "Zn 0.1")]), "found", "does not promise it"),
        ("label", bag(&[("values", "Nn 1")]), "values", "Did you mean"),
        ("label", bag(&[("tank", "20 L")]), "tank", "without a recipe"),
        ("label", bag(&[("dose", "0")]), "dose", "less than the limit"),
        ("label", bag(&[("recipe", "hoagland-2"), ("water", "wel")]), "water", "no choice called"),
        ("recipes", vec![("own-recipe", "[aims]\nK = 200\nMg = lots\n")], "own-recipe", "line 3"),
        ("waters", vec![("own-water", "[holds]\nCa = -3\n")], "own-water", "line 2"),
        ("fertilizers", vec![("own-fertilizers", table)], "own-fertilizers", "line 4"),
    ]
}

/// Cheaper salts read the same on the page and in the terminal, and the curve is drawn.
#[test]
fn a_page_of_cheaper_salts_says_what_the_terminal_says() {
    let words = "substitute sonneveld-modified-lettuce --water larch-hollow-spring --prices \
                 recipes/data/demo/prices.csv --currency EUR --keep deviation";
    let words: Vec<&str> = words.split_whitespace().collect();
    let asked = question(&[
        ("prices", "demo"),
        ("currency", "EUR"),
        ("keep", "deviation"),
    ]);
    let asked: Query<'_> = asked
        .into_iter()
        .filter(|(name, _)| *name != "tank")
        .collect();
    let page = get("substitute", &asked);
    assert_eq!(page.status, 200);
    let shown = read(&page.text);
    let labels = ["today ", "EC ", "No single swap"];
    let pieces = terminal(&words);
    let facts = pieces
        .iter()
        .filter(|piece| labels.iter().any(|label| piece.starts_with(label)));
    let mut found = 0;
    for piece in facts {
        assert!(shown.contains(piece.as_str()), "{piece}\n{shown}");
        found += 1;
    }
    assert!(found >= 2, "{pieces:?}");
    let curve = "<title>Cost against allowed deviation</title>";
    assert!(page.text.contains(curve) && page.text.contains("path class=\"run\""));
    let csv = get("substitute.csv", &asked);
    assert!(csv.text.starts_with("id,name,g_per_l"), "{}", csv.text);
}

/// A field is asked, answered and refused beside itself.
#[test]
fn every_fault_stands_beside_its_field() {
    let main_job = FAULTY.iter().map(|(field, typed, said)| {
        let fields = question(&[(*field, *typed)]);
        ("formulate", fields, *field, *said)
    });
    for (path, fields, field, said) in main_job.chain(faulty()) {
        let document = get(path, &fields);
        assert_eq!(document.status, 422, "{path} {fields:?}");
        let slot = format!("id=\"{field}-fault\">");
        let (_, beside) = document
            .text
            .split_once(&slot)
            .unwrap_or_else(|| panic!("{fields:?}"));
        let (beside, _) = beside.split_once("</ul>").expect("its end");
        let beside = beside.replace("&quot;", "\"");
        assert!(beside.contains(said), "{fields:?}: {beside}");
        let tied = format!("{field}-fault\" aria-invalid=\"true\"");
        assert!(document.text.contains(&tied), "{fields:?}");
    }
}

#[test]
fn a_field_that_is_not_there_is_refused_by_name() {
    for path in ["formulate", "predict", "recipes", "crops"] {
        let document = get(path, &[("watr", "rain-barrel"), ("mesure", "us")]);
        assert_eq!(document.status, 422, "{path}");
        assert!(document.text.contains("no field called"), "{path}");
        assert!(
            document.text.contains("Did you mean &quot;measure&quot;"),
            "{path}"
        );
    }
}

#[test]
fn the_line_that_is_wrong_is_shown() {
    let text = "[aims]\nK = 200\nCaa = 90 # calcium\n";
    let page = get("recipes", &[("own-recipe", text)]).text;
    assert!(page.contains("<code>Caa = 90 # calcium</code>"), "{page}");
}

#[test]
fn one_s_own_lists_are_checked_shown_and_used() {
    let recipe = "name = \"Mine\"\n[aims]\nK = 200\nCa = 90\n";
    let checked = get("recipes", &[("own-recipe", recipe)]);
    assert_eq!(checked.status, 200);
    for said in ["<h2>Mine</h2>", "200.0", "Formulate with it"] {
        assert!(checked.text.contains(said), "{said}");
    }
    let used = get("formulate", &[("recipe", "own"), ("own-recipe", recipe)]);
    assert_eq!(used.status, 200);
    assert!(read(&used.text).contains("Mine in pure water"));
    let table =
        "id;formula;NO3-N;K;Ca;tank\nmy-nitrate;KNO3;13,5;38;;either\nmy-calcium;;15,5;;19;A\n";
    let fields = [
        ("recipe", "own"),
        ("own-recipe", recipe),
        ("own-fertilizers", table),
    ];
    let used = get("formulate", &fields);
    assert!(read(&used.text).contains("my-nitrate"), "{}", used.text);
    // The text to start from is one that is read.
    for id in [
        "hoagland-2",
        "barry-1996-range",
        "sonneveld-straver-lettuce-from-memory",
    ] {
        let shown = get("recipes", &[("show", id)]).text;
        let (_, text) = shown.split_once("<textarea").expect("a text");
        let (_, text) = text.split_once('>').expect("its start");
        let (text, _) = text.split_once("</textarea>").expect("its end");
        let text = text
            .replace("&quot;", "\"")
            .replace("&amp;", "&")
            .replace("&lt;", "<");
        let status = get("recipes", &[("own-recipe", text.as_str())]).status;
        assert_eq!(status, 200, "{id}: {text}");
        let page = get(
            "formulate",
            &[("recipe", "own"), ("own-recipe", text.as_str())],
        );
        let shipped = get("formulate", &[("recipe", id)]);
        let strip = |page: &Document| {
            let text = read(&page.text);
            let from = text.find("What to weigh").expect("amounts");
            text[from..text.find(" proof ").expect("a proof")].to_owned()
        };
        assert_eq!(strip(&page), strip(&shipped), "{id}");
    }
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

#[test]
fn what_is_pasted_is_never_markup() {
    let evil = "<script>alert(1)</script>\"'&";
    let recipe = format!("name = '{}'\n[aims]\nK = 200\n", evil.replace('\'', ""));
    for (path, field, value) in [
        ("formulate", "tank", evil),
        ("formulate", "recipe", evil),
        ("formulate", evil, evil),
        ("recipes", "show", evil),
        ("recipes", "find", evil),
        ("recipes", "own-recipe", recipe.as_str()),
        ("predict", "mix", evil),
        ("fertilizers", "own-fertilizers", evil),
    ] {
        let page = get(path, &[(field, value)]).text;
        assert!(!page.contains("<script>alert"), "{path} {field}");
    }
}

/// An address is the question: blanks are left out, and a form that is short becomes an address.
#[test]
fn questions_have_one_plain_address() {
    let asked = |method, fields: Fields| {
        let (base, path) = ("/".to_owned(), "formulate".to_owned());
        let asked = Asked {
            method,
            base,
            path,
            fields,
        };
        SITE.with(|site| site.answer(&asked))
    };
    let blank = Fields::read(b"recipe=hoagland-2&tank=&aim-K=");
    let moved = asked(Method::Get, blank.clone());
    assert_eq!(
        (moved.status, moved.location.as_deref()),
        (303, Some("/formulate?recipe=hoagland-2"))
    );
    assert_eq!(
        asked(Method::Post, blank).location.as_deref(),
        Some("/formulate?recipe=hoagland-2")
    );
    assert_eq!(
        asked(Method::Get, Fields::read(b"recipe=hoagland-2")).status,
        200
    );
    let long =
        format!("name = \"{}\"\n[aims]\nK = 200\n", "x".repeat(3900)) + &"# more\n".repeat(600);
    let fields = [("recipe", "own"), ("own-recipe", long.as_str())];
    let answered = ask(Method::Post, "formulate", &fields);
    assert_eq!(answered.status, 200);
    assert!(answered.text.contains("too long for an address"));
}

#[test]
fn links_keep_how_figures_are_shown() {
    let page = get(
        "formulate",
        &question(&[("measure", "us"), ("units", "meq")]),
    )
    .text;
    for path in ["predict", "recipes", "how"] {
        assert!(
            page.contains(&format!("href=\"/{path}?measure=us&amp;units=meq\"")),
            "{path}"
        );
    }
    assert!(page.contains("Tank<span class=\"unit\"> US gal</span>"));
    let shared = Asked {
        method: Method::Get,
        base: "/token/".into(),
        path: String::new(),
        fields: Fields::default(),
    };
    let page = SITE.with(|site| site.answer(&shared)).text;
    let links = page.matches("href=\"/").count() + page.matches("src=\"/").count();
    let inside = page.matches("href=\"/token/").count() + page.matches("src=\"/token/").count();
    assert!(links > 8 && links == inside, "{links} {inside}");
}

#[test]
fn the_same_answer_for_a_spreadsheet_and_a_program() {
    let fields = question(&[("tank", "120 L"), ("prices", "demo")]);
    let json = get("formulate.json", &fields);
    assert_eq!((json.status, json.media), (200, Media::Json));
    let report: Value = serde_json::from_str(&json.text).expect("JSON");
    let arguments = [
        "--tank",
        "120 L",
        "--prices",
        "recipes/data/demo/prices.csv",
        "--json",
    ];
    let typed: Value = serde_json::from_str(&stdout(&run(&with(&arguments)))).expect("JSON");
    for key in ["mix", "nutrients", "ec", "cost_per_m3", "cautions"] {
        assert_eq!(report[key], typed[key], "{key}");
    }
    let mix = get("formulate.csv", &fields);
    assert_eq!(mix.file.as_deref(), Some("formulate.csv"));
    assert!(mix.text.starts_with("id,name,g_per_l") && mix.text.lines().count() > 8);
    assert!(
        get("formulate-nutrients.csv", &fields)
            .text
            .starts_with("nutrient,aim")
    );
    assert!(
        get("fertilizers.csv", &[])
            .text
            .starts_with("id,name,formula")
    );
    let refused = get("formulate.json", &[("recipe", "hoagland-9")]);
    assert_eq!((refused.status, refused.media), (422, Media::Problem));
}

#[test]
fn a_mix_can_be_taken_on_to_predict() {
    let page = get("formulate", &question(&[])).text;
    let (_, link) = page.split_once("href=\"/predict?mix=").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let query = format!("mix={}", query.replace("&amp;", "&"));
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "predict".into(),
        fields: Fields::read(query.as_bytes()),
    };
    let shown = SITE.with(|site| site.answer(&asked));
    assert_eq!(shown.status, 200);
    let text = read(&shown.text);
    assert!(text.contains("calcium-nitrate-fertilizer") && text.contains("in Larch Hollow spring"));
    // As weighed: within what rounding to three digits costs.
    assert!(
        text.contains("K 1.20 210.") || text.contains("K 1.20 209."),
        "{text}"
    );
}

#[test]
fn pictures_say_what_they_show() {
    let page = get("formulate", &question(&[("prices", "demo")])).text;
    assert!(page.contains("<title>Cost per 1000 L by fertilizer</title>"));
    assert!(page.matches("<title>inside the band</title>").count() >= 12);
    for svg in page.split("<svg").skip(1) {
        let (svg, _) = svg.split_once("</svg>").expect("closed");
        assert!(
            svg.contains("role=\"img\"") && svg.contains("<title>"),
            "{svg}"
        );
        assert!(
            !svg.contains("fill=") && !svg.contains('#'),
            "colours are the style sheet's: {svg}"
        );
    }
    let miss = [
        ("recipe", "hoagland-2"),
        ("water", "quarry-end-well"),
        ("aim-Ca", "..50"),
    ];
    let page = get("formulate", &miss).text;
    assert!(
        page.contains("<strong>above</strong>") && page.contains("OUTSIDE"),
        "{page}"
    );
}

/// Every label names a field that is there, and every field has a label.
#[test]
fn labels_and_fields_belong_together() {
    for page in PAGES {
        let text = get(page.path(), &[]).text;
        let ids: Vec<&str> = text
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        for (at, id) in ids.iter().enumerate() {
            assert!(!ids[..at].contains(id), "{} twice on {}", id, page.path());
        }
        for name in text
            .split("<label for=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            assert!(ids.contains(&name), "{name} on {}", page.path());
        }
        if matches!(page, Page::Job(_)) {
            assert!(text.matches("<label for=").count() >= 5, "{}", page.path());
        }
    }
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

/// A fertilizer that is sold in several sizes has the price of its cheapest kilogram everywhere.
#[test]
fn a_list_of_bags_prices_a_page_as_it_does_a_command() {
    let list = "recipes/data/demo/bags.csv";
    let pasted = std::fs::read_to_string(list).expect("shipped");
    let page = read(
        &get(
            "formulate",
            &[
                ("recipe", "yamazaki-lettuce"),
                ("prices", "own"),
                ("own-prices", &pasted),
            ],
        )
        .text,
    );
    for piece in terminal(&["formulate", "yamazaki-lettuce", "--prices", list]) {
        assert!(page.contains(&piece), "{piece}\n{page}");
    }
}

/// Whole bags: the same purchase as the terminal shows.
#[test]
fn whole_bags_show_the_same_too() {
    let shared = [
        "sonneveld-modified-lettuce",
        "--water",
        "larch-hollow-spring",
    ];
    let season = [
        "--season",
        "120 m3",
        "--prices",
        "recipes/data/demo/bags.csv",
    ];
    let arguments = [&["purchase"], &shared[..], &season].concat();
    let page = read(&get("purchase", &[]).text);
    for piece in terminal(&arguments) {
        assert!(page.contains(&piece), "{piece}\n{page}");
    }
}

#[test]
fn what_is_wrong_stands_beside_its_field() {
    for (path, fields, field, says) in [
        (
            "purchase",
            question(&[("season", "-3"), ("bags", "demo")]),
            "season",
            "below zero",
        ),
        (
            "purchase",
            question(&[("season", "5 m3"), ("bags", "own")]),
            "own-bags",
            "is empty",
        ),
        (
            "purchase",
            question(&[
                ("season", "5 m3"),
                ("bags", "own"),
                ("own-bags", "id,bag_kg,price_per_bag\nuria,25,3"),
            ]),
            "own-bags",
            "urea",
        ),
        ("purchase", question(&[("bags", "demo")]), "season", "empty"),
        (
            "correct",
            question(&[("reading", "650 ppm"), ("tank", "9 L")]),
            "reading",
            "on the 500 scale",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("ph", "0.5"), ("tank", "9 L")]),
            "ph",
            "pH meter",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("level", "10 L"), ("tank", "9 L")]),
            "level",
            "above",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("stocks", "own")]),
            "own-stocks",
            "is empty",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("bottle", "5mL")]),
            "bottle",
            "NAME=VALUE",
        ),
        (
            "correct",
            question(&[("reading", "1.4"), ("tank", "9 L"), ("ph-band", "7..6")]),
            "ph-band",
            "above",
        ),
        ("refill", question(&[]), "own-readings", "is empty"),
        (
            "refill",
            question(&[("own-readings", "at,litres,ec_ms_cm\n1,9,1.4\nx,9,1.4")]),
            "own-readings",
            "no moment",
        ),
        ("meter", vec![("checks", "1.413")], "checks", "has no"),
        ("meter", vec![("reading", "1 bar")], "reading", "not known"),
    ] {
        let page = get(path, &fields);
        assert_eq!(page.status, 422, "{path} {fields:?}");
        let mark = format!("id=\"{field}-fault\"");
        let (_, beside) = page.text.split_once(mark.as_str()).expect(field);
        let (beside, _) = beside.split_once("</ul>").expect("its end");
        assert!(beside.contains(says), "{path} {field}: {beside}");
    }
}

/// Stocks go from their page to the tank that they correct: what is poured is what the stocks hold,
/// and the reading is asked for.
#[test]
fn stocks_are_taken_on_to_a_correction() {
    let asked = [TWO_SALTS, ("ratio", "100"), ("water", "rain-barrel")];
    let page = get("stock", &asked).text;
    let (_, link) = page.split_once("href=\"/correct?").expect("a link");
    let (query, _) = link.split_once('"').expect("its end");
    let on = Fields::read(query.replace("&amp;", "&").as_bytes());
    assert_eq!(on.get("ratio"), Some("100"));
    let kept = ["stocks", "own-stocks", "ratio", "water"];
    let kept: Query<'_> = kept
        .into_iter()
        .map(|name| (name, on.get(name).expect(name)))
        .collect();
    let unread = get("correct", &kept);
    assert_eq!(unread.status, 422);
    assert!(unread.text.contains("the reading is empty"));
    let tank = [
        ("recipe", "hoagland-2"),
        ("tank", "120"),
        ("reading", "0.9"),
    ];
    let poured = |stocks: &str| -> Vec<(String, f64)> {
        let more = kept.iter().filter(|(name, _)| *name != "own-stocks");
        let more: Query<'_> = more.copied().collect();
        let fields = [&tank[..], &more, &[("own-stocks", stocks)]].concat();
        let answer = ask(Method::Post, "correct.json", &fields);
        assert_eq!(answer.status, 200, "{}", answer.text);
        let report: Value = serde_json::from_str(&answer.text).expect("JSON");
        let steps = report["steps"].as_array().expect("steps").iter();
        steps
            .filter(|step| step["do"] == "add-stock")
            .map(|step| (step["tank"].to_string(), step["ml"].as_f64().expect("mL")))
            .collect()
    };
    let told = poured(on.get("own-stocks").expect("stocks"));
    assert_eq!(told.len(), 2, "{told:?}");
    // The report of the stocks themselves, with every digit, pours the same.
    let exact = poured(&get("stock.json", &asked).text);
    for ((tank, ml), (other, exact_ml)) in told.iter().zip(&exact) {
        assert_eq!(tank, other);
        assert!((ml - exact_ml).abs() < 1e-3 * exact_ml, "{ml} {exact_ml}");
    }
}

#[test]
fn a_step_is_big_and_carries_its_caution() {
    let asked = [
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("tank", "120"),
        ("reading", "1.6"),
        ("ph", "7.2"),
        ("acid", "nitric-acid-38"),
    ];
    let page = get("correct", &asked).text;
    assert!(page.contains("<table class=\"steps\"><caption>What to do, in order</caption>"));
    assert!(page.contains("! acid. "), "{page}");
}
