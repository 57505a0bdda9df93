//! What is mended or taken back is kept, and nobody overwrites another unseen.

use super::*;

#[test]
fn an_entry_is_mended_and_its_history_stays() {
    let own = Own::new(true, true);
    let form = own.page(&[("entry", "26")]);
    let revisions = hidden(&form, "revisions");
    let was = ["ec", "ph", "temperature", "level", "at"].map(|name| (name, hidden(&form, name)));
    let mut sent: Vec<(&str, &str)> = was
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    sent.extend([("act", "amend"), ("entry", "26"), ("revisions", &revisions)]);
    let before = own.entries();
    sent.iter_mut()
        .filter(|(name, _)| *name == "ph")
        .for_each(|field| field.1 = "6.4");
    assert_eq!(own.noted(&sent), "/journal?entry=26");
    let after = own.entries();
    for (before, after) in before.iter().zip(&after) {
        let mut wanted = before.content.clone();
        if before.number == 26 {
            wanted.reading.ph = Some(6.4);
        }
        assert_eq!(after.content, wanted, "entry {}", before.number);
    }
    let page = own.page(&[("entry", "26")]);
    assert!(page.contains("pH 6.9") && page.contains("pH 6.4"), "{page}");
    assert!(own.page(&[]).contains("(amended)"));
    // A page that was drawn before does not undo what another wrote since.
    let late = own.post(&sent);
    assert_eq!(late.status, 409);
    assert!(late.text.contains("changed meanwhile"), "{}", late.text);
    sent.iter_mut()
        .filter(|(name, _)| *name == "revisions")
        .for_each(|field| field.1 = "2");
    sent.iter_mut()
        .filter(|(name, _)| *name == "ph")
        .for_each(|field| field.1 = "61");
    let refused = own.post(&sent);
    assert_eq!(refused.status, 422);
    assert!(
        refused.text.contains("name=\"ph\" value=\"61\""),
        "{}",
        refused.text
    );
    assert_eq!(
        own.post(&[("act", "amend"), ("entry", "999"), ("revisions", "1")])
            .status,
        404
    );
}

/// Figures that the screen rounds do not become the ones that are kept.
#[test]
fn mending_a_note_leaves_exact_figures() {
    let own = Own::new(false, true);
    own.noted(&[
        ("act", "reading"),
        ("name", "t"),
        ("level", "29.1234 gal"),
        ("temperature", "67.3 F"),
    ]);
    let exact = own.entries()[0].content.reading;
    // The journal remembers gallons.
    let form = own.page(&[("entry", "1")]);
    assert!(
        form.contains("value=\"29.1 gal\"") && form.contains("US gal"),
        "{form}"
    );
    let [level, temperature, at] = ["level", "temperature", "at"].map(|name| hidden(&form, name));
    own.noted(&[
        ("act", "amend"),
        ("entry", "1"),
        ("revisions", "1"),
        ("level", &level),
        ("temperature", &temperature),
        ("at", &at),
        ("note", "mended"),
    ]);
    let now = &own.entries()[0].content;
    assert_eq!((now.reading, now.details.note.as_str()), (exact, "mended"));
    own.noted(&[("act", "reading"), ("level", "10"), ("temperature", "68")]);
    let typed = own.entries()[1].content.reading;
    assert_eq!(typed.temperature_c, Some(20.0));
    assert!(
        (typed.litres.expect("a level") - 37.854_117_84).abs() < 1e-9,
        "{typed:?}"
    );
}

#[test]
fn the_last_act_is_taken_back_by_a_button_and_only_that() {
    let own = Own::new(true, true);
    own.noted(&[("act", "reading"), ("ph", "6"), ("system", "kettle row")]);
    let page = own.page(&[]);
    assert!(page.contains("Last noted: entry 36"), "{page}");
    let one = hidden(&page, "one");
    own.noted(&[("act", "reading"), ("ph", "6.2"), ("system", "kettle row")]);
    let late = own.post(&[("act", "undo"), ("one", &one)]);
    assert_eq!(late.status, 409);
    assert_eq!(own.entries().len(), 37, "nothing was taken back");
    let one = hidden(&own.page(&[]), "one");
    assert_eq!(
        own.noted(&[("act", "undo"), ("one", &one)]),
        "/journal?entry=37"
    );
    assert_eq!(own.entries().len(), 36);
    let history = own.page(&[("entry", "37")]);
    assert!(
        history.contains("taken back") && history.contains("pH 6.2"),
        "{history}"
    );
    assert!(!history.contains("Mend this entry"), "{history}");
}
