//! How a nutrient of the recipe and the acidity become rows: aims, bands, weights, default maxima.

use super::{ACIDITY_BAND_MEQ_L, AMMONIUM_SHARE, AcidityRow, Figure, Judged, Row};
use crate::formulate::request::FormulateRequest;
use saltwright_fertilizers::{Aimed, Nutrient};
use saltwright_recipes::Aim;

/// The acidity row: an aim where there is alkalinity to take away, else a band that keeps acids
/// and bases from being used as free sources of their nutrients.
pub(super) fn acidity(row: AcidityRow, alkalinity: f64) -> Row {
    let target = row.target_meq_l;
    let mut figure = Row {
        figure: Figure::Acidity,
        aim: None,
        min: None,
        max: Some(target.max(0.0)),
        weight: 0.0,
        present: 0.0,
        default_max: false,
        judged: Judged::AsStated,
    };
    if row.exact {
        (figure.min, figure.max) = (Some(target), Some(target));
    } else if row.has_acid && target > 0.0 {
        figure.aim = Some(target);
        figure.min = Some(target - ACIDITY_BAND_MEQ_L);
        figure.max = Some(target + ACIDITY_BAND_MEQ_L);
        figure.weight = 1.0;
    } else if row.has_acid {
        figure.min = Some(target);
        figure.max = Some(alkalinity.max(0.0));
    }
    figure
}

pub(super) fn nutrient(
    request: &FormulateRequest,
    aimed: Aimed,
    present: f64,
    strength: f64,
) -> Row {
    let named = request.recipe.aim(aimed);
    let row = Row {
        figure: Figure::Nutrient(aimed),
        aim: None,
        min: None,
        max: None,
        weight: 0.0,
        present,
        default_max: false,
        judged: Judged::AsStated,
    };
    match named {
        Some(aim) => self::named(row, aim, aimed, (request, strength)),
        None => unnamed(row, aimed, (request, strength)),
    }
}

/// A nutrient that the recipe names: strength applied, open sides closed by the default band.
fn named(row: Row, named: Aim, aimed: Aimed, (request, strength): (&FormulateRequest, f64)) -> Row {
    let strength = match aimed {
        // A limit of sodium or chloride is a limit of the crop, whatever the strength.
        Aimed::Form(Nutrient::Na | Nutrient::Cl) if named.aim.is_none() => 1.0,
        _ => strength,
    };
    let times = |value: Option<f64>| value.map(|value| value * strength);
    let aim = times(named.aim);
    let band = request.bands.of(aimed);
    let below = aim.map(|aim| aim * (1.0 - band.below_pct / 100.0));
    let above = aim.map(|aim| aim * (1.0 + band.above_pct / 100.0));
    // Total nitrogen beside an aim for nitrate is a band only: a miss would count twice.
    let band_only =
        aimed == Aimed::TotalN && aim_of(request, Aimed::Form(Nutrient::NitrateN)).is_some();
    let min = times(named.min).or(below);
    let max = times(named.max).or(above);
    Row {
        aim,
        // A default side never cuts into the side that the recipe names.
        min: min.map(|min| min.min(max.unwrap_or(f64::INFINITY))),
        max: max.map(|max| max.max(min.unwrap_or(0.0))),
        weight: if aim.is_none() || band_only {
            0.0
        } else {
            named.weight
        },
        ..row
    }
}

fn aim_of(request: &FormulateRequest, aimed: Aimed) -> Option<f64> {
    request.recipe.aim(aimed).and_then(|aim| aim.aim)
}

/// A nutrient that the recipe does not name: free, or held below its default maximum.
fn unnamed(row: Row, aimed: Aimed, (request, strength): (&FormulateRequest, f64)) -> Row {
    let default_max = if aimed == Aimed::Form(Nutrient::AmmoniumN) {
        nitrogen_asked(request).map(|n| AMMONIUM_SHARE * n * strength)
    } else {
        request.bands.of(aimed).default_max_mg_l
    };
    Row {
        // Below what is there already no default maximum can be kept.
        max: default_max.map(|max| max.max(row.present)),
        default_max: default_max.is_some(),
        judged: Judged::AsStated,
        ..row
    }
}

/// The nitrogen that the recipe asks for at full strength: its total, else its nitrate.
fn nitrogen_asked(request: &FormulateRequest) -> Option<f64> {
    let figure = |aimed| {
        let named = request.recipe.aim(aimed)?;
        named.aim.or(named.max).or(named.min)
    };
    figure(Aimed::TotalN).or_else(|| figure(Aimed::Form(Nutrient::NitrateN)))
}
