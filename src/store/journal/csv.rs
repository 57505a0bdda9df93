//! Entries as a table for a spreadsheet, and back again.
//!
//! In: entries or text.  Out: text or contents, every fault with its line and column. What is written
//! is read back as it was, but for the history: a table holds what stands.

use super::entry::{Batch, Content, Deed, Details, Done, Entry, Reading, Settings};
use super::moment::Clock;
use crate::view::csv::{optional, write};
use saltwright_fertilizers::document::{Limits, Node, Reader, Value};
use saltwright_fertilizers::grid::Grid;
use saltwright_fertilizers::units::{Amount, parse_amount};
use saltwright_fertilizers::{Fault, Faults, Problem};
use serde::de::DeserializeOwned;
use std::fmt::Write as _;

/// Columns, in the order in which they are written.
const COLUMNS: [&str; 13] = [
    "entry",
    "date_time",
    "utc_offset",
    "system",
    "kind",
    "ec_ms_cm",
    "ph",
    "temperature_c",
    "litres",
    "done",
    "note",
    "settings",
    "batch",
];
/// Entries as CSV.
pub fn print(entries: &[Entry]) -> String {
    write(&COLUMNS, entries.iter().map(cells))
}

fn cells(entry: &Entry) -> Vec<String> {
    let content = &entry.content;
    let (reading, details) = (content.reading, &content.details);
    let settings = (!details.settings.is_empty()).then_some(&details.settings);
    vec![
        entry.number.to_string(),
        content.at.wall(),
        format!("UTC{}", content.at.offset()),
        content.system.clone(),
        content.kind().word().to_owned(),
        optional(reading.ec_ms_cm),
        optional(reading.ph),
        optional(reading.temperature_c),
        optional(reading.litres),
        deeds(&details.done),
        details.note.clone(),
        json(settings),
        json(details.batch.as_ref()),
    ]
}

/// Structures that a cell holds as they are; their fields are always text, numbers and lists.
fn json<T: serde::Serialize>(value: Option<&T>) -> String {
    let text = value.map(|value| serde_json::to_string(value).unwrap_or_default());
    text.unwrap_or_default()
}

/// `drained 20000 mL; added nitric-acid-38 9 mL`.
fn deeds(done: &[Done]) -> String {
    let mut text = String::new();
    for one in done {
        if !text.is_empty() {
            text.push_str("; ");
        }
        text.push_str(one.deed.word());
        if !one.what.is_empty() {
            text.push(' ');
            text.push_str(&one.what);
        }
        // Writing to a text does not fail.
        let _ = match (one.ml, one.g) {
            (Some(ml), _) => write!(text, " {ml} mL"),
            (None, Some(g)) => write!(text, " {g} g"),
            (None, None) => Ok(()),
        };
    }
    text
}

/// Reads contents; on any fault all faults come back. `system` is that of rows that name none.
pub fn read(
    file: &str,
    text: &str,
    system: Option<&str>,
    clock: &Clock,
) -> Result<Vec<Content>, Vec<Fault>> {
    let mut faults = Faults::in_file(file);
    let Some(grid) = Grid::read(text, &COLUMNS, &mut faults) else {
        return faults.finish(None);
    };
    let mut contents = Vec::new();
    for row in grid.rows() {
        let entries = grid.entries(row).map(|(key, node)| (key.to_owned(), node));
        let value = Value::Table(entries.collect());
        let line = Some(row.line);
        contents.extend(content(&Node { line, value }, system, clock, &mut faults));
    }
    if contents.is_empty() && faults.is_empty() {
        let what = "this journal";
        let mend = "Give a row for each entry: date_time, system, and what was read or done.";
        faults.add(None, "", Problem::Empty { what, mend });
    }
    faults.finish(Some(contents))
}

fn content(
    row: &Node,
    system: Option<&str>,
    clock: &Clock,
    faults: &mut Faults,
) -> Option<Content> {
    let before = faults.len();
    let line = row.line;
    let mut reader = Reader::open(row, "", faults)?;
    // The number and the kind follow from the rest.
    reader.accept(&["entry", "kind"]);
    let when = reader.text("date_time", faults).unwrap_or_default();
    let offset = reader.text("utc_offset", faults).unwrap_or_default();
    let offset = offset.strip_prefix("UTC").unwrap_or(offset);
    let at = clock.read(&format!("{when}{offset}"));
    let at = at
        .map_err(|problem| faults.add(line, "date_time", problem))
        .ok();
    let named = reader.text("system", faults).or(system);
    if named.is_none() {
        let (what, mend) = (
            "the system",
            "Name it in each row, or with --system for all.",
        );
        faults.add(line, "system", Problem::Empty { what, mend });
    }
    let reading = Reading {
        ec_ms_cm: reader.number("ec_ms_cm", Limits::EC, faults),
        ph: reader.number("ph", Limits::PH, faults),
        temperature_c: reader.number("temperature_c", Limits::CELSIUS, faults),
        litres: reader.number("litres", super::entry::LEVEL, faults),
    };
    let done = reader.text("done", faults);
    let done = done.map(read_deeds).transpose();
    let done = done
        .map_err(|problem| faults.add(line, "done", problem))
        .ok()
        .flatten();
    let note = reader.text("note", faults);
    let settings: Option<Settings> = read_json(&mut reader, "settings", faults);
    let batch: Option<Batch> = read_json(&mut reader, "batch", faults);
    let content = Content {
        at: at?,
        system: named?.to_owned(),
        reading,
        details: Details {
            done: done.unwrap_or_default(),
            batch,
            settings: settings.unwrap_or_default(),
            note: note.unwrap_or_default().to_owned(),
        },
    };
    if faults.len() == before {
        content.check(line, str::to_owned, faults);
    }
    (faults.len() == before).then_some(content)
}

fn read_json<T: DeserializeOwned>(
    reader: &mut Reader<'_>,
    column: &'static str,
    faults: &mut Faults,
) -> Option<T> {
    let line = reader.line();
    let Value::Text(text) = &reader.get(column)?.value else {
        return None;
    };
    let read = serde_json::from_str(text).map_err(|error| {
        let reason = format!("this cell cannot be read back: {error}");
        let mend = "Leave it as it was written, or empty it.";
        faults.add(line, column, Problem::Unreadable { reason, mend });
    });
    read.ok()
}

fn read_deeds(text: &str) -> Result<Vec<Done>, Problem> {
    let deeds = text.split(';').map(str::trim);
    deeds
        .filter(|deed| !deed.is_empty())
        .map(read_deed)
        .collect()
}

/// `added nitric-acid-38 9 mL`: a word, of what, and how much with its unit.
fn read_deed(text: &str) -> Result<Done, Problem> {
    let unreadable = || Problem::Unreadable {
        reason: format!("\"{text}\" does not say what was done"),
        mend: "Write it like \"added nitric-acid-38 9 mL; drained 20 L\".",
    };
    let (word, rest) = text.split_once(' ').ok_or_else(unreadable)?;
    let deed = Deed::ALL.into_iter().find(|deed| deed.word() == word);
    let deed = deed.ok_or_else(unreadable)?;
    let rest = rest.trim();
    let words: Vec<&str> = rest.split_whitespace().collect();
    // "9 mL" or "9mL" ends it, "9 fl oz" too.
    let amount = (1..=3.min(words.len())).rev().find_map(|count| {
        let tail = words[words.len() - count..].join(" ");
        let amount = parse_amount(&tail).ok()?;
        (tail.ends_with(char::is_alphabetic)).then_some((amount, count))
    });
    let (amount, count) = amount.ok_or_else(unreadable)?;
    let what = words[..words.len() - count].join(" ");
    if what.is_empty() != (deed == Deed::Drained) {
        return Err(unreadable());
    }
    let (ml, g) = match amount {
        Amount::Volume(ml) => (Some(ml.0), None),
        Amount::Mass(g) => (None, Some(g.0)),
    };
    Ok(Done { deed, what, ml, g })
}

#[cfg(test)]
mod tests {
    use super::super::entry::{Dose, Held};
    use super::super::moment::Moment;
    use super::*;
    use jiff::tz::TimeZone;
    use proptest::prelude::*;

    fn clock() -> Clock {
        Clock {
            now: "2026-07-01T10:00:00Z".parse().expect("an instant"),
            zone: TimeZone::UTC,
        }
    }

    fn any_number() -> impl Strategy<Value = Option<f64>> {
        proptest::option::of(0.0_f64..14.0)
    }

    fn any_details() -> impl Strategy<Value = (Reading, Details)> {
        let text = "[-=+@'a-z;,\"\n]([-=+@'a-z;,\"\n ]{0,20}[-=+@'a-z;,\"])?";
        let reading = (any_number(), any_number(), any_number(), any_number())
            .prop_map(|(ec_ms_cm, ph, temperature_c, litres)| Reading {
                ec_ms_cm,
                ph,
                temperature_c,
                litres,
            })
            .prop_map(|reading| (reading, Details::default()));
        let done = ("[a-z][a-z-]{0,12}", 0.0_f64..1e6, any::<bool>()).prop_map(
            |(what, amount, poured)| {
                let (ml, g) = if poured {
                    (Some(amount), None)
                } else {
                    (None, Some(amount))
                };
                let added = Done {
                    deed: Deed::Added,
                    what,
                    ml,
                    g,
                };
                let drained = Done {
                    deed: Deed::Drained,
                    what: String::new(),
                    ml: Some(amount),
                    g: None,
                };
                let done = vec![drained, added];
                (
                    Reading::default(),
                    Details {
                        done,
                        ..Details::default()
                    },
                )
            },
        );
        let batch = (0.0_f64..10.0, any_number()).prop_map(|(g, litres)| {
            let mix = vec![Dose {
                id: "urea".into(),
                g_per_l: Some(g),
                ml_per_l: None,
            }];
            let delivered = vec![Held {
                nutrient: "K".into(),
                mg_l: g * 7.0,
            }];
            let batch = Batch {
                recipe: "r, \"s\"".into(),
                water: String::new(),
                litres,
                mix,
                delivered,
                ec_ms_cm: None,
            };
            (
                Reading::default(),
                Details {
                    batch: Some(batch),
                    ..Details::default()
                },
            )
        });
        (prop_oneof![reading, done, batch], text).prop_map(|((reading, mut details), note)| {
            details.note = note.trim().to_owned();
            (reading, details)
        })
    }

    proptest! {
        /// What is written is read back as it was.
        #[test]
        fn a_table_brings_every_entry_back(
            (reading, details) in any_details(),
            system in "[-=+@'a-z]([-=+@'a-z ]{0,10}[a-z])?",
            second in 700_000_000_i64..1_700_000_000,
            quarter in -48_i32..57,
        ) {
            let at = Moment { second, offset_s: quarter * 900 };
            let content = Content { at, system, reading, details };
            let mut faults = Faults::default();
            content.check(None, str::to_owned, &mut faults);
            prop_assume!(faults.is_empty());
            let entry = Entry { number: 7, revisions: 1, content: content.clone() };
            let text = print(&[entry]);
            let back = read("j.csv", &text, None, &clock());
            prop_assert_eq!(back, Ok(vec![content]), "{}", text);
        }
    }

    #[test]
    fn a_table_written_by_hand_needs_few_columns() {
        let text = "date_time;ec_ms_cm;ph;done\n2026-03-02 08:00;1,52;5,6;\n\
                    2026-03-02 08:10;;;added nitric-acid-38 9mL; drained 2 L\n";
        let read = read(
            "j.csv",
            &text.replace("9mL; drained", "9mL | drained"),
            Some("tank"),
            &clock(),
        );
        let said = read.expect_err("a stroke is no semicolon");
        assert_eq!(said[0].place(), "j.csv:3, done");
        let text = text.replace(
            "added nitric-acid-38 9mL; drained 2 L",
            "\"added nitric-acid-38 9mL; drained 2 L\"",
        );
        let read = super::read("j.csv", &text, Some("tank"), &clock()).expect("sound");
        assert_eq!(read[0].reading.ec_ms_cm, Some(1.52));
        let done = &read[1].details.done;
        assert_eq!(
            (done.len(), done[0].ml, done[1].ml),
            (2, Some(9.0), Some(2000.0))
        );
    }

    #[test]
    fn every_fault_has_its_line_and_column() {
        let text = "date_time,system,ec_ms_cm,ph,done,batch\n\
                    02/03/2026,tank,1.4,,,\n2026-03-02 08:00,,x,15,,\n\
                    2026-03-02 08:00,tank,,,poured 5 L,\n2026-03-02 08:00,tank,1.4,,drained 5 L,\n\
                    2026-03-02 08:00,tank,,,,{\n2026-03-02 08:00,tank,,,,\n";
        let faults = read("j.csv", text, None, &clock()).expect_err("faulty");
        let places: Vec<String> = faults.iter().map(Fault::place).collect();
        let wanted = [
            "j.csv:2, date_time",
            "j.csv:3, system",
            "j.csv:3, ec_ms_cm",
            "j.csv:3, ph",
            "j.csv:4, done",
            "j.csv:5",
            "j.csv:6, batch",
            "j.csv:7",
        ];
        assert_eq!(places, wanted);
    }
}
