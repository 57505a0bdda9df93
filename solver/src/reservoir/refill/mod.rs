//! The `refill` job: what the plants took, what to fill up with, what builds up, when to change.
//!
//! ```text
//! readings + additions -> Account (what came, how much was drunk) -> Uptake (mg per litre drunk,
//! with its uncertainty) -> top-up (a formulation), drift, change-out
//! ```

pub mod report;
pub mod request;

mod account;
mod belief;
mod change_out;
mod uptake;

pub use report::RefillReport;
pub use request::RefillRequest;

use super::assume::{at_strength, doses, fed};
use super::liquid::Liquid;
use crate::chemistry::{Conditions, NotConverged, REFERENCE_CELSIUS};
use crate::formulate::request::Strength;
use crate::formulate::{FormulateReport, formulate};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::words::reservoir as shared;
use crate::words::reservoir::refill as words;
use account::Account;
use change_out::{days_to, options};
use report::{ChangeOut, DriftRow, LimitRow, TakenRow};
use saltwright_fertilizers::{Aimed, Composition, Nutrient, Problem};
use saltwright_recipes::{Aim, Recipe};
use serde::Deserialize;
use std::sync::LazyLock;
use uptake::Uptake;

/// Standard uncertainties that a told range spans to either side.
const COVERAGE: f64 = crate::ec::COVERAGE;
/// Share of a fresh fill by which a main nutrient may be unsure, or off, before the solution wants
/// an analysis or a change. Judgement.
const DOUBT: f64 = 0.5;
/// The nutrients that are judged by it.
const MAIN: [Nutrient; 5] = [
    Nutrient::NitrateN,
    Nutrient::P,
    Nutrient::K,
    Nutrient::Ca,
    Nutrient::Mg,
];
/// Uptakes below this, mg per litre drunk, are not asked of a top-up.
const NOTHING_MG: f64 = 1e-6;

/// A published limit of what may stand around roots.
#[derive(Debug, Deserialize)]
struct Published {
    nutrient: String,
    limit_mg_l: f64,
    words: String,
    source: String,
}

fn published_limits() -> &'static [Published] {
    static ROWS: LazyLock<Vec<Published>> = LazyLock::new(|| {
        let mut reader = csv::Reader::from_reader(include_str!("limits.csv").as_bytes());
        reader.deserialize().filter_map(Result::ok).collect()
    });
    &ROWS
}

/// Everything that was found, in the unit of the account.
pub(crate) struct Found {
    account: Account,
    uptake: Uptake,
    /// What the tank holds, mg/L.
    now: Composition,
    /// What a fresh fill holds, mg/L.
    fresh: Composition,
    /// Litres drunk a day.
    per_day: Option<f64>,
    /// True where the first reading is below the EC of the water alone.
    pub thinned: bool,
}

/// Works out a refill.
///
/// # Errors
/// A refusal where nothing was drunk, or the chemistry or a formulation has no answer.
pub fn refill(request: &RefillRequest) -> Result<RefillReport, Refusal> {
    let unsolved = |NotConverged| Refusal::unsolved("readings");
    let (Some(first), Some(last)) = (request.readings.first(), request.readings.last()) else {
        return Err(Refusal::unsolved("readings"));
    };
    let fresh = formulate(&request.formulate)?;
    let source = Source::new(&request.formulate.water).map_err(unsolved)?;
    let water = Liquid::of_water(&source);
    let feed = Liquid::of_mix(&doses(&request.formulate, &fresh));
    let whole = fed(&water, &feed, 1.0);
    let at = Conditions::at(first.shown.temperature_c.unwrap_or(REFERENCE_CELSIUS));
    let shown = (first.ec_ms_cm, first.shown.ph);
    let (start, strength) = at_strength(shown, &water, &feed, &at).map_err(unsolved)?;
    let account = account::keep(request, &start, &water, &whole).map_err(unsolved)?;
    if account.drunk_l <= 0.0 {
        return Err(Refusal::of("readings", nothing_drunk(account.drunk_l)));
    }
    let uptake = uptake::find(request, &account).map_err(unsolved)?;
    let Some(entry) = account.entries.last() else {
        return Err(Refusal::unsolved("readings"));
    };
    let now = uptake::holds(entry, &uptake.mean(), request).map_err(unsolved)?;
    let ec_by_account_ms_cm = now.ec_ms_cm().map_err(unsolved)?;
    let days = last.at.day - first.at.day;
    let found = Found {
        now: now.holds,
        fresh: whole.holds,
        per_day: (days > 0.0).then(|| account.drunk_l / days),
        thinned: strength.is_none(),
        account,
        uptake,
    };
    let top_up = top_up(request, &found.uptake.mean())?;
    let mut report = RefillReport {
        recipe: shared::recipe_name(&request.formulate.recipe),
        water: shared::water_name(&request.formulate.water),
        assumed: words::assumed(found.thinned, request.analysis.is_some()),
        days,
        litres: last.litres,
        drunk_l: found.account.drunk_l,
        drunk_l_per_day: found.per_day,
        taken: taken(&found.uptake),
        ec_by_account_ms_cm,
        ec_read_ms_cm: last.ec_ms_cm,
        drift: drift(&found, &start, last.litres, &top_up),
        change_out: change(request, &found, &top_up),
        top_up: Box::new(top_up),
        cautions: Vec::new(),
    };
    report.cautions = words::cautions(request, &report, found.account.unexplained_l);
    Ok(report)
}

fn nothing_drunk(drunk_l: f64) -> Problem {
    let what = if drunk_l < 0.0 {
        "the tank holds more at the end than was put in".to_owned()
    } else {
        "nothing was drunk between these readings".to_owned()
    };
    let mend = "Check the levels, and name what was added between the readings.".to_owned();
    Problem::Contradiction { what, mend }
}

/// A feed that brings what was taken.
fn top_up(request: &RefillRequest, taken: &Composition) -> Result<FormulateReport, Refusal> {
    let mut recipe = Recipe::empty("what was taken");
    for (nutrient, mg) in taken.iter().filter(|(_, mg)| *mg > NOTHING_MG) {
        let aimed = Aimed::Form(nutrient);
        // Sodium and chloride: no need to be filled up, and a limit from above.
        recipe.set(aimed, Aim::bare(aimed, mg));
    }
    let mut ask = request.formulate.clone();
    ask.recipe = recipe;
    ask.micros = None;
    ask.strength = Strength::Factor(1.0);
    (ask.ec_ms_cm, ask.litres) = (None, None);
    formulate(&ask)
}

fn taken(uptake: &Uptake) -> Vec<TakenRow> {
    let mean = uptake.mean();
    let rows = uptake.nutrients.iter().zip(&uptake.published);
    rows.map(|(nutrient, published)| {
        let reach = COVERAGE * uptake.uncertainty(*nutrient);
        TakenRow {
            nutrient: Aimed::Form(*nutrient),
            mg_per_l_drunk: mean[*nutrient],
            low: (mean[*nutrient] - reach).max(0.0),
            high: mean[*nutrient] + reach,
            published: *published,
        }
    })
    .collect()
}

/// mg/L a day from here on, where the top-up replaces what is drunk.
fn rise(found: &Found, litres: f64, top_up: &FormulateReport, nutrient: Nutrient) -> Option<f64> {
    let row = top_up
        .nutrients
        .iter()
        .find(|row| row.nutrient == Aimed::Form(nutrient));
    let brought = row.map_or(0.0, |row| row.delivered);
    let taken = found.uptake.mean()[nutrient];
    found
        .per_day
        .map(|per_day| (brought - taken) * per_day / litres)
}

fn drift(found: &Found, start: &Liquid, litres: f64, top_up: &FormulateReport) -> Vec<DriftRow> {
    let drunk = found
        .account
        .entries
        .last()
        .map_or(0.0, |last| last.drunk_l);
    let row = |nutrient: Nutrient| {
        let now = found.now[nutrient];
        let reach = COVERAGE * found.uptake.uncertainty(nutrient) * drunk / litres;
        DriftRow {
            nutrient: Aimed::Form(nutrient),
            start: start.holds[nutrient],
            now,
            low: (now - reach).max(0.0),
            high: now + reach,
            fresh: found.fresh[nutrient],
            per_day: rise(found, litres, top_up, nutrient),
        }
    };
    found.uptake.nutrients.iter().map(|n| row(*n)).collect()
}

fn change(request: &RefillRequest, found: &Found, top_up: &FormulateReport) -> ChangeOut {
    let last = request.readings.last();
    let litres = last.map_or(0.0, |last| last.litres);
    let limits = limits(request, found, litres, top_up);
    let first = limits
        .iter()
        .filter(|row| row.in_days.is_some())
        .min_by(|a, b| {
            a.in_days
                .unwrap_or(0.0)
                .total_cmp(&b.in_days.unwrap_or(0.0))
        });
    let rises = first.filter(|row| row.per_day.is_some_and(|per_day| per_day > 0.0));
    let options = rises.map_or_else(Vec::new, |row| {
        let Aimed::Form(nutrient) = row.nutrient else {
            return Vec::new();
        };
        let per_day = row.per_day.unwrap_or(0.0);
        options(found.fresh[nutrient], row.limit, per_day, litres)
    });
    let mut reasons: Vec<(f64, String)> = Vec::new();
    reasons.extend(first.and_then(|row| Some((row.in_days?, words::by_limit(row)))));
    reasons.extend(doubt(found, litres));
    reasons.extend(astray(found));
    let soonest = reasons.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
    let in_days = soonest.as_ref().map(|(days, _)| *days);
    ChangeOut {
        by: in_days.and_then(|days| Some(last?.at.later(days))),
        in_days,
        because: soonest.map_or_else(words::no_reason, |(_, because)| because),
        litres,
        nitrate_n_g: litres * found.now[Nutrient::NitrateN] / 1000.0,
        options,
        limits,
    }
}

fn limits(
    request: &RefillRequest,
    found: &Found,
    litres: f64,
    top_up: &FormulateReport,
) -> Vec<LimitRow> {
    let row = |nutrient: Nutrient, limit: f64, words: String, source: String| {
        let per_day = rise(found, litres, top_up, nutrient);
        let now = found.now[nutrient];
        LimitRow {
            nutrient: Aimed::Form(nutrient),
            now,
            limit,
            per_day,
            in_days: days_to(now, limit, per_day.unwrap_or(0.0)),
            words,
            source,
        }
    };
    let asked = request.limits.iter().map(|(nutrient, limit)| {
        let words = format!(
            "{} mg/L of {}",
            crate::words::figure(*limit),
            nutrient.word()
        );
        row(*nutrient, *limit, words, "as asked".into())
    });
    let published = published_limits().iter().filter_map(|limit| {
        let nutrient = Nutrient::from_key(&limit.nutrient)?;
        let is_asked = request.limits.iter().any(|(other, _)| *other == nutrient);
        let (words, source) = (limit.words.clone(), limit.source.clone());
        (!is_asked).then(|| row(nutrient, limit.limit_mg_l, words, source))
    });
    asked.chain(published).collect()
}

/// Days until nobody knows any more what the tank holds of a main nutrient.
///
/// 2 u (drunk + drunk a day x days)/litres = half of a fresh fill
fn doubt(found: &Found, litres: f64) -> Option<(f64, String)> {
    let drunk = found.account.entries.last()?.drunk_l;
    let per_day = found.per_day.filter(|per_day| *per_day > 0.0)?;
    let until = |nutrient: Nutrient| {
        let unsure = COVERAGE * found.uptake.uncertainty(nutrient);
        let bears = DOUBT * found.fresh[nutrient] * litres;
        (unsure > 0.0 && bears > 0.0).then(|| {
            let days = (bears / unsure - drunk) / per_day;
            (days.max(0.0), words::by_doubt(nutrient))
        })
    };
    let all = MAIN.into_iter().filter_map(until);
    all.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// A main nutrient that is far off by now.
fn astray(found: &Found) -> Option<(f64, String)> {
    let off = |nutrient: &Nutrient| {
        let fresh = found.fresh[*nutrient];
        (fresh > 0.0).then(|| found.now[*nutrient] / fresh - 1.0)
    };
    let far = MAIN
        .into_iter()
        .filter_map(|nutrient| Some((nutrient, off(&nutrient)?)))
        .filter(|(_, off)| off.abs() > DOUBT)
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    Some((0.0, words::by_imbalance(far.0, 100.0 * far.1)))
}
