//! The forms of the journal's page: to note, to take back, to amend.

use super::fields::{self, shown};
use super::{DONE, Desk, PATH};
use crate::cli::journal::pen;
use crate::store::journal::Entry;
use crate::view::journal;
use crate::web::Fields;
use crate::web::ask::Said;
use crate::web::form::{Form, Group};
use maud::{Markup, html};

/// Both forms of a system.
pub struct Forms {
    reading: Vec<Group>,
    done: Vec<Group>,
    system: String,
}

impl Forms {
    pub fn of(desk: &Desk<'_>, system: Option<&str>) -> Self {
        let pen = system.and_then(|system| desk.kept.remembered(&pen(system)));
        Self {
            reading: fields::reading(&desk.visit, system, pen),
            done: fields::done(&desk.visit),
            system: system.unwrap_or_default().to_owned(),
        }
    }

    pub fn groups(&self) -> Vec<Group> {
        self.reading.iter().chain(&self.done).cloned().collect()
    }

    pub fn draw(&self, desk: &Desk<'_>, said: &[Said]) -> Markup {
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
                    details id=(DONE) open[is_done] {
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

/// The button that takes back what was done last.
pub fn take_back(desk: &Desk<'_>) -> Markup {
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

/// The form that amends an entry.
pub fn amend(desk: &Desk<'_>, entry: &Entry, said: &[Said]) -> Markup {
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
