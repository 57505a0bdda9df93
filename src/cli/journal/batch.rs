//! A batch from the report of `formulate` or `stock`: what of it belongs into the journal.

use crate::store::files::read_text;
use crate::store::journal::Batch;
use crate::store::journal::entry::{Dose, Held};
use saltwright_fertilizers::{Faults, MixLine, Node, Problem, Value};
use saltwright_solver::formulate::FormulateReport;
use saltwright_solver::formulate::report::{MixRow, NutrientRow};
use saltwright_solver::stock::report::{DilutedRow, StockReport};
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

/// A batch as `formulate` answers it.
pub fn of_formulation(report: &FormulateReport) -> Batch {
    let dose = |row: &MixRow| Dose {
        id: row.id.clone(),
        g_per_l: Some(row.g_per_l),
        ml_per_l: row.ml_per_l,
    };
    let held = |row: &NutrientRow| Held {
        nutrient: row.nutrient.to_string(),
        mg_l: row.delivered,
    };
    Batch {
        recipe: report.recipe.clone(),
        water: report.water.clone(),
        litres: report.litres,
        mix: report.mix.iter().map(dose).collect(),
        delivered: report.nutrients.iter().map(held).collect(),
        ec_ms_cm: Some(report.ec.predicted_ms_cm),
    }
}

/// A batch of stocks, from the mix that was asked for: what the diluted stocks come to.
pub fn of_stocks(report: &StockReport, mix: Option<&Node>) -> Batch {
    // The mix was read without a fault before it was answered.
    let lines = mix.map(|mix| MixLine::read_list(mix, "mix", &mut Faults::default()));
    let held = |row: &DilutedRow| Held {
        nutrient: row.nutrient.to_string(),
        mg_l: row.formulation,
    };
    let ratio = report.ratio.map_or_else(String::new, |ratio| {
        format!(" 1:{}", crate::view::round::plain(ratio))
    });
    Batch {
        recipe: format!("stocks{ratio}"),
        water: report.water.clone(),
        litres: None,
        mix: lines.into_iter().flatten().map(dose).collect(),
        delivered: report.diluted.nutrients.iter().map(held).collect(),
        ec_ms_cm: report.diluted.ec_formulation_ms_cm,
    }
}

fn dose(line: MixLine) -> Dose {
    Dose {
        id: line.id,
        g_per_l: line.g_per_l,
        ml_per_l: line.ml_per_l,
    }
}

fn taken(node: &Node, litres: Option<f64>, faults: &mut Faults) -> Option<Batch> {
    let Some(mix) = node.get("mix") else {
        let what = "the mix";
        let mend = "Name a file that formulate --json wrote.";
        faults.add(None, "mix", Problem::Empty { what, mend });
        return None;
    };
    let lines = MixLine::read_list(mix, "mix", faults);
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
