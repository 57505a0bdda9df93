//! Mixes that are given: typed (`ID=0.5 ID=12mL`) or in a file (CSV, or JSON).
//!
//! Every line is checked against the fertilizers that are known, so that a fault names its file and
//! line or the word that was typed.

use super::input::Known;
use super::typed::{pair, quantity};
use crate::store::files::read_text;
use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::units::{Amount, Litres, parse_amount, parse_mass};
use saltwright_fertilizers::{Faults, MixLine, Node};
use std::path::Path;

/// A mix from a file; amounts of a batch need its volume.
pub fn from_file(
    path: &Path,
    litres: Option<Litres>,
    known: &Known<'_>,
    faults: &mut Faults,
) -> Vec<Node> {
    let name = path.display().to_string();
    let mut in_file = Faults::in_file(&name);
    let lines = match read_text(path) {
        Err(fault) => {
            in_file.extend([fault]);
            Vec::new()
        }
        Ok(text) if path.extension().is_some_and(|ending| ending == "json") => {
            from_json(&text, &mut in_file)
        }
        Ok(text) => MixLine::read_csv(&name, &text, litres).unwrap_or_else(|others| {
            in_file.extend(others);
            Vec::new()
        }),
    };
    let nodes = checked(&lines, known, &mut in_file);
    faults.extend(in_file.into_list());
    nodes
}

/// A list of lines, or a report that holds one.
fn from_json(text: &str, faults: &mut Faults) -> Vec<MixLine> {
    match Node::from_json(text) {
        Ok(node) => MixLine::read_list(node.get("mix").unwrap_or(&node), "mix", faults),
        Err(problem) => {
            faults.add(None, "", problem);
            Vec::new()
        }
    }
}

/// `ID=0.5 ID=12mL`: amounts per litre, or for the batch where its volume is given. A word that is
/// none belongs where it was typed.
pub fn typed(
    words: &[String],
    at: &str,
    litres: Option<Litres>,
    known: &Known<'_>,
    faults: &mut Faults,
) -> Vec<Node> {
    let per = litres.map_or(1.0, |litres| litres.0);
    let mut lines = Vec::new();
    for word in words {
        let Some((id, amount)) = pair(word, at, faults) else {
            continue;
        };
        let per_litre = |text: &str| {
            let amount = parse_amount(text)?;
            let value = match amount {
                Amount::Mass(grams) => grams.0 / per,
                Amount::Volume(millilitres) => millilitres.0 / per,
            };
            Ok((amount, Limits::G_PER_L.check(value)?))
        };
        let Some((amount, value)) = quantity(amount, id, per_litre, faults) else {
            continue;
        };
        let is_mass = matches!(amount, Amount::Mass(_));
        lines.push(MixLine {
            at: id.to_owned(),
            line: None,
            id: id.to_owned(),
            g_per_l: is_mass.then_some(value),
            ml_per_l: (!is_mass).then_some(value),
        });
    }
    checked(&lines, known, faults)
}

/// `ID=250g B:ID=12g`: what was really weighed, and into which tank; each beside its name as typed.
pub fn weighed(words: &[String], option: &str, faults: &mut Faults) -> Vec<(String, Node)> {
    let grams = |text: &str| parse_mass(text).map(|grams| grams.0);
    let mut entries = Vec::new();
    for word in words {
        let Some((name, amount)) = pair(word, option, faults) else {
            continue;
        };
        let field = format!("{option} {name}");
        let Some(amount) = quantity(amount, field.trim_start(), grams, faults) else {
            continue;
        };
        let (tank, id) = name
            .split_once(':')
            .map_or((None, name), |(tank, id)| (Some(tank), id));
        let mut entry = Node::table([("id", Node::text(id)), ("g", Node::number(amount))]);
        if let Some(tank) = tank {
            entry.set("tank", Node::text(tank));
        }
        entries.push((name.to_owned(), entry));
    }
    entries
}

/// The lines as nodes; unknown fertilizers and volumes without a density are faults.
pub fn checked(lines: &[MixLine], known: &Known<'_>, faults: &mut Faults) -> Vec<Node> {
    for line in lines {
        match known.get(&line.id) {
            Some(fertilizer) => {
                line.dose(fertilizer, faults);
            }
            None => faults.add(line.line, &line.at, known.unknown(&line.id)),
        }
    }
    lines.iter().map(node).collect()
}

fn node(line: &MixLine) -> Node {
    let amounts = [("g_per_l", line.g_per_l), ("ml_per_l", line.ml_per_l)];
    let amounts = amounts
        .into_iter()
        .filter_map(|(key, value)| Some((key, Node::number(value?))));
    Node::table([("id", Node::text(&line.id))].into_iter().chain(amounts))
}
