//! What `water` refuses, by kind and place.

use super::{ask, water};
use serde_json::{Value, json};

/// A request with the kind and the place of its refusal.
type Refused = (Value, &'static str, &'static str);

fn are_refused(cases: &[Refused]) {
    for (request, kind, place) in cases {
        let refusal = &ask(request)["refusal"];
        assert_eq!(
            (&refusal["kind"], &refusal["where"]),
            (&json!(kind), &json!(place)),
            "{request}: {refusal}"
        );
        for said in ["what", "mend"] {
            let text = refusal[said].as_str().unwrap_or_default();
            assert!(text.len() > 8, "{request}: {refusal}");
        }
    }
}

#[test]
fn a_water_that_cannot_be_is_refused_in_its_place() {
    are_refused(&[
        (json!({}), "empty", "water"),
        (json!({"water": "quary-end-well"}), "unknown-name", "water"),
    ]);
    for (analysis, kind, place) in [
        (
            json!({"alkalinity_meq_l": -1}),
            "negative",
            "water.alkalinity_meq_l",
        ),
        (json!({"hco3_mg_l": -1}), "negative", "water.hco3_mg_l"),
        (
            json!({"alkalinity_meq_l": 2001}),
            "too-large",
            "water.alkalinity_meq_l",
        ),
        (
            json!({"alkalinity_meq_l": "much"}),
            "not-a-number",
            "water.alkalinity_meq_l",
        ),
        (
            json!({"alkalinity_meq_l": 2, "hco3_mg_l": 122}),
            "contradiction",
            "water.hco3_mg_l",
        ),
        (json!({"ph": 14.1}), "too-large", "water.ph"),
        (json!({"ph": -0.1}), "negative", "water.ph"),
        (
            json!({"temperature_c": 61}),
            "too-large",
            "water.temperature_c",
        ),
        (
            json!({"temperature_c": -1}),
            "negative",
            "water.temperature_c",
        ),
        (json!({"holds": {"Ca": -1}}), "negative", "water.holds.Ca"),
        (
            json!({"holds": {"Ca": 1.1e5}}),
            "too-large",
            "water.holds.Ca",
        ),
        (
            json!({"holds": {"HCO3": 150}}),
            "unknown-name",
            "water.holds.HCO3",
        ),
    ] {
        are_refused(&[(json!({"water": analysis}), kind, place)]);
    }
}

#[test]
fn an_acid_that_cannot_be_is_refused_in_its_place() {
    for (more, kind, place) in [
        (
            json!({"ph": 5.8, "residual_alkalinity_meq_l": 0.5}),
            "contradiction",
            "residual_alkalinity_meq_l",
        ),
        (json!({"ph": 15}), "too-large", "ph"),
        (json!({"ph": -1}), "negative", "ph"),
        (
            json!({"residual_alkalinity_meq_l": -0.1}),
            "negative",
            "residual_alkalinity_meq_l",
        ),
        (
            json!({"residual_alkalinity_meq_l": 2001}),
            "too-large",
            "residual_alkalinity_meq_l",
        ),
        (json!({"temperature_c": 60.1}), "too-large", "temperature_c"),
        (json!({"temperature_c": -0.1}), "negative", "temperature_c"),
        (json!({"acid": "nitric-acid-39"}), "unknown-name", "acid"),
        (
            json!({"acid": "potassium-nitrate"}),
            "contradiction",
            "acid",
        ),
        (
            json!({"acid": ["nitric-acid-38", "urea"]}),
            "contradiction",
            "acid",
        ),
        (json!({"acids": []}), "unknown-name", "acids"),
    ] {
        let mut request = more;
        request["water"] = json!("quarry-end-well");
        are_refused(&[(request, kind, place)]);
    }
}

#[test]
fn a_blend_that_cannot_be_is_refused_in_its_place() {
    for (parts, kind, place) in [
        (
            json!([{"water": "quarry-end-well", "share": 0.5}, {"water": "rain-barrel", "share": 0.4}]),
            "contradiction",
            "water.blend",
        ),
        (
            json!([{"water": "quarry-end-well", "share": 1.5}]),
            "too-large",
            "water.blend[0].share",
        ),
        (json!([]), "contradiction", "water.blend"),
    ] {
        are_refused(&[(json!({"water": {"blend": parts}}), kind, place)]);
    }
    let rain = |key: &str, value: Value| {
        let mut with = json!({"water": "rain-barrel"});
        with[key] = value;
        with
    };
    for (with, kind, place) in [
        (json!("rain-barel"), "unknown-name", "blend_with"),
        (
            json!({"water": "rain-barel"}),
            "unknown-name",
            "blend_with.water",
        ),
        (rain("share", json!(1.01)), "too-large", "blend_with.share"),
        (rain("share", json!(-0.1)), "negative", "blend_with.share"),
        (
            rain("limits", json!({"Clx": 70})),
            "unknown-name",
            "blend_with.limits.Clx",
        ),
        (
            rain("limits", json!({"pH": 7})),
            "unknown-name",
            "blend_with.limits.pH",
        ),
        (
            rain("limits", json!({"Cl": -1})),
            "negative",
            "blend_with.limits.Cl",
        ),
    ] {
        let request = json!({"water": "quarry-end-well", "blend_with": with});
        are_refused(&[(request, kind, place)]);
    }
}

/// The ends of the limits are allowed, and give finite figures or null.
#[test]
fn the_ends_are_answered() {
    for (alkalinity, ph, celsius) in [
        (0.0, 0.0, 0.0),
        (0.0, 14.0, 60.0),
        (2000.0, 14.0, 0.0),
        (2000.0, 7.0, 60.0),
        (1e-12, 7.0, 25.0),
        (4.0, 4.0, 25.0),
        (0.01, 12.0, 25.0),
    ] {
        for to in [
            json!({}),
            json!({"ph": 0}),
            json!({"ph": 14}),
            json!({"residual_alkalinity_meq_l": 2000}),
        ] {
            let mut request = to;
            request["water"] = json!({"holds": {"Na": 22.99 * alkalinity},
                "alkalinity_meq_l": alkalinity, "ph": ph});
            request["temperature_c"] = json!(celsius);
            let report = water(&request);
            for dose in report["doses"].as_array().expect("a list") {
                assert!(
                    dose["g_per_l"].as_f64().is_some_and(|g| g > 0.0),
                    "{request}: {dose}"
                );
            }
            assert!(report["ph_before"]["closed"].is_number(), "{request}");
        }
    }
}

/// A pH and an alkalinity that no water has together are called so, never silently bent; a pH
/// without alkalinity does not count, and that is said.
#[test]
fn figures_that_do_not_go_together_are_said() {
    let said = |alkalinity: f64, ph: f64| {
        let water_of = json!({"holds": {"Na": 22.99 * alkalinity + 5.0, "Cl": 7.71},
            "alkalinity_meq_l": alkalinity, "ph": ph});
        let all = water(&json!({"water": water_of}))["cautions"].to_string();
        let also = crate::common::answer(&json!({"job": "predict", "mix": [], "water": water_of}));
        for words in ["do not go together", "does not count"] {
            let in_predict = also["cautions"].to_string().contains(words);
            assert_eq!(all.contains(words), in_predict, "{alkalinity} {ph}");
        }
        all
    };
    // 4 meq/L at pH 4 would be 0.9 mol/L of carbonic acid; a whole bar of CO2 makes 0.034.
    assert!(said(4.0, 4.0).contains("do not go together"));
    // At pH 12 hydroxide alone is 10 meq/L.
    assert!(said(0.5, 12.0).contains("do not go together"));
    for (alkalinity, ph) in [(4.8, 7.4), (0.045, 5.6), (4.8, 6.0), (2.0, 9.0)] {
        let all = said(alkalinity, ph);
        assert!(
            !all.contains("do not go together") && !all.contains("does not count"),
            "{all}"
        );
    }
    assert!(said(0.0, 6.0).contains("does not count"));
}
