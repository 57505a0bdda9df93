//! What the tank is taken to hold.

use super::super::assume::{as_read, at_strength, doses, fed};
use super::super::liquid::{By, Liquid, Tank};
use super::request::CorrectRequest;
use crate::chemistry::{Conditions, NotConverged, REFERENCE_CELSIUS};
use crate::formulate::formulate;
use crate::readings::Source;
use crate::refusal::Refusal;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_recipes::Water;
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// A ratio to count strength by where none is named: it has no say in any answer.
pub(super) const UNNAMED_RATIO: f64 = 100.0;

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

/// What the tank is made of, before a meter says how much of it there is.
pub(super) struct MadeOf {
    /// What its feed brings to a litre at strength 1.
    pub feed: Vec<Dose>,
    /// A laboratory's figures, where there are any.
    pub analysed: Option<Liquid>,
    /// Whose feed it is.
    grounds: Grounds,
}

/// What the meters show: EC in mS/cm, and pH.
pub(super) type Shown = (f64, Option<f64>);

impl MadeOf {
    /// As a request says it.
    pub fn of(request: &CorrectRequest) -> Result<Self, Refusal> {
        let (feed, grounds) = feed(request)?;
        let analysed = request.analysis.as_ref().map(analysed);
        Ok(Self {
            feed,
            analysed,
            grounds,
        })
    }
}

/// What a litre of the tank holds when the meters show this, and its strength in feeds.
pub(super) fn holds(
    shown: Shown,
    water: &Liquid,
    feed: &Liquid,
    analysed: Option<&Liquid>,
    at: &Conditions,
) -> Result<(Liquid, Option<f64>), NotConverged> {
    match analysed {
        Some(liquid) => Ok((as_read(*liquid, shown.1, at, By::Inert)?, None)),
        None => at_strength(shown, water, feed, at),
    }
}

/// What the meters show, by a request.
pub(super) fn shown(request: &CorrectRequest) -> Shown {
    (request.reading.ec_ms_cm.unwrap_or(0.0), request.ph_read())
}

/// Finds what the tank holds.
pub(super) fn find(
    request: &CorrectRequest,
    made_of: &MadeOf,
    source: &Source<'_>,
    at: &Conditions,
) -> Result<Start, NotConverged> {
    let water = Liquid::of_water(source);
    let feed = Liquid::of_mix(&made_of.feed);
    let analysed = made_of.analysed.as_ref();
    let (liquid, strength) = holds(shown(request), &water, &feed, analysed, at)?;
    let grounds = match (analysed, strength) {
        (Some(_), _) => Grounds::Analysis,
        (None, Some(_)) => made_of.grounds,
        (None, None) => Grounds::Thinned,
    };
    Ok(Start {
        ec_ms_cm: liquid.ec_ms_cm()?,
        tank: Tank {
            litres: request.litres,
            liquid,
        },
        strength,
        grounds,
        full_ms_cm: fed(&water, &feed, 1.0).ec_ms_cm()?,
    })
}

/// What the stocks bring to a litre at their ratio (1:100 where it is not named); without stocks
/// what a formulation of the recipe brings.
fn feed(request: &CorrectRequest) -> Result<(Vec<Dose>, Grounds), Refusal> {
    let stocks = &request.stocks;
    let for_strength = || stocks.tanks.iter().filter(|tank| !tank.is_for_ph());
    if for_strength().next().is_some() {
        let ratio = stocks.ratio.unwrap_or(UNNAMED_RATIO);
        let doses = stocks.tanks.iter().flat_map(|tank| &tank.mix);
        let diluted = doses.map(|dose| Dose {
            fertilizer: Arc::clone(&dose.fertilizer),
            amount: GramsPerL(dose.amount.0 / ratio),
        });
        return Ok((diluted.collect(), Grounds::Stocks));
    }
    let report = formulate(&request.formulate)?;
    Ok((doses(&request.formulate, &report), Grounds::Formulation))
}

/// A laboratory's figures.
fn analysed(analysis: &Water) -> Liquid {
    let mut liquid = Liquid {
        holds: analysis.holds,
        ..Liquid::default()
    };
    liquid.totals.add_composition(&analysis.holds);
    liquid.totals.acid_meq_l = -analysis.alkalinity_meq_l;
    liquid
}

/// The temperature that pH is told at.
pub(super) fn conditions(request: &CorrectRequest) -> Conditions {
    let celsius = request.reading.temperature_c;
    Conditions::at(celsius.unwrap_or(REFERENCE_CELSIUS))
}
