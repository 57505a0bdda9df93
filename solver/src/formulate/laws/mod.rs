//! Laws that every formulation keeps, on random problems, with and without a faulty engine.
//!
//! The generator invents fertilizers, waters and aims around a mix it knows; nothing here is
//! compared with a stored answer.

mod change;
mod faulty;
mod mixes;

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
