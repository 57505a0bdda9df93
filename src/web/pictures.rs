//! Pictures below a sheet, where people would rather look than read.

use crate::view::round;
use crate::view::svg::line::{self, Edge, Point};
use crate::view::svg::shares::{self, Share};
use maud::Markup;
use saltwright_solver::formulate::report::MixRow;
use saltwright_solver::ions::Detail;
use saltwright_solver::substitute::report::{CurvePoint, SaltPoint};
use saltwright_solver::words;
use saltwright_solver::words::substitute::money;

/// What each fertilizer adds to the cost, dearest first; nothing without prices.
pub fn cost_by_fertilizer(mix: &[MixRow]) -> Option<Markup> {
    let rows = mix.iter().filter_map(|row| {
        Some(Share {
            name: row.id.clone(),
            figure: words::price(row.cost_per_m3?),
            percent: row.cost_share_pct?,
        })
    });
    let mut rows: Vec<Share> = rows.collect();
    rows.sort_by(|a, b| b.percent.total_cmp(&a.percent));
    shares::draw("Cost per 1000 L by fertilizer", &rows)
}

/// Cost against how far nutrients may be off their aims; nothing without a choice.
pub fn cost_by_deviation(curve: &[CurvePoint], currency: Option<&str>) -> Option<Markup> {
    let percent = |point: &CurvePoint| format!("{} %", round::plain(point.off_pct_allowed));
    let points = curve.iter().map(|point| Point {
        x: point.off_pct_allowed,
        y: point.cost_per_m3,
        words: format!(
            "{} off: {} per 1000 L",
            percent(point),
            money(point.cost_per_m3, currency)
        ),
    });
    let ends = [percent(curve.first()?), percent(curve.last()?)];
    let across = "allowed deviation of every nutrient from its aim";
    curve_of_cost(
        "Cost against allowed deviation",
        across,
        ends,
        &points.collect::<Vec<_>>(),
        currency,
    )
}

/// Cost against sodium and chloride; nothing without a choice.
pub fn cost_by_salt(curve: &[SaltPoint], currency: Option<&str>) -> Option<Markup> {
    let percent = |point: &SaltPoint| format!("{} %", round::plain(point.ec_share_pct));
    let points = curve.iter().map(|point| Point {
        x: point.ec_share_pct,
        y: point.cost_per_m3,
        words: format!(
            "{} of the EC, {} mg/L Na and {} mg/L Cl: {} per 1000 L",
            percent(point),
            round::concentration(point.sodium_mg_l),
            round::concentration(point.chloride_mg_l),
            money(point.cost_per_m3, currency)
        ),
    });
    let ends = [percent(curve.first()?), percent(curve.last()?)];
    let across = "share of sodium and chloride in the EC";
    curve_of_cost(
        "Cost against sodium and chloride",
        across,
        ends,
        &points.collect::<Vec<_>>(),
        currency,
    )
}

/// A curve of cost that begins at its dearest point, with the words at its two ends.
fn curve_of_cost(
    caption: &str,
    across: &str,
    [low, high]: [String; 2],
    points: &[Point],
    currency: Option<&str>,
) -> Option<Markup> {
    let across = Edge {
        name: across.into(),
        low,
        high,
    };
    let up = Edge {
        name: "per 1000 L".into(),
        low: "0".into(),
        high: money(points.first()?.y, currency),
    };
    line::draw(caption, &across, &up, points)
}

/// Least share of the EC that is drawn, percent.
const DRAWN_PCT: f64 = 0.5;

/// What each ion conducts, from the ions of a report; nothing where it does not tell them.
pub fn of_detail(detail: &Detail) -> Option<Markup> {
    let ions = detail
        .ions
        .iter()
        .filter(|row| row.ec_share_pct >= DRAWN_PCT)
        .map(|row| (row.ion, row.mmol_l, row.ec_share_pct));
    ec_by_ion(ions)
}

/// What each ion conducts: its name, its concentration in mmol/L and its share of the EC in
/// percent, in the order of the report; nothing where the report does not tell.
pub fn ec_by_ion<'a>(ions: impl IntoIterator<Item = (&'a str, f64, f64)>) -> Option<Markup> {
    let rows = ions.into_iter().map(|(ion, mmol_l, percent)| Share {
        name: ion.to_owned(),
        figure: format!(
            "{} %, {} mmol/L",
            round::plain(percent),
            round::plain(mmol_l)
        ),
        percent,
    });
    shares::draw("EC by ion", &rows.collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ions_say_their_share_and_their_amount() {
        let drawn = ec_by_ion([("NO3-", 9.5, 41.234), ("K+", 5.4, 22.0)]).expect("a picture");
        let drawn = drawn.into_string();
        for said in [
            "<title>EC by ion</title>",
            "NO3- 41.2 %, 9.5 mmol/L",
            "width=\"320.0\"",
        ] {
            assert!(drawn.contains(said), "{said}: {drawn}");
        }
        assert!(ec_by_ion([]).is_none());
    }
}
