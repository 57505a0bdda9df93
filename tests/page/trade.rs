//! Prices, bags and cheaper salts read the same on the page as in the terminal.

use super::*;

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

/// Every column of costs names the currency that was asked for.
#[test]
fn costs_stand_under_their_currency() {
    let told = get("substitute", &[]);
    let shown = read(&told.text);
    assert!(shown.contains("off by up to EUR per 1000 L"), "{shown}");
    assert!(!shown.contains("1000 L cost"), "{shown}");
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
        "--currency",
        "EUR",
    ];
    let arguments = [&["purchase"], &shared[..], &season].concat();
    let page = read(&get("purchase", &[]).text);
    for piece in terminal(&arguments) {
        assert!(page.contains(&piece), "{piece}\n{page}");
    }
}
