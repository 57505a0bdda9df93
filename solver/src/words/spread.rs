//! Sentences about what may be off, and what would narrow it.

use super::{figure, listing, price};
use crate::formulate::report::Outcome;
use crate::formulate::sure::SureReport;
use crate::spread::Cause;

/// Fertilizers whose assays count as exact because nobody states a tolerance.
pub fn no_tolerance(ids: &[&str]) -> String {
    format!(
        "No tolerance is stated for {}: the ranges take the assay as exact. State one \
         (tolerance_pct) to see what it does.",
        listing(ids)
    )
}

/// What would narrow a cause, which reports call by this name.
pub(crate) fn improvement(cause: Cause, name: &str) -> String {
    let plain = match cause {
        Cause::Bag(_) => {
            return format!("have {name} analysed, or buy one with a narrower guarantee");
        }
        Cause::Stock(_) => return format!("stir {name}, and check its EC diluted"),
        Cause::Stocks => "stir the stocks, and check their EC diluted",
        Cause::Scale => "weigh on a finer scale, checked with a known weight",
        Cause::Cylinder => "measure liquids with a finer cylinder or syringe",
        Cause::Volume => "find the tank's volume with a water meter or by weighing",
        Cause::Proportioner => "check the proportioner against a measured volume",
        Cause::WaterAnalysis => "have the water analysed afresh",
        Cause::TankAnalysis => "have the tank analysed afresh",
        Cause::Prices => "ask for firm prices",
        Cause::Alkalinity => "titrate the alkalinity of the water",
        Cause::Acids => "have the acid or base titrated",
        Cause::PhModel | Cause::PhMeter => "calibrate the pH meter with fresh buffers",
        Cause::Model | Cause::WaterEc => "measure the EC of the source water",
        Cause::Thermometer => "check the meter's thermometer",
        Cause::Meter => "calibrate the EC meter with a fresh standard",
    };
    plain.to_owned()
}

/// How sure the bands are, and what that costs.
pub(crate) fn sure(told: &SureReport, safe: Outcome, plain: Outcome) -> String {
    let asked = told.probability.map(|asked| figure(100.0 * asked));
    let holds = match (&asked, told.reached) {
        (Some(_), Some(reached)) => format!(
            "all bands hold together with a probability of {} % or more, each assay anywhere within \
             its tolerance alike",
            figure((1000.0 * reached).floor() / 10.0)
        ),
        _ => "every band holds for any bag within its tolerance".to_owned(),
    };
    let wanted = asked.map_or_else(
        || "for every bag within its tolerance".to_owned(),
        |asked| format!("with a probability of {asked} %"),
    );
    let mut words = match (safe, plain) {
        (Outcome::WithinBands, _) => holds,
        (Outcome::OutsideBands, Outcome::OutsideBands) => {
            format!("the bands cannot be kept even by the stated assays, let alone {wanted}")
        }
        (Outcome::OutsideBands, Outcome::WithinBands) => {
            let possible = told.possible_share_pct.unwrap_or(0.0);
            let way = match told.stands_in_the_way.as_slice() {
                [] => "no single one of them stands in the way alone".to_owned(),
                ids => format!(
                    "it would be possible with an exact assay of {}",
                    listing(ids).replace(" and ", " or ")
                ),
            };
            format!(
                "the bands cannot be kept {wanted}; they could for {} % of every tolerance, and \
                 {way}",
                figure(possible.floor())
            )
        }
    };
    if let (Outcome::WithinBands, Some(cost), Some(nominal)) =
        (safe, told.cost_per_m3, told.nominal_cost_per_m3)
    {
        let more = format!(
            "; that costs {} per 1000 L, by the stated assays alone it would be {}",
            price(cost),
            price(nominal)
        );
        words.push_str(&more);
    }
    words
}
