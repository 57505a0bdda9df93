//! What to weigh for the tank instead of pouring stocks.

use super::EC_BAND;
use super::for_strength;
use super::report::{self, AdjustedFeed, CorrectReport, State};
use super::request::CorrectRequest;
use super::start::Start;
use crate::chemistry::{Conditions, NotConverged};
use crate::formulate::formulate;
use crate::formulate::request::{AcidityAsk, Strength};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::reservoir::assume::doses;
use crate::reservoir::liquid::{Liquid, Tank};
use saltwright_recipes::Water;

/// What to weigh instead of pouring stocks: the tank, drained and filled, counts as the water of a
/// formulation of the recipe. Asked where a laboratory's figures are there, or no stocks and the
/// tank too weak. Acids and bases are no part of it: the pH is a matter of the steps.
pub(super) fn adjusted_feed(
    request: &CorrectRequest,
    report: &CorrectReport,
    start: &Start,
    at: &Conditions,
) -> Result<Option<AdjustedFeed>, Refusal> {
    let no_stock = for_strength(request).next().is_none();
    let weak = report.after.ec_ms_cm < report.aim.ec_ms_cm * (1.0 - EC_BAND);
    if request.analysis.is_none() && !(no_stock && weak) {
        return Ok(None);
    }
    let mut tank: Tank = start.tank;
    for step in &report.steps {
        match (step.what, step.litres) {
            (report::Do::Drain, Some(litres)) => tank.litres -= litres,
            (report::Do::AddWater, Some(litres)) => {
                let source = Source::new(&request.formulate.water);
                let source = source.map_err(|NotConverged| Refusal::unsolved("water"))?;
                tank.pour(litres, &Liquid::of_water(&source));
            }
            _ => {}
        }
    }
    let mut ask = request.formulate.clone();
    ask.water = Water {
        name: "what is in the tank".into(),
        holds: tank.liquid.holds,
        alkalinity_meq_l: (-tank.liquid.totals.acid_meq_l).max(0.0),
        alkalinity_known: true,
        ph: report.now.ph,
        ..Water::pure()
    };
    ask.litres = Some(tank.litres);
    ask.strength = Strength::Factor(1.0);
    ask.ec_ms_cm = Some(report.aim.ec_ms_cm);
    ask.acidity = AcidityAsk::Off;
    ask.choice
        .retain(|row| !row.fertilizer.is_acid() && !row.fertilizer.is_base());
    let formulation = formulate(&ask)?;
    tank.liquid += Liquid::of_mix(&doses(&ask, &formulation));
    let unsolved = |NotConverged| Refusal::unsolved("recipe");
    let ph = tank.liquid.ph(at).map_err(unsolved)?;
    Ok(Some(AdjustedFeed {
        litres: tank.litres,
        then: State {
            ec_ms_cm: tank.liquid.ec_ms_cm().map_err(unsolved)?,
            ph: request.ph_read().map(|_| ph),
            litres: tank.litres,
        },
        formulation: Box::new(formulation),
    }))
}
