//! The page of the journal: what is noted by it stands there once, what is mended is kept, and who
//! may not write does not.

mod guards;
mod mends;
mod notes;
mod onward;

use super::WEIGHT;
use crate::common::library;
use saltwright::store::folder::{Folder, lay_out};
use saltwright::store::journal::{Clock, Diary, Entry, Kept};
use saltwright::web::{Asked, Document, Fields, Method, Site};
use std::path::Path;
use tempfile::TempDir;

/// The morning after the fortnight of the demonstration.
fn clock() -> Clock {
    Clock {
        now: "2026-03-17T08:00:00Z".parse().expect("an instant"),
        zone: jiff::tz::TimeZone::UTC,
    }
}

/// A grower's folder and the site over it.
struct Own {
    folder: TempDir,
    site: Site,
}

impl Own {
    fn new(demo: bool, writable: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        lay_out(folder.path(), demo, &clock()).expect("laid out");
        let site = site(folder.path(), writable);
        Self { folder, site }
    }

    fn ask(&self, method: Method, fields: &[(&str, &str)]) -> Document {
        ask(&self.site, method, "journal", fields)
    }

    fn page(&self, fields: &[(&str, &str)]) -> String {
        let document = self.ask(Method::Get, fields);
        assert_eq!(document.status, 200, "{fields:?}");
        document.text.into_owned()
    }

    fn post(&self, fields: &[(&str, &str)]) -> Document {
        self.ask(Method::Post, fields)
    }

    /// Sends a form that must be taken; the address that it answers.
    fn noted(&self, fields: &[(&str, &str)]) -> String {
        let document = self.post(fields);
        assert_eq!(document.status, 303, "{}", document.text);
        document.location.expect("an address")
    }

    fn kept(&self) -> Kept {
        Kept::read(&self.folder.path().join("journal.db")).expect("read")
    }

    fn entries(&self) -> Vec<Entry> {
        self.kept().entries()
    }
}

fn site(folder: &Path, writable: bool) -> Site {
    let folder = Folder::find(Some(folder)).expect("there");
    Site::over(library().clone()).with_diary(Diary::new(folder, writable, clock))
}

fn ask(site: &Site, method: Method, path: &str, fields: &[(&str, &str)]) -> Document {
    site.answer(&Asked {
        method,
        base: "/".into(),
        path: path.into(),
        fields: Fields::of(fields),
    })
}

/// Fields as they are sent.
type Sent<'a> = &'a [(&'a str, &'a str)];

/// The value of a field that a page sends unseen.
fn hidden(page: &str, name: &str) -> String {
    let (_, rest) = page
        .split_once(&format!("name=\"{name}\" value=\""))
        .unwrap_or_else(|| panic!("{name}"));
    rest.split('"').next().expect("an end").to_owned()
}

const READING: [(&str, &str); 6] = [
    ("act", "reading"),
    ("ec", "700"),
    ("ec-in", "500"),
    ("ph", "6,1"),
    ("temperature", "20.5"),
    ("level", "110"),
];
