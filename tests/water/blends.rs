//! Waters poured together: additive in everything but pH and EC.

use super::{cautions, water};
use crate::common::{answer, delivered, number};
use saltwright_fertilizers::Nutrient;
use saltwright_recipes::Library;
use serde_json::{Value, json};

fn half_and_half() -> Value {
    json!({"blend": [
        {"water": "quarry-end-well", "share": 0.25}, {"water": "rain-barrel", "share": 0.75}]})
}

/// Every figure of a blend lies between those of its waters, by share.
#[test]
fn a_blend_adds_up() {
    let of = |water: Value| answer(&json!({"job": "predict", "mix": [], "water": water}));
    let (well, rain) = (of(json!("quarry-end-well")), of(json!("rain-barrel")));
    let blend = of(half_and_half());
    for nutrient in Nutrient::ALL {
        let key = nutrient.key();
        let sum = 0.25 * delivered(&well, key) + 0.75 * delivered(&rain, key);
        assert!((delivered(&blend, key) - sum).abs() <= 1e-12, "{key}");
    }
    let alkalinity = |report| number(report, "/alkalinity_meq_l");
    let sum = 0.25 * alkalinity(&well) + 0.75 * alkalinity(&rain);
    assert!((alkalinity(&blend) - sum).abs() <= 1e-12);
}

/// Carbon is what adds up, not pH: each water brings the carbon of its own pH.
///
/// Two waters of the same alkalinity, one of pH 6 and one of pH 9: the first is full of carbon
/// dioxide, (1 + 10^(6.35 - 6)) = 3.2 mmol/L of carbon a meq, the second holds little more than 1.
/// Half of each has 2.1: pH 6.35 - log10(2.1 - 1) = 6.3, not 7.5.
#[test]
fn a_blend_keeps_its_carbon() {
    let of = |ph: f64| json!({"holds": {"Na": 22.99}, "alkalinity_meq_l": 1.0, "ph": ph});
    let blend =
        json!({"blend": [{"water": of(6.0), "share": 0.5}, {"water": of(9.0), "share": 0.5}]});
    let report = water(&json!({"water": blend, "acid": null}));
    let closed = number(&report, "/ph_before/closed");
    assert!((closed - 6.3).abs() < 0.05, "{closed}");
    // In balance with air both waters are one and the same, but for the room that carbon takes.
    let single = water(&json!({"water": of(6.0), "acid": null}));
    let (a, b) = (
        number(&report, "/ph_before/open"),
        number(&single, "/ph_before/open"),
    );
    assert!((a - b).abs() < 1e-4, "{a} {b}");
    // A water blended with itself is itself.
    let twice =
        json!({"blend": [{"water": of(6.0), "share": 0.3}, {"water": of(6.0), "share": 0.7}]});
    let twice = water(&json!({"water": twice, "acid": null}));
    for path in ["/ph_before/closed", "/ec_ms_cm"] {
        let (a, b) = (number(&twice, path), number(&single, path));
        assert!((a - b).abs() < 1e-9, "{path}: {a} {b}");
    }
}

/// The water of any job may be a blend, and `blend_with` makes the very same water.
#[test]
fn a_blend_is_the_water_of_any_job() {
    let with = |share: f64| {
        water(
            &json!({"water": "quarry-end-well", "acid": "nitric-acid-38",
            "blend_with": {"water": "rain-barrel", "share": share}, "temperature_c": 25}),
        )
    };
    let poured = with(0.25);
    let blend =
        water(&json!({"water": half_and_half(), "acid": "nitric-acid-38", "temperature_c": 25}));
    for (theirs, ours) in [
        ("/blend/hardness/meq_l", "/hardness/meq_l"),
        ("/blend/alkalinity/meq_l", "/alkalinity/meq_l"),
        ("/blend/ec_ms_cm", "/ec_ms_cm"),
        ("/dose/g_per_l", "/dose/g_per_l"),
        ("/ph/closed", "/ph/closed"),
        ("/ph/open", "/ph/open"),
    ] {
        let (a, b) = (number(&poured, theirs), number(&blend, ours));
        assert!((a - b).abs() < 1e-9, "{theirs}: {a} {b}");
    }
    assert!((number(&poured, "/blend/share_pct") - 25.0).abs() < 1e-12);
    assert!(poured["blend"]["because"].is_null());
    // Hardness and alkalinity stay those of the source water.
    assert!((number(&poured, "/alkalinity/meq_l") - 4.8).abs() < 1e-12);
    assert!((number(&with(1.0), "/dose/g_per_l")
        / number(&water(&json!({"water": "quarry-end-well", "acid": "nitric-acid-38", "temperature_c": 25})), "/dose/g_per_l")
        - 1.0).abs() < 1e-9);
    let feed = answer(
        &json!({"job": "formulate", "recipe": "sonneveld-modified-lettuce", "water": half_and_half()}),
    );
    assert!(feed["refusal"].is_null(), "{feed}");
    assert!(
        (number(&feed, "/acidity/target_meq_l") - (0.25 * 4.8 + 0.75 * 0.045 - 0.5)).abs() < 1e-9
    );
}

/// The largest share of a source water that keeps a limit: (limit - other)/(own - other).
#[test]
fn a_share_is_found_from_the_limits() {
    // Salt Lane well brings Cl 150 and Na 92 mg/L, the rain barrel 1.6 and 1: sodium decides.
    let report = water(&json!({"water": "salt-lane-well", "blend_with": "rain-barrel"}));
    let share = number(&report, "/blend/share_pct");
    assert!(
        (share - 100.0 * (50.0 - 1.0) / (92.0 - 1.0)).abs() < 1e-9,
        "{share}"
    );
    let because = report["blend"]["because"].as_str().expect("a limit");
    assert!(
        because.contains("sodium") && because.contains("50"),
        "{because}"
    );
    // Own limits take the place of the published ones.
    let own = |limits: Value| {
        water(
            &json!({"water": "salt-lane-well", "blend_with": {"water": "rain-barrel", "limits": limits}}),
        )
    };
    let report = own(json!({"Cl": 35.45, "alkalinity": 1.0, "hardness": 100, "SO4": 60}));
    let share = number(&report, "/blend/share_pct");
    assert!(
        (share - 100.0 * (35.45 - 1.6) / (150.0 - 1.6)).abs() < 1e-9,
        "{share}"
    );
    // One that is kept anyway asks for no rain.
    let report = own(json!({"Cl": 200}));
    assert!((number(&report, "/blend/share_pct") - 100.0).abs() < 1e-12);
    assert!(report["blend"]["because"].is_null());
    // One that neither keeps is said.
    let report = own(json!({"Cl": 1}));
    assert!(number(&report, "/blend/share_pct").abs() < 1e-12);
    assert!(
        report["blend"]["because"]
            .as_str()
            .expect("words")
            .contains("both waters")
    );
    // A share that is given stays, and a limit beside it that is crossed is said.
    let of = |limit: f64| {
        water(&json!({"water": "salt-lane-well",
            "blend_with": {"water": "rain-barrel", "share": 0.5, "limits": {"Cl": limit}}}))
    };
    // Half of 150 and of 1.6 is 75.8.
    assert!(of(76.0)["blend"]["because"].is_null());
    let crossed = of(75.0)["blend"]["because"].clone();
    assert_eq!(crossed, "chloride comes to 75.8, above 75 mg/L");
}

/// The water poured in has its own limits: where what it brings is too much, that is said.
#[test]
fn limits_that_exclude_each_other_are_said() {
    let salty = json!({"holds": {"Cl": 200, "K": 220.6}, "alkalinity_meq_l": 0, "ph": 7});
    let sodic = json!({"holds": {"Na": 100}, "alkalinity_meq_l": 4.35, "ph": 8});
    let report = water(
        &json!({"water": salty, "blend_with": {"water": sodic, "limits": {"Cl": 70, "Na": 50}}}),
    );
    // Chloride allows 35 % of the one, sodium 50 % of the other.
    let because = report["blend"]["because"].as_str().expect("words");
    assert!(
        because.contains("sodium") && because.contains("chloride"),
        "{because}"
    );
    assert!((number(&report, "/blend/share_pct") - 35.0).abs() < 1e-9);
}

#[test]
fn every_shipped_water_balances() {
    for water in Library::shipped().expect("sound").waters {
        let report = self::water(&json!({"water": water.id}));
        assert!(
            number(&report, "/balance/error_pct").abs() < 5.0,
            "{}: {}",
            water.id,
            report["balance"]
        );
        assert!(
            !cautions(&report).contains("does not balance"),
            "{}",
            water.id
        );
    }
}
