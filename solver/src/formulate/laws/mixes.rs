//! What is known of the answer beforehand: mixes found again, conflicts, bands before closeness.

use super::*;

/// Laws 1 and 11: a mix known beforehand is found again, at no more than its cost, with proof.
#[test]
fn five_thousand_known_mixes_are_found_again() {
    let library = library();
    let run = runner(5000).run(&case(false), |case| {
        let (request, grams) = case.request(&library);
        let report = solved(&request)?;
        check_proofs(&report)?;
        prop_assert_eq!(report.outcome, Outcome::WithinBands);
        let closest = objective(&report, Stage::Closest).unwrap_or(f64::NAN);
        prop_assert!(closest <= 1e-9, "{closest}");
        let known: f64 = request
            .choice
            .iter()
            .zip(&grams)
            .map(|(c, grams)| c.price_per_kg.unwrap_or(0.0) * grams)
            .sum();
        let cost = report.cost_per_m3.unwrap_or(f64::NAN);
        prop_assert!(cost <= known * (1.0 + 1e-7), "{cost} against {known}");
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

/// Laws 1 and 10: problems that cannot be met get the closest answer, proven, and a conflict of
/// which any one band, dropped, makes the rest possible.
#[test]
fn a_thousand_conflicts_are_minimal() {
    let library = library();
    let mut impossible = 0;
    let mut tried = 0;
    let mut runner = runner(1);
    while impossible < 1000 {
        tried += 1;
        assert!(tried < 20_000, "only {impossible} of {tried} cannot be met");
        let tree = case(true).new_tree(&mut runner);
        let case = tree.unwrap_or_else(|why| panic!("{why}")).current();
        let (request, _) = case.request(&library);
        let report = formulate(&request).unwrap_or_else(|why| panic!("{why:?}"));
        check_proofs(&report).unwrap_or_else(|why| panic!("{why}"));
        let outside = report.nutrients.iter().any(|row| {
            let slack = 1e-7 * row.aim.unwrap_or(1.0);
            row.min.is_some_and(|min| row.delivered < min - slack)
                || row.max.is_some_and(|max| row.delivered > max + slack)
        });
        assert!(!outside || report.outcome == Outcome::OutsideBands);
        if report.outcome == Outcome::WithinBands {
            continue;
        }
        impossible += 1;
        assert!(!report.conflict.is_empty());
        assert_minimal(&request, &report);
    }
}

/// Drops each band of the conflict in turn, with all bands outside the conflict gone.
fn assert_minimal(request: &FormulateRequest, report: &FormulateReport) {
    let bands_of = |kept: &[&crate::formulate::report::ConflictRow]| {
        let mut recipe = Recipe::empty("conflict");
        for row in kept {
            let aimed = Aimed::from_key(row.nutrient).unwrap_or_else(|| panic!("{row:?}"));
            let old = recipe.aim(aimed);
            let (mut min, mut max) = old.map_or((None, None), |aim| (aim.min, aim.max));
            match row.side {
                "min" => min = Some(row.bound_mg_l),
                _ => max = Some(row.bound_mg_l),
            }
            let weight = 1.0;
            recipe.set(
                aimed,
                Aim {
                    aim: None,
                    min,
                    max,
                    weight,
                },
            );
        }
        let mut asked = request.clone();
        asked.recipe = recipe;
        let mut problem = Problem::new(&asked, AS_WRITTEN);
        // Only the named bands count here, not the defaults of what nobody named.
        problem.rows.retain(|row| !row.default_max);
        let conflict = conflict::find(&problem, &asked).unwrap_or_else(|why| panic!("{why:?}"));
        conflict.clashes.is_empty()
    };
    let all: Vec<_> = report.conflict.iter().collect();
    assert!(!bands_of(&all), "the conflict can be met: {all:?}");
    for dropped in 0..all.len() {
        let mut rest = all.clone();
        rest.remove(dropped);
        assert!(rest.is_empty() || bands_of(&rest), "not minimal: {all:?}");
    }
}

/// Acid without limit would be a free source of nitrate: the acidity row holds it.
#[test]
fn acid_is_no_free_source_of_nitrogen() {
    let library = library();
    let mut recipe = Recipe::empty("pure water");
    for (nutrient, aim) in [
        (Nutrient::NitrateN, 150.0),
        (Nutrient::P, 31.0),
        (Nutrient::K, 210.0),
        (Nutrient::Ca, 90.0),
        (Nutrient::Mg, 24.0),
        (Nutrient::S, 32.0),
    ] {
        recipe.set(Aimed::Form(nutrient), Aim::bare(Aimed::Form(nutrient), aim));
    }
    let common = library.fertilizers.iter().filter(|row| row.common).cloned();
    let choice = common.map(|fertilizer| Candidate {
        fertilizer,
        price_per_kg: None,
        at_most: None,
    });
    let (choice, bands) = (choice.collect(), library.bands.clone());
    let request = FormulateRequest {
        acidity: AcidityAsk::Residual(MeqPerL(0.5)),
        ..FormulateRequest::plain(recipe, Water::pure(), choice, bands)
    };
    let held = formulate(&request).unwrap_or_else(|why| panic!("{why:?}"));
    let acid = held
        .acidity
        .map_or(f64::NAN, |acidity| acidity.reached_meq_l);
    assert!((-0.5 - 1e-9..=1e-9).contains(&acid), "{acid} meq/L");
    let mut free = request.clone();
    free.acidity = AcidityAsk::Off;
    let free = formulate(&free).unwrap_or_else(|why| panic!("{why:?}"));
    let brought: f64 = free
        .mix
        .iter()
        .filter_map(|row| {
            let fertilizer = library.fertilizers.get(&row.id)?;
            Some(fertilizer.acid_meq_per_g() * row.g_per_l)
        })
        .sum();
    // 0.1 meq/L of free acid is pH 4; the row above allows none.
    assert!(brought > 0.1, "without the row {brought} meq/L of acid");
    let residual = Acidity {
        residual_meq_l: 0.5,
        exact: false,
    };
    let problem = Problem::new(
        &request,
        Setting {
            acidity: Some(residual),
            ..AS_WRITTEN
        },
    );
    assert!(problem.rows.iter().any(|row| row.figure == Figure::Acidity));
}

/// The bands come first, however much closeness a figure inside its band would gain: phosphorus
/// with a trace of zinc, and water that lacks that trace.
#[test]
fn a_band_that_can_be_kept_is_kept() {
    let library = library();
    let text = r#"{"recipe": {"aims": {"P": {"aim": 30, "min": 10, "max": 60},
        "Zn": {"min": 1, "max": 2}}}, "water": {"holds": {"Zn": 0.99998}}, "acid": null,
        "fertilizers": [{"id": "x", "assay_pct": {"P": 20, "Zn": 0.00001}}]}"#;
    let node = Node::from_json(text).unwrap_or_else(|why| panic!("{why:?}"));
    let request = FormulateRequest::read(&node, &library, &mut Faults::default());
    let report = formulate(&request.unwrap_or_else(|| panic!("a sound request")));
    let report = report.unwrap_or_else(|why| panic!("{why:?}"));
    assert_eq!(report.outcome, Outcome::WithinBands);
    assert!(
        (report.mix[0].g_per_l - 0.2).abs() < 1e-7,
        "{:?}",
        report.mix
    );
    // A third of an aim of phosphorus: what the zinc costs in closeness.
    let closest = objective(&report, Stage::Closest).unwrap_or(f64::NAN);
    assert!((closest - 1.0 / 3.0).abs() < 1e-7, "{closest}");
    check_proofs(&report).unwrap_or_else(|why| panic!("{why}"));
}

/// Outside its bands is only what no mix can keep, also where little is left of some fertilizers.
#[test]
fn outside_means_that_no_mix_keeps_the_bands() {
    let library = library();
    let limited = (case(true), prop::collection::vec(0.0_f64..1.5, 16));
    let run = runner(1000).run(&limited, |(case, shares)| {
        let (mut request, grams) = case.request(&library);
        for ((candidate, grams), share) in request.choice.iter_mut().zip(grams).zip(shares) {
            if share < 1.0 {
                candidate.at_most = Some(GramsPerL(share * grams));
            }
        }
        let report = solved(&request)?;
        check_proofs(&report)?;
        let outside = report.outcome == Outcome::OutsideBands;
        prop_assert_eq!(
            outside,
            !report.conflict.is_empty(),
            "{:?}",
            report.nutrients
        );
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}
