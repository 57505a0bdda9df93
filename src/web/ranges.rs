//! The fields of what may be off, for every page that shows ranges.

use super::ask::Asking;
use super::form::{Choice, Field};
use crate::cli::ranges::{self, THINGS, Thing};
use saltwright_fertilizers::{Node, Value};

/// The field that asks for ranges, one for each thing that may be off, and the figure to narrow.
pub fn fields() -> Vec<Field> {
    fields_of(|_| true)
}

/// The same for what is in a bag alone.
pub fn bag_fields() -> Vec<Field> {
    fields_of(|thing| ["tolerance", "bag"].contains(&thing.name))
}

fn fields_of(matters: impl Fn(&Thing) -> bool) -> Vec<Field> {
    let choices = vec![
        Choice::new("", "no"),
        Choice::new("yes", "yes, from the tolerances of the bags"),
    ];
    let things = THINGS.iter().filter(|thing| matters(thing));
    let things = things.map(|thing| Field::line(name(thing), thing.words, thing.unit));
    let asked = Field::one("ranges", "A range on every figure", choices)
        .hint("What is typed below counts as well: the furthest that it can be off.");
    let narrow = Field::line("narrow", "Measure next for", "").hint("K, EC, pH, cost …");
    let asked = std::iter::once(asked);
    asked.chain(things).chain([narrow]).collect()
}

/// The field that asks how sure the bands are to be.
pub fn sure_field() -> Field {
    Field::line("sure", "Bands that hold for any bag", "")
        .hint("worst-case, or how often all of them are to hold, like 95 %.")
}

/// Name of a thing's field.
fn name(thing: &Thing) -> String {
    format!("off-{}", thing.name)
}

/// Reads what may be off into the request.
pub fn ask(asking: &mut Asking<'_>) {
    let mut entries: Vec<(&str, Node)> = Vec::new();
    for thing in &THINGS {
        let field = name(thing);
        let Some(typed) = asking.value(&field) else {
            continue;
        };
        match thing.read(typed) {
            Ok(by) => {
                asking.origin(format!("ranges.{}", thing.key), &field);
                entries.push((thing.key, Node::number(by)));
            }
            Err(problem) => asking.refuse(&field, problem),
        }
    }
    if let Some(problem) = asking.value("narrow").and_then(ranges::unknown_figure) {
        asking.refuse("narrow", problem);
    }
    if !entries.is_empty() {
        asking.set("ranges", Node::table(entries), "ranges");
    } else if asking.value("ranges") == Some("yes") || asking.value("narrow").is_some() {
        asking.set("ranges", Value::Bool(true).into(), "ranges");
    }
}

/// Reads how sure the bands are to be.
pub fn ask_sure(asking: &mut Asking<'_>) {
    let Some(typed) = asking.value("sure") else {
        return;
    };
    match ranges::sure(typed) {
        Ok(sure) => asking.set("sure", sure, "sure"),
        Err(problem) => asking.refuse("sure", problem),
    }
}
