//! What is noted by the page stands there once; what is wrong with it stands beside its field.

use super::*;

#[test]
fn a_reading_is_noted_once_and_shown() {
    let own = Own::new(true, true);
    let before = own.entries().len();
    let seen = hidden(&own.page(&[]), "seen");
    let sent = [&READING[..], &[("seen", &seen), ("system", "kettle row")]].concat();
    let address = own.noted(&sent);
    assert_eq!(address, "/journal?system=kettle+row&noted=36");
    // The answer was lost on the way, and the form is sent again.
    assert_eq!(own.noted(&sent), address);
    let entries = own.entries();
    assert_eq!(entries.len(), before + 1);
    let reading = entries.last().expect("one").content.reading;
    assert_eq!(reading.ec_ms_cm, Some(1.4));
    assert_eq!((reading.ph, reading.litres), (Some(6.1), Some(110.0)));
    // The same figures from a newer page are another reading.
    let seen = hidden(&own.page(&[]), "seen");
    own.noted(&[&READING[..], &[("seen", &seen), ("system", "kettle row")]].concat());
    assert_eq!(own.entries().len(), before + 2);
    let page = own.page(&[("system", "kettle row"), ("noted", "36")]);
    for said in [
        "Noted as entry 36: kettle row, 2026-03-17 08:00: EC 1.40 mS/cm; pH 6.1; 20.5 °C; 110 L",
        "<strong>1.40</strong> in its band, 1.3 to 1.6",
        "2026-03-17 08:00, just now",
        "pH: from 5.6 on 2026-03-02 08:00 to 6.1 on 2026-03-17 08:00",
        "<a href=\"/journal?entry=36\">36</a>",
        "taken on the 500 scale, that of your pen",
    ] {
        assert!(page.contains(said), "{said}");
    }
}

#[test]
fn what_was_done_is_noted_and_marked_in_the_chart() {
    let own = Own::new(true, true);
    let marks = |page: &str| page.matches("<path class=\"done\"").count();
    let before = marks(&own.page(&[]));
    let address = own.noted(&[
        ("act", "done"),
        ("system", "kettle row"),
        ("drained", "5"),
        ("added", "larch-hollow-spring 10 L\nnitric-acid-38 9 mL"),
        ("done-note", "by the page"),
        ("done-at", "2026-03-16 07:00"),
    ]);
    let page = own.page(&[("system", "kettle row"), ("noted", "36")]);
    assert!(address.ends_with("noted=36"), "{address}");
    let said = "drained 5 L; added 10 L of larch-hollow-spring; added 9.00 mL of nitric-acid-38; by the page";
    assert!(page.contains(said), "{page}");
    // One more in each of four panels.
    assert_eq!(marks(&page), before + 4);
}

#[test]
fn a_fault_stands_beside_its_field_and_keeps_what_was_typed() {
    let own = Own::new(false, true);
    let cases: [(Sent<'_>, &str, &str, &str); 7] = [
        (
            &[("name", "t"), ("ec", "25")],
            "ec",
            "25",
            "more than any reservoir holds",
        ),
        (&[("name", "t"), ("ph", "0.5")], "ph", "0.5", "pH meter"),
        (
            &[("name", "t"), ("level", "much")],
            "level",
            "much",
            "not a number",
        ),
        (
            &[("name", "t"), ("ec", "650 ppm")],
            "ec",
            "650 ppm",
            "scale",
        ),
        (&[("ec", "1.4")], "ec", "1.4", "Name the tank once"),
        (
            &[("name", "t"), ("ph", "6"), ("at", "noon")],
            "at",
            "noon",
            "not a date and a time",
        ),
        (
            &[("name", "t"), ("ph", "6"), ("at", "2199-01-01 08:00")],
            "at",
            "2199-01-01 08:00",
            "a day ahead",
        ),
    ];
    for (fields, field, typed, words) in cases {
        let document = own.post(&[&[("act", "reading")], fields].concat());
        let page = &document.text;
        assert_eq!(document.status, 422, "{fields:?}");
        assert!(page.contains(words), "{fields:?}: {page}");
        let kept = format!("name=\"{field}\" value=\"{typed}\"");
        assert!(page.contains(&kept), "{kept}");
    }
    let document = own.post(&[("act", "reading"), ("name", "t")]);
    assert_eq!(document.status, 422);
    assert!(
        document.text.contains("this entry is empty"),
        "{}",
        document.text
    );
    for fields in [
        &[("act", "erase")][..],
        &[],
        &[("act", "reading"), ("phh", "6")],
    ] {
        assert_eq!(own.post(fields).status, 422, "{fields:?}");
    }
    assert!(own.entries().is_empty(), "nothing of all that was noted");
}

#[test]
fn an_amount_needs_its_unit() {
    let own = Own::new(true, true);
    let done = [("act", "done"), ("system", "kettle row")];
    for (field, typed, words) in [
        ("added", "water 5", "has no unit"),
        ("added", "water", "has no value beside it"),
        ("drained", "5 kg", "is not known here"),
        ("filled", "feed 1e15L", "more than the limit"),
    ] {
        let document = own.post(&[&done[..], &[(field, typed)]].concat());
        let page = &document.text;
        assert_eq!(document.status, 422, "{typed}");
        assert!(page.contains(words), "{typed}: {page}");
        assert!(page.contains(typed), "{typed}: {page}");
    }
    assert_eq!(own.entries().len(), 35);
}

#[test]
fn a_new_journal_begins_with_its_first_reading() {
    let own = Own::new(false, true);
    assert!(own.page(&[]).contains("Nothing stands here yet"));
    own.noted(&[
        ("act", "reading"),
        ("name", "north  bench"),
        ("note", "<b>roots</b> white"),
    ]);
    let page = own.page(&[]);
    assert!(page.contains("&lt;b&gt;roots&lt;/b&gt; white") && !page.contains("<b>"));
    assert!(
        page.contains("Nothing was read of north bench yet"),
        "{page}"
    );
    own.noted(&[("act", "reading"), ("name", "south"), ("ph", "6")]);
    let page = own.page(&[("system", "North bench")]);
    assert!(page.contains("/journal?system=south"), "{page}");
    let unknown = own.ask(Method::Get, &[("system", "noth bench")]);
    assert_eq!(unknown.status, 422);
    assert!(
        unknown
            .text
            .contains("Did you mean &quot;north bench&quot;"),
        "{}",
        unknown.text
    );
}

#[test]
fn what_to_do_now_is_asked_from_the_last_reading() {
    let own = Own::new(true, true);
    own.noted(&[
        ("act", "reading"),
        ("system", "kettle row"),
        ("ec", "1.9"),
        ("ph", "6.9"),
        ("temperature", "20"),
        ("level", "110"),
    ]);
    let page = own.page(&[]);
    let (link, _) = page.split_once("\">What should I do now?").expect("a link");
    let (_, link) = link.rsplit_once("href=\"").expect("its address");
    let link = link.replace("&amp;", "&");
    let (path, query) = link
        .trim_start_matches('/')
        .split_once('?')
        .expect("a question");
    let answer = own.site.answer(&Asked {
        method: Method::Get,
        base: "/".into(),
        path: path.into(),
        fields: Fields::read(query.as_bytes()),
    });
    assert_eq!(answer.status, 200, "{}", answer.text);
    // What the command answers from the same journal.
    let output = crate::common::saltwright()
        .args(["correct", "--system", "--folder"])
        .arg(own.folder.path())
        .output()
        .expect("it starts");
    let said = crate::common::stdout(&output);
    let steps: Vec<&str> = said.lines().filter(|line| line.contains(" mL ")).collect();
    assert!(!steps.is_empty(), "{said}");
    for step in steps {
        let amount: Vec<&str> = step
            .split_whitespace()
            .skip_while(|word| word.parse::<f64>().is_err())
            .skip(1)
            .collect();
        let number = amount
            .iter()
            .find(|word| word.parse::<f64>().is_ok())
            .expect(step);
        assert!(answer.text.contains(*number), "{step}: {}", answer.text);
    }
}

/// Years of entries: a page stays light, and the older ones are one step away.
#[test]
fn a_page_of_a_long_journal_stays_light() {
    const READINGS: usize = 1000;
    let own = Own::new(false, true);
    let heads = "date_time,system,ec_ms_cm,ph,temperature_c,litres,done,note".to_owned();
    let mut lines = vec![heads];
    for n in 0..READINGS {
        let day = format!(
            "20{:02}-{:02}-{:02}",
            23 + n / 336,
            1 + n / 28 % 12,
            1 + n % 28
        );
        let (ec, level) = (n % 90, 90 + n % 20);
        let read = format!("{day} 08:00,tank,1.{ec:02},5.9,19.5,{level}.5,,");
        let done =
            format!("{day} 08:20,tank,,,,,added larch-hollow-spring 5.0 L,a note as notes are");
        lines.extend([read, done]);
    }
    let contents =
        saltwright::store::journal::csv::read("t.csv", &lines.join("\n"), None, &clock())
            .expect("sound");
    let mut journal = own
        .site
        .diary
        .as_ref()
        .expect("one")
        .write()
        .expect("opened");
    journal.import(&contents, clock().now).expect("written");
    let assets = ["sheet.css", "journal.css", "swap.js", "icon.svg"]
        .map(|name| ask(&own.site, Method::Get, name, &[]).text.len());
    let page = own.page(&[]);
    let weight = page.len() + assets.iter().sum::<usize>();
    println!("{} entries: a page of {weight} bytes", 2 * READINGS);
    assert!(weight <= WEIGHT, "{weight}");
    assert!(
        page.contains("The last 60 of 1000 readings are drawn."),
        "{page}"
    );
    let older = own.page(&[("skip", "20")]);
    assert!(
        older.contains("Newer entries")
            && older.contains("entry=1961")
            && !older.contains("entry=1981\"")
    );
    let table = ask(&own.site, Method::Get, "journal.csv", &[]);
    assert_eq!(table.text.lines().count(), 2 * READINGS + 1);
}
