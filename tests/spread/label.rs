//! Ranges on the figures of a label's mixture, by hand.

use crate::common::{answer, number};
use serde_json::{Value, json};

fn own(id: &str, nutrient: &str, pct: f64, tolerance: Option<f64>) -> Value {
    json!({"id": id, "assay_pct": {nutrient: pct}, "tolerance_pct": tolerance})
}

fn ask(more: &Value) -> Value {
    let mut request = json!({"job": "label", "convention": "elements", "filler": false});
    for (key, value) in more.as_object().unwrap() {
        request[key] = value.clone();
    }
    answer(&request)
}

/// By hand: 30 % N from 46 % and 21 %: 46 u + 21 (1 - u) >= 30, so u is 36 to 100 %.
#[test]
fn how_much_of_each_there_can_be() {
    let request = json!({"guarantee": {"N": 30}, "ranges": true,
        "ingredients": [own("rich", "urea-N", 46.0, None), own("poor", "NH4-N", 21.0, None)]});
    let report = ask(&request);
    let shares = report["arithmetic"]["shares"].as_array().expect("shares");
    let of = |id: &str| shares.iter().find(|row| row["id"] == id).expect(id);
    for (id, low, high) in [("rich", 36.0, 100.0), ("poor", 0.0, 64.0)] {
        assert!((number(of(id), "/low_pct") - low).abs() < 0.01, "{report}");
        assert!(
            (number(of(id), "/high_pct") - high).abs() < 0.01,
            "{report}"
        );
    }
    assert!(
        report["cautions"]
            .to_string()
            .contains("No tolerance is stated for")
    );
}

/// A label alone is weighed for nothing; completed to a recipe it is, and the way out works.
#[test]
fn a_scale_without_a_batch_is_refused_with_a_way_out_that_works() {
    let ranges = json!({"scale_g": 0.1});
    let request = json!({"guarantee": {"N": 13, "K2O": 45}, "ranges": ranges});
    let refused = ask(&request)["refusal"].clone();
    assert_eq!(refused["where"], "ranges.scale_g", "{refused}");
    let mend = "Leave it out, or name a recipe to complete and the litres to weigh for.";
    assert_eq!(refused["mend"], mend);
    let completed = ask(
        &json!({"convention": "us", "guarantee": "15-5-15", "ranges": ranges,
        "recipe": "hoagland-2", "litres": 100, "dose": {"g_per_l": 0.5}}),
    );
    assert!(completed.get("refusal").is_none(), "{completed}");
}

/// By hand: one bag of 13 % N and 38 % K at 3 %, k = 2: K2O (factor 0.8301) of 38 % K is 45.8 %,
/// 2 x 0.03/3^1/2 of it to either side, the worst case 3 %.
#[test]
fn what_a_mixture_may_be_off() {
    let bag = json!({"id": "bag", "assay_pct": {"NO3-N": 13.0, "K": 38.0}, "tolerance_pct": 3});
    let request = |ranges: Value| {
        ask(&json!({"guarantee": {"N": 13, "K2O": 45}, "ingredients": [bag], "ranges": ranges}))
    };
    let report = request(json!(true));
    let row = report["analysis"].as_array().unwrap().iter();
    let row = row
        .clone()
        .find(|row| row["printed"]["key"] == "K2O" || row["printed"] == "K2O");
    let row = row.unwrap_or_else(|| panic!("{report}"));
    let pct = number(row, "/mixture_pct");
    assert!((pct - 38.0 / 0.8301).abs() < 0.01, "{row}");
    let half = number(row, "/high") - pct;
    assert!(
        (half / pct - 2.0 * 0.03 / 3.0_f64.sqrt()).abs() < 1e-6,
        "{row}"
    );
    assert!(
        (number(row, "/worst_high") / pct - 1.03).abs() < 1e-9,
        "{row}"
    );
    assert_eq!(report["causes"][0]["cause"], "bag");
    // The verdict is that of a label, which counts tolerances by itself.
    let plain = request(json!(false));
    for key in ["possible", "mix_pct", "words", "at_tolerance"] {
        assert_eq!(plain["arithmetic"][key], report["arithmetic"][key]);
    }
    assert!(plain.get("causes").is_none() && plain["arithmetic"].get("shares").is_none());
}

/// The bought mix that a recipe is completed with is as sure as its parts.
#[test]
fn a_completed_mix_is_as_sure_as_its_parts() {
    let report = answer(&json!({"job": "label", "guarantee": "13-0-46",
        "ingredients": ["potassium-nitrate"], "recipe": "yamazaki-lettuce", "ranges": true}));
    let whole = &report["complete"];
    let causes = whole["causes"].as_array().expect("causes");
    assert!(
        causes.iter().any(|row| row["cause"] == "bought-mix"),
        "{whole}"
    );
    assert!(
        !whole["cautions"]
            .to_string()
            .contains("stated for bought-mix")
    );
}

#[test]
fn bad_tolerances_of_a_label_are_refused_by_name() {
    for (ranges, kind, field) in [
        (
            json!({"tolerance_pct": -1}),
            "negative",
            "ranges.tolerance_pct",
        ),
        (
            json!({"purity_pct": 101}),
            "over-100-percent",
            "ranges.purity_pct",
        ),
        (json!({"scale_g": 0.1}), "contradiction", "ranges.scale_g"),
        (json!("all"), "unreadable", "ranges"),
    ] {
        let refused = ask(&json!({"guarantee": {"N": 13}, "ranges": ranges}));
        assert_eq!(refused["refusal"]["kind"], kind, "{refused}");
        assert_eq!(refused["refusal"]["where"], field, "{refused}");
    }
}
