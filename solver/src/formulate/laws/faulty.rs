//! An engine that fails in a chosen way changes no proof.

use super::*;

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
