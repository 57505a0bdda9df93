//! The `correct` job: from what the meters show to what to do, in order.
//!
//! ```text
//! reading -> Start (what the tank holds) -> Level (keep, water, stock) -> dose -> steps -> report
//! ```
//!
//! EC is sought with the chemistry, because it is not linear in strength; the pH by the acid that
//! brings the finished tank there after standing in air, poured in portions that leave it time.

pub mod report;
pub mod request;

mod dose;
mod feed;
mod found;
mod level;
mod start;
mod steps;
mod sure;

pub(crate) use found::Found;
pub use report::CorrectReport;
pub use request::CorrectRequest;
pub use start::Grounds;

use super::liquid::Liquid;
use super::supply::{StockTank, Way};
use crate::chemistry::meter::{Tds, cf};
use crate::chemistry::{Conditions, NotConverged};
use crate::ph::is_unbuffered;
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::words::reservoir as words;
use dose::Remedied;
use feed::adjusted_feed;
use level::{Bench, LEFT_ALONE, Level, Unmet};
use report::{After, Aims, NutrientRow, State};
use saltwright_fertilizers::Aimed;
use start::{MadeOf, Start};
use steps::Steps;
use sure::{Known, Plan, Ranges};

/// Deviation of the EC, relative, that counts as in band: the stated aim of a correction, common
/// practice, no source.
const EC_BAND: f64 = 0.03;
/// Rounds in which room for acid is made: each dose is nearly that of the round before.
const RESERVE_ROUNDS: usize = 4;
/// Room that is left for acid, against what it takes.
const ROOM: f64 = 1.01;
/// What rounding may put a pH outside its band.
const PH_DUST: f64 = 1e-6;

/// Works out a correction.
///
/// # Errors
/// A refusal where the chemistry or a formulation of the recipe has no answer.
pub fn correct(request: &CorrectRequest) -> Result<CorrectReport, Refusal> {
    let unsolved = |NotConverged| Refusal::unsolved("reading");
    let source = Source::new(&request.formulate.water).map_err(unsolved)?;
    let at = start::conditions(request);
    let made_of = MadeOf::of(request)?;
    let start = start::find(request, &made_of, &source, &at).map_err(unsolved)?;
    let worked = work(request, &source, &at, (&start, &made_of)).map_err(unsolved)?;
    let mut report = told(&start, worked);
    report.adjusted_feed = adjusted_feed(request, &report, &start, &at)?;
    if let Some(feed) = &report.adjusted_feed {
        words::heed_feed(&mut report.cautions, &feed.formulation.cautions);
    }
    Ok(report)
}

/// A correction worked out, before it is told.
struct Worked<'a> {
    found: Found<'a>,
    aim: Aims,
    made: Steps,
    after: After,
    ranges: Option<Ranges>,
    /// What a millilitre of a bottle of unknown strength does.
    bottle_meq_per_ml: Option<f64>,
}

/// What to do, and what then follows.
fn work<'a>(
    request: &'a CorrectRequest,
    source: &Source<'_>,
    at: &Conditions,
    (start, made_of): (&Start, &MadeOf),
) -> Result<Worked<'a>, NotConverged> {
    let aim = aims(request, start);
    let mut bench = bench(request, source, at, start, aim.ec_ms_cm)?;
    let (level, unmet, ph_to_move) = settle(request, &mut bench, aim.ph)?;
    let dosed = bench.dose(&bench.mixed(level)?)?;
    let names: Vec<&str> = for_strength(request)
        .map(|tank| tank.name.as_str())
        .collect();
    let reads_ph = request.ph_read().is_some();
    let mut made = steps::steps(&bench, level, dosed.as_ref(), &names, (aim.ph, reads_ph))?;
    let mut after = after(request, &made, at)?;
    let plan = Plan {
        request,
        bench: &bench,
        level,
        dosed: dosed.as_ref(),
        portions: made.portions,
        acts: !made.list.is_empty(),
        water_ms_cm: source.us_cm / 1000.0,
        after: made.tank,
        aim: &aim,
    };
    let water = &request.formulate.water;
    // A world too far off to be worked out takes no answer away.
    let ranges = plan.ranges(&Known { made_of, water }).ok().flatten();
    if let Some(ranges) = &ranges {
        ranges.tell(&mut after, &mut made.list);
    }
    let remedy = dosed
        .as_ref()
        .and_then(|dosed| bench.remedy(dosed.way))
        .cloned();
    let found = Found {
        request,
        grounds: start.grounds,
        ec_ms_cm: start.ec_ms_cm,
        unmet,
        ph_to_move,
        extreme_ph: made.extreme_ph,
        drained: drained(&bench, level),
        remedy,
        dosed,
        ionic_strength_mol_kg: start.tank.liquid.solve(at)?.ionic_strength_mol_kg,
    };
    Ok(Worked {
        found,
        aim,
        bottle_meq_per_ml: [&bench.acid, &bench.base]
            .into_iter()
            .find_map(|remedy| remedy.as_ref()?.judged_meq_per_ml),
        made,
        after,
        ranges,
    })
}

/// The report of it.
fn told(start: &Start, worked: Worked<'_>) -> CorrectReport {
    let Worked {
        found,
        aim,
        made,
        after,
        ranges,
        bottle_meq_per_ml,
    } = worked;
    let request = found.request;
    let ph_in_band = after.ph.is_none_or(|ph| is_within(ph, aim.ph));
    let ec_in_band = (after.ec_ms_cm - aim.ec_ms_cm).abs() <= EC_BAND * aim.ec_ms_cm;
    CorrectReport {
        recipe: words::recipe_name(request.recipe()),
        water: words::water_name(&request.formulate.water),
        capacity_l: request.capacity_l,
        grounds: start.grounds,
        assumed: words::assumed(&found),
        strength: start.strength.filter(|_| is_told(request, start)),
        now: State {
            ec_ms_cm: request.reading.ec_ms_cm.unwrap_or(start.ec_ms_cm),
            ph: request.ph_read(),
            litres: request.litres,
        },
        aim,
        ph_published: request.ph_published.clone(),
        in_band: ec_in_band && ph_in_band,
        why_not: found.why_not(ec_in_band, ph_in_band),
        reachable_ms_cm: found.unmet.map(|unmet| match unmet {
            Unmet::Water(ec) | Unmet::Stock(ec) => ec,
            Unmet::NoStock => after.ec_ms_cm,
        }),
        bottle_meq_per_ml,
        nutrients: nutrients(
            request,
            (&start.tank.liquid, &made.tank.liquid),
            ranges.as_ref(),
        ),
        adjusted_feed: None,
        cautions: words::correct_cautions(&found, &made.list, &after, ranges.is_some()),
        sureness: ranges.map(|ranges| ranges.sureness),
        steps: made.list,
        after,
    }
}

/// True where a pH lies in its band, rounding aside.
fn is_within(ph: f64, [low, high]: [f64; 2]) -> bool {
    (low - PH_DUST..=high + PH_DUST).contains(&ph)
}

/// True where a strength means something: against the recipe as the stocks make it at a ratio.
fn is_told(request: &CorrectRequest, start: &Start) -> bool {
    start.grounds != Grounds::Stocks || request.stocks.ratio.is_some()
}

/// The stocks that are poured by strength.
fn for_strength(request: &CorrectRequest) -> impl Iterator<Item = &StockTank> {
    request.stocks.tanks.iter().filter(|tank| !tank.is_for_ph())
}

fn aims(request: &CorrectRequest, start: &Start) -> Aims {
    let by_mix = match (request.stocks.ratio, start.grounds) {
        (Some(_), _) if for_strength(request).next().is_some() => "stocks",
        _ => "formulation",
    };
    let (ec_ms_cm, ec_from) = match (request.ec_ms_cm, request.recipe().ec_ms_cm) {
        (Some(ec), _) => (ec, "request"),
        (None, Some(ec)) => (ec, "recipe"),
        (None, None) => (start.full_ms_cm, by_mix),
    };
    let (ph, ph_from) = request.ph_band_from();
    Aims {
        ec_ms_cm,
        ec_from,
        ph,
        ph_from,
    }
}

fn bench<'a>(
    request: &CorrectRequest,
    source: &Source<'_>,
    at: &'a Conditions,
    start: &Start,
    ec_aim: f64,
) -> Result<Bench<'a>, NotConverged> {
    let water = Liquid::of_water(source);
    let remedy = |way| Remedied::new(way, request, &water, &start.tank.liquid, at);
    let stock = |tank: &StockTank| {
        let mut litre = water;
        litre += Liquid::of_mix(&tank.mix);
        litre
    };
    Ok(Bench {
        at,
        start: start.tank,
        capacity: request.capacity_l,
        reserve: 0.0,
        fill_to: request.fill_to_l,
        water,
        stocks: for_strength(request).map(stock).collect(),
        acid: remedy(Way::Acid)?,
        base: remedy(Way::Base)?,
        ec_aim,
        left_alone: LEFT_ALONE,
        ph_target: None,
    })
}

/// The parts, first with the pH left as it comes; where that ends outside the band, again with the
/// pH brought to its middle, whose acid has a say in the EC. Also the pH that should move.
fn settle(
    request: &CorrectRequest,
    bench: &mut Bench<'_>,
    band: [f64; 2],
) -> Result<(Level, Option<Unmet>, Option<f64>), NotConverged> {
    let (level, unmet) = bench.level()?;
    let ph = bench.mixed(level)?.liquid.ph(bench.at)?;
    let leaves = request.ph_read().is_none();
    if leaves || is_within(ph, band) {
        return Ok((level, unmet, None));
    }
    bench.ph_target = Some(0.5 * (band[0] + band[1]));
    let (mut level, mut unmet) = bench.level()?;
    for _ in 0..RESERVE_ROUNDS {
        let full = bench.finished(level)?.litres;
        if full <= bench.capacity {
            break;
        }
        bench.reserve = (full - bench.mixed(level)?.litres) * ROOM;
        (level, unmet) = bench.level()?;
    }
    Ok((level, unmet, Some(ph)))
}

fn after(request: &CorrectRequest, made: &Steps, at: &Conditions) -> Result<After, NotConverged> {
    let solved = made.tank.liquid.solve(at)?;
    let told = |ph: f64| request.ph_read().map(|_| ph);
    let by_ions = made.tank.liquid.ec_ms_cm()?;
    // Where nothing is done the meter shows what it showed.
    let read = request.reading.ec_ms_cm.filter(|_| made.list.is_empty());
    let ec_ms_cm = read.unwrap_or(by_ions);
    Ok(After {
        ec_ms_cm,
        tds: Tds::of(ec_ms_cm),
        cf: cf(ec_ms_cm),
        ph: told(solved.ph),
        ec_low_ms_cm: None,
        ec_high_ms_cm: None,
        ph_low: None,
        ph_high: None,
        ph_right_after: made.ph_right_after,
        litres: made.tank.litres,
        buffer_mol_kg: solved.buffer_mol_kg,
        unbuffered: is_unbuffered(solved.buffer_mol_kg),
    })
}

fn drained(bench: &Bench<'_>, level: Level) -> Option<(f64, f64)> {
    let litres = bench.start.litres - level.keep;
    let nitrogen = bench.start.liquid.holds.total_n();
    (litres > 0.0).then_some((litres, nitrogen))
}

fn nutrients(
    request: &CorrectRequest,
    (now, after): (&Liquid, &Liquid),
    ranges: Option<&Ranges>,
) -> Vec<NutrientRow> {
    let row = |aimed| NutrientRow {
        range: ranges.map(|ranges| ranges.of_nutrient(aimed, after)),
        nutrient: aimed,
        now: now.holds.aimed(aimed),
        after: after.holds.aimed(aimed),
        aim: request.recipe().aim(aimed).and_then(|aim| aim.aim),
    };
    Aimed::all().map(row).collect()
}
