//! From the journal to what to do and what the plants took, and back to what was done.

use super::*;
use crate::common::{saltwright, stdout};
use serde_json::Value;

/// Where a link with these words leads: its path and its fields.
fn link(page: &str, words: &str) -> (String, Fields) {
    let (before, _) = page
        .split_once(&format!("{words}</a>"))
        .unwrap_or_else(|| panic!("{words}\n{page}"));
    let address = before.rsplit("href=\"").next().expect("an address");
    let address = address.split('"').next().expect("an end");
    let address = address.replace("&amp;", "&");
    let address = address.split('#').next().expect("an address");
    let (path, query) = address.split_once('?').expect("fields");
    let fields = Fields::read(query.as_bytes());
    (path.trim_start_matches('/').to_owned(), fields)
}

fn follow(site: &Site, method: Method, (path, fields): (String, Fields)) -> Document {
    let base = "/".into();
    site.answer(&Asked {
        method,
        base,
        path,
        fields,
    })
}

/// The demonstration's stocks are too long for an address: a tank without any.
fn plain() -> Own {
    let own = Own::new(false, true);
    for (day, ec, litres) in [
        ("02", "1.40", "110"),
        ("04", "1.46", "104"),
        ("06", "2.9", "98"),
    ] {
        own.noted(&[
            ("act", "reading"),
            ("name", "tub one"),
            ("ec", ec),
            ("ph", "6.9"),
            ("level", litres),
            ("at", &format!("2026-03-{day} 08:00")),
        ]);
    }
    let path = own.folder.path().join("journal.db");
    assert!(path.exists());
    let told = [
        "journal",
        "system",
        "tub one",
        "--recipe",
        "hoagland-2",
        "--water",
        "rain-barrel",
        "--tank",
        "120 L",
    ];
    let output = saltwright()
        .args(told)
        .env("SALTWRIGHT_FOLDER", own.folder.path())
        .output()
        .expect("it starts");
    assert!(output.status.success(), "{output:?}");
    own
}

#[test]
fn what_was_done_is_noted_from_the_answer() {
    let own = plain();
    let asked = link(&own.page(&[]), "What should I do now?");
    assert_eq!(asked.0, "correct");
    assert_eq!(asked.1.get("system"), Some("tub one"));
    let answered = follow(&own.site, Method::Get, asked);
    assert_eq!(answered.status, 200, "{}", answered.text);
    let (path, fields) = link(&answered.text, "note it in the journal");
    assert_eq!(path, "journal");
    let added = fields.get("added").expect("something is added").to_owned();
    assert!(added.starts_with("rain-barrel "), "{added}");
    assert!(added.contains("\nnitric-acid-38 "), "{added}");
    // The form stands open and filled in; sent as it is, all of it is noted.
    let page = follow(&own.site, Method::Get, (path, fields))
        .text
        .into_owned();
    assert!(page.contains("<details id=\"done\" open"), "{page}");
    let seen = hidden(&page, "seen");
    own.noted(&[
        ("act", "done"),
        ("seen", &seen),
        ("system", "tub one"),
        ("added", &added),
    ]);
    let entries = own.entries().into_iter();
    let last = entries.max_by_key(|entry| entry.number).expect("an entry");
    assert_eq!(last.content.system, "tub one");
    assert_eq!(last.content.details.done.len(), added.lines().count());
}

#[test]
fn who_may_not_write_is_not_sent_to_note() {
    let own = plain();
    let reader = site(own.folder.path(), false);
    let page = ask(&reader, Method::Get, "journal", &[]).text.into_owned();
    let asked = link(&page, "What should I do now?");
    assert_eq!(asked.1.get("system"), None);
    let answered = follow(&reader, Method::Get, asked);
    assert_eq!(answered.status, 200);
    assert!(!answered.text.contains("note it in the journal"));
}

/// The same figures as the command reads from the journal, the stocks that were added included.
#[test]
fn the_journal_leads_to_what_the_plants_took() {
    let words = "What did the plants take, and what to refill?";
    let (demo, plain) = (Own::new(true, true), plain());
    for own in [&demo, &plain] {
        let asked = link(&own.page(&[]), words);
        assert_eq!(asked.0, "refill");
        let page = follow(&own.site, Method::Get, asked.clone())
            .text
            .into_owned();
        assert!(page.contains("From the journal of "), "{page}");
        let asked = ("refill.json".into(), asked.1);
        let answered = follow(&own.site, Method::Get, asked);
        assert_eq!(answered.status, 200, "{}", answered.text);
        let page: Value = serde_json::from_str(&answered.text).expect("JSON");
        let output = saltwright()
            .args(["refill", "--system", "--json"])
            .env("SALTWRIGHT_FOLDER", own.folder.path())
            .output()
            .expect("it starts");
        let command: Value = serde_json::from_str(&stdout(&output)).expect("JSON");
        for key in ["days", "drunk_l_per_day", "taken", "drift", "change_out"] {
            assert_eq!(page[key], command[key], "{key}");
        }
    }
}

#[test]
fn a_tank_without_readings_is_refused_in_the_words_of_the_page() {
    let own = plain();
    let ask = |fields: &[(&str, &str)]| {
        let fields = [&[("recipe", "hoagland-2"), ("readings", "journal")], fields].concat();
        ask(&own.site, Method::Get, "refill", &fields)
    };
    assert_eq!(ask(&[]).status, 200);
    own.noted(&[("act", "reading"), ("name", "tub two"), ("ec", "1.4")]);
    for (system, words) in [
        ("tub two", "fewer than two readings with EC and level"),
        ("tub oen", "Did you mean &quot;tub one&quot;?"),
        ("cellar", "Use one of: tub one, tub two."),
    ] {
        let refused = ask(&[("system", system)]);
        assert_eq!(refused.status, 422, "{system}");
        assert!(refused.text.contains(words), "{}", refused.text);
        assert!(!refused.text.contains("--"), "{}", refused.text);
    }
    // Where there is no journal, nobody is offered its readings.
    let fields = [("recipe", "hoagland-2"), ("readings", "journal")];
    let bare = Site::over(library().clone());
    let refused = self::ask(&bare, Method::Get, "refill", &fields);
    assert_eq!(refused.status, 422);
}

/// A bottle without a label is no name in the journal, and nothing that is let out.
#[test]
fn a_bottle_without_a_label_is_noted_in_words() {
    let own = plain();
    let (path, mut fields) = link(&own.page(&[]), "What should I do now?");
    for (field, typed) in [
        ("bottle-ml", "5"),
        ("bottle-into", "100 L"),
        ("bottle-before", "7.0"),
        ("bottle-after", "6.6"),
    ] {
        fields.set(field, typed);
    }
    let answered = follow(&own.site, Method::Get, (path, fields));
    let (_, fields) = link(&answered.text, "note it in the journal");
    let note = fields.get("done-note").expect("a note");
    assert!(note.contains("mL of acid"), "{note}");
    assert!(note.ends_with("from a bottle without a label"), "{note}");
    let drained = fields.get("drained").unwrap_or_default();
    assert!(!drained.contains("mL"), "{drained}");
    let said = saltwright()
        .args(["correct", "--system", "--bottle", "5mL/100L=7.0..6.6"])
        .env("SALTWRIGHT_FOLDER", own.folder.path())
        .output()
        .expect("it starts");
    let said = stdout(&said);
    assert!(
        said.contains(&format!("--note \"{note}\"")),
        "{note}\n{said}"
    );
    let mut drained = said.lines().filter(|line| line.contains("--drained"));
    assert!(drained.all(|line| !line.contains("mL")), "{said}");
}
