//! The sheet of cheaper salts: today's mix beside the cheapest, swaps, prices that decide, curves.

mod curves;
mod swaps;

use super::formulate::{Show, misses};
use super::nutrients;
use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet, amounts, facts};
pub use curves::near;
use curves::{curve, salt_curve};
use saltwright_fertilizers::Hazard;
use saltwright_solver::formulate::report::{FormulateReport, Outcome};
use saltwright_solver::substitute::report::{InTanks, NowIs, SubstituteReport};
use saltwright_solver::substitute::request::Keep;
use saltwright_solver::words;
use saltwright_solver::words::substitute::money;
use swaps::swaps;

/// What heads the names of today's mix beside the cheapest.
pub const MIXES: &str = "in the mix";
/// What heads the names of fertilizers in neither.
pub const UNUSED: &str = "not used";
/// What heads the fertilizers that swaps take out.
pub const SWAPS: &str = "take out";
/// What heads the allowed deviations of the curve.
pub const CURVE: &str = "off by up to";
/// What heads the shares of sodium and chloride.
pub const SALT_CURVE: &str = "Na, Cl in EC";

/// Swaps, points and rooms that are shown where not everything is asked for.
const MOST: usize = 8;

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(
    report: &SubstituteReport,
    show: Show,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Sheet {
    let cheapest = &report.cheapest;
    let currency = report.currency.as_deref();
    let mut parts = vec![mixes(report, show.measure, dangers)];
    parts.extend(unused(report));
    parts.push(Part::fact("today", today(report)));
    parts.push(Part::fact("saves", saves(report)));
    parts.push(Part::fact("stock", stock(report)));
    parts.extend(swaps(report, show.detail));
    if cheapest.outcome == Outcome::OutsideBands {
        parts.extend(misses(cheapest));
    }
    parts.push(nutrients::formulated(cheapest, show.unit));
    parts.push(facts::ec(&cheapest.ec));
    parts.extend(facts::ph(
        &cheapest.ph,
        cheapest.ph_band,
        25.0,
        show.measure,
    ));
    parts.extend(facts::solids(&cheapest.solids));
    parts.extend(facts::ratios(&cheapest.ratios));
    let most = if show.detail { usize::MAX } else { MOST / 2 };
    let rooms = report.loosened.iter().take(most);
    parts.extend(rooms.map(|room| Part::fact("room", room.words.clone())));
    parts.push(Part::fact("proof", words::proof(cheapest)));
    parts.extend(curve(report, show.detail));
    parts.extend(salt_curve(&report.salt_curve, currency));
    let mut told = cheapest.cautions.clone();
    told.extend(
        report
            .cautions
            .iter()
            .filter(|one| !cheapest.cautions.contains(one))
            .cloned(),
    );
    parts.extend(told.into_iter().map(Part::Caution));
    parts.push(Part::fact("next", next(report)));
    let title = format!("Cheaper salts: {} in {}", cheapest.recipe, cheapest.water);
    Sheet {
        title,
        verdict: verdict(report),
        detail: match report.keep {
            Keep::Bands => "the cheapest mix within the bands",
            Keep::Deviation => "the cheapest mix as close to every aim as today's",
        }
        .into(),
        parts,
    }
}

/// Share of today's cost that is no saving to speak of.
const NOTHING: f64 = 1e-6;

fn is_cheaper(report: &SubstituteReport) -> bool {
    report.saving_per_m3 > NOTHING * report.now.cost_per_m3.unwrap_or_default()
}

fn verdict(report: &SubstituteReport) -> String {
    if report.cheapest.outcome == Outcome::OutsideBands {
        "closest answer, OUTSIDE the bands".into()
    } else if is_cheaper(report) {
        let saved = money(report.saving_per_m3, report.currency.as_deref());
        format!("saves {saved} per 1000 L")
    } else {
        "nothing cheaper".into()
    }
}

fn cost(report: &FormulateReport, currency: Option<&str>) -> String {
    money(report.cost_per_m3.unwrap_or_default(), currency)
}

/// Today's mix and the cheapest side by side, with the price that decides.
fn mixes(
    report: &SubstituteReport,
    measure: Measure,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Part {
    let columns = vec![
        Column::new(MIXES, Kind::Name),
        Column::new("now, 1 L", Kind::Figures),
        Column::new("cheapest", Kind::Figures),
        Column::new("per kg", Kind::Figures),
        Column::new("so while it costs", Kind::Words),
        Column::new("", Kind::Words),
    ];
    let grams = |mix: &FormulateReport, id: &str| {
        let line = mix.mix.iter().find(|line| line.id == id);
        line.map_or_else(String::new, |line| round::mass(line.g_per_l, measure))
    };
    let now = report.now.mix.iter().map(|line| &line.id);
    let new = report.cheapest.mix.iter().map(|line| &line.id);
    let new = new.filter(|id| !report.now.mix.iter().any(|line| line.id == **id));
    let rows = now.chain(new).map(|id| {
        let (price, while_it_costs) = decides(report, id);
        vec![
            id.clone(),
            grams(&report.now, id),
            grams(&report.cheapest, id),
            price,
            while_it_costs,
            amounts::mark(&dangers(id)),
        ]
    });
    Part::Table {
        rows: rows.collect(),
        columns,
    }
}

/// The price of a fertilizer, and between which prices the cheapest mix stays as it is.
fn decides(report: &SubstituteReport, id: &str) -> (String, String) {
    let shown = round::three;
    if let Some(row) = report.holds_while.iter().find(|row| row.id == id) {
        let words = match (row.low_price, row.high_price) {
            (Some(low), Some(high)) => format!("{} to {}", shown(low), shown(high)),
            (Some(low), None) => format!("{} or more", shown(low)),
            (None, Some(high)) => format!("up to {}", shown(high)),
            (None, None) => "any price".into(),
        };
        return (shown(row.price_now_per_kg), words);
    }
    if let Some(row) = report.break_even.iter().find(|row| row.id == id) {
        let words = match row.price_per_kg {
            Some(price) => format!("over {}", shown(price)),
            None => "any price".into(),
        };
        return (shown(row.price_now_per_kg), words);
    }
    (String::new(), "not in the choice".into())
}

/// What neither mix uses, and at which price the cheapest would.
fn unused(report: &SubstituteReport) -> Option<Part> {
    let in_mix = |mix: &FormulateReport, id: &str| mix.mix.iter().any(|line| line.id == id);
    let rows = report
        .break_even
        .iter()
        .filter(|row| !in_mix(&report.now, &row.id) && !in_mix(&report.cheapest, &row.id))
        .map(|row| {
            let below = row.price_per_kg.map(round::three);
            vec![
                row.id.clone(),
                round::three(row.price_now_per_kg),
                below.unwrap_or_else(|| "no price".into()),
            ]
        });
    let rows: Vec<Vec<String>> = rows.collect();
    let columns = vec![
        Column::new(UNUSED, Kind::Name),
        Column::new("per kg", Kind::Figures),
        Column::new("comes in below", Kind::Words),
    ];
    (!rows.is_empty()).then_some(Part::Table { columns, rows })
}

fn today(report: &SubstituteReport) -> String {
    let is = match report.now_is {
        NowIs::Given => "the mix that was given",
        NowIs::FromHand => "the closest mix of what is at hand",
        NowIs::Formulated => "the closest mix of all that is allowed",
    };
    let outside = if report.now.outcome == Outcome::OutsideBands {
        "; it leaves a band"
    } else {
        ""
    };
    let cost = cost(&report.now, report.currency.as_deref());
    format!("{cost} per 1000 L, {is}{outside}.")
}

fn saves(report: &SubstituteReport) -> String {
    let currency = report.currency.as_deref();
    let cheapest = cost(&report.cheapest, currency);
    if !is_cheaper(report) {
        return if report.saving_per_m3 < 0.0 && report.now.outcome == Outcome::OutsideBands {
            format!("nothing; what keeps the bands costs {cheapest} per 1000 L.")
        } else {
            format!("nothing; no mix that keeps this costs less than {cheapest} per 1000 L.")
        };
    }
    let pct = report
        .saving_pct
        .map(|pct| format!(" ({} %)", round::three(pct)));
    let saved = money(report.saving_per_m3, currency);
    let anew = report.reweighed_saving_per_m3.map(|saving| {
        if saving > NOTHING * report.saving_per_m3 {
            let saving = money(saving, currency);
            format!("; {saving} of it by weighing today's fertilizers anew")
        } else {
            "; nothing of it without another fertilizer".to_owned()
        }
    });
    format!(
        "{saved} per 1000 L{}: the cheapest mix costs {cheapest}{}.",
        pct.unwrap_or_default(),
        anew.unwrap_or_default()
    )
}

fn stock(report: &SubstituteReport) -> String {
    let told = |tanks: &InTanks| match (tanks.clear, &tanks.first_solid) {
        (Some(true), _) => "stays clear".to_owned(),
        (Some(false), Some(solid)) => format!("turns cloudy ({solid})"),
        (Some(false), None) => "turns cloudy".to_owned(),
        (None, _) => "cannot be told".to_owned(),
    };
    format!(
        "1:{} in two tanks: today's mix {}, the cheapest {}.",
        round::plain(report.stock_ratio),
        told(&report.now_stock),
        told(&report.cheapest_stock)
    )
}

/// What to type next.
fn next(report: &SubstituteReport) -> String {
    let keep = match report.keep {
        Keep::Bands => "--keep deviation stays as close to every aim as today's mix",
        Keep::Deviation => "--keep bands lets nutrients move within their bands",
    };
    format!("{keep}; --out FILE.csv keeps the cheapest mix, swaps, prices and curves.")
}
