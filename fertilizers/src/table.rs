//! The fertilizer table: the shipped one, a grower's own, and the CSV that holds it.
//!
//! In: CSV text.  Out: fertilizers, or every fault of the file at once.

use crate::assay::Assay;
use crate::document::{Node, Value};
use crate::fault::{Fault, Faults, Problem, nearest};
use crate::fertilizer::Fertilizer;
use crate::grid::{Grid, Row, guarded};
use crate::nutrient::Nutrient;
use std::collections::HashMap;
use std::sync::Arc;

/// The shipped table. Sources stand in each row and in `data/SOURCES.md`.
const SHIPPED: &str = include_str!("../data/salts.csv");

/// Columns beside the nutrients, in the order they are written.
const PLAIN_COLUMNS: [&str; 13] = [
    "id",
    "name",
    "formula",
    "strength_pct",
    "tolerance_pct",
    "density_g_per_ml",
    "solubility_g_per_l_20c",
    "tank",
    "hazard",
    "common",
    "source",
    "note",
    "price_per_kg",
];

/// Fertilizers by id, in the order of their file.
#[derive(Clone, Debug, Default)]
pub struct Table {
    rows: Vec<Arc<Fertilizer>>,
    by_id: HashMap<String, usize>,
}

impl Table {
    /// The shipped table.
    pub fn shipped() -> Result<Self, Vec<Fault>> {
        Self::read_csv("the shipped fertilizer table", SHIPPED)
    }

    /// Reads a table; on any fault all faults come back.
    pub fn read_csv(file: &str, text: &str) -> Result<Self, Vec<Fault>> {
        let mut faults = Faults::in_file(file);
        let known: Vec<&str> = PLAIN_COLUMNS.into_iter().chain(Assay::keys()).collect();
        let Some(grid) = Grid::read(text, &known, &mut faults) else {
            return faults.finish(None);
        };
        let mut table = Self::default();
        if !grid.has("id") {
            let what = "the column id";
            let mend = "Head one column with id; every fertilizer needs a short name.";
            faults.add(Some(1), "id", Problem::Empty { what, mend });
            return faults.finish(None);
        }
        for row in grid.rows() {
            let node = row_node(&grid, row, &mut faults);
            if let Some(fertilizer) = Fertilizer::read(&node, "", &mut faults) {
                let line = Some(row.line);
                let id = fertilizer.id.clone();
                if table.push(fertilizer).is_err() {
                    faults.add(line, "id", Problem::Twice { name: id });
                }
            }
        }
        if table.rows.is_empty() && faults.is_empty() {
            let what = "this table";
            let mend = "Give a row for each fertilizer.";
            faults.add(None, "", Problem::Empty { what, mend });
        }
        faults.finish(Some(table))
    }

    /// Adds a fertilizer; one with an id that is there already comes back.
    pub fn push(&mut self, fertilizer: Fertilizer) -> Result<(), Box<Fertilizer>> {
        if self.by_id.contains_key(&fertilizer.id) {
            return Err(Box::new(fertilizer));
        }
        self.by_id.insert(fertilizer.id.clone(), self.rows.len());
        self.rows.push(Arc::new(fertilizer));
        Ok(())
    }

    /// The same rows, all on the common shelf.
    #[must_use]
    pub fn shelved(mut self) -> Self {
        for row in &mut self.rows {
            Arc::make_mut(row).common = true;
        }
        self
    }

    /// These rows, then those of another table whose ids are not among them.
    #[must_use]
    pub fn over(mut self, below: &Self) -> Self {
        for row in below {
            if self.get(&row.id).is_none() {
                self.by_id.insert(row.id.clone(), self.rows.len());
                self.rows.push(Arc::clone(row));
            }
        }
        self
    }

    /// The fertilizer of that id.
    pub fn get(&self, id: &str) -> Option<&Arc<Fertilizer>> {
        self.by_id.get(id).and_then(|row| self.rows.get(*row))
    }

    /// All rows, in order.
    pub fn iter(&self) -> std::slice::Iter<'_, Arc<Fertilizer>> {
        self.rows.iter()
    }

    /// How many rows.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// True where there are none.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The id nearest to what was typed.
    pub fn nearest(&self, typed: &str) -> Option<String> {
        nearest(typed, self.rows.iter().map(|row| row.id.as_str()))
    }

    /// The table as CSV that [`Table::read_csv`] reads back.
    pub fn to_csv(&self) -> String {
        let mut head: Vec<&str> = PLAIN_COLUMNS[..4].to_vec();
        head.extend(Nutrient::ALL.map(Nutrient::key));
        head.extend(&PLAIN_COLUMNS[4..]);
        let mut writer = csv::Writer::from_writer(Vec::new());
        let mut records = vec![head.into_iter().map(str::to_owned).collect::<Vec<_>>()];
        records.extend(self.rows.iter().map(|row| csv_record(row)));
        for record in records {
            let cells = record.iter().map(|cell| guarded(cell).into_owned());
            if writer.write_record(cells.collect::<Vec<_>>()).is_err() {
                return String::new();
            }
        }
        let bytes = writer.into_inner().unwrap_or_default();
        String::from_utf8(bytes).unwrap_or_default()
    }
}

impl<'a> IntoIterator for &'a Table {
    type Item = &'a Arc<Fertilizer>;
    type IntoIter = std::slice::Iter<'a, Arc<Fertilizer>>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// One CSV row in the shape of a fertilizer object.
fn row_node(grid: &Grid, row: &Row, faults: &mut Faults) -> Node {
    let mut plain: Vec<(String, Node)> = Vec::new();
    let mut assay: Vec<(String, Node)> = Vec::new();
    for (name, node) in grid.entries(row) {
        if name == "common" {
            plain.push((name.into(), yes_or_no(&node, faults)));
        } else if PLAIN_COLUMNS.contains(&name) {
            plain.push((name.into(), node));
        } else {
            assay.push((name.into(), node));
        }
    }
    let line = Some(row.line);
    if !assay.is_empty() {
        let value = Value::Table(assay);
        plain.push(("assay_pct".into(), Node { line, value }));
    }
    Node {
        line,
        value: Value::Table(plain),
    }
}

fn yes_or_no(node: &Node, faults: &mut Faults) -> Node {
    let written = match &node.value {
        Value::Text(text) => text.to_lowercase(),
        _ => String::new(),
    };
    let value = match written.as_str() {
        "yes" | "y" | "true" | "1" | "x" => true,
        "no" | "n" | "false" | "0" => false,
        _ => {
            let (found, wanted) = ("another word", "yes or no");
            faults.add(node.line, "common", Problem::WrongShape { found, wanted });
            false
        }
    };
    Node {
        line: node.line,
        value: Value::Bool(value),
    }
}

fn csv_record(row: &Fertilizer) -> Vec<String> {
    let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let formula = row.formula.as_ref().map_or("", |f| f.text());
    let mut record = vec![
        row.id.clone(),
        row.name.clone(),
        formula.to_owned(),
        number(row.strength_pct),
    ];
    record.extend(
        row.assay_pct
            .iter()
            .map(|(_, percent)| number((percent > 0.0).then_some(percent))),
    );
    record.extend([
        number(row.tolerance_pct),
        number(row.density_g_per_ml),
        number(row.solubility_g_per_l_20c),
        row.tank.map_or("", |tank| tank.name()).to_owned(),
        row.hazard.clone(),
        if row.common { "yes" } else { "" }.to_owned(),
        row.source.clone(),
        row.note.clone(),
        number(row.price_per_kg),
    ]);
    record
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shipped() -> Table {
        Table::shipped().unwrap_or_else(|faults| panic!("{}", faults[0]))
    }

    #[test]
    fn the_shipped_table_is_sound_and_long_enough() {
        let table = shipped();
        assert!(table.len() >= 45, "{}", table.len());
        for row in &table {
            assert!(!row.source.is_empty(), "{} has no source", row.id);
        }
        let common = |test: fn(&Fertilizer) -> bool| {
            let rows = table.iter().filter(|row| row.common && test(row));
            rows.map(|row| row.id.clone()).collect::<Vec<_>>()
        };
        assert!((15..=22).contains(&common(|_| true).len()));
        assert_eq!(common(Fertilizer::is_acid).len(), 2);
        assert!(common(|row| row.assay_pct[Nutrient::Ni] > 0.0).is_empty());
    }

    #[test]
    fn a_table_written_is_the_table_read() {
        let table = shipped();
        let again = Table::read_csv("again", &table.to_csv()).expect("readable");
        assert_eq!(table.len(), again.len());
        for (old, new) in table.iter().zip(&again) {
            for (nutrient, percent) in old.assay_pct.iter() {
                assert!(
                    (new.assay_pct[nutrient] - percent).abs() < 1e-9,
                    "{} {nutrient}",
                    old.id
                );
            }
            assert_eq!(old.tank, new.tank);
            assert_eq!(old.common, new.common);
        }
    }

    #[test]
    fn all_faults_of_a_file_at_once() {
        let text = "id;name;formula;NO3-N;K;P;P2O5\n\
                    a;A;KNO3;13,7;38,2;;\n\
                    b;B;;abc;38;;\n\
                    a;again;KCl;;;;\n\
                    c;C;KXl;;;;\n\
                    d;D;;;;22,7;22,7\n\
                    e;E;;;;;\n";
        let faults = Table::read_csv("mine.csv", text).expect_err("faulty");
        let said: Vec<_> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 5, "{said:#?}");
        for (said, wanted) in said.iter().zip([
            "mine.csv:3, assay_pct.NO3-N: \"abc\" is not a number",
            "mine.csv:4, id: \"a\" stands here twice",
            "mine.csv:5, formula: \"KXl\": Xl is no element (character 2)",
            "mine.csv:6, assay_pct.P2O5: P 22.7 % and P2O5 22.7 % disagree",
            "mine.csv:7, formula: a fertilizer without formula and assay is empty",
        ]) {
            assert!(said.starts_with(wanted), "{said}\n{wanted}");
        }
    }
}
