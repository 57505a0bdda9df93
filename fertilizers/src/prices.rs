//! A price list: what each fertilizer costs, in whole bags or by the kilogram.

use crate::document::{self, Limits, Node, Reader, Value};
use crate::fault::{Fault, Faults, Problem};
use crate::grid::Grid;

const COLUMNS: [&str; 6] = [
    "id",
    "price_per_kg",
    "bag_kg",
    "price_per_bag",
    "on_hand_kg",
    "note",
];

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

/// Reads a price list (CSV); on any fault all faults come back.
pub fn read_csv(file: &str, text: &str) -> Result<Vec<PriceRow>, Vec<Fault>> {
    const KILOGRAMS: Limits = Limits::new(0.0, 1e9, " kg");
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
        let id = match reader.get("id") {
            Some(node) => document::id(node, "id", &mut faults),
            None => {
                let what = "the id";
                let mend = "Name the fertilizer.";
                faults.add(line, "id", Problem::Empty { what, mend });
                None
            }
        };
        let bag_kg = reader.number("bag_kg", KILOGRAMS, &mut faults);
        let price_per_bag = reader.number("price_per_bag", Limits::PRICE, &mut faults);
        let by_bag = price_per_bag
            .zip(bag_kg.filter(|kg| *kg > 0.0))
            .map(|(price, kg)| price / kg);
        let price_per_kg = reader.number("price_per_kg", Limits::PRICE, &mut faults);
        let on_hand_kg = reader.number("on_hand_kg", KILOGRAMS, &mut faults);
        let Some(id) = id.map(str::to_owned) else {
            continue;
        };
        if rows.iter().any(|row| row.id == id) {
            faults.add(line, "id", Problem::Twice { name: id });
            continue;
        }
        rows.push(PriceRow {
            line,
            id,
            price_per_kg: price_per_kg.or(by_bag),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bag_price_gives_a_price_by_the_kilogram() {
        let rows = read_csv("p.csv", "id,bag_kg,price_per_bag\na,25,50\n").expect("sound");
        assert_eq!(rows[0].price_per_kg, Some(2.0));
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
