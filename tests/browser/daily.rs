//! The daily round on a phone: every field of the pages by the tank filled in by typing, the answer
//! read, nothing sideways, the rules for everyone kept.

use crate::driver::{Browser, PHONE};
use crate::everyone::{axe, holds};
use serde_json::Value;
use std::collections::BTreeSet;

/// One question, typed field by field, and what its answer then says.
struct Round {
    fields: &'static [(&'static str, &'static str)],
    says: &'static [&'static str],
}

const OWN_FERTILIZERS: &str =
    "id,formula,NO3-N,K,Ca\nmy-nitrate,KNO3,13.5,38.0,\nmy-calcium,,15.5,,19.0";
const OWN_STOCKS: &str = "tank,id,g_per_l_stock\nA,my-calcium,60\nB,my-nitrate,60";
const OWN_RECIPE: &str =
    "name = \"My leaves\"\nec_ms_cm = 1.2\n[aims]\nNO3-N = 120\nK = 180\nCa = 90";
const OWN_WATER: &str = "name = \"My well\"\nalkalinity_meq_l = 1.1\n[holds]\nCa = 22";
const BLEND: &str = "rain-barrel 60 %\nquarry-end-well 40 %";

const CORRECT: [Round; 4] = [
    Round {
        fields: &[
            ("reading", "950 ppm@500"),
            ("ph", "7,1"),
            ("temperature", "66 F"),
            ("level", "100"),
            ("tank", "30 gal"),
            ("recipe", "yamazaki-lettuce"),
            ("water", "larch-hollow-spring"),
            ("stocks", "demo"),
            ("acid", "nitric-acid-38"),
            ("base", "potassium-bicarbonate"),
            ("micros", "micros-leafy"),
            ("ec", "1.6"),
            ("ph-band", "5.6..6.0"),
            ("fill", "110"),
        ],
        says: &["What to do, in order", "nitric-acid-38", "comes into band"],
    },
    Round {
        fields: &[
            ("recipe", "own"),
            ("own-recipe", OWN_RECIPE),
            ("water", "own"),
            ("own-water", OWN_WATER),
            ("own-fertilizers", OWN_FERTILIZERS),
            ("stocks", "own"),
            ("own-stocks", OWN_STOCKS),
            ("ratio", "1:100"),
            ("analysis", "[holds]\nNO3-N = 70\nK = 60\nCa = 60"),
            ("acid", ""),
            ("bottle-ml", "5"),
            ("bottle-into", "100 L"),
            ("bottle-before", "7.0"),
            ("bottle-after", "6.6"),
            ("reading", "0.8"),
            ("ph", "6.9"),
            ("level", "100"),
            ("tank", "130"),
        ],
        says: &["My leaves", "laboratory", "bottle"],
    },
    Round {
        fields: &[
            ("water", "blend"),
            ("blend", BLEND),
            ("measure", "us"),
            ("units", "mmol"),
            ("detail", "all"),
        ],
        says: &["gal", "mmol/L"],
    },
    Round {
        fields: &[
            ("ranges", "yes"),
            ("narrow", "pH"),
            ("off-tolerance", "3"),
            ("off-bag", "1"),
            ("off-scale", "0.1"),
            ("off-span", "1"),
            ("off-cylinder", "1"),
            ("off-tank", "2"),
            ("off-proportioner", "2"),
            ("off-stocks", "2"),
            ("off-water", "5"),
            ("off-prices", "5"),
            ("off-thermometer", "1"),
            ("off-meter", "2"),
            ("off-ph-meter", "0.1"),
            ("system", "kettle row"),
        ],
        says: &["two standard uncertainties", "note it in the journal"],
    },
];

const REFILL: [Round; 3] = [
    Round {
        fields: &[
            ("recipe", "own"),
            ("own-recipe", OWN_RECIPE),
            ("water", "own"),
            ("own-water", OWN_WATER),
            ("own-fertilizers", OWN_FERTILIZERS),
            ("stocks", "own"),
            ("own-stocks", OWN_STOCKS),
            ("tank", "20 L"),
            ("readings", ""),
            (
                "own-readings",
                "at,litres,ec_ms_cm,ph,added,amount\n2026-03-02T08:00,115,1.2,5.6,,\n\
                 2026-03-04T08:00,,,,water,5 L\n2026-03-05T08:00,,,,stock-A,200 mL\n\
                 2026-03-08T08:00,100,1.3,6.0,,",
            ),
            ("analysis", "[holds]\nNO3-N = 130\nK = 160"),
            ("micros", "micros-leafy"),
            ("limits", "Na 30"),
        ],
        says: &["My leaves", "a change-out lets go 100 L"],
    },
    Round {
        fields: &[
            ("readings", "demo"),
            ("recipe", "sonneveld-modified-lettuce"),
            ("water", "blend"),
            ("blend", BLEND),
            ("stocks", ""),
            ("own-fertilizers", ""),
            ("measure", "us"),
            ("units", "meq"),
            ("detail", "all"),
        ],
        says: &["gal"],
    },
    Round {
        fields: &[
            ("water", "larch-hollow-spring"),
            ("stocks", "demo"),
            ("readings", "journal"),
            ("system", "kettle row"),
        ],
        says: &["From the journal of kettle row"],
    },
];

const METER: [Round; 2] = [
    Round {
        fields: &[
            ("checks", "1.413 = 1.38\nKCl:0.2g = 0.41"),
            ("reading", "650 ppm@500"),
            ("aim", "1.2"),
            ("days", "40"),
            ("temperature", "18 C"),
            ("pairs", "745 ppm = 1.49\n1120 ppm = 2.25"),
            ("buffers", "7 = 7.1\n4 = 4.2"),
            ("make", "1.413; 2.76"),
            ("water", "own"),
            ("own-water", OWN_WATER),
            ("own-fertilizers", OWN_FERTILIZERS),
            ("stocks", "own"),
            ("own-stocks", OWN_STOCKS),
            ("ratio", "1:100"),
            ("dosed", "1.2"),
        ],
        says: &["40 days old", "At 1:100 the feed should read", "2.760"],
    },
    Round {
        fields: &[
            ("water", "blend"),
            ("blend", BLEND),
            ("measure", "us"),
            ("units", "mmol"),
            ("detail", "all"),
        ],
        says: &["At 1:100 the feed should read"],
    },
];

/// What is filled in, and how: `select`, `textarea` or `input`.
const FIELDS: &str =
    "return [...document.querySelectorAll('form[data-live] [name]')].map(e => e.name)";

async fn type_all(path: &str, rounds: &[Round]) {
    let axe = axe();
    let browser = Browser::start(PHONE).await;
    browser.open(path).await;
    let names = browser.run(FIELDS).await;
    let mut left: BTreeSet<String> = names
        .as_array()
        .expect("names")
        .iter()
        .filter_map(|name| name.as_str().map(str::to_owned))
        .collect();
    for round in rounds {
        browser
            .run("document.querySelectorAll('details').forEach(d => d.open = true)")
            .await;
        for (name, typed) in round.fields {
            let css = format!("#{name}");
            let choice = format!("return !!document.querySelector('select#{name}')");
            if browser.run(&choice).await == Value::Bool(true) {
                browser.choose(&css, typed).await;
            } else {
                browser.fill(&css, typed).await;
            }
            left.remove(*name);
        }
        for words in round.says {
            browser.wait_for("#answer", words).await;
        }
        let refused = browser
            .run("return !!document.querySelector('#answer .refused')")
            .await;
        assert_eq!(
            refused,
            Value::Bool(false),
            "{}",
            browser.text("#answer").await
        );
        holds(&browser, &axe, path, PHONE.width).await;
    }
    assert!(left.is_empty(), "{path}: nobody filled in {left:?}");
    browser.end().await;
}

#[tokio::test]
async fn a_correction_is_typed_by_the_tank() {
    type_all("correct", &CORRECT).await;
}

#[tokio::test]
async fn a_refill_is_typed_by_the_tank() {
    type_all("refill", &REFILL).await;
}

#[tokio::test]
async fn meters_are_typed_by_the_tank() {
    type_all("meter", &METER).await;
}

/// A thumb and the four figures that a morning brings, without script: the button answers.
#[tokio::test]
async fn a_morning_takes_four_figures() {
    let browser = Browser::start(crate::driver::Setup {
        script: false,
        ..PHONE
    })
    .await;
    browser.open("correct").await;
    for (field, typed) in [
        ("reading", "2.4"),
        ("ph", "6.4"),
        ("level", "90"),
        ("tank", "120"),
    ] {
        browser.fill(&format!("#{field}"), typed).await;
    }
    browser.click("form button").await;
    browser.wait_for("#answer", "What to do, in order").await;
    let steps = browser.text("#answer .steps").await;
    assert!(
        steps.contains("water") && !steps.contains("stock"),
        "{steps}"
    );
    browser.end().await;
}
