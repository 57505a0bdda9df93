//! How long a browser waits for the server when a number is changed.
#![allow(missing_docs, clippy::expect_used)]

use criterion::{Criterion, criterion_group, criterion_main};
use saltwright::web::{Asked, Fields, Method, Site};
use std::hint::black_box;

fn asked(path: &str, query: &str) -> Asked {
    Asked {
        method: Method::Get,
        base: "/".into(),
        path: path.into(),
        fields: Fields::read(query.as_bytes()),
    }
}

fn pages(c: &mut Criterion) {
    let site = Site::new().expect("the shipped library");
    let recipe = "recipe=sonneveld-modified-lettuce&tank=120+L&prices=demo";
    let cases = [
        (
            "page: a number is changed, priced shelf",
            "formulate",
            format!("{recipe}&water=larch-hollow-spring&aim-K=205"),
        ),
        (
            "page: a water too hard, with its conflict",
            "formulate",
            format!("{recipe}&water=quarry-end-well&aim-Ca=..50"),
        ),
        (
            "page: a mix predicted",
            "predict",
            "mix=urea+0.1%0Apotassium-nitrate+0.5&water=rain-barrel".into(),
        ),
        (
            "page: the table of fertilizers",
            "fertilizers",
            String::new(),
        ),
    ];
    for (name, path, query) in cases {
        let asked = asked(path, &query);
        let document = site.answer(&asked);
        assert_eq!(document.status, 200, "{name}");
        println!("{name}: {} bytes", document.text.len());
        c.bench_function(name, |b| b.iter(|| site.answer(black_box(&asked))));
    }
}

criterion_group!(benches, pages);
criterion_main!(benches);
