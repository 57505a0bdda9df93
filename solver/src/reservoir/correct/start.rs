//! What the tank is taken to hold.

use super::super::assume::{as_read, at_strength, doses, fed};
use super::super::liquid::{By, Liquid, Tank};
use super::request::CorrectRequest;
use crate::chemistry::{Conditions, NotConverged, REFERENCE_CELSIUS};
use crate::formulate::formulate;
use crate::readings::Source;
use crate::refusal::Refusal;
use schemars::JsonSchema;
use serde::Serialize;

/// What the tank is taken to hold, and on what grounds.
pub(super) struct Start {
    /// The tank.
    pub tank: Tank,
    /// EC of it by its ions, mS/cm.
    pub ec_ms_cm: f64,
    /// Its strength: of what `feed` brings to a litre.
    pub strength: Option<f64>,
    /// Grounds.
    pub grounds: Grounds,
    /// EC that the feed makes at strength 1, mS/cm.
    pub full_ms_cm: f64,
}

/// On what grounds the tank is taken to hold something.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Grounds {
    /// This water with these stocks, at the strength that reads the EC.
    Stocks,
    /// The same with a formulation of the recipe.
    Formulation,
    /// This water, thinned: the reading is below its own EC.
    Thinned,
    /// A laboratory's figures.
    Analysis,
}

/// Finds what the tank holds.
pub(super) fn find(
    request: &CorrectRequest,
    source: &Source<'_>,
    at: &Conditions,
) -> Result<Start, Refusal> {
    let unsolved = |NotConverged| Refusal::unsolved("reading");
    let water = Liquid::of_water(source);
    let (feed, made_of) = feed(request)?;
    let full_ms_cm = fed(&water, &feed, 1.0).ec_ms_cm().map_err(unsolved)?;
    let shown = (request.reading.ec_ms_cm.unwrap_or(0.0), request.ph_read());
    let found = match &request.analysis {
        Some(_) => analysed(request, at),
        None => at_strength(shown, &water, &feed, at).map(|(liquid, strength)| match strength {
            Some(_) => (liquid, strength, made_of),
            None => (liquid, None, Grounds::Thinned),
        }),
    };
    let (liquid, strength, grounds) = found.map_err(unsolved)?;
    Ok(Start {
        ec_ms_cm: liquid.ec_ms_cm().map_err(unsolved)?,
        tank: Tank {
            litres: request.litres,
            liquid,
        },
        strength,
        grounds,
        full_ms_cm,
    })
}

/// What the stocks bring to a litre at their ratio (1:100 where it is not named); without stocks
/// what a formulation of the recipe brings.
fn feed(request: &CorrectRequest) -> Result<(Liquid, Grounds), Refusal> {
    /// A ratio to count strength by where none is named: it has no say in any answer.
    const UNNAMED: f64 = 100.0;
    let stocks = &request.stocks;
    let for_strength = || stocks.tanks.iter().filter(|tank| !tank.is_for_ph());
    if for_strength().next().is_some() {
        let ratio = stocks.ratio.unwrap_or(UNNAMED);
        let mut feed = Liquid::default();
        for tank in &stocks.tanks {
            feed += Liquid::of_mix(&tank.mix) * (1.0 / ratio);
        }
        return Ok((feed, Grounds::Stocks));
    }
    let report = formulate(&request.formulate)?;
    Ok((
        Liquid::of_mix(&doses(&request.formulate, &report)),
        Grounds::Formulation,
    ))
}

/// A laboratory's figures.
fn analysed(
    request: &CorrectRequest,
    at: &Conditions,
) -> Result<(Liquid, Option<f64>, Grounds), NotConverged> {
    let mut liquid = Liquid::default();
    if let Some(analysis) = &request.analysis {
        liquid.holds = analysis.holds;
        liquid.totals.add_composition(&analysis.holds);
        liquid.totals.acid_meq_l = -analysis.alkalinity_meq_l;
    }
    let liquid = as_read(liquid, request.ph_read(), at, By::Inert)?;
    Ok((liquid, None, Grounds::Analysis))
}

/// The temperature that pH is told at.
pub(super) fn conditions(request: &CorrectRequest) -> Conditions {
    let celsius = request.reading.temperature_c;
    Conditions::at(celsius.unwrap_or(REFERENCE_CELSIUS))
}
