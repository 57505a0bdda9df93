//! What `formulate` searches for: the strength that reads an EC, the acid that gives a pH.

mod acid;

use crate::common::{answer, library, number};
use proptest::prelude::*;
use saltwright_recipes::Library;
use serde_json::{Value, json};

/// Shipped recipes that ask for a macronutrient, so that there is something to strengthen.
fn recipes(library: &Library) -> Vec<String> {
    let rows = library.recipes.iter();
    rows.filter(|recipe| !recipe.id.starts_with("micros-"))
        .map(|recipe| recipe.id.clone())
        .collect()
}

fn waters(library: &Library) -> Vec<String> {
    let rows = library.waters.iter();
    rows.map(|water| water.id.clone()).collect()
}

fn formulate(mut request: Value) -> Value {
    request["job"] = json!("formulate");
    answer(&request)
}

/// EC of the water alone, mS/cm.
fn own_ec(water: &str) -> f64 {
    let report = answer(&json!({"job": "water", "water": water}));
    number(&report, "/ec_ms_cm")
}

/// Every recipe in every water, from a weak feed to a strong one: the finished solution reads the
/// aim within 0.1 %, and the answer says at which strength. Only where the water alone reads as
/// much there is no answer.
#[test]
fn every_recipe_reaches_its_ec_in_every_water() {
    let library = library();
    let (mut reached, mut poured, mut refused) = (0, 0, 0);
    for water in waters(library) {
        let own = own_ec(&water);
        for recipe in recipes(library) {
            for aim in [0.6, 1.0, 1.4, 1.8, 2.5] {
                let case = format!("{recipe} in {water} to {aim}");
                let report = formulate(json!({"recipe": recipe, "water": water,
                    "strength": "to-ec", "ec_ms_cm": aim}));
                if own >= aim {
                    assert_eq!(report["refusal"]["kind"], "no-answer", "{case}: {report}");
                    refused += 1;
                    continue;
                }
                assert!(report["refusal"].is_null(), "{case}: {report}");
                reached += 1;
                let predicted = number(&report, "/ec/predicted_ms_cm");
                assert!((predicted / aim - 1.0).abs() <= 1e-3, "{case}: {predicted}");
                assert_eq!(
                    report["ec"]["verdict"], "agrees",
                    "{case}: {}",
                    report["ec"]
                );
                assert!((number(&report, "/ec/aim_ms_cm") - aim).abs() < 1e-12);
                let strength = number(&report, "/strength");
                assert!(strength > 0.0 && strength < 20.0, "{case}: {strength}");
                let said = report["cautions"].to_string();
                poured += i32::from(said.contains("equally close"));
            }
        }
    }
    println!(
        "{reached} reached the EC, {poured} by a blend of two mixes; {refused} water too strong"
    );
    assert!(reached > 1000 && refused > 50 && poured > 0);
}

/// Where the answer leaps between two mixes that are equally close, the blend of both reads the EC
/// and is as close: its proof says what each of the two says at that strength.
#[test]
fn a_leap_is_bridged() {
    let ask = |strength: Value| {
        formulate(
            json!({"recipe": "cooper-from-memory", "water": "tallow-street-tap",
            "strength": strength, "ec_ms_cm": 1.4}),
        )
    };
    let report = ask(json!("to-ec"));
    let strength = number(&report, "/strength");
    assert!((number(&report, "/ec/predicted_ms_cm") / 1.4 - 1.0).abs() <= 1e-3);
    assert!(report["cautions"].to_string().contains("equally close"));
    let (below, above) = (
        ask(json!(strength * (1.0 - 1e-9))),
        ask(json!(strength * (1.0 + 1e-9))),
    );
    let ec = |report: &Value| number(report, "/ec/predicted_ms_cm");
    assert!(
        ec(&below) < 1.39 && ec(&above) > 1.405,
        "{} {}",
        ec(&below),
        ec(&above)
    );
    for other in [&below, &above] {
        let (a, b) = (
            number(&report, "/proof/0/objective"),
            number(other, "/proof/0/objective"),
        );
        assert!((a - b).abs() < 1e-6 * a, "{a} {b}");
    }
    // As close by its own figures, too: weighted deviations from the aims.
    let deviation = |report: &Value| -> f64 {
        let rows = report["nutrients"].as_array().expect("rows").iter();
        let has_nitrate = rows
            .clone()
            .any(|row| row["nutrient"] == "NO3-N" && !row["aim"].is_null());
        rows.filter(|row| !(has_nitrate && row["nutrient"] == "N"))
            .filter_map(|row| Some((row["off_pct"].as_f64()? / 100.0).abs()))
            .sum()
    };
    let (ours, theirs) = (deviation(&report), deviation(&below));
    assert!((ours - theirs).abs() < 1e-6, "{ours} {theirs}");
}

/// What cannot be had is refused with its reason.
#[test]
fn an_ec_that_cannot_be_had_is_refused() {
    let ask = |more: Value| {
        let mut request = json!({"recipe": {"aims": {"K": 100}}, "strength": "to-ec"});
        for (key, value) in more.as_object().expect("a table") {
            request[key] = value.clone();
        }
        formulate(request)["refusal"].clone()
    };
    for (more, kind, place, words) in [
        (json!({}), "empty", "ec_ms_cm", "EC to reach"),
        (json!({"ec_ms_cm": 0}), "empty", "ec_ms_cm", "EC to reach"),
        (
            json!({"ec_ms_cm": -1}),
            "negative",
            "ec_ms_cm",
            "below zero",
        ),
        (json!({"ec_ms_cm": 1e4}), "too-large", "ec_ms_cm", "limit"),
        (
            json!({"ec_ms_cm": 0.6, "water": "quarry-end-well"}),
            "no-answer",
            "strength",
            "already read 0.696",
        ),
        (
            json!({"ec_ms_cm": 1.0, "already": [{"id": "potassium-chloride", "g_per_l": 1}]}),
            "no-answer",
            "strength",
            "already read",
        ),
        (
            json!({"ec_ms_cm": 1.0, "fertilizers": ["urea"]}),
            "no-answer",
            "strength",
            "at most",
        ),
        (
            json!({"ec_ms_cm": 1.0, "strength": "to-ecc"}),
            "not-a-number",
            "strength",
            "to-ecc",
        ),
    ] {
        let refusal = ask(more.clone());
        assert_eq!(
            (&refusal["kind"], &refusal["where"]),
            (&json!(kind), &json!(place)),
            "{more}: {refusal}"
        );
        let what = refusal["what"].as_str().expect("words");
        assert!(what.contains(words), "{more}: {what}");
    }
    // The recipe's own EC will do, and the request's goes before it.
    let of = |more: Value| {
        let mut request =
            json!({"recipe": {"aims": {"K": 100}, "ec_ms_cm": 0.9}, "strength": "to-ec"});
        for (key, value) in more.as_object().expect("a table") {
            request[key] = value.clone();
        }
        number(&formulate(request), "/ec/predicted_ms_cm")
    };
    assert!((of(json!({})) - 0.9).abs() < 0.001);
    assert!((of(json!({"ec_ms_cm": 0.7})) - 0.7).abs() < 0.001);
}

/// What is in the tank already counts towards the EC.
#[test]
fn what_is_in_already_counts() {
    let ask = |grams: f64| {
        formulate(
            json!({"recipe": {"aims": {"NO3-N": 100, "K": 279.1}}, "strength": "to-ec", "ec_ms_cm": 1.0,
            "fertilizers": ["potassium-nitrate"], "already": [{"id": "potassium-nitrate", "g_per_l": grams}]}),
        )
    };
    let (empty, half) = (ask(0.0), ask(0.3));
    let grams = |report: &Value| crate::common::grams(report, "potassium-nitrate");
    assert!(
        (grams(&empty) - grams(&half) - 0.3).abs() < 0.002,
        "{} {}",
        grams(&empty),
        grams(&half)
    );
}

/// Grams of salts that bring neither acid nor base nor carbon.
fn salts() -> impl Strategy<Value = Vec<(&'static str, f64)>> {
    const NEUTRAL: [&str; 7] = [
        "potassium-nitrate",
        "calcium-nitrate-fertilizer",
        "magnesium-sulfate-heptahydrate",
        "potassium-sulfate",
        "ammonium-sulfate",
        "calcium-chloride-dihydrate",
        "monopotassium-phosphate",
    ];
    prop::collection::vec(0.0..0.4_f64, NEUTRAL.len())
        .prop_map(|grams| NEUTRAL.into_iter().zip(grams).collect())
}

fn predicted_ec(water: &str, salts: &[(&str, f64)], strength: f64) -> f64 {
    let mix: Vec<Value> = salts
        .iter()
        .map(|(id, g)| json!({"id": id, "g_per_l": g * strength}))
        .collect();
    number(
        &answer(&json!({"job": "predict", "mix": mix, "water": water})),
        "/ec/predicted_ms_cm",
    )
}

proptest! {
    /// More of the same salts reads more, in any water.
    #[test]
    fn ec_rises_with_strength(
        salts in salts(),
        water in prop::sample::select(vec!["pure-water", "rain-barrel", "salt-lane-well", "quarry-end-well"]),
        strength in 0.01..3.0_f64,
        more in 1.02..2.0_f64,
    ) {
        prop_assume!(salts.iter().map(|(_, g)| g).sum::<f64>() > 0.01);
        let (weak, strong) = (predicted_ec(water, &salts, strength), predicted_ec(water, &salts, strength * more));
        prop_assert!(strong > weak, "{weak} {strong}");
    }

    /// A strength found from an EC gives it back: what one recipe reads at a strength is the EC at
    /// which that strength is found.
    #[test]
    fn a_strength_is_found_again(strength in 0.2..2.0_f64, k in 80.0..300.0_f64, ca in 40.0..200.0_f64) {
        let ask = |strength: Value, ec: f64| formulate(json!({"acid": null, "strength": strength, "ec_ms_cm": ec,
            "recipe": {"aims": {"K": k, "Ca": ca}}, "fertilizers": ["potassium-nitrate", "calcium-nitrate-tetrahydrate"]}));
        let read = number(&ask(json!(strength), 1.0), "/ec/predicted_ms_cm");
        let found = number(&ask(json!("to-ec"), read), "/strength");
        prop_assert!((found / strength - 1.0).abs() < 3e-3, "{found} for {strength}");
    }
}
