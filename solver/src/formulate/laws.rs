//! Laws that every formulation keeps, on random problems, with and without a faulty engine.
//!
//! The generator invents fertilizers, waters and aims around a mix it knows; nothing here is
//! compared with a stored answer.

use super::engine::{Engine, EngineFault, Program};
use super::problem::{Acidity, Figure, Problem, Setting};
use super::report::{FormulateReport, Outcome};
use super::request::{AcidityAsk, Candidate, FormulateRequest};
use super::stages::Stage;
use super::{Minilp, conflict, formulate, formulate_with};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use saltwright_fertilizers::units::{GramsPerL, MeqPerL};
use saltwright_fertilizers::{Aimed, Faults, Node, Nutrient};
use saltwright_recipes::{Aim, Library, Recipe, Water};

/// Largest residual and relative gap that a proof may show.
const PROVEN: f64 = 1e-7;

/// A random problem around a known mix.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    /// Positions in the shipped table with grams per litre and price per kg.
    pub(crate) salts: Vec<(usize, f64, f64)>,
    /// Share of each macronutrient of the mix that the water already holds.
    pub(crate) water_share: f64,
    /// Half-width of the bands, relative.
    pub(crate) band: f64,
    /// Factor on each aim; 1 is what the mix delivers.
    pub(crate) shift: Vec<f64>,
    /// Alkalinity of the water, meq/L.
    pub(crate) alkalinity: f64,
    /// Factor on the amount of micronutrient fertilizers.
    pub(crate) traces: f64,
}

pub(crate) fn case(shifted: bool) -> impl Strategy<Value = Case> {
    let salt = (0_usize..60, 0.001_f64..1.0, 0.1_f64..20.0);
    let shift = if shifted {
        (0.2_f64..4.0).boxed()
    } else {
        Just(1.0).boxed()
    };
    (
        prop::collection::vec(salt, 3..16),
        0.0_f64..0.6,
        0.01_f64..0.3,
        prop::collection::vec(shift, Nutrient::COUNT),
        0.0_f64..5.0,
    )
        .prop_map(|(salts, water_share, band, shift, alkalinity)| Case {
            salts,
            water_share,
            band,
            shift,
            alkalinity,
            traces: 0.01,
        })
}

/// Known mixes whose parts are of one size, so that a finite step meets no other bound.
fn even_case() -> impl Strategy<Value = Case> {
    case(false).prop_map(|mut case| {
        for (_, grams, _) in &mut case.salts {
            *grams = 0.3 + 0.7 * *grams;
        }
        case.band += 0.1;
        case.traces = 1.0;
        case
    })
}

pub(crate) fn library() -> Library {
    Library::shipped().unwrap_or_else(|faults| panic!("{}", faults[0]))
}

impl Case {
    /// The request, and the grams per litre of the known mix in the order of its choice.
    pub(crate) fn request(&self, library: &Library) -> (FormulateRequest, Vec<f64>) {
        let rows: Vec<_> = library.fertilizers.iter().collect();
        let mut choice: Vec<Candidate> = Vec::new();
        let mut grams = Vec::new();
        for (row, amount, price) in &self.salts {
            let fertilizer = rows[row % rows.len()].clone();
            if choice.iter().any(|c| c.fertilizer.id == fertilizer.id) {
                continue;
            }
            let micro = Nutrient::MICROS
                .into_iter()
                .any(|n| fertilizer.assay_pct[n] > 1.0);
            grams.push(if micro { amount * self.traces } else { *amount });
            choice.push(Candidate {
                fertilizer,
                price_per_kg: Some(*price),
                at_most: None,
            });
        }
        let mut total = saltwright_fertilizers::Composition::ZERO;
        for (candidate, grams) in choice.iter().zip(&grams) {
            total += candidate.fertilizer.mg_per_g() * *grams;
        }
        let mut recipe = Recipe::empty("random");
        let mut water = Water::pure();
        water.alkalinity_meq_l = self.alkalinity;
        for (nutrient, amount) in total.iter() {
            let brought = amount * self.water_share;
            water.holds[nutrient] = brought;
            let aim = (amount + brought) * self.shift[nutrient.index()];
            recipe.set(
                Aimed::Form(nutrient),
                Aim {
                    aim: Some(aim),
                    min: Some(aim * (1.0 - self.band)),
                    max: Some(aim * (1.0 + self.band)),
                    weight: 1.0,
                },
            );
        }
        let request = FormulateRequest::plain(recipe, water, choice, library.bands.clone());
        (request, grams)
    }
}

/// A recipe at its own strength, acidity left alone.
const AS_WRITTEN: Setting = Setting {
    strength: 1.0,
    acidity: None,
};

pub(crate) fn runner(cases: u32) -> TestRunner {
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    // Seeded: the same problems on every machine.
    TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha))
}

fn solved(request: &FormulateRequest) -> Result<FormulateReport, TestCaseError> {
    formulate(request).map_err(|refusal| TestCaseError::fail(format!("{refusal:?}")))
}

fn check_proofs(report: &FormulateReport) -> Result<(), TestCaseError> {
    prop_assert!(!report.proof.is_empty());
    for row in &report.proof {
        let scale = row.objective.abs().max(1.0);
        prop_assert!(row.primal_residual <= PROVEN, "{row:?}");
        prop_assert!(row.dual_residual <= PROVEN, "{row:?}");
        prop_assert!(row.gap.abs() <= PROVEN * scale, "{row:?}");
    }
    Ok(())
}

fn objective(report: &FormulateReport, stage: Stage) -> Option<f64> {
    let row = report.proof.iter().find(|row| row.stage == stage)?;
    Some(row.objective)
}

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
    let bands_of = |kept: &[&super::report::ConflictRow]| {
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

/// Laws 3 and 4: order, prices in another currency, and the unit of a fertilizer's figures change
/// nothing but what they must.
#[test]
fn scaling_scales_the_answer() {
    let library = library();
    let strategy = (case(true), 0.001_f64..1000.0, 0.1_f64..5.0);
    let run = runner(300).run(&strategy, |(case, currency, strength)| {
        let (request, _) = case.request(&library);
        let report = solved(&request)?;
        let cost = report.cost_per_m3.unwrap_or(f64::NAN);

        let mut reversed = request.clone();
        reversed.choice.reverse();
        prop_assert_eq!(&solved(&reversed)?, &report);

        let mut dearer = request.clone();
        for candidate in &mut dearer.choice {
            candidate.price_per_kg = candidate.price_per_kg.map(|price| price * currency);
        }
        let scaled = solved(&dearer)?.cost_per_m3.unwrap_or(f64::NAN);
        prop_assert!((scaled - cost * currency).abs() <= 1e-6 * (cost * currency).max(1e-9));

        // Water, aims and bands times a factor: the mix times that factor.
        let mut stronger = request.clone();
        stronger.water.holds = stronger.water.holds * strength;
        let aims: Vec<_> = request.recipe.aims().collect();
        for (aimed, aim) in aims {
            let times = |value: Option<f64>| value.map(|value| value * strength);
            let (min, max) = (times(aim.min), times(aim.max));
            stronger.recipe.set(
                aimed,
                Aim {
                    aim: times(aim.aim),
                    min,
                    max,
                    ..aim
                },
            );
        }
        let scaled = solved(&stronger)?;
        prop_assert_eq!(scaled.outcome, report.outcome);
        let scaled = scaled.cost_per_m3.unwrap_or(f64::NAN);
        prop_assert!((scaled - cost * strength).abs() <= 1e-6 * (cost * strength).max(1e-9));
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

/// Law 5: more to choose from never leaves the answer farther from the aims, and neither does a
/// wider band.
#[test]
fn more_choice_is_never_farther() {
    let library = library();
    let run = runner(300).run(&(case(true), 0_usize..60), |(case, extra)| {
        let (request, _) = case.request(&library);
        let distance = |request: &FormulateRequest| {
            solved(request).map(|report| objective(&report, Stage::Closest).unwrap_or(f64::NAN))
        };
        let before = distance(&request)?;
        let mut wider = request.clone();
        let rows: Vec<_> = library.fertilizers.iter().collect();
        let fertilizer = rows[extra % rows.len()].clone();
        if wider
            .choice
            .iter()
            .all(|c| c.fertilizer.id != fertilizer.id)
        {
            wider.choice.push(Candidate {
                fertilizer,
                price_per_kg: Some(1.0),
                at_most: None,
            });
        }
        prop_assert!(distance(&wider)? <= before + 1e-7 * before.max(1.0));
        let mut loose = request.clone();
        let aims: Vec<_> = request.recipe.aims().collect();
        for (aimed, aim) in aims {
            let (min, max) = (aim.min.map(|min| min * 0.9), aim.max.map(|max| max * 1.1));
            loose.recipe.set(aimed, Aim { min, max, ..aim });
        }
        prop_assert!(distance(&loose)? <= before + 1e-7 * before.max(1.0));
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

/// `at_most_g` and `already` hold: a bag that runs out is never exceeded, and what is in the tank
/// counts like water.
#[test]
fn limits_and_what_is_there_already_hold() {
    let library = library();
    let run = runner(300).run(&(case(true), 0.0_f64..1.0), |(case, share)| {
        let (mut request, grams) = case.request(&library);
        for (candidate, grams) in request.choice.iter_mut().zip(&grams) {
            candidate.at_most = Some(GramsPerL(grams * share));
        }
        let limits: Vec<_> = request
            .choice
            .iter()
            .map(|c| {
                (
                    c.fertilizer.id.clone(),
                    c.at_most.map_or(0.0, |most| most.0),
                )
            })
            .collect();
        let report = solved(&request)?;
        check_proofs(&report)?;
        for row in &report.mix {
            let most = limits
                .iter()
                .find(|(id, _)| *id == row.id)
                .map_or(0.0, |l| l.1);
            prop_assert!(
                row.g_per_l <= most * (1.0 + 1e-9) + 1e-15,
                "{row:?} above {most}"
            );
        }

        // The same nutrients as water or as a mix that is there already: the same answer.
        let (mut there, grams) = case.request(&library);
        let dose = saltwright_fertilizers::Dose {
            fertilizer: there.choice[0].fertilizer.clone(),
            amount: GramsPerL(grams[0] * share),
        };
        let mut in_water = there.clone();
        in_water.water.holds += dose.fertilizer.mg_per_g() * dose.amount.0;
        there.already = vec![dose];
        let (there, in_water) = (solved(&there)?, solved(&in_water)?);
        prop_assert_eq!(there.mix, in_water.mix);
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
}

/// Law 8: the price of a nutrient is what one more of it costs and one less saves, by finite
/// difference of its whole band, wherever the mix can follow.
#[test]
fn prices_are_finite_differences() {
    let library = library();
    let compared = std::cell::Cell::new(0_usize);
    let agreed = std::cell::Cell::new(0_usize);
    let run = runner(120).run(&even_case(), |case| {
        let (request, _) = case.request(&library);
        // Bands alone: the cheapest mix within them, whose prices are plain duals.
        let mut banded = request.clone();
        let aims: Vec<_> = request.recipe.aims().collect();
        for (aimed, aim) in &aims {
            banded.recipe.set(*aimed, Aim { aim: None, ..*aim });
        }
        let report = solved(&banded)?;
        let cost = report.cost_per_m3.unwrap_or(f64::NAN);
        for (aimed, aim) in &aims {
            let row = &report.nutrients[aimed.index()];
            let (Some(price), Some(high)) = (row.price_per_mg_l_m3, row.price_high) else {
                continue;
            };
            if price <= 0.0 || aim.min.is_none_or(|min| min < 1e-6) {
                continue;
            }
            let step = 1e-5 * aim.min.unwrap_or(1.0);
            let mut more = banded.clone();
            let min = aim.min.map(|min| min + step);
            more.recipe.set(
                *aimed,
                Aim {
                    aim: None,
                    min,
                    ..*aim
                },
            );
            let dearer = solved(&more)?;
            if dearer.outcome == Outcome::WithinBands {
                let rate = (dearer.cost_per_m3.unwrap_or(f64::NAN) - cost) / step;
                let tolerance = 1e-6 * high.abs() + 1e-9 * cost / step;
                // The cost is convex in a bound: a finite step never costs less than the rate.
                prop_assert!(rate >= high - tolerance, "{aimed}: {rate} below {high}");
                let same = (rate - high).abs() <= 1e-3 * high.abs() + tolerance;
                agreed.set(agreed.get() + usize::from(same));
                compared.set(compared.get() + 1);
            }
        }
        Ok(())
    });
    run.unwrap_or_else(|error| panic!("{error}"));
    let (compared, agreed) = (compared.get(), agreed.get());
    // The rest meet another bound within the step.
    assert!(
        compared > 50 && agreed * 10 > compared * 9,
        "{agreed} of {compared}"
    );
}

/// An engine that fails in a chosen way.
enum Faulty {
    Panics,
    SaysInfeasible,
    AnswersNan,
    AnswersShort,
    AnswersNothing,
    AnswersUpperBounds,
}

impl Engine for Faulty {
    fn propose(&self, program: &Program<'_>) -> Result<Vec<f64>, EngineFault> {
        let columns = program.columns();
        match self {
            Self::Panics => panic!("the engine is broken on purpose"),
            Self::SaysInfeasible => Err(EngineFault::Refused("Infeasible".into())),
            Self::AnswersNan => Ok(vec![f64::NAN; columns]),
            Self::AnswersShort => Ok(vec![0.0; columns / 2]),
            Self::AnswersNothing => Ok(vec![0.0; columns]),
            Self::AnswersUpperBounds => Ok(vec![2.0; columns]),
        }
    }
}

/// Laws 2 and 13: whatever the engine does, the answer is proven and as close and as cheap.
#[test]
fn a_faulty_engine_changes_no_proof() {
    let library = library();
    let hook = std::panic::take_hook();
    std::panic::set_hook(Box::new(|_| {}));
    let run = runner(150).run(&case(true), |case| {
        let (request, _) = case.request(&library);
        let sound =
            formulate_with(&request, &Minilp).map_err(|_| TestCaseError::fail("refused"))?;
        for engine in [
            Faulty::Panics,
            Faulty::SaysInfeasible,
            Faulty::AnswersNan,
            Faulty::AnswersShort,
            Faulty::AnswersNothing,
            Faulty::AnswersUpperBounds,
        ] {
            let answer = formulate_with(&request, &engine);
            let answer = answer.map_err(|_| TestCaseError::fail("refused"))?;
            check_proofs(&answer)?;
            for stage in [Stage::Closest, Stage::Cheapest] {
                let (a, b) = (objective(&sound, stage), objective(&answer, stage));
                let (a, b) = (a.unwrap_or(f64::NAN), b.unwrap_or(f64::NAN));
                prop_assert!(
                    (a - b).abs() <= 1e-9 * a.abs().max(1.0),
                    "{stage:?}: {a} {b}"
                );
            }
        }
        Ok(())
    });
    std::panic::set_hook(hook);
    run.unwrap_or_else(|error| panic!("{error}"));
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
