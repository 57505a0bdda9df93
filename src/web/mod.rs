//! The page: every job in a browser.
//!
//! In: a path below the base address and the fields that were sent.  Out: a [`Document`]. A page is
//! a pure function; it knows no socket, no clock and no file. `crate::serve` carries documents. The
//! journal alone is read and written, through a [`Diary`] that is handed in.
//!
//! ```text
//! address or form -> Fields -> Asking -> request -> report -> Sheet -> html
//!                       ^                    |
//!                       '---- faults --------'   each beside its field
//! ```
//!
//! **Add a page**: one file with a [`Page`], one line in [`PAGES`].

pub mod api;
pub mod ask;
pub mod document;
pub mod fields;
pub mod form;
pub mod frame;
pub mod job;
pub mod list;
pub mod own;
pub mod pictures;

mod correct;
mod crops;
mod fertilizers;
mod formulate;
mod how;
mod journal;
mod label;
mod meter;
mod predict;
mod purchase;
mod ranges;
mod recipes;
mod refill;
mod stock;
mod stocks;
mod substitute;
mod water;
mod waters;

pub use document::{Document, Media};
pub use fields::Fields;

use crate::store::journal::Diary;
use crate::view::formulate::Show;
use crate::view::nutrients::Unit;
use crate::view::round::Measure;
use crate::view::spread;
use saltwright_fertilizers::Fault;
use saltwright_recipes::Library;
use std::hash::{DefaultHasher, Hash, Hasher};

/// The pages in the order of the menu; the first is the front page.
pub const PAGES: &[Page] = &[
    Page::Job(&formulate::PAGE),
    Page::Job(&predict::PAGE),
    Page::Job(&water::PAGE),
    Page::Job(&stock::PAGE),
    Page::Job(&substitute::PAGE),
    Page::Job(&purchase::PAGE),
    Page::Job(&label::PAGE),
    Page::Job(&correct::PAGE),
    Page::Job(&refill::PAGE),
    Page::Job(&meter::PAGE),
    Page::Journal,
    Page::List(&recipes::PAGE),
    Page::List(&waters::PAGE),
    Page::List(&fertilizers::PAGE),
    Page::List(&crops::PAGE),
    Page::Text(&how::PAGE),
];

/// A page of one of four kinds.
#[derive(Clone, Copy)]
pub enum Page {
    /// Asks for a job and shows its report.
    Job(&'static job::JobPage),
    /// Shows what is shipped and checks what is pasted.
    List(&'static list::ListPage),
    /// Shows what was noted, and notes more.
    Journal,
    /// Explains.
    Text(&'static frame::TextPage),
}

impl Page {
    /// Its path below the base address.
    pub const fn path(self) -> &'static str {
        match self {
            Self::Job(page) => page.path,
            Self::List(page) => page.path,
            Self::Journal => journal::PATH,
            Self::Text(page) => page.path,
        }
    }

    /// Its name in the menu.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Job(page) => page.name,
            Self::List(page) => page.name,
            Self::Journal => journal::NAME,
            Self::Text(page) => page.name,
        }
    }

    /// True for what is looked up now and then: lists and what explains.
    pub const fn is_looked_up(self) -> bool {
        matches!(self, Self::List(_) | Self::Text(_))
    }

    fn of(path: &str) -> Option<Self> {
        if path.is_empty() {
            return PAGES.first().copied();
        }
        PAGES.iter().copied().find(|page| page.path() == path)
    }
}

/// How something is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// A question in an address.
    Get,
    /// A question in a form.
    Post,
}

/// What is asked of the site.
#[derive(Clone, Debug)]
pub struct Asked {
    /// How.
    pub method: Method,
    /// The base address: `/`, or `/TOKEN/` of a shared page.
    pub base: String,
    /// The path below the base.
    pub path: String,
    /// The fields that were sent.
    pub fields: Fields,
}

/// Everything that pages are made from.
pub struct Site {
    /// What is shipped.
    pub library: Library,
    /// Tells one version of style sheet and script from another.
    pub version: String,
    /// The journal, where pages may look into one.
    pub diary: Option<Diary>,
}

impl Site {
    /// The site over the shipped library.
    pub fn new() -> Result<Self, Vec<Fault>> {
        Library::shipped().map(Self::over)
    }

    /// The site over a library, a grower's own entries included.
    pub fn over(library: Library) -> Self {
        let mut hasher = DefaultHasher::new();
        (frame::STYLE, frame::JOURNAL_STYLE, frame::SCRIPT).hash(&mut hasher);
        let version = format!("{:x}", hasher.finish());
        Self {
            library,
            version,
            diary: None,
        }
    }

    /// The same site with a journal.
    #[must_use]
    pub fn with_diary(mut self, diary: Diary) -> Self {
        self.diary = Some(diary);
        self
    }

    /// Answers what is asked.
    pub fn answer(&self, asked: &Asked) -> Document {
        if let Some(asset) = frame::asset(&asked.path) {
            return match asked.method {
                Method::Get => asset,
                Method::Post => Document::wrong_method("GET"),
            };
        }
        let visit = Visit::new(self, asked);
        let (stem, form) = split(&asked.path);
        match (Page::of(stem), form) {
            (Some(Page::Job(page)), form) => page.answer(&visit, form),
            (Some(Page::List(page)), form) => page.answer(&visit, form),
            (Some(Page::Journal), form) => journal::answer(&visit, form),
            (Some(Page::Text(page)), Form::Page) if asked.method == Method::Get => {
                page.answer(&visit)
            }
            (Some(Page::Text(_)), Form::Page) => Document::wrong_method("GET"),
            _ => frame::not_found(&visit),
        }
    }
}

/// The form in which an answer is wanted, told by the ending of its path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A page to read.
    Page,
    /// The exact report.
    Json,
    /// The main table for a spreadsheet.
    Csv,
    /// The nutrients for a spreadsheet.
    NutrientsCsv,
    /// The sheet by the scale for a spreadsheet.
    WeighCsv,
}

fn split(path: &str) -> (&str, Form) {
    const ENDINGS: [(&str, Form); 4] = [
        ("-nutrients.csv", Form::NutrientsCsv),
        ("-weigh.csv", Form::WeighCsv),
        (".csv", Form::Csv),
        (".json", Form::Json),
    ];
    let found = ENDINGS
        .iter()
        .find_map(|(ending, form)| Some((path.strip_suffix(ending)?, *form)));
    found.unwrap_or((path, Form::Page))
}

/// One question to a page.
pub struct Visit<'a> {
    /// What pages are made from.
    pub site: &'a Site,
    /// How it was asked.
    pub method: Method,
    /// The base address.
    pub base: &'a str,
    /// The fields that count.
    pub fields: Fields,
    /// How figures are shown.
    pub show: Show,
}

/// The fields that say how figures are shown; links keep them.
pub const SHOW_FIELDS: [&str; 3] = ["measure", "units", "detail"];

impl<'a> Visit<'a> {
    fn new(site: &'a Site, asked: &'a Asked) -> Self {
        let fields = asked.fields.clone();
        let show = Show {
            measure: match fields.get("measure") {
                Some("us") => Measure::Us,
                _ => Measure::Metric,
            },
            unit: match fields.get("units") {
                Some("mmol") => Unit::Mmol,
                Some("meq") => Unit::Meq,
                _ => Unit::Mg,
            },
            detail: fields.get("detail") == Some("all"),
            narrow: fields.get("narrow").and_then(spread::figure),
        };
        Self {
            site,
            method: asked.method,
            base: &asked.base,
            fields,
            show,
        }
    }

    /// The address of a page with these fields; how figures are shown is kept.
    pub fn address(&self, path: &str, fields: &[(&str, &str)]) -> String {
        let mut query = Fields::of(fields);
        for name in SHOW_FIELDS {
            if let Some(value) = self.fields.get(name) {
                query.set(name, value);
            }
        }
        format!("{}{path}{}", self.base, query.query())
    }

    /// The address of this very question at a path.
    pub fn here(&self, path: &str) -> String {
        format!("{}{path}{}", self.base, self.fields.query())
    }

    /// The address of this very question with one field changed.
    pub fn changed(&self, path: &str, name: &str, value: &str) -> String {
        let mut fields = self.fields.clone();
        fields.set(name, value);
        format!("{}{path}{}", self.base, fields.query())
    }

    /// True where the question is short enough for an address.
    pub fn fits_address(&self) -> bool {
        self.fields.query().len() <= fields::MAX_QUERY
    }

    /// True where figures are shown in US units.
    pub fn is_us(&self) -> bool {
        self.show.measure == Measure::Us
    }
}
