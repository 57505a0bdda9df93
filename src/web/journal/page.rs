//! The journal of a system, and one entry with its history, drawn.

use super::acts::system_of;
use super::fields::{self, shown};
use super::{Desk, NAME, PATH, TITLE};
use crate::cli::journal::last::{Last, last};
use crate::cli::journal::pen;
use crate::store::journal::{Entry, Kind, Revision, Settings};
use crate::view::html::{self, Setting};
use crate::view::svg::timeline::{self, Place};
use crate::view::{Part, Sheet, chart, journal};
use crate::web::ask::{Asking, Said};
use crate::web::document::Document;
use crate::web::form::{self, Form, Group};
use crate::web::{Fields, Visit, correct, frame};
use maud::{Markup, html};
use saltwright_fertilizers::{Fault, Faults, Problem};

/// Entries that a page lists.
const LISTED: usize = 20;
/// Readings that a page draws.
const DRAWN: usize = 60;

/// What could not be read or written at all.
pub fn trouble(visit: &Visit<'_>, faults: &[Fault]) -> Document {
    let main = html! {
        h1 { (TITLE) }
        section.sheet { (form::undone("The journal cannot be used", &said_of(visit, faults), &[])) }
    };
    Document::page(500, frame::frame(NAME, PATH, visit, &main))
}

/// Faults of the journal as a whole.
fn said_of(visit: &Visit<'_>, faults: &[Fault]) -> Vec<Said> {
    let mut asking = Asking::new("", visit);
    for fault in faults {
        asking.say(fault, None);
    }
    asking.said()
}

/// The page of who may not write.
pub fn reads_only(desk: &Desk<'_>) -> Document {
    let main = html! {
        h1 { (TITLE) }
        section.sheet { p { (READS_ONLY) } }
    };
    Document::page(403, frame::frame(NAME, PATH, &desk.visit, &main))
}

/// Why there is no form, and how to get one.
const READS_ONLY: &str = "This link reads the journal and writes nothing to it. To note readings from here, the server \
     is started with --share --write.";

/// The journal, or the entry that is asked for; `status` is that of an act that was refused.
pub fn answer(desk: &Desk<'_>, mut said: Vec<Said>, status: Option<u16>) -> Document {
    let visit = &desk.visit;
    let system = system_of(desk).unwrap_or_else(|fault| {
        said.extend(said_of(
            visit,
            &[Fault {
                field: String::new(),
                ..fault
            }],
        ));
        None
    });
    let entry = visit.fields.get("entry").map(str::trim);
    let main = match entry {
        Some(number) => one(desk, number, &mut said),
        None => html! {
            h1 { (TITLE) }
            (systems(desk, system))
            (overview(desk, system, &said))
        },
    };
    let is_damaged = desk.kept.damage.is_some();
    let status = status.unwrap_or(match (said.is_empty(), is_damaged) {
        (false, _) => 422,
        (true, true) => 500,
        (true, false) => 200,
    });
    Document::page(status, frame::frame(NAME, PATH, visit, &main))
}

/// The tanks, where there are several.
fn systems(desk: &Desk<'_>, system: Option<&str>) -> Markup {
    let names: Vec<&str> = desk.kept.systems().collect();
    html! {
        @if names.len() > 1 {
            nav aria-label="tanks" {
                ul.onward {
                    @for name in names {
                        li {
                            a href=(desk.visit.address(PATH, &[("system", name)]))
                                aria-current=[(Some(name) == system).then_some("page")] { (name) }
                        }
                    }
                }
            }
        }
    }
}

/// Everything of one system: the last reading, the forms, the chart, the list.
fn overview(desk: &Desk<'_>, system: Option<&str>, said: &[Said]) -> Markup {
    let entries = desk.kept.entries();
    let of_it: Vec<&Entry> = entries
        .iter()
        .filter(|entry| Some(entry.content.system.as_str()) == system)
        .collect();
    let told = system.map(|system| desk.kept.settings(system));
    let told = told.unwrap_or_default();
    let forms = Forms::of(desk, system);
    html! {
        (noted(desk, &entries))
        @if !said.is_empty() {
            section.sheet #answer { (form::undone("Nothing was noted", said, &forms.groups())) }
        }
        @if let Some(damage) = &desk.kept.damage {
            section.sheet { (form::undone("Something is lost", &said_of(&desk.visit, &[damage.fault()]), &[])) }
        }
        div.desk {
            @if desk.diary.is_writable() { (forms.draw(desk, said)) } @else { p.asked { (READS_ONLY) } }
            div {
                @if let Some(system) = system {
                    (newest(desk, system, &told))
                    (drawing(desk, system, &of_it, &told))
                }
                (list(desk, system, &of_it))
            }
        }
    }
}

/// What the last visit noted.
fn noted(desk: &Desk<'_>, entries: &[Entry]) -> Markup {
    let number = desk
        .visit
        .fields
        .get("noted")
        .and_then(|number| number.parse().ok());
    let entry = entries.iter().find(|entry| Some(entry.number) == number);
    html! {
        @if let Some(entry) = entry {
            p.noted role="status" {
                "Noted as entry " (entry.number) ": "
                (journal::sentence(&entry.content, desk.visit.show.measure))
            }
        }
    }
}

/// Both forms of a system.
struct Forms {
    reading: Vec<Group>,
    done: Vec<Group>,
    system: String,
}

impl Forms {
    fn of(desk: &Desk<'_>, system: Option<&str>) -> Self {
        let pen = system.and_then(|system| desk.kept.remembered(&pen(system)));
        Self {
            reading: fields::reading(&desk.visit, system, pen),
            done: fields::done(&desk.visit),
            system: system.unwrap_or_default().to_owned(),
        }
    }

    fn groups(&self) -> Vec<Group> {
        self.reading.iter().chain(&self.done).cloned().collect()
    }

    fn draw(&self, desk: &Desk<'_>, said: &[Said]) -> Markup {
        let fields = &desk.visit.fields;
        let form = |act: &'static str, groups, button| {
            let hidden = hidden(desk, act, &[("system", &self.system)]);
            let action = format!("{}{PATH}", desk.visit.base);
            Form {
                action: &action,
                groups,
                fields,
                said,
                button,
                live: false,
                post: Some(&hidden),
            }
            .draw()
        };
        let mut done = self.done.iter().flat_map(|group| &group.fields);
        let is_done = done.any(|field| fields.get(&field.name).is_some());
        html! {
            div.asked.thumb {
                h2 { "Note a reading" }
                (form("reading", &self.reading, "Note it"))
                @if !self.system.is_empty() {
                    details open[is_done] {
                        summary { "Note what was done" }
                        (form("done", &self.done, "Note what was done"))
                    }
                }
            }
        }
    }
}

/// The fields that a form sends unseen.
fn hidden(
    desk: &Desk<'_>,
    act: &str,
    more: &[(&'static str, &str)],
) -> Vec<(&'static str, String)> {
    let mut hidden = vec![
        ("act", act.to_owned()),
        ("seen", desk.kept.revisions().len().to_string()),
    ];
    let filled = more.iter().filter(|(_, value)| !value.is_empty());
    hidden.extend(filled.map(|(name, value)| (*name, (*value).to_owned())));
    for name in crate::web::SHOW_FIELDS {
        let value = desk.visit.fields.get(name);
        hidden.extend(value.map(|value| (name, value.to_owned())));
    }
    hidden
}

/// The last reading, large, and where to go from it.
fn newest(desk: &Desk<'_>, system: &str, told: &Settings) -> Markup {
    let visit = &desk.visit;
    let Ok(last) = last(&desk.kept, system) else {
        return html! { section.sheet aria-label="last reading" { p { "Nothing was read of " (system) " yet." } } };
    };
    let now = desk.diary.clock().moment();
    let dials = journal::dials(&last.entry.content.reading, told, visit.show.measure);
    html! {
        section.sheet aria-label="last reading" {
            header {
                h2 { (system) }
                p.detail { (last.entry.content.at.minute()) ", " (journal::ago(last.entry.content.at, now)) }
            }
            dl.dials {
                @for dial in dials {
                    div { dt { (dial.name) } dd { strong { (dial.shown) } " " (dial.standing) } }
                }
            }
            @for done in &last.since { p { "Since then: " (done) ". Read the meters again first." } }
            (what_now(desk, &last, told))
        }
    }
}

/// The way to the steps that follow from the last reading.
fn what_now(desk: &Desk<'_>, last: &Last, told: &Settings) -> Markup {
    let visit = &desk.visit;
    let text = |file: &str| desk.diary.named(file);
    let prefilled = correct::prefilled(visit, told, &last.entry.content.reading, &text);
    let pairs: Vec<(&str, &str)> = prefilled
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    let address = visit.address(correct::PAGE.path, &pairs);
    html! {
        @if address.len() <= crate::web::fields::MAX_QUERY {
            p { a.act href=(address) { "What should I do now?" } }
        } @else {
            // Long lists of one's own do not fit an address.
            form method="post" action=(format!("{}{}", visit.base, correct::PAGE.path)) {
                @for (name, text) in &prefilled { input type="hidden" name=(name) value=(text); }
                p.buttons { button { "What should I do now?" } }
            }
        }
    }
}

/// Readings over time.
fn drawing(desk: &Desk<'_>, system: &str, of_it: &[&Entry], told: &Settings) -> Markup {
    let is_read = |entry: &&&Entry| entry.content.kind() == Kind::Reading;
    let count = of_it.iter().filter(is_read).count();
    let begin = of_it.iter().rev().filter(is_read).nth(DRAWN - 1);
    let begin = begin.map(|entry| entry.content.at);
    let drawn: Vec<&Entry> = of_it
        .iter()
        .copied()
        .filter(|entry| begin.is_none_or(|begin| entry.content.at >= begin))
        .collect();
    let chart = chart::chart(system, &drawn, told, desk.visit.show.measure);
    html! {
        @if count > 1 && let Some(drawing) = timeline::draw(&chart, Place::Page) {
            section.sheet aria-label="over time" {
                h2 { "Over time" }
                p.hint {
                    "The grey band is the one that is told of the tank; a broken line marks that something was done."
                    @if count > DRAWN { " The last " (DRAWN) " of " (count) " readings are drawn." }
                }
                (drawing)
            }
        }
    }
}

/// Entries, newest first, and what was done last to the journal itself.
fn list(desk: &Desk<'_>, system: Option<&str>, of_it: &[&Entry]) -> Markup {
    let visit = &desk.visit;
    let skip: usize = visit
        .fields
        .get("skip")
        .and_then(|skip| skip.parse().ok())
        .unwrap_or(0);
    let listed: Vec<&Entry> = of_it
        .iter()
        .rev()
        .skip(skip)
        .take(LISTED)
        .copied()
        .collect();
    let mut sheet = if listed.is_empty() {
        Sheet {
            parts: vec![Part::Note("Nothing stands here yet.".into())],
            ..Sheet::default()
        }
    } else {
        journal::list(&listed, visit.show.measure)
    };
    if let Some(Part::Table { columns, .. }) = sheet.parts.first_mut() {
        columns[0].head = journal::ENTRY.into();
    }
    let link = |number: &str| Some(visit.address(PATH, &[("entry", number)]));
    let setting = Setting {
        without: &[],
        link: Some(&link),
    };
    let at = |skip: usize| {
        let skip = skip.to_string();
        visit.address(
            PATH,
            &[("system", system.unwrap_or_default()), ("skip", &skip)],
        )
    };
    html! {
        section.sheet aria-label="entries" {
            (html::render(&sheet, setting))
            ul.onward {
                @if skip > 0 { li { a href=(at(skip.saturating_sub(LISTED))) { "Newer entries" } } }
                @if skip + LISTED < of_it.len() { li { a href=(at(skip + LISTED)) { "Older entries" } } }
                li { a href=(format!("{}{PATH}.csv", visit.base)) { "The whole journal as CSV" } }
            }
            (take_back(desk))
        }
    }
}

/// The button that takes back what was done last.
fn take_back(desk: &Desk<'_>) -> Markup {
    let last = desk.kept.last_act().filter(|_| desk.diary.is_writable());
    html! {
        @if let Some(act) = last {
            form method="post" action=(format!("{}{PATH}", desk.visit.base)) {
                @for (name, value) in hidden(desk, "undo", &[("one", &act.number.to_string())]) {
                    input type="hidden" name=(name) value=(value);
                }
                p.hint { "Last noted: " (journal::act(act, desk.visit.show.measure)) }
                p.buttons { button.plain { "Take that back" } }
            }
        }
    }
}

/// One entry: what it said over time, and a form to amend it.
fn one(desk: &Desk<'_>, number: &str, said: &mut Vec<Said>) -> Markup {
    let visit = &desk.visit;
    let wanted: Option<i64> = number.parse().ok();
    let revisions = desk.kept.revisions().iter();
    let revisions: Vec<&Revision> = revisions.filter(|one| Some(one.number) == wanted).collect();
    if revisions.is_empty() {
        let mut faults = Faults::default();
        let what = "there is no such entry".to_owned();
        let mend = "The list shows the numbers.".to_owned();
        faults.add(None, "", Problem::NoAnswer { what, mend });
        said.extend(said_of(visit, &faults.into_list()));
    }
    let clock = desk.diary.clock();
    let history = journal::history(&revisions, |ms| clock.minute_of_ms(ms), visit.show.measure);
    let entries = desk.kept.entries();
    let standing = entries.iter().find(|entry| Some(entry.number) == wanted);
    let system = revisions
        .first()
        .map_or("", |one| one.content.system.as_str());
    html! {
        h1 { (TITLE) }
        @if !said.is_empty() {
            section.sheet #answer { (form::undone("Nothing was changed", said, &[])) }
        }
        @if !revisions.is_empty() {
            section.sheet aria-label="history" { (html::render(&history, Setting::default())) }
        }
        @if let Some(entry) = standing.filter(|_| desk.diary.is_writable()) { (amend(desk, entry, said)) }
        ul.onward {
            li { a href=(visit.address(PATH, &[("system", system)])) { "Back to the journal" } }
        }
    }
}

/// The form that amends an entry.
fn amend(desk: &Desk<'_>, entry: &Entry, said: &[Said]) -> Markup {
    let visit = &desk.visit;
    let fields = if said.is_empty() {
        let shown = shown(&entry.content, visit.show.measure);
        let pairs: Vec<(&str, &str)> = shown
            .iter()
            .map(|(name, text)| (*name, text.as_str()))
            .collect();
        Fields::of(&pairs)
    } else {
        visit.fields.clone()
    };
    let (number, revisions) = (entry.number.to_string(), entry.revisions.to_string());
    let more = [
        ("entry", number.as_str()),
        ("revisions", revisions.as_str()),
    ];
    let hidden = hidden(desk, "amend", &more);
    let groups = fields::amend(visit, entry.content.kind());
    let form = Form {
        action: &format!("{}{PATH}", visit.base),
        groups: &groups,
        fields: &fields,
        said,
        button: "Change it",
        live: false,
        post: Some(&hidden),
    };
    html! {
        section.asked.thumb {
            h2 { "Mend this entry" }
            p.hint { "What it says now is kept in its history." }
            (form.draw())
        }
    }
}
