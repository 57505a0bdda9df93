//! What is typed behind an option: quantities with units, `NAME=VALUE` pairs.
//!
//! In: text.  Out: numbers, or a fault that names the option. Every fault is noted and reading goes
//! on, so that all are named at once.

use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::units::{self, Litres};
use saltwright_fertilizers::{Faults, Node, Problem};

/// A quantity read by `parse`.
pub fn quantity<T>(
    typed: &str,
    option: &str,
    parse: impl Fn(&str) -> Result<T, Problem>,
    faults: &mut Faults,
) -> Option<T> {
    let read = parse(typed);
    read.map_err(|problem| faults.add(None, option, problem))
        .ok()
}

/// A plain number as a node.
pub fn number(typed: &str, option: &str, faults: &mut Faults) -> Option<Node> {
    quantity(typed, option, units::parse_number, faults).map(Node::number)
}

/// A volume of solution within the limits of a batch.
pub fn volume(typed: &str, option: &str, faults: &mut Faults) -> Option<Litres> {
    let within = |text: &str| {
        let litres = units::parse_volume(text)?;
        Limits::LITRES.check(litres.0).map(Litres)
    };
    quantity(typed, option, within, faults)
}

/// `NAME=VALUE`.
pub fn pair<'a>(typed: &'a str, option: &str, faults: &mut Faults) -> Option<(&'a str, &'a str)> {
    let split = typed.split_once('=');
    if split.is_none() {
        let reason = format!("\"{typed}\" has no value beside it");
        let mend = "Write it like NAME=0.5, without blanks.";
        faults.add(None, option, Problem::Unreadable { reason, mend });
    }
    let (name, value) = split?;
    Some((name.trim(), value.trim()))
}

/// `NAME=VALUE` entries with values read by `parse`; a name twice is a fault.
pub fn pairs(
    typed: &[String],
    option: &str,
    parse: impl Fn(&str) -> Result<f64, Problem>,
    faults: &mut Faults,
) -> Vec<(String, Node)> {
    let mut entries: Vec<(String, Node)> = Vec::new();
    for typed in typed {
        let Some((name, value)) = pair(typed, option, faults) else {
            continue;
        };
        let option = format!("{option} {name}");
        let Some(value) = quantity(value, &option, &parse, faults) else {
            continue;
        };
        if entries.iter().any(|(known, _)| known == name) {
            let name = name.to_owned();
            faults.add(None, option, Problem::Twice { name });
        } else {
            entries.push((name.to_owned(), Node::number(value)));
        }
    }
    entries
}
