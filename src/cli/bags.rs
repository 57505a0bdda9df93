//! The rows of a price list, gathered by fertilizer: the bags it is sold in, and what is at home.

use saltwright_fertilizers::prices::PriceRow;
use saltwright_fertilizers::{Faults, Node, Problem, Value};

/// What `purchase` is asked of each fertilizer, in the order of the list.
pub fn by_fertilizer(rows: Vec<PriceRow>, file: &str, faults: &mut Faults) -> Vec<(String, Node)> {
    let mut bags: Vec<(String, Bags)> = Vec::new();
    for row in rows {
        let at = bags.iter().position(|(id, _)| *id == row.id);
        let at = at.unwrap_or_else(|| {
            bags.push((row.id.clone(), Bags::default()));
            bags.len() - 1
        });
        bags[at].1.add(&row, file, faults);
    }
    bags.retain(|(_, bags)| !bags.is_empty());
    bags.into_iter()
        .map(|(id, bags)| (id, bags.node()))
        .collect()
}

/// How a fertilizer is sold, and what is at home.
#[derive(Default)]
struct Bags {
    line: Option<usize>,
    sizes: Vec<Node>,
    on_hand_kg: Option<f64>,
}

impl Bags {
    fn add(&mut self, row: &PriceRow, file: &str, faults: &mut Faults) {
        self.line = self.line.or(row.line);
        if let Some((kg, price)) = row.bag() {
            let at = |value: f64| at_line(row.line, Value::Number(value));
            let entries = [("bag_kg", Some(kg)), ("price_per_bag", price)];
            let entries = entries
                .into_iter()
                .filter_map(|(key, value)| Some((key.to_owned(), at(value?))));
            let bag = Value::Table(entries.collect());
            self.sizes.push(at_line(row.line, bag));
        }
        let Some(kg) = row.on_hand_kg else { return };
        if self.on_hand_kg.is_some() && self.on_hand_kg != row.on_hand_kg {
            let what = format!("{} is on hand twice, with different kilograms", row.id);
            let mend = "Say what is on hand in one row of it.".to_owned();
            let mut in_file = Faults::in_file(file);
            in_file.add(
                row.line,
                "on_hand_kg",
                Problem::Contradiction { what, mend },
            );
            faults.extend(in_file.into_list());
        }
        self.on_hand_kg = Some(kg);
    }

    fn is_empty(&self) -> bool {
        self.sizes.is_empty() && self.on_hand_kg.is_none()
    }

    fn node(self) -> Node {
        let sizes = (!self.sizes.is_empty()).then(|| Value::List(self.sizes).into());
        let entries = [
            ("sizes", sizes),
            ("on_hand_kg", self.on_hand_kg.map(Node::number)),
        ];
        let entries = entries
            .into_iter()
            .filter_map(|(key, node)| Some((key, node?)));
        Node {
            line: self.line,
            ..Node::table(entries)
        }
    }
}

const fn at_line(line: Option<usize>, value: Value) -> Node {
    Node { line, value }
}
