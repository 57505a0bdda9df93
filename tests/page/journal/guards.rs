//! Who may not write does not; what is not there or damaged is said.

use super::*;

#[test]
fn who_may_not_write_reads() {
    let own = Own::new(true, false);
    let page = own.page(&[]);
    assert!(
        page.contains("reads the journal and writes nothing"),
        "{page}"
    );
    assert!(
        !page.contains("method=\"post\" action=\"/journal\""),
        "{page}"
    );
    assert!(!own.page(&[("entry", "3")]).contains("Mend this entry"));
    let before = own.entries();
    for fields in [
        &[("act", "reading"), ("system", "kettle row"), ("ph", "6")][..],
        &[
            ("act", "done"),
            ("system", "kettle row"),
            ("added", "water 5 L"),
        ],
        &[
            ("act", "amend"),
            ("entry", "26"),
            ("revisions", "1"),
            ("ph", "6"),
        ],
        &[("act", "undo"), ("one", "1")],
    ] {
        let refused = own.post(fields);
        assert_eq!(refused.status, 403, "{fields:?}");
        assert!(refused.text.contains("--share --write"), "{}", refused.text);
    }
    assert_eq!(own.entries(), before);
}

/// Asking never writes, whatever the address says.
#[test]
fn an_address_notes_nothing() {
    let own = Own::new(true, true);
    let before = own.entries();
    for fields in [
        &[("act", "undo"), ("one", "1")][..],
        &[("act", "reading"), ("ph", "6"), ("system", "kettle row")],
    ] {
        own.page(fields);
    }
    assert_eq!(own.entries(), before);
}

#[test]
fn where_there_is_no_journal_the_page_says_how_to_lay_one_out() {
    let empty = tempfile::tempdir().expect("a folder");
    let bare = Site::over(library().clone());
    for site in [bare, site(empty.path(), true)] {
        let page = ask(&site, Method::Get, "journal", &[]);
        assert_eq!(page.status, 200);
        assert!(
            page.text.contains("saltwright start my-greens"),
            "{}",
            page.text
        );
        let refused = ask(&site, Method::Post, "journal", &READING);
        assert_eq!(refused.status, 404);
    }
    let left = std::fs::read_dir(empty.path()).expect("a folder").count();
    assert_eq!(
        left, 0,
        "nothing is begun in a folder that is not one's own"
    );
}

#[test]
fn a_damaged_journal_is_shown_and_not_written_to() {
    let own = Own::new(true, true);
    let path = own.folder.path().join("journal.db");
    let whole = std::fs::read(&path).expect("read");
    std::fs::write(&path, &whole[..whole.len() - 5000]).expect("written");
    let damaged = std::fs::read(&path).expect("read");
    let page = own.ask(Method::Get, &[]);
    assert_eq!(page.status, 500);
    assert!(
        page.text.contains("could be read") && page.text.contains("kettle row"),
        "{}",
        page.text
    );
    let refused = own.post(&[("act", "reading"), ("system", "kettle row"), ("ph", "6")]);
    assert_eq!(refused.status, 500);
    assert!(refused.text.contains("damaged"), "{}", refused.text);
    assert!(std::fs::read(&path).expect("read") == damaged);
    std::fs::write(&path, "no journal at all").expect("written");
    let page = own.ask(Method::Get, &[]);
    assert_eq!(page.status, 500);
    assert!(
        page.text.contains("no journal, or its beginning is lost"),
        "{}",
        page.text
    );
}
