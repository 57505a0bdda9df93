//! The stocks that stand beside a tank: the fields that choose them, for every page that pours.

use super::ask::Asking;
use super::form::{Choice, Field};
use super::own;
use crate::cli::stocks;
use saltwright_fertilizers::Node;
use saltwright_fertilizers::units::parse_ratio;

/// The invented stocks of the demonstration.
const DEMO: &str = include_str!("../../recipes/data/demo/stocks.toml");
/// How stocks of one's own may look.
const EXAMPLE: &str =
    "tank,id,g_per_l_stock\nA,calcium-nitrate-fertilizer,41\nB,potassium-nitrate,50";

/// The choice of stocks.
pub fn choice(none: &str) -> Field {
    let choices = vec![
        Choice::new("", none),
        Choice::new("demo", "invented jugs, to try"),
        Choice::new(own::OWN, "my own, pasted below"),
    ];
    Field::one("stocks", "Stocks", choices)
}

/// Stocks of one's own, and how they are diluted.
pub fn pasted() -> [Field; 2] {
    [
        Field::lines("own-stocks", "My stocks (CSV, JSON or TOML)", EXAMPLE)
            .hint("What the page of stock tanks keeps as JSON will do."),
        Field::line("ratio", "Dilution of the stocks", "1 to"),
    ]
}

/// The stocks that are chosen, and the field they stand in.
pub fn ask(asking: &mut Asking<'_>) -> Option<(Node, &'static str)> {
    let (text, field) = match asking.value("stocks")? {
        own::OWN => (asking.text("own-stocks"), "own-stocks"),
        _ => (Some(DEMO), "stocks"),
    };
    let Some(text) = text else {
        own::empty(asking, "own-stocks", "the list of stocks");
        return None;
    };
    let read = asking.within(field, |asking, faults| {
        stocks::from_text(text, &asking.known, faults)
    });
    Some((read?, field))
}

/// Sets their dilution within a table of the request.
pub fn ratio(asking: &mut Asking<'_>, table: (&mut Node, &str)) {
    asking.figure("ratio", table, "ratio", parse_ratio);
}
