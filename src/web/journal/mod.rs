//! The journal: what was read, done and mixed, and a form that notes more of it, by the tank.
//!
//! In: a visit and the site's [`Diary`](crate::store::journal::Diary).  Out: a document. A reading
//! that was noted answers with another address, so that a page that is loaded again notes nothing
//! twice. Whether visitors may write at all is decided where the server is started.
//!
//! ```text
//! fields   what the forms ask, and what was typed for an entry
//! acts     noting, amending, taking back
//! forms    both, drawn, with what travels unseen
//! standing how a system stands, and the way on from there
//! page     the journal of a system; one entry with its history
//! ```

mod acts;
mod fields;
mod forms;
mod page;
mod standing;

use super::ask::{Asking, Said};
use super::document::Document;
use super::job::unknown;
use super::{Form, Method, SHOW_FIELDS, Visit, frame};
use crate::cli::journal::{MEASURE, measure};
use crate::store::journal::{Diary, Kept, csv};
use crate::view::formulate::Show;
use crate::view::round::Measure;
use maud::html;
use saltwright_fertilizers::fault::nearest;

/// Its path.
pub const PATH: &str = "journal";
/// Its name in the menu.
pub const NAME: &str = "Journal";
/// Where on it the form stands that notes what was done.
pub const DONE: &str = "done";
/// Its heading.
const TITLE: &str = "Journal: what was read and done";

/// A visit to a journal.
struct Desk<'a> {
    visit: Visit<'a>,
    diary: &'a Diary,
    kept: Kept,
}

/// True where there is a journal to look into.
pub fn is_there(visit: &Visit<'_>) -> bool {
    visit.site.diary.as_ref().is_some_and(Diary::is_laid_out)
}

/// True where visitors may note something in it.
pub fn is_noted_in(visit: &Visit<'_>) -> bool {
    let is_writable = visit.site.diary.as_ref().is_some_and(Diary::is_writable);
    is_writable && is_there(visit)
}

/// Answers a visit.
pub fn answer(visit: &Visit<'_>, form: Form) -> Document {
    let diary = visit.site.diary.as_ref();
    let Some(diary) = diary.filter(|diary| diary.is_laid_out()) else {
        return no_journal(visit);
    };
    // A form that is sent twice at once is seen as such by the second.
    let _turn = (visit.method == Method::Post).then(|| diary.turn());
    let kept = match diary.read() {
        Ok(kept) => kept,
        Err(fault) => return page::trouble(visit, &[fault]),
    };
    match (form, visit.method) {
        (Form::Csv, Method::Get) => return Document::csv(PATH, csv::print(&kept.entries())),
        (Form::Page, _) => {}
        _ => return frame::not_found(visit),
    }
    let desk = Desk {
        visit: in_units_of(visit, &kept),
        diary,
        kept,
    };
    if visit.method == Method::Post {
        return acts::answer(&desk);
    }
    let mut asking = Asking::new("", &desk.visit);
    check_names(&mut asking);
    page::answer(&desk, asking.said(), None)
}

/// The same visit, in the units that the journal remembers where none are chosen.
fn in_units_of<'a>(visit: &Visit<'a>, kept: &Kept) -> Visit<'a> {
    let remembered = measure(kept.remembered(MEASURE));
    let is_us = visit.is_us() || remembered == Measure::Us;
    Visit {
        fields: visit.fields.clone(),
        show: Show {
            measure: if is_us { Measure::Us } else { Measure::Metric },
            ..visit.show
        },
        ..*visit
    }
}

/// Fields that this page does not have are refused by name.
fn check_names(asking: &mut Asking<'_>) {
    let known: Vec<&str> = fields::NAMES.iter().chain(&SHOW_FIELDS).copied().collect();
    for name in asking.visit.fields.names() {
        if !known.contains(&name) {
            let near = nearest(name, known.iter().copied());
            asking.refuse("", unknown("field", name, near));
        }
    }
}

/// What to do where there is no journal.
fn no_journal(visit: &Visit<'_>) -> Document {
    let main = html! {
        article.sheet {
            h1 { (TITLE) }
            p { "There is no journal here yet. Lay out a folder of your own once, and serve it:" }
            p { code { "saltwright start my-greens" } br; code { "saltwright serve --folder my-greens" } }
            p {
                "With " code { "start my-greens --demo" }
                " it holds two invented weeks of a tank, to look around. A journal that is there \
                 already is found with " code { "--folder" } ", too, or by serving from its folder."
            }
        }
    };
    let status = if visit.method == Method::Post {
        404
    } else {
        200
    };
    Document::page(status, frame::frame(NAME, PATH, visit, &main))
}

/// What went wrong with what was sent, and how grave it is.
struct Refused {
    status: u16,
    said: Vec<Said>,
}
