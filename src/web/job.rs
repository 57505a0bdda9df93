//! A page that asks for a job: form, request, report, sheet.
//!
//! What differs from job to job stands in a [`JobPage`]; how a question travels stands here.

use super::ask::{Asking, Said};
use super::document::{Document, Media};
use super::form::{self, Choice, Field, Form as Drawn, Group};
use super::{Form, Method, SHOW_FIELDS, Visit, frame};
use crate::view::Sheet;
use crate::view::html::{self, Setting};
use maud::{Markup, html};
use saltwright_fertilizers::Problem;
use saltwright_fertilizers::fault::nearest;
use saltwright_solver::job::Report;

/// A job with its form and its answer.
pub struct JobPage {
    /// Its path.
    pub path: &'static str,
    /// Its name in the menu.
    pub name: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What it answers, in a sentence.
    pub lead: &'static str,
    /// The job as requests name it.
    pub job: &'static str,
    /// What is asked where nothing is asked yet.
    pub opening: &'static [(&'static str, &'static str)],
    /// What the form asks.
    pub form: fn(&Visit<'_>) -> Vec<Group>,
    /// Fills the request.
    pub ask: fn(&mut Asking<'_>),
    /// Shows the report; nothing where it is one of another job.
    pub answer: fn(&Report, &Asking<'_>) -> Option<Answered>,
}

/// An answer in every form.
#[derive(Default)]
pub struct Answered {
    /// To read.
    pub sheet: Sheet,
    /// Pictures below the sheet.
    pub pictures: Vec<Markup>,
    /// The main table for a spreadsheet.
    pub csv: Option<String>,
    /// What that table is, where it is no mix.
    pub csv_words: Option<&'static str>,
    /// The nutrients for a spreadsheet.
    pub nutrients_csv: Option<String>,
    /// The sheet by the scale for a spreadsheet.
    pub weigh_csv: Option<String>,
    /// Where to go on: an address and what is there.
    pub onward: Vec<(String, String)>,
}

/// Facts that speak of the command line.
const NOT_HERE: [&str; 1] = ["next"];

impl JobPage {
    /// Answers a visit in the form that is wanted.
    pub fn answer(&self, visit: &Visit<'_>, form: Form) -> Document {
        let asked = visit
            .fields
            .names()
            .any(|name| !SHOW_FIELDS.contains(&name));
        let mut visit = Visit {
            fields: visit.fields.clone(),
            ..*visit
        };
        if form == Form::Page && is_said_shorter(&visit) {
            return Document::elsewhere(visit.here(self.path));
        }
        if !asked {
            for (name, value) in self.opening {
                visit.fields.set(name, value);
            }
        }
        let mut groups = (self.form)(&visit);
        groups.push(Group::open(show_fields()));
        let mut asking = Asking::new(self.job, &visit);
        asking.lists = lists(&groups);
        check_names(&mut asking, &groups);
        (self.ask)(&mut asking);
        let report = asking.answer();
        let answered = report
            .as_ref()
            .and_then(|report| (self.answer)(report, &asking));
        let (ending, table) = match form {
            Form::Page => {
                return self.page(&visit, &groups, answered.as_ref(), &asking.said());
            }
            Form::Json => {
                return match &report {
                    Some(report) => json(report),
                    None => refusal(&asking.said()),
                };
            }
            Form::Csv => ("", answered.and_then(|answered| answered.csv)),
            Form::NutrientsCsv => {
                let table = answered.and_then(|answered| answered.nutrients_csv);
                ("-nutrients", table)
            }
            Form::WeighCsv => ("-weigh", answered.and_then(|answered| answered.weigh_csv)),
        };
        match table {
            Some(text) => Document::csv(&format!("{}{ending}", self.path), text),
            None => refusal(&asking.said()),
        }
    }

    fn page(
        &self,
        visit: &Visit<'_>,
        groups: &[Group],
        answered: Option<&Answered>,
        said: &[Said],
    ) -> Document {
        let action = format!("{}{}#answer", visit.base, self.path);
        let form = Drawn {
            action: &action,
            groups,
            fields: &visit.fields,
            said,
            button: "Work it out",
            live: true,
            post: None,
        };
        let status = if answered.is_some() { 200 } else { 422 };
        let main = html! {
            h1 { (self.title) }
            p.lead { (self.lead) }
            div.desk {
                section.asked aria-label="question" { (form.draw()) }
                p.vh #said role="status" {}
                section.sheet #answer aria-label="answer" {
                    @match answered {
                        Some(answered) => (self.shown(visit, answered)),
                        None => (form::refused(said, groups)),
                    }
                }
            }
        };
        Document::page(status, frame::frame(self.title, self.path, visit, &main))
    }

    fn shown(&self, visit: &Visit<'_>, answered: &Answered) -> Markup {
        let setting = Setting {
            without: &NOT_HERE,
            link: None,
        };
        let keep = [
            (
                answered.csv.is_some(),
                ".csv",
                answered.csv_words.unwrap_or("Mix as CSV"),
            ),
            (
                answered.nutrients_csv.is_some(),
                "-nutrients.csv",
                "Nutrients as CSV",
            ),
            (
                answered.weigh_csv.is_some(),
                "-weigh.csv",
                "Sheet by the scale as CSV",
            ),
            (true, ".json", "Exact figures as JSON"),
        ];
        html! {
            (html::render(&answered.sheet, setting))
            @for picture in &answered.pictures { (picture) }
            ul.onward {
                @for (address, words) in &answered.onward { li { a href=(address) { (words) } } }
                @if visit.fits_address() {
                    @for (_, ending, words) in keep.iter().filter(|(is_there, ..)| *is_there) {
                        li {
                            a href=(visit.here(&format!("{}{ending}", self.path))) { (words) }
                        }
                    }
                } @else {
                    li { "This question is too long for an address; print the sheet to keep it." }
                }
            }
        }
    }
}

/// True where the same question has a plainer address: blanks left out, or a form that is short
/// enough for one.
fn is_said_shorter(visit: &Visit<'_>) -> bool {
    visit.fits_address() && (visit.method == Method::Post || visit.fields.has_blanks())
}

/// How figures are shown: a part of every question.
fn show_fields() -> Vec<Field> {
    let measures = vec![
        Choice::new("", "grams, litres"),
        Choice::new("us", "US: ounces, gallons"),
    ];
    let details = vec![
        Choice::new("", "the answer"),
        Choice::new("all", "all that was found: ions, solids"),
    ];
    let units = vec![
        Choice::new("", "mg/L (ppm)"),
        Choice::new("mmol", "mmol/L"),
        Choice::new("meq", "meq/L"),
    ];
    vec![
        Field::one("measure", "Amounts in", measures),
        Field::one("units", "Nutrients in", units),
        Field::one("detail", "Show", details),
    ]
}

/// The fields of several lines.
fn lists(groups: &[Group]) -> Vec<String> {
    let fields = groups.iter().flat_map(|group| &group.fields);
    let lists = fields.filter(|field| matches!(field.input, form::Input::Lines { .. }));
    lists.map(|field| field.name.clone()).collect()
}

/// Refuses fields that the form does not have, values it does not offer and fields that stand
/// twice.
fn check_names(asking: &mut Asking<'_>, groups: &[Group]) {
    let known: Vec<&Field> = groups.iter().flat_map(|group| &group.fields).collect();
    let sent: Vec<String> = asking.visit.fields.names().map(str::to_owned).collect();
    for (at, name) in sent.iter().enumerate() {
        let Some(field) = known.iter().find(|field| field.name == *name) else {
            let nearest = nearest(name, known.iter().map(|field| field.name.as_str()));
            asking.refuse("", unknown("field", name, nearest));
            continue;
        };
        match &field.input {
            form::Input::Any(_) => {}
            _ if sent[..at].contains(name) => {
                asking.refuse(name, Problem::Twice { name: name.clone() });
            }
            form::Input::One(choices) => {
                let value = asking.value(name).unwrap_or_default();
                if !choices.iter().any(|choice| choice.value == value) {
                    let nearest = nearest(value, choices.iter().map(|c| c.value.as_str()));
                    asking.refuse(name, unknown("choice", value, nearest));
                }
            }
            _ => {}
        }
    }
}

/// A name that a page does not know, said back at no great length.
pub fn unknown(kind: &'static str, name: &str, nearest: Option<String>) -> Problem {
    /// Longest name that is said back, characters.
    const MOST: usize = 64;
    Problem::Unknown {
        kind,
        name: name.chars().take(MOST).collect(),
        nearest,
    }
}

fn json(report: &Report) -> Document {
    // A report has no keys but texts, and no number that JSON lacks a form for.
    let text = serde_json::to_string_pretty(report).unwrap_or_default();
    Document::new(Media::Json, text)
}

/// A question that was refused where no page was wanted.
fn refusal(said: &[Said]) -> Document {
    let words: Vec<&str> = said.iter().map(|said| said.words.as_str()).collect();
    super::api::problem::document(422, &words.join(" "))
}
