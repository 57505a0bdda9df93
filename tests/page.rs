//! The pages, asked without a server: the same figures as the terminal, every field, every fault.

mod daily;
mod everywhere;
mod faults;
mod folder;
mod hostile;
mod journal;
mod links;
mod marks;
mod own;
mod same;
mod sure;
mod trade;

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

/// A mix for two stock tanks.
const TWO_SALTS: (&str, &str) = (
    "mix",
    "calcium-nitrate-fertilizer 0.4\npotassium-nitrate 0.5\nmagnesium-sulfate-heptahydrate 0.2\n\
     monopotassium-phosphate 0.12\nboric-acid 0.0009",
);

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
    // And with all that was found.
    for detail in ["", "all"] {
        let asked = question(&[&all[..], &[("detail", detail)]].concat());
        let heaviest = get("formulate", &asked).text.len() + assets;
        assert!(heaviest <= WEIGHT, "{heaviest}");
    }
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
