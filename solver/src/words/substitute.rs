//! Sentences about cheaper mixes.

use super::{figure, price};
use crate::substitute::report::{Changes, SubstituteReport};
use saltwright_fertilizers::{Aimed, Fertilizer};

/// Ammonium share of total nitrogen, percent, that is much for lettuce and herbs where light or
/// roots are weak. Common practice, no source.
const MUCH_AMMONIUM_PCT: f64 = 25.0;

/// An amount of money with its currency, where that is known.
pub fn money(amount: f64, currency: Option<&str>) -> String {
    match currency {
        Some(currency) => format!("{} {currency}", price(amount)),
        None => price(amount),
    }
}

/// What room in a band would save.
pub fn loosened(
    nutrient: Aimed,
    side: &str,
    (bound_mg_l, by_mg_l): (f64, f64),
    (saves_per_m3, currency): (f64, Option<&str>),
) -> String {
    let to = if side == "min" {
        bound_mg_l - by_mg_l
    } else {
        bound_mg_l + by_mg_l
    };
    let end = if side == "min" { "minimum" } else { "maximum" };
    format!(
        "Loosening the {end} of {nutrient} by {} mg/L, to {}, saves {} per 1000 L.",
        figure(by_mg_l),
        figure(to),
        money(saves_per_m3, currency)
    )
}

/// What to heed about a swap.
pub fn swap(into: &Fertilizer, changes: &Changes) -> Vec<String> {
    let mut told = Vec::new();
    if changes.clear == Some(false) {
        let solid = changes.first_solid.as_deref().unwrap_or("something");
        told.push(format!("A stock tank turns cloudy with it: {solid}."));
    } else if changes.clear.is_none() {
        told.push("Whether the stock tanks stay clear cannot be worked out.".to_owned());
    }
    if let Some(share) = changes.nh4_share_pct.then
        && share > MUCH_AMMONIUM_PCT
        && changes.nh4_share_pct.now.is_none_or(|now| share > now)
    {
        told.push(format!(
            "{} % of the nitrogen is then ammonium.",
            figure(share)
        ));
    }
    told.extend(super::stock::at_the_step(into));
    told
}

/// What to heed about the whole.
pub fn cautions(report: &SubstituteReport) -> Vec<String> {
    let mut told = Vec::new();
    if report.now_stock.clear == Some(false) {
        let solid = report
            .now_stock
            .first_solid
            .as_deref()
            .unwrap_or("something");
        told.push(format!(
            "Today's mix itself does not stay clear as 1:{} stock in two tanks: {solid}.",
            figure(report.stock_ratio)
        ));
    }
    if report.cheapest_stock.clear == Some(false) {
        let solid = report
            .cheapest_stock
            .first_solid
            .as_deref()
            .unwrap_or("something");
        told.push(format!(
            "The cheapest mix does not stay clear as 1:{} stock in two tanks: {solid}. Keep weaker \
             stocks, or take a swap that stays clear.",
            figure(report.stock_ratio)
        ));
    }
    if !report
        .break_even
        .iter()
        .any(|row| row.price_per_kg.is_some())
        && report.holds_while.is_empty()
    {
        told.push(
            "How long this choice stays the cheapest cannot be said for a blend of two mixes."
                .to_owned(),
        );
    }
    told.push(super::DEFER.to_owned());
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::substitute::report::Change;
    use saltwright_fertilizers::Table;

    #[test]
    fn what_a_swap_clouds_and_brings_is_said() {
        let shelf = Table::shipped().expect("sound");
        let salt = shelf.get("ammonium-sulfate").expect("shipped");
        let none = Change {
            now: None,
            then: None,
        };
        let changes = |clear, share| Changes {
            nutrients: Vec::new(),
            ec_ms_cm: none,
            ph_closed: none,
            sodium_mg_l: none,
            chloride_mg_l: none,
            nh4_share_pct: share,
            solubility_g_per_l_20c: none,
            tank: None,
            clear,
            first_solid: Some("gypsum".into()),
            words: Vec::new(),
        };
        let told = |clear, share| swap(salt, &changes(clear, share)).join(" ");
        let calm = told(Some(true), none);
        assert!(
            !calm.contains("stock tank") && !calm.contains("ammonium."),
            "{calm}"
        );
        assert!(told(Some(false), none).contains("turns cloudy with it: gypsum."));
        assert!(told(None, none).contains("cannot be worked out"));
        let more = Change {
            now: Some(12.0),
            then: Some(60.0),
        };
        assert!(told(Some(true), more).contains("60 % of the nitrogen is then ammonium."));
        let less = Change {
            now: Some(70.0),
            then: Some(60.0),
        };
        assert_eq!(told(Some(true), less), calm);
    }
}
