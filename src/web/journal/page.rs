//! The journal of a system, and one entry with its history, drawn.

use super::acts::system_of;
use super::forms::{Forms, amend, take_back};
use super::standing::{drawing, newest};
use super::{Desk, NAME, PATH, TITLE};
use crate::store::journal::{Entry, Revision};
use crate::view::html::{self, Setting};
use crate::view::{Part, Sheet, journal};
use crate::web::ask::{Asking, Said};
use crate::web::document::Document;
use crate::web::form;
use crate::web::{Visit, frame};
use maud::{Markup, html};
use saltwright_fertilizers::{Fault, Faults, Problem};

/// Entries that a page lists.
const LISTED: usize = 20;

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
