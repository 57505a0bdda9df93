//! Stocks from a file: the report of `stock` (JSON), the tanks that it wrote (CSV), or a list by
//! hand (TOML).

use super::input::Known;
use super::origins::Origins;
use crate::store::files::read_text;
use crate::view::csv;
use saltwright_fertilizers::grid::Grid;
use saltwright_fertilizers::{Faults, Node, Value};
use std::path::Path;

/// Sets the stocks of a request to those of a file.
pub fn fill(
    request: &mut Node,
    path: &Path,
    known: &Known<'_>,
    origins: &mut Origins,
    faults: &mut Faults,
) {
    if let Some(stocks) = from_file(path, known, faults) {
        origins.file("stock", &path.display().to_string());
        request.set("stock", stocks);
    }
}

/// The stocks of a file, for a request.
pub fn from_file(path: &Path, known: &Known<'_>, faults: &mut Faults) -> Option<Node> {
    let name = path.display().to_string();
    let mut in_file = Faults::in_file(&name);
    let stocks = read(path, known, &mut in_file);
    faults.extend(in_file.into_list());
    stocks
}

fn read(path: &Path, known: &Known<'_>, faults: &mut Faults) -> Option<Node> {
    let text = read_text(path)
        .map_err(|fault| faults.extend([fault]))
        .ok()?;
    from_text(&text, known, faults)
}

/// The stocks of a text: JSON begins with a brace, CSV with a head that names the tanks, TOML is
/// the rest.
pub fn from_text(text: &str, known: &Known<'_>, faults: &mut Faults) -> Option<Node> {
    let text = text.trim_start_matches('\u{feff}');
    let head = text.lines().next().unwrap_or_default();
    let is_csv = head
        .split([',', ';', '\t'])
        .any(|cell| cell.trim().trim_matches('"') == "g_per_l_stock");
    if is_csv {
        return from_csv(text, known, faults);
    }
    let read = if text.trim_start().starts_with('{') {
        Node::from_json(text).map_err(|problem| (None, problem))
    } else {
        Node::from_toml(text)
    };
    read.map_err(|(line, problem)| faults.add(line, "", problem))
        .ok()
}

/// One row a fertilizer, with the tank that it is in.
fn from_csv(text: &str, known: &Known<'_>, faults: &mut Faults) -> Option<Node> {
    let grid = Grid::read(text, &csv::TANKS, faults)?;
    let mut tanks: Vec<(String, Vec<Node>)> = Vec::new();
    for row in grid.rows() {
        let (mut tank, mut line) = (String::new(), Vec::new());
        for (key, cell) in grid.entries(row) {
            match (key, &cell.value) {
                ("tank", Value::Text(name)) => name.trim().clone_into(&mut tank),
                ("id", Value::Text(id)) => {
                    if known.get(id.trim()).is_none() {
                        faults.add(Some(row.line), "id", known.unknown(id.trim()));
                    }
                    line.push(("id", Node::text(id.trim())));
                }
                ("g_per_l_stock", _) => line.push(("g_per_l_stock", cell)),
                _ => {}
            }
        }
        let line = Node::table(line);
        match tanks.iter_mut().find(|(name, _)| *name == tank) {
            Some((_, mix)) => mix.push(line),
            None => tanks.push((tank, vec![line])),
        }
    }
    let tanks = tanks.into_iter().map(|(name, mix)| {
        let mix = Value::List(mix).into();
        Node::table([("name", Node::text(name)), ("mix", mix)])
    });
    Some(Node::table([(
        "tanks",
        Value::List(tanks.collect()).into(),
    )]))
}
