//! What a grower waits for by the tank: a correction, a refill, a meter, the journal.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use saltwright::cli::refill::from_text;
use saltwright::store::folder::{Folder, lay_out};
use saltwright::store::journal::{Clock, Content, Details, Diary, Journal, Kept, Reading};
use saltwright::view::journal::list;
use saltwright::view::round::Measure;
use saltwright::view::text;
use saltwright::web::{Asked, Fields, Method, Site};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_recipes::library::DEMO_STOCKS;
use saltwright_solver::job::{Outcome, answer_node};
use std::hint::black_box;

/// Entries of a season with two readings a day and what was done between them.
const ENTRIES: usize = 1000;

const READINGS: &str = include_str!("../recipes/data/demo/readings.csv");

/// A request for the recipe and water of the demonstration.
fn asked(text: &str) -> Node {
    let mut request = Node::from_json(text).expect("JSON");
    request.set("recipe", Node::text("sonneveld-modified-lettuce"));
    request.set("water", Node::text("larch-hollow-spring"));
    request
}

fn jobs(c: &mut Criterion) {
    let library = Library::shipped().expect("the shipped library");
    let mut correct = asked(
        r#"{"job": "correct", "litres": 110, "capacity_l": 120, "acid": "nitric-acid-38",
            "reading": {"ec_ms_cm": 1.9, "ph": 6.9, "temperature_c": 20}}"#,
    );
    correct.set("stock", Node::from_toml(DEMO_STOCKS).expect("TOML"));
    let mut refill = asked(r#"{"job": "refill"}"#);
    let lists = from_text("", READINGS, &mut Faults::default()).expect("sound");
    for (key, list) in ["readings", "added"].into_iter().zip(lists) {
        refill.set(key, list);
    }
    let meter = Node::from_json(
        r#"{"job": "meter", "pairs": [{"ppm": 745, "ec_ms_cm": 1.49}],
            "points": [{"true_ms_cm": 0.7, "shows": 0.69}, {"kcl_g_per_l": 0.745, "shows": 1.40}]}"#,
    )
    .expect("JSON");
    for (name, request) in [
        ("correct: drain, water, acid in portions", correct),
        ("refill: a fortnight of 23 readings", refill),
        ("meter: a pair and two check solutions", meter),
    ] {
        let outcome = answer_node(&request, &library).outcome;
        assert!(matches!(outcome, Outcome::Report(_)), "{name}");
        c.bench_function(name, |b| {
            b.iter(|| answer_node(black_box(&request), &library));
        });
    }
}

fn content(clock: &Clock, n: usize) -> Content {
    let mut at = clock.moment();
    at.second -= i64::try_from(ENTRIES - n).expect("small") * 43_200;
    Content {
        at,
        system: "tank".into(),
        reading: Reading {
            ec_ms_cm: Some(1.45),
            ph: Some(5.9),
            temperature_c: Some(20.0),
            litres: Some(110.0),
        },
        details: Details::default(),
    }
}

fn journal(c: &mut Criterion) {
    let place = tempfile::tempdir().expect("a folder");
    let clock = Clock::system();
    let own = place.path().join("own");
    lay_out(&own, false, &clock).expect("laid out");
    let path = own.join("journal.db");
    let contents: Vec<Content> = (0..ENTRIES).map(|n| content(&clock, n)).collect();
    let mut open = Journal::open(&path).expect("opened");
    open.import(&contents, clock.now).expect("written");
    drop(open);
    let folder = Folder::find(Some(&own)).expect("there");
    let diary = Diary::new(folder, true, Clock::system);
    let site = Site::new().expect("the shipped library").with_diary(diary);
    let asked = Asked {
        method: Method::Get,
        base: "/".into(),
        path: "journal".into(),
        fields: Fields::default(),
    };
    assert_eq!(site.answer(&asked).status, 200);
    c.bench_function("journal: the page of 1,000 entries", |b| {
        b.iter(|| site.answer(black_box(&asked)));
    });
    c.bench_function("journal: 1,000 entries read, checked and listed", |b| {
        b.iter(|| {
            let kept = Kept::sound(&path).expect("sound");
            let entries = kept.entries();
            let all: Vec<_> = entries.iter().collect();
            text::render(&list(&all, Measure::Metric))
        });
    });
    // Opened, added, on the disk, closed: what a command does. Each on a copy of its own.
    let copies = std::cell::Cell::new(0);
    let copied = || {
        copies.set(copies.get() + 1);
        let copy = place.path().join(format!("{}.db", copies.get()));
        std::fs::copy(&path, &copy).expect("copied");
        copy
    };
    let new = content(&clock, ENTRIES);
    c.bench_function("journal: an entry added to 1,000, synced", |b| {
        b.iter_batched(
            copied,
            |copy| {
                let mut journal = Journal::open(&copy).expect("opened");
                journal.add(&new, clock.now, &[]).expect("written")
            },
            BatchSize::PerIteration,
        );
    });
}

criterion_group!(benches, jobs, journal);
criterion_main!(benches);
