//! Files that are damaged: what can be read is shown, nothing is written to them.

use super::{done, journal, refused, rows};
use crate::common::{stderr, stdout};
use std::fs;
use std::path::Path;

/// Size of a page of the file, bytes.
const PAGE: usize = 4096;

/// A journal large enough to have many pages.
fn written(folder: &Path) -> Vec<u8> {
    let long = "x".repeat(3000);
    for n in 0..30 {
        done(
            folder,
            &[
                "add",
                "--system",
                "tank",
                "--ec",
                "1.4",
                "--note",
                &format!("{n} {long}"),
            ],
        );
    }
    fs::read(folder.join("journal.db")).expect("read")
}

#[test]
fn what_can_be_read_of_a_damaged_journal_is_shown_and_counted() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = written(folder.path());
    let pages = whole.len() / PAGE;
    assert!(pages > 20, "{pages}");
    let path = folder.path().join("journal.db");
    let (mut some, mut harmless) = (0, 0);
    for page in 1..pages {
        let mut damaged = whole.clone();
        damaged[page * PAGE..(page + 1) * PAGE].fill(0xa5);
        fs::write(&path, &damaged).expect("written");
        let output = journal(folder.path(), &["list", "--json"]);
        let said = stderr(&output);
        let listed = rows(&stdout(&output));
        if output.status.success() {
            // A page that holds nothing may hold anything.
            assert_eq!(listed.len(), 30, "page {page}");
            harmless += 1;
            continue;
        }
        assert_eq!(output.status.code(), Some(1), "page {page}: {said}");
        assert!(
            said.contains("this journal is damaged"),
            "page {page}: {said}"
        );
        some += usize::from(listed.len() >= 25);
        let said = refused(folder.path(), &["add", "--ec", "1.5"]);
        assert!(said.contains("damaged"), "page {page}: {said}");
        assert!(
            fs::read(&path).expect("read") == damaged,
            "nothing is written to it"
        );
    }
    println!("{pages} pages: {some} cost few entries, {harmless} none");
    assert!(some * 2 > pages, "{some} of {pages}");
}

#[test]
fn a_journal_cut_short_gives_what_is_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let whole = written(folder.path());
    let path = folder.path().join("journal.db");
    for (part, least) in [
        (whole.len() / 2, 10),
        (whole.len() - 1, 28),
        (PAGE + 100, 0),
    ] {
        fs::write(&path, &whole[..part]).expect("written");
        let output = journal(folder.path(), &["list", "--json"]);
        let said = stderr(&output);
        let left = rows(&stdout(&output)).len();
        assert!((least..=30).contains(&left), "{part}: {left}");
        assert_eq!(output.status.code(), Some(1), "{part}: {said}");
        assert!(
            said.contains("damaged") && said.contains("could be read"),
            "{part}: {said}"
        );
    }
}
