//! Sheets and rows of the journal: entries as a list, one entry in words, and as JSON.

use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet};
use crate::store::journal::{
    Act, Batch, Content, Deed, Done, Entry, Moment, Reading, Revision, Settings, entry,
};
use serde::Serialize;

/// An entry for machines; figures are exact.
#[derive(Debug, Serialize)]
pub struct Row<'a> {
    entry: i64,
    at: String,
    system: &'a str,
    kind: entry::Kind,
    ec_ms_cm: Option<f64>,
    ph: Option<f64>,
    temperature_c: Option<f64>,
    litres: Option<f64>,
    done: &'a [Done],
    batch: Option<&'a Batch>,
    settings: Option<&'a Settings>,
    note: &'a str,
    revisions: i64,
}

/// The row of an entry.
pub fn row(entry: &Entry) -> Row<'_> {
    let content = &entry.content;
    let details = &content.details;
    Row {
        entry: entry.number,
        at: content.at.iso(),
        system: &content.system,
        kind: content.kind(),
        ec_ms_cm: content.reading.ec_ms_cm,
        ph: content.reading.ph,
        temperature_c: content.reading.temperature_c,
        litres: content.reading.litres,
        done: &details.done,
        batch: details.batch.as_ref(),
        settings: (!details.settings.is_empty()).then_some(&details.settings),
        note: &details.note,
        revisions: entry.revisions,
    }
}

/// The cells that meters fill: EC, pH, temperature, level.
fn meters(content: &Content, measure: Measure) -> [String; 4] {
    let reading = content.reading;
    let shown =
        |value: Option<f64>, show: &dyn Fn(f64) -> String| value.map_or_else(String::new, show);
    [
        shown(reading.ec_ms_cm, &round::ec),
        shown(reading.ph, &round::ph),
        shown(reading.temperature_c, &|c| round::temperature(c, measure)),
        shown(reading.litres, &|l| round::volume(l, measure)),
    ]
}

/// What heads the numbers of entries on the page.
pub const ENTRY: &str = "entry";

/// A figure of a reading, as it is shown large.
pub struct Dial {
    /// What it is, with its unit where the figure has none.
    pub name: &'static str,
    /// The figure.
    pub shown: String,
    /// Where it stands against its band, in words; blank without a band.
    pub standing: String,
}

/// The figures of a reading with where they stand.
pub fn dials(reading: &Reading, told: &Settings, measure: Measure) -> Vec<Dial> {
    let standing = |value: f64, band: Option<[f64; 2]>| {
        band.map_or_else(String::new, |[low, high]| {
            let word = match value {
                value if value < low => "below",
                value if value > high => "above",
                _ => "in",
            };
            let (low, high) = (round::plain(low), round::plain(high));
            format!("{word} its band, {low} to {high}")
        })
    };
    let dial = |name, value: Option<f64>, band, show: &dyn Fn(f64) -> String| {
        value.map(|value| Dial {
            name,
            shown: show(value),
            standing: standing(value, band),
        })
    };
    let dials = [
        dial("EC, mS/cm", reading.ec_ms_cm, told.ec_ms_cm, &round::ec),
        dial("pH", reading.ph, told.ph, &round::ph),
        dial("temperature", reading.temperature_c, None, &|c| {
            round::temperature(c, measure)
        }),
        dial("level", reading.litres, None, &|l| {
            round::volume(l, measure)
        }),
    ];
    dials.into_iter().flatten().collect()
}

/// How long ago something was, in the largest unit that says it.
pub fn ago(at: Moment, now: Moment) -> String {
    let seconds = now.second - at.second;
    match seconds {
        ..0 => "ahead of this clock".to_owned(),
        0..120 => "just now".to_owned(),
        120..7_200 => format!("{} min ago", seconds / 60),
        7_200..172_800 => format!("{} h ago", seconds / 3_600),
        _ => format!("{} days ago", seconds / 86_400),
    }
}

/// Entries in order of time.
pub fn list(entries: &[&Entry], measure: Measure) -> Sheet {
    if entries.is_empty() {
        let nothing = "Nothing stands here yet. saltwright journal add --system \"tank 1\" --ec 1.4 \
                       --ph 5.9 --litres 110 notes a reading.";
        return Sheet {
            parts: vec![Part::Note(nothing.into())],
            ..Sheet::default()
        };
    }
    let several = entries
        .windows(2)
        .any(|pair| pair[0].content.system != pair[1].content.system);
    let mut columns = vec![
        Column::new("", Kind::Drawing),
        Column::new("when", Kind::Drawing),
    ];
    if several {
        columns.push(Column::new("system", Kind::Name));
    }
    let heads = ["EC mS/cm", "pH", "temp.", "level"];
    columns.extend(heads.map(|head| Column::new(head, Kind::Figures)));
    columns.push(Column::new("what", Kind::Words));
    let rows = entries.iter().map(|entry| {
        let content = &entry.content;
        let mut cells = vec![entry.number.to_string(), content.at.minute()];
        if several {
            cells.push(content.system.clone());
        }
        cells.extend(meters(content, measure));
        let mut what = said(content, measure).join("; ");
        if entry.revisions > 1 {
            what.push_str(" (amended)");
        }
        cells.push(what.trim_start().to_owned());
        cells
    });
    let rows = rows.collect();
    let title = match entries.first() {
        Some(first) if !several => format!("Journal of {}", first.content.system),
        _ => "Journal".to_owned(),
    };
    Sheet {
        title,
        parts: vec![Part::Table { columns, rows }],
        ..Sheet::default()
    }
}

/// An entry in one line.
pub fn sentence(content: &Content, measure: Measure) -> String {
    let [ec, ph, temperature, level] = meters(content, measure);
    let mut said_of_it = Vec::new();
    for (shown, before, after) in [
        (ec, "EC ", " mS/cm"),
        (ph, "pH ", ""),
        (temperature, "", ""),
        (level, "", ""),
    ] {
        if !shown.is_empty() {
            said_of_it.push(format!("{before}{shown}{after}"));
        }
    }
    said_of_it.extend(said(content, measure));
    format!(
        "{}, {}: {}",
        content.system,
        content.at.wall(),
        said_of_it.join("; ")
    )
}

/// All that is no meter reading, in words.
pub(super) fn said(content: &Content, measure: Measure) -> Vec<String> {
    let details = &content.details;
    let done = details.done.iter().map(|done| deed(done, measure));
    let mut said: Vec<String> = done.collect();
    said.extend(details.batch.as_ref().map(|mixed| batch(mixed, measure)));
    if !details.settings.is_empty() {
        said.push(format!("system: {}", settings(&details.settings, measure)));
    }
    if !details.note.is_empty() {
        said.push(details.note.clone());
    }
    said
}

/// `added 5 L of larch-hollow-spring`.
fn deed(done: &Done, measure: Measure) -> String {
    /// From here on litres say more than millilitres.
    const LITRE: f64 = 1000.0;
    let amount = match (done.ml, done.g) {
        (Some(ml), _) if ml >= LITRE => round::volume(ml / LITRE, measure),
        (Some(ml), _) => round::poured(ml, measure),
        (None, Some(g)) => round::mass(g, measure),
        (None, None) => String::new(),
    };
    let (word, what) = (done.deed.word(), &done.what);
    match done.deed {
        Deed::Drained => format!("{word} {amount}"),
        Deed::Added => format!("{word} {amount} of {what}"),
        Deed::Filled => format!("{word} with {amount} of {what}"),
    }
}

fn batch(batch: &Batch, measure: Measure) -> String {
    let amount = batch.litres.map(|litres| round::volume(litres, measure));
    let amount = amount.map_or_else(String::new, |amount| format!("{amount} of "));
    let recipe = if batch.recipe.is_empty() {
        "a mix"
    } else {
        &batch.recipe
    };
    let water = if batch.water.is_empty() {
        String::new()
    } else {
        format!(" in {}", batch.water)
    };
    let count = batch.mix.len();
    format!("mixed {amount}{recipe}{water}, {count} fertilizers")
}

/// What is told of a system, in words.
pub fn settings(told: &Settings, measure: Measure) -> String {
    let named = |word: &str, value: Option<&String>| value.map(|value| format!("{word} {value}"));
    let band = |word: &str, [low, high]: [f64; 2]| {
        format!("{word} {} to {}", round::plain(low), round::plain(high))
    };
    let parts = [
        named("recipe", told.recipe.as_ref()),
        named("water", told.water.as_ref()),
        told.capacity_l
            .map(|litres| format!("holds {}", round::volume(litres, measure))),
        told.ec_ms_cm.map(|ec| band("EC", ec)),
        told.ph.map(|ph| band("pH", ph)),
        named("stocks", told.stock.as_ref()),
        named("acid", told.acid.as_ref()),
        named("base", told.base.as_ref()),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join(", ")
}

/// What was done to the journal, in words that follow "took back".
pub fn act(act: &Act, measure: Measure) -> String {
    let first = act.revisions.first();
    let said = first.map_or_else(String::new, |first| {
        let words = sentence(&first.content, measure);
        format!("entry {}, {words}", first.number)
    });
    match (act.what.as_str(), act.revisions.len()) {
        ("import", count) if count > 1 => {
            format!("an import of {count} entries, the first being {said}")
        }
        ("amend", _) => format!("the amendment of {said}"),
        _ => said,
    }
}

/// What an entry said over time.
pub fn history(
    revisions: &[&Revision],
    written: impl Fn(i64) -> String,
    measure: Measure,
) -> Sheet {
    let heads = [
        ("written", Kind::Drawing),
        ("act", Kind::Drawing),
        ("what it said", Kind::Words),
    ];
    let columns = heads.map(|(head, kind)| Column::new(head, kind));
    let rows = revisions.iter().map(|revision| {
        let words = if revision.withdrawn {
            "taken back".to_owned()
        } else {
            sentence(&revision.content, measure)
        };
        vec![written(revision.done_at_ms), revision.act.clone(), words]
    });
    let number = revisions.first().map_or(0, |first| first.number);
    Sheet {
        title: format!("Entry {number}"),
        parts: vec![Part::Table {
            columns: columns.into(),
            rows: rows.collect(),
        }],
        ..Sheet::default()
    }
}
