//! A price list: what each fertilizer costs, in whole bags or by the kilogram, and what is at home.
//!
//! A fertilizer that is sold in several bag sizes has a row for each.

use crate::document::{Limits, Node, Reader, Value};
use crate::fault::{Fault, Faults, Problem};
use crate::grid::Grid;
use crate::units::GRAMS_PER_POUND;

const COLUMNS: [&str; 8] = [
    "id",
    "price_per_kg",
    "price_per_100_lb",
    "bag_kg",
    "bag_lb",
    "price_per_bag",
    "on_hand_kg",
    "note",
];
/// A bag: from a gram to a silo.
const BAG_KG: Limits = Limits::new(1e-3, 1e6, " kg");
/// The same in pounds.
const BAG_LB: Limits = Limits::new(2e-3, 2e6, " lb");
/// What is at hand.
const ON_HAND_KG: Limits = Limits::new(0.0, 1e9, " kg");
/// Kilograms in a pound.
const KG_PER_LB: f64 = GRAMS_PER_POUND / 1000.0;
/// How far two prices of one row may disagree, relative: rounding to cents.
const AGREEMENT: f64 = 0.01;

/// What one fertilizer costs and how it is sold.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceRow {
    /// Line in its file.
    pub line: Option<usize>,
    /// Fertilizer.
    pub id: String,
    /// Price by the kilogram, where given or worked out from the bag.
    pub price_per_kg: Option<f64>,
    /// Size of a bag.
    pub bag_kg: Option<f64>,
    /// Price of a bag.
    pub price_per_bag: Option<f64>,
    /// What is left at home.
    pub on_hand_kg: Option<f64>,
}

impl PriceRow {
    /// The bag of this row in kilograms and its price, which may lack; worked out from the kilogram
    /// where that alone is given.
    pub fn bag(&self) -> Option<(f64, Option<f64>)> {
        let kg = self.bag_kg?;
        let by_kg = self.price_per_kg.map(|price| price * kg);
        Some((kg, self.price_per_bag.or(by_kg)))
    }

    /// True where both rows tell of the same thing for sale.
    fn is_again(&self, id: &str, bag_kg: Option<f64>) -> bool {
        let other_bag = self.bag_kg.is_some() && bag_kg.is_some() && self.bag_kg != bag_kg;
        self.id == id && !other_bag
    }
}

/// What a kilogram costs of each fertilizer that has a price, in the order of the list: of several
/// bag sizes the one whose kilogram costs least.
pub fn by_the_kilogram(rows: &[PriceRow]) -> Vec<(String, Node)> {
    let mut least: Vec<(&str, f64)> = Vec::new();
    for (id, price) in rows
        .iter()
        .filter_map(|row| Some((row.id.as_str(), row.price_per_kg?)))
    {
        match least.iter_mut().find(|(known, _)| *known == id) {
            Some((_, known)) => *known = known.min(price),
            None => least.push((id, price)),
        }
    }
    let nodes = least.into_iter();
    nodes
        .map(|(id, price)| (id.to_owned(), Node::number(price)))
        .collect()
}

/// Reads a price list (CSV); on any fault all faults come back.
pub fn read_csv(file: &str, text: &str) -> Result<Vec<PriceRow>, Vec<Fault>> {
    let mut faults = Faults::in_file(file);
    let Some(grid) = Grid::read(text, &COLUMNS, &mut faults) else {
        return faults.finish(None);
    };
    let mut rows: Vec<PriceRow> = Vec::new();
    for row in grid.rows() {
        let line = Some(row.line);
        let entries = grid.entries(row).map(|(key, node)| (key.to_owned(), node));
        let value = Value::Table(entries.collect());
        let node = Node { line, value };
        let Some(mut reader) = Reader::open(&node, "", &mut faults) else {
            continue;
        };
        let id = reader.id("Name the fertilizer.", &mut faults);
        let bag_kg = bag(&mut reader, &mut faults);
        let price_per_bag = reader.number("price_per_bag", Limits::PRICE, &mut faults);
        let price_per_kg = per_kg(&mut reader, bag_kg, price_per_bag, &mut faults);
        let on_hand_kg = reader.number("on_hand_kg", ON_HAND_KG, &mut faults);
        let Some(id) = id.map(str::to_owned) else {
            continue;
        };
        if rows.iter().any(|row| row.is_again(&id, bag_kg)) {
            faults.add(line, "id", Problem::Twice { name: id });
            continue;
        }
        rows.push(PriceRow {
            line,
            id,
            price_per_kg,
            bag_kg,
            price_per_bag,
            on_hand_kg,
        });
    }
    if rows.is_empty() && faults.is_empty() {
        let what = "this price list";
        let mend = "Give a row for each fertilizer: id and price_per_kg.";
        faults.add(None, "", Problem::Empty { what, mend });
    }
    faults.finish(Some(rows))
}

/// The size of a bag, in kilograms.
fn bag(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<f64> {
    let kg = reader.number("bag_kg", BAG_KG, faults);
    let lb = reader.number("bag_lb", BAG_LB, faults);
    if kg.is_some() && lb.is_some() {
        let what = "the bag is given in kilograms and in pounds".to_owned();
        let mend = "Keep one of the two.".to_owned();
        faults.add(
            reader.line(),
            "bag_lb",
            Problem::Contradiction { what, mend },
        );
    }
    kg.or(lb.map(|lb| lb * KG_PER_LB))
}

/// The price by the kilogram, however it is given; two that disagree are a fault.
fn per_kg(
    reader: &mut Reader<'_>,
    bag_kg: Option<f64>,
    price_per_bag: Option<f64>,
    faults: &mut Faults,
) -> Option<f64> {
    let before = faults.len();
    let given = reader.number("price_per_kg", Limits::PRICE, faults);
    let by_100_lb = reader.number("price_per_100_lb", Limits::PRICE, faults);
    let has_bag = reader.get("bag_kg").is_some() || reader.get("bag_lb").is_some();
    if price_per_bag.is_some() && !has_bag {
        let what = "a bag has a price, but its size is not given".to_owned();
        let mend = "Add bag_kg or bag_lb, or give price_per_kg.".to_owned();
        faults.add(
            reader.line(),
            "price_per_bag",
            Problem::Contradiction { what, mend },
        );
    }
    let by_100_lb = by_100_lb.map(|price| price / (100.0 * KG_PER_LB));
    let by_bag = price_per_bag.zip(bag_kg).map(|(price, kg)| price / kg);
    let prices = [
        ("price_per_kg", given),
        ("price_per_100_lb", by_100_lb),
        ("price_per_bag", by_bag),
    ];
    let mut found: Option<f64> = None;
    for (column, price) in prices {
        let Some(price) = price else { continue };
        let first = *found.get_or_insert(price);
        if (price - first).abs() > AGREEMENT * first.max(price) && faults.len() == before {
            let what = format!("this comes to {price:.4} per kg, another column to {first:.4}");
            let mend = "Keep the one you pay.".to_owned();
            faults.add(reader.line(), column, Problem::Contradiction { what, mend });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bag_price_gives_a_price_by_the_kilogram() {
        let rows = read_csv("p.csv", "id,bag_kg,price_per_bag\na,25,50\n").expect("sound");
        assert_eq!(rows[0].price_per_kg, Some(2.0));
    }

    #[test]
    fn pounds_are_read() {
        let list = "id,price_per_100_lb,bag_lb,price_per_bag\na,45.359237,,\nb,,50,22.6796185\n";
        let rows = read_csv("p.csv", list).expect("sound");
        for row in &rows {
            assert!(
                (row.price_per_kg.expect("a price") - 1.0).abs() < 1e-12,
                "{row:?}"
            );
        }
        assert!((rows[1].bag_kg.expect("a bag") - 22.679_618_5).abs() < 1e-9);
    }

    #[test]
    fn prices_that_say_nothing_or_two_things_are_refused() {
        let list = "id,price_per_kg,bag_kg,price_per_bag\na,,0,5\nb,,,5\nc,1,25,50\nd,2,25,50\n";
        let faults = read_csv("p.csv", list).expect_err("faulty");
        let said: Vec<_> = faults.iter().map(Fault::place).collect();
        let wanted = [
            "p.csv:2, bag_kg",
            "p.csv:3, price_per_bag",
            "p.csv:4, price_per_bag",
        ];
        assert_eq!(said, wanted);
    }

    #[test]
    fn several_bag_sizes_are_several_rows() {
        let text = "id,price_per_kg,bag_kg,price_per_bag\na,,25,50\na,3,1,\na,,5,\n";
        let rows = read_csv("p.csv", text).expect("sound");
        let bags: Vec<_> = rows.iter().filter_map(PriceRow::bag).collect();
        let wanted = [(25.0, Some(50.0)), (1.0, Some(3.0)), (5.0, None)];
        assert_eq!(bags, wanted);
        let twice = read_csv("p.csv", "id,price_per_kg,bag_kg\na,2,25\na,3,25\na,4,\n");
        let twice = twice.expect_err("twice");
        let said: Vec<_> = twice.iter().map(Fault::place).collect();
        assert_eq!(said, ["p.csv:3, id", "p.csv:4, id"]);
    }

    #[test]
    fn faults_name_line_and_column() {
        let faults = read_csv("p.csv", "id,price_per_kg\na,-1\na,x\n,2\n").expect_err("faulty");
        let said: Vec<_> = faults.iter().map(Fault::place).collect();
        let wanted = [
            "p.csv:2, price_per_kg",
            "p.csv:3, price_per_kg",
            "p.csv:3, id",
            "p.csv:4, id",
        ];
        assert_eq!(said, wanted);
    }
}
