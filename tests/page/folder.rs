//! Pages over a grower's own folder.

use super::question;
use crate::common::library;
use saltwright::web::{Asked, Document, Fields, Method, Site};

/// A site whose folder has prices.
fn priced() -> Site {
    let mut library = library().clone();
    let list = include_str!("../../recipes/data/demo/prices.csv");
    library.add_prices("prices.csv", list).expect("sound");
    Site::over(library)
}

fn get(site: &Site, path: &str, fields: &[(&str, &str)]) -> Document {
    site.answer(&Asked {
        method: Method::Get,
        base: "/".into(),
        path: path.into(),
        fields: Fields::of(fields),
    })
}

#[test]
fn the_prices_of_the_folder_count_unless_others_are_chosen() {
    let site = priced();
    let cost = |fields: &[(&str, &str)]| {
        let page = get(&site, "formulate.json", &question(fields));
        let report: serde_json::Value = serde_json::from_str(&page.text).expect("a report");
        report["cost_per_m3"].as_f64()
    };
    let by_folder = cost(&[]).expect("a cost");
    assert_eq!(cost(&[("prices", "none")]), None);
    assert_eq!(cost(&[("prices", "demo")]), Some(by_folder));
    let page = get(&site, "formulate", &question(&[]));
    assert!(page.text.contains("those of my folder"), "{}", page.text);
    // Cheaper salts need prices: those of the folder will do, none will not.
    assert_eq!(get(&site, "substitute", &question(&[])).status, 200);
    let none = get(&site, "substitute", &question(&[("prices", "none")]));
    assert_eq!(none.status, 422);
    // Without a folder nothing has changed.
    let bare = Site::over(library().clone());
    assert_eq!(get(&bare, "substitute", &question(&[])).status, 422);
    assert!(
        !get(&bare, "formulate", &question(&[]))
            .text
            .contains("my folder")
    );
}
