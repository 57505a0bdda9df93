//! What the forms of the journal ask, and what was typed for an entry.

use crate::cli::journal::typed::Told;
use crate::store::journal::{Content, Deed, Done, Kind};
use crate::view::round::{self, Measure};
use crate::web::form::{Choice, Field, Group};
use crate::web::own::{as_pair, volume_unit};
use crate::web::water::temperature_unit;
use crate::web::{Fields, Visit};
use saltwright_fertilizers::units::parse_with_unit;

/// Every field of the page.
pub const NAMES: [&str; 21] = [
    "system",
    "entry",
    "skip",
    "noted",
    "act",
    "seen",
    "ec",
    "ec-in",
    "ph",
    "temperature",
    "level",
    "note",
    "at",
    "drained",
    "filled",
    "added",
    "done-note",
    "done-at",
    "revisions",
    "one",
    "name",
];

/// The scales that an EC meter or a TDS pen may have.
const SCALES: [(&str, &str, &str); 5] = [
    ("", "mS/cm", ""),
    ("cf", "CF", " CF"),
    ("500", "ppm, 500 pen", " ppm@500"),
    ("640", "ppm, 640 pen", " ppm@640"),
    ("700", "ppm, 700 pen", " ppm@700"),
];

/// How what was added is written.
const ADDED_EXAMPLE: &str = "water 5 L\nnitric-acid-38 9 mL";

/// What the form of a reading asks.
pub fn reading(visit: &Visit<'_>, system: Option<&str>, pen: Option<&str>) -> Vec<Group> {
    let scales = SCALES.map(|(value, words, _)| Choice::new(value, words));
    let mut shown_in = Field::one("ec-in", "shown in", scales.into());
    if let Some(scale) = pen {
        shown_in = shown_in.hint(format!(
            "\"650 ppm\" is taken on the {scale} scale, that of your pen."
        ));
    }
    let name = Field::line("name", "Tank", "").hint("Name it, like tank 1.");
    let mut meters = vec![
        Field::line("ec", "EC or TDS", "").digits(),
        shown_in,
        Field::line("ph", "pH", "").digits(),
        Field::line("temperature", "Temperature", temperature_unit(visit)).digits(),
        Field::line("level", "In the tank", volume_unit(visit)).digits(),
        Field::line("note", "Note", "").hint("A note alone will do."),
    ];
    let at = at_field("at");
    let Some(system) = system else {
        meters.insert(0, name);
        return vec![Group::open(meters), Group::folded("Another time", vec![at])];
    };
    let other = name.shown(system).hint("A new name begins a new tank.");
    vec![
        Group::open(meters),
        Group::folded("Another time or tank", vec![at, other]),
    ]
}

/// What the form of a correction asks.
pub fn done(visit: &Visit<'_>) -> Vec<Group> {
    let mut fields = deeds(visit);
    fields.push(Field::line("done-note", "Note", ""));
    fields.push(at_field("done-at"));
    vec![Group::open(fields)]
}

fn deeds(visit: &Visit<'_>) -> Vec<Field> {
    vec![
        Field::line("drained", "Drained", volume_unit(visit)).digits(),
        Field::line("filled", "Emptied and filled with", "").shown("feed 115 L"),
        Field::lines("added", "Added", ADDED_EXAMPLE)
            .hint("One a line: water, feed, a stock, an acid or a fertilizer, and how much."),
    ]
}

fn at_field(name: &str) -> Field {
    Field::line(name, "When", "")
        .shown("now")
        .hint("Like 08:00, yesterday 18:00 or 2026-03-02 08:00.")
}

/// What the form of an entry that is amended asks.
pub fn amend(visit: &Visit<'_>, kind: Kind) -> Vec<Group> {
    let mut fields = match kind {
        Kind::Reading => vec![
            Field::line("ec", "EC", "mS/cm").digits(),
            Field::line("ph", "pH", "").digits(),
            Field::line("temperature", "Temperature", temperature_unit(visit)),
            Field::line("level", "In the tank", volume_unit(visit)),
        ],
        Kind::Correction => deeds(visit),
        Kind::Batch | Kind::System | Kind::Note => Vec::new(),
    };
    fields.push(Field::line("note", "Note", ""));
    fields.push(at_field("at"));
    vec![Group::open(fields)]
}

/// What was typed into the form of a reading or of a correction.
pub fn told(visit: &Visit<'_>, is_done: bool) -> Told {
    let text = |name: &str| visit.fields.get(name).map(|text| text.trim().to_owned());
    let [note, at] = if is_done {
        ["done-note", "done-at"]
    } else {
        ["note", "at"]
    };
    let told = Told {
        system: text("name").or_else(|| text("system")),
        note: text(note),
        at: text(at),
        ..Told::default()
    };
    if is_done {
        Told {
            drained: text("drained")
                .iter()
                .map(|text| litres(visit, text))
                .collect(),
            filled: text("filled").and_then(|line| as_pair(&line)),
            added: text("added")
                .iter()
                .flat_map(|lines| added(lines))
                .collect(),
            ..told
        }
    } else {
        let scale = text("ec-in").unwrap_or_default();
        let scale = SCALES.iter().find(|(value, ..)| *value == scale);
        Told {
            ec: text("ec").map(|ec| bare(&ec, scale.map_or("", |scale| scale.2))),
            ph: text("ph"),
            temperature: text("temperature").map(|text| celsius(visit, &text)),
            litres: text("level").map(|text| litres(visit, &text)),
            ..told
        }
    }
}

fn added(lines: &str) -> impl Iterator<Item = String> {
    lines.lines().filter_map(as_pair)
}

/// A bare number in the unit of its field; what names its unit stays as it is.
fn bare(text: &str, unit: &str) -> String {
    let is_bare = parse_with_unit(text).is_ok_and(|(_, unit)| unit.is_empty());
    if is_bare {
        format!("{text}{unit}")
    } else {
        text.to_owned()
    }
}

fn litres(visit: &Visit<'_>, text: &str) -> String {
    bare(text, if visit.is_us() { " gal" } else { "" })
}

fn celsius(visit: &Visit<'_>, text: &str) -> String {
    bare(text, if visit.is_us() { " F" } else { "" })
}

/// An entry as its form shows it, field by field.
pub fn shown(content: &Content, measure: Measure) -> Vec<(&'static str, String)> {
    let reading = content.reading;
    let exact = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    let of = |deed: Deed| {
        content
            .details
            .done
            .iter()
            .filter(move |done| done.deed == deed)
    };
    let lines = |deed: Deed| of(deed).map(amount).collect::<Vec<_>>().join("\n");
    vec![
        ("ec", exact(reading.ec_ms_cm)),
        ("ph", exact(reading.ph)),
        (
            "temperature",
            reading
                .temperature_c
                .map_or_else(String::new, |c| round::temperature(c, measure)),
        ),
        (
            "level",
            reading
                .litres
                .map_or_else(String::new, |litres| round::volume(litres, measure)),
        ),
        ("drained", lines(Deed::Drained)),
        ("filled", lines(Deed::Filled)),
        ("added", lines(Deed::Added)),
        ("note", content.details.note.clone()),
        ("at", content.at.wall() + &content.at.offset()),
    ]
}

/// `nitric-acid-38 9 mL`, exactly.
fn amount(done: &Done) -> String {
    let amount = match (done.ml, done.g) {
        (Some(ml), _) if ml >= 1000.0 => format!("{} L", ml / 1000.0),
        (Some(ml), _) => format!("{ml} mL"),
        (None, Some(g)) => format!("{g} g"),
        (None, None) => String::new(),
    };
    format!("{} {amount}", done.what).trim().to_owned()
}

/// What the form of an entry changes in it. A field that says what it said leaves all as it was, so
/// that a figure rounded for the screen does not become the one that is kept.
pub fn amended(visit: &Visit<'_>, before: &Content) -> (Content, Told) {
    let mut after = before.clone();
    let mut told = Told::default();
    let posted = |name: &str| visit.fields.get(name).unwrap_or_default().trim();
    let was = shown(before, visit.show.measure);
    let changed = |name: &str| {
        let was = was.iter().find(|(known, _)| *known == name);
        was.is_some_and(|(_, was)| was != posted(name))
    };
    let typed = |name: &str| {
        let text = posted(name);
        (changed(name) && !text.is_empty()).then(|| text.to_owned())
    };
    let is_cleared = |name: &str| changed(name) && posted(name).is_empty();
    let reading = &mut after.reading;
    for (name, figure) in [
        ("ec", &mut reading.ec_ms_cm),
        ("ph", &mut reading.ph),
        ("temperature", &mut reading.temperature_c),
        ("level", &mut reading.litres),
    ] {
        if is_cleared(name) {
            *figure = None;
        }
    }
    told.ec = typed("ec");
    told.ph = typed("ph");
    told.temperature = typed("temperature").map(|text| celsius(visit, &text));
    told.litres = typed("level").map(|text| litres(visit, &text));
    if ["drained", "filled", "added"]
        .iter()
        .any(|name| changed(name))
    {
        after.details.done.clear();
        let rest = Fields::of(&[
            ("drained", posted("drained")),
            ("filled", posted("filled")),
            ("added", posted("added")),
        ]);
        let done = self::told(
            &Visit {
                fields: rest,
                ..*visit
            },
            true,
        );
        (told.drained, told.filled, told.added) = (done.drained, done.filled, done.added);
    }
    if is_cleared("note") {
        after.details.note.clear();
    }
    told.note = typed("note");
    told.at = typed("at");
    (after, told)
}

/// The field that a fault of an option belongs to, and what is left of its name.
pub fn field_of(option: &str, is_done: bool) -> (Option<&'static str>, String) {
    let (word, rest) = option.split_once(' ').unwrap_or((option, ""));
    let field = match (word, is_done) {
        ("--ec", _) => "ec",
        ("--ph", _) => "ph",
        ("--temperature", _) => "temperature",
        ("--litres", _) => "level",
        ("--drained", _) => "drained",
        ("--filled", _) => "filled",
        ("--added", _) => "added",
        ("--system", _) => "name",
        ("--note", false) => "note",
        ("--note", true) => "done-note",
        ("--at", false) => "at",
        ("--at", true) => "done-at",
        _ => return (None, option.to_owned()),
    };
    (Some(field), rest.to_owned())
}
