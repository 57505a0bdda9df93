//! A batch from the report of `formulate`: what of it belongs into the journal.

use crate::store::files::read_text;
use crate::store::journal::Batch;
use crate::store::journal::entry::{Dose, Held};
use saltwright_fertilizers::{Faults, MixLine, Node, Problem, Value};
use std::path::Path;

/// Reads a report; `litres` go before those of the report.
pub fn read(path: &Path, litres: Option<f64>, faults: &mut Faults) -> Option<Batch> {
    let text = read_text(path)
        .map_err(|fault| faults.extend([fault]))
        .ok()?;
    let mut in_file = Faults::in_file(&path.display().to_string());
    let batch = match Node::from_json(&text) {
        Ok(node) => taken(&node, litres, &mut in_file),
        Err(problem) => {
            in_file.add(None, "", problem);
            None
        }
    };
    let is_sound = in_file.is_empty();
    faults.extend(in_file.into_list());
    batch.filter(|_| is_sound)
}

fn taken(node: &Node, litres: Option<f64>, faults: &mut Faults) -> Option<Batch> {
    let Some(mix) = node.get("mix") else {
        let what = "the mix";
        let mend = "Name a file that formulate --json wrote.";
        faults.add(None, "mix", Problem::Empty { what, mend });
        return None;
    };
    let lines = MixLine::read_list(mix, "mix", faults);
    let dose = |line: MixLine| Dose {
        id: line.id,
        g_per_l: line.g_per_l,
        ml_per_l: line.ml_per_l,
    };
    let delivered = match node.get("nutrients").map(|rows| &rows.value) {
        Some(Value::List(rows)) => rows.iter().filter_map(held).collect(),
        _ => Vec::new(),
    };
    Some(Batch {
        recipe: text(node, "recipe"),
        water: text(node, "water"),
        litres: litres.or_else(|| number(node.get("litres"))),
        mix: lines.into_iter().map(dose).collect(),
        delivered,
        ec_ms_cm: number(node.get("ec").and_then(|ec| ec.get("predicted_ms_cm"))),
    })
}

fn held(row: &Node) -> Option<Held> {
    Some(Held {
        nutrient: text(row, "nutrient"),
        mg_l: number(row.get("delivered"))?,
    })
}

fn text(node: &Node, key: &str) -> String {
    match node.get(key).map(|node| &node.value) {
        Some(Value::Text(text)) => text.clone(),
        _ => String::new(),
    }
}

fn number(node: Option<&Node>) -> Option<f64> {
    match node?.value {
        Value::Number(number) => Some(number),
        _ => None,
    }
}
