//! The journal behind the server: who may write, and who may not.

use super::Served;
use crate::common::saltwright;
use saltwright::store::journal::Kept;
use std::path::Path;
use tempfile::TempDir;

/// A grower's folder.
fn own() -> TempDir {
    let place = tempfile::tempdir().expect("a folder");
    let made = saltwright()
        .arg("start")
        .arg(place.path().join("own"))
        .output();
    assert!(made.expect("it starts").status.success());
    place
}

fn count(place: &Path) -> usize {
    let kept = Kept::read(&place.join("own").join("journal.db")).expect("read");
    kept.entries().len()
}

/// Sends a reading as a form, with one more header; the status.
fn note(served: &Served, more: &str) -> u16 {
    let host = format!("Host: {}", served.address);
    let form = "Content-Type: application/x-www-form-urlencoded";
    let body = "act=reading&name=tank&ph=6";
    let start = format!("POST {}journal", served.base);
    served.ask(&start, &[&host, form, more], body).0
}

#[test]
fn this_machine_writes_and_foreign_pages_do_not() {
    let place = own();
    let folder = place.path().join("own");
    let served = Served::start(&["--folder", folder.to_str().expect("text")]);
    let origin = format!("Origin: http://{}", served.address);
    assert_eq!(note(&served, &origin), 303);
    assert_eq!(count(place.path()), 1);
    for foreign in [
        "Origin: http://evil.example",
        "Origin: null",
        "Sec-Fetch-Site: cross-site",
        "Sec-Fetch-Site: same-site",
    ] {
        assert_eq!(note(&served, foreign), 403, "{foreign}");
    }
    let plain = ["Host: localhost", "Content-Type: text/plain"];
    let (status, _) = served.ask("POST /journal", &plain, "act=reading&ph=6");
    assert_eq!(status, 415);
    assert_eq!(count(place.path()), 1);
}

/// A finger that taps twice: both are answered, one is noted.
#[test]
fn the_same_form_at_the_same_time_is_noted_once() {
    let place = own();
    let folder = place.path().join("own");
    let served = Served::start(&["--folder", folder.to_str().expect("text")]);
    let body = "act=reading&name=tank&ph=6&seen=0";
    let headers = [
        "Host: localhost",
        "Content-Type: application/x-www-form-urlencoded",
    ];
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| assert_eq!(served.ask("POST /journal", &headers, body).0, 303));
        }
    });
    assert_eq!(count(place.path()), 1);
}

#[test]
fn a_shared_link_writes_only_where_it_was_started_so() {
    let place = own();
    let folder = place.path().join("own");
    let folder = ["--folder", folder.to_str().expect("text")];
    let share = ["--share", "--on", "127.0.0.2"];
    let read_only = Served::start(&[folder.as_slice(), &share].concat());
    assert!(
        read_only.said.contains("but not written to"),
        "{}",
        read_only.said
    );
    assert_eq!(note(&read_only, "Accept: */*"), 403);
    assert_eq!(count(place.path()), 0);
    let host = format!("Host: {}", read_only.address);
    let page = read_only.ask(&format!("GET {}journal", read_only.base), &[&host], "");
    assert!(page.0 == 200 && page.1.contains("writes nothing to it"));
    let writing = Served::start(&[folder.as_slice(), &share, &["--write"]].concat());
    assert!(writing.said.contains("and written to"), "{}", writing.said);
    assert_eq!(note(&writing, "Accept: */*"), 303);
    assert_eq!(count(place.path()), 1);
    // The token still guards it.
    let form = "Content-Type: application/x-www-form-urlencoded";
    let host = format!("Host: {}", writing.address);
    let (status, _) = writing.ask("POST /journal", &[&host, form], "act=reading&ph=6");
    assert_eq!((status, count(place.path())), (403, 1));
}
