//! A page over what is shipped: the list, a search, one row in full, and a text of one's own that
//! is checked and then used.

use super::ask::{Asking, Said};
use super::document::Document;
use super::form::{self, Field, Form as Drawn, Group};
use super::job::unknown;
use super::{Form, Method, SHOW_FIELDS, Visit, frame};
use crate::view::html::{self, Link, Setting};
use crate::view::{Part, Sheet};
use maud::{Markup, html};
use saltwright_fertilizers::Faults;
use saltwright_fertilizers::fault::nearest;

/// A list with its search and its check.
pub struct ListPage {
    /// Its path.
    pub path: &'static str,
    /// Its name in the menu.
    pub name: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What it lists, in a sentence or two.
    pub lead: &'static str,
    /// What is listed for a word.
    pub sheet: fn(&Visit<'_>, &str) -> Sheet,
    /// One row in full, where rows have pages.
    pub one: Option<fn(&Visit<'_>, &str) -> Option<Markup>>,
    /// The names of rows that have pages.
    pub names: fn(&Visit<'_>) -> Vec<String>,
    /// A text of one's own, where one can be used.
    pub own: Option<Own>,
    /// The whole table to edit, where there is a file for it.
    pub csv: Option<fn(&Visit<'_>) -> String>,
}

/// A text of one's own.
pub struct Own {
    /// The field it is pasted into, here and where it is used.
    pub field: &'static str,
    /// What it is.
    pub label: &'static str,
    /// How it may look.
    pub example: &'static str,
    /// Checks it and shows what was read.
    pub check: fn(&Visit<'_>, &str, &mut Faults) -> Option<Markup>,
    /// The text to start from for the row that is shown.
    pub start: fn(&Visit<'_>, &str) -> Option<String>,
    /// The page that uses it, and the fields beside it there.
    pub used_in: (&'static str, &'static [(&'static str, &'static str)]),
}

impl ListPage {
    /// Answers a visit.
    pub fn answer(&self, visit: &Visit<'_>, form: Form) -> Document {
        match (form, self.csv) {
            (Form::Page, _) => self.page(visit),
            (Form::Csv, Some(csv)) => Document::csv(self.path, csv(visit)),
            _ => frame::not_found(visit),
        }
    }

    fn page(&self, visit: &Visit<'_>) -> Document {
        let shorter = visit.method == Method::Post || visit.fields.has_blanks();
        if shorter && visit.fits_address() {
            return Document::elsewhere(visit.here(self.path));
        }
        let mut asking = Asking::new("", visit);
        self.check_names(&mut asking);
        let own = self.own.as_ref();
        let pasted = own.and_then(|own| Some((own, asking.text(own.field)?)));
        let checked = pasted.and_then(|(own, text)| {
            let shown = asking.within(own.field, |_, faults| (own.check)(visit, text, faults));
            Some((own, text, shown?))
        });
        let row = self.row(visit, &mut asking);
        let said = asking.said();
        let main = html! {
            h1 { (self.title) }
            p.lead { (self.lead) }
            @if said.iter().any(|said| said.field.is_none()) {
                (form::refused(&said, &[]))
            }
            @if let Some((own, text, shown)) = &checked {
                section.sheet.full #answer aria-label="what was read" {
                    (shown)
                    (use_it(visit, own, text))
                }
            }
            @if let Some(row) = &row {
                section.sheet.full aria-label="in full" { (row) }
            }
            section.sheet aria-label="list" {
                (self.search(visit))
                (self.listed(visit))
            }
            @if let Some(own) = own { (self.paste(visit, own, &said)) }
        };
        let status = if said.is_empty() { 200 } else { 422 };
        Document::page(status, frame::frame(self.title, self.path, visit, &main))
    }

    /// Fields that this page does not have are refused by name.
    fn check_names(&self, asking: &mut Asking<'_>) {
        let mut known = vec!["find"];
        known.extend(SHOW_FIELDS);
        known.extend(self.one.map(|_| "show"));
        known.extend(self.own.as_ref().map(|own| own.field));
        for name in asking.visit.fields.names() {
            if !known.contains(&name) {
                let near = nearest(name, known.iter().copied());
                asking.refuse("", unknown("field", name, near));
            }
        }
    }

    /// The row that is asked for in full.
    fn row(&self, visit: &Visit<'_>, asking: &mut Asking<'_>) -> Option<Markup> {
        let (name, one) = (asking.value("show")?, self.one?);
        let shown = one(visit, name);
        if shown.is_none() {
            let names = (self.names)(visit);
            let near = nearest(name, names.iter().map(String::as_str));
            asking.refuse("", unknown("row", name, near));
        }
        shown
    }

    fn search(&self, visit: &Visit<'_>) -> Markup {
        html! {
            form.search method="get" action=(format!("{}{}", visit.base, self.path)) role="search" {
                label for="find" { "Find" }
                input id="find" name="find" value=(visit.fields.get("find").unwrap_or_default())
                    autocomplete="off" autocapitalize="none";
                @for name in SHOW_FIELDS {
                    @if let Some(value) = visit.fields.get(name) {
                        input type="hidden" name=(name) value=(value);
                    }
                }
                button { "Search" }
            }
        }
    }

    fn listed(&self, visit: &Visit<'_>) -> Markup {
        let wanted = visit.fields.get("find").unwrap_or_default().trim();
        let mut sheet = (self.sheet)(visit, &wanted.to_lowercase());
        // Remarks of the terminal speak of its options; the page has its own.
        sheet.parts.retain(|part| !is_remark(part));
        let link = |id: &str| Some(visit.address(self.path, &[("show", id)]));
        let link: Option<Link<'_>> = self.one.map(|_| &link as _);
        let setting = Setting { without: &[], link };
        let is_empty = sheet.parts.is_empty();
        html! {
            (html::render(&sheet, setting))
            @if is_empty { p { "Nothing found." } }
            @if self.csv.is_some() {
                p { a href=(format!("{}{}.csv", visit.base, self.path)) { "The table as CSV, to edit" } }
            }
        }
    }

    fn paste(&self, visit: &Visit<'_>, own: &Own, said: &[Said]) -> Markup {
        let action = format!("{}{}", visit.base, self.path);
        let mut fields = visit.fields.clone();
        let shown = visit.fields.get("show").map(str::trim);
        let start = shown.and_then(|name| (own.start)(visit, name));
        if let (None, Some(start)) = (fields.get(own.field), start) {
            fields.set(own.field, &start);
        }
        let groups = [Group::open(vec![Field::lines(
            own.field,
            own.label,
            own.example,
        )])];
        let form = Drawn {
            action: &action,
            groups: &groups,
            fields: &fields,
            said,
            button: "Check it",
            live: false,
            post: None,
        };
        html! {
            section.asked #own aria-label="your own" {
                h2 { "Use your own" }
                (form.draw())
            }
        }
    }
}

const fn is_remark(part: &Part) -> bool {
    matches!(part, Part::Note(_))
}

/// The way from a checked text to the page that uses it.
fn use_it(visit: &Visit<'_>, own: &Own, text: &str) -> Markup {
    let (path, beside) = own.used_in;
    html! {
        form method="post" action=(format!("{}{path}", visit.base)) {
            @for (name, value) in beside { input type="hidden" name=(name) value=(value); }
            @for name in SHOW_FIELDS {
                @if let Some(value) = visit.fields.get(name) {
                    input type="hidden" name=(name) value=(value);
                }
            }
            input type="hidden" name=(own.field) value=(text);
            p.buttons { button { "Formulate with it" } }
        }
    }
}

/// True where one of the texts contains what is looked for, which is in small letters.
pub fn speaks_of(texts: &[&str], wanted: &str) -> bool {
    let mut texts = texts.iter();
    texts.any(|text| text.to_lowercase().contains(wanted))
}

/// A word and what it says, where it says something.
pub fn facts(rows: &[(&str, String)]) -> Markup {
    html! {
        dl {
            @for (label, words) in rows.iter().filter(|(_, words)| !words.is_empty()) {
                div { dt { (label) } dd { (words) } }
            }
        }
    }
}
