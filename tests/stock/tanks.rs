//! Worked tanks, computed once with another program (see tests/data/stock/SOURCES.md).

use super::stock_of;
use crate::common::number;
use serde_json::{Value, json};

struct Tank {
    id: String,
    salts: Vec<(String, f64)>,
    cells: csv::StringRecord,
    head: csv::StringRecord,
}

impl Tank {
    fn text(&self, column: &str) -> &str {
        let at = self.head.iter().position(|name| name == column).expect(column);
        &self.cells[at]
    }
    fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column} of {}", self.id))
    }
    fn salts(&self) -> Vec<(&str, f64)> {
        self.salts.iter().map(|(formula, grams)| (formula.as_str(), *grams)).collect()
    }
    fn ask(&self, more: &Value) -> Value {
        let t = self.number("t_c");
        let mut request = json!({"tanks": 1, "coldest_c": t, "hottest_c": t});
        for (key, value) in more.as_object().expect("an object") {
            request[key] = value.clone();
        }
        stock_of(&self.salts(), &request)
    }
}

fn tanks() -> Vec<Tank> {
    let mut reader = csv::Reader::from_path("tests/data/stock/worked_tanks.csv").expect("there");
    let head = reader.headers().expect("a head").clone();
    reader
        .records()
        .map(|record| {
            let cells = record.expect("sound");
            let salts = cells[2].split("; ").map(|part| {
                let (formula, grams) = part.split_once('=').expect("formula=grams");
                (formula.to_owned(), grams.parse().expect("a number"))
            });
            Tank {
                id: format!("{} at {} °C", &cells[0], &cells[4]),
                salts: salts.collect(),
                head: head.clone(),
                cells,
            }
        })
        .collect()
}

#[test]
fn largest_ratios() {
    let mut worst = 0.0_f64;
    for tank in tanks() {
        for (margin, ratio, solid) in [
            (0.0, "ratio_margin_0", "solid_margin_0"),
            (0.1, "ratio_margin_0.1", "solid_margin_0.1"),
        ] {
            let report = tank.ask(&json!({"margin_index": margin}));
            let (ours, theirs) = (number(&report, "/largest_ratio"), tank.number(ratio));
            let off = 100.0 * (ours - theirs) / theirs;
            let named = report["limited_by"]["name"].as_str().unwrap();
            println!(
                "{} margin {margin}: 1:{ours:.1} against 1:{theirs:.1}, {off:+.1} %; {named} \
                 against {}",
                tank.id,
                tank.text(solid)
            );
            worst = worst.max(off.abs());
        }
        let report = tank.ask(&json!({}));
        println!(
            "   cautious {:.1} against {:.1}",
            number(&report, "/cautious_ratio"),
            tank.number("ratio_cautious")
        );
    }
    println!("worst {worst:.2} %");
}
