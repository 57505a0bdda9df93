//! Stock tanks that stay clear: which fertilizer into which tank, how strong, how much to weigh.
//!
//! ```text
//! mix, water -> roles -> parts -> divisions (judged by chemistry) -> tanks -> limits
//!                                                  -> order at the scale, premixes, checks -> report
//! ```

pub mod report;
pub mod request;

mod check;
pub mod finished;
mod judge;
mod layout;
mod mend;
mod place;
mod plan;
mod split;
mod standing;
mod tank;
mod weigh;

pub use report::StockReport;
pub use request::StockRequest;

use crate::chemistry::concentrate::Dissolved;
use crate::spread;
use crate::words::stock as words;
use check::Poured;
use finished::Finished;
use judge::{End, Judge, Keep};
use layout::{Ends, Limit, Mix};
use place::{Role, positions};
pub(crate) use place::{chelate, chelate_ph};
use plan::Plan;
use report::{LimitedBy, TankRow};
use saltwright_fertilizers::document::Limits;
pub(crate) use standing::Standing;
use std::sync::Arc;

/// Settings that common proportioners have. Common practice, no source.
const PROPORTIONERS: [f64; 9] = [50.0, 64.0, 100.0, 128.0, 150.0, 200.0, 250.0, 300.0, 400.0];
/// Divides a mix among stock tanks.
pub fn stock(request: &StockRequest) -> StockReport {
    let roles = place::roles(&request.mix, request.acid_tank);
    let mix = Mix {
        most: request.tanks,
        doses: &request.mix,
        roles: &roles,
    };
    let water = Dissolved::of_water(&request.water);
    let keep = Keep::Margin(request.margin_index);
    let judge = Judge::new(water, request.coldest_c, request.hottest_c, keep);
    let plan = Plan::of(request, &mix, &judge);
    let ratio = request
        .ratio
        .or(plan.largest.as_ref().map(|limit| limit.ratio));
    let tanks: Vec<TankRow> = plan
        .tanks
        .iter()
        .enumerate()
        .map(|(position, tank)| tank::row(request, &mix, &judge, tank, (position, ratio)))
        .collect();
    complete(request, &mix, &plan, ratio, tanks)
}

fn limited_by(limit: &Limit) -> LimitedBy {
    let (kind, name) = match &limit.by {
        Ends::Chemistry(End::Solid(solid)) => ("solid", solid.name.clone()),
        Ends::Chemistry(End::Cap) => ("cap", format!("1:{}", Limits::RATIO.high)),
        Ends::Chemistry(End::NoWater) => ("cap", words::NO_WATER.to_owned()),
        Ends::Solubility(id) => ("rule", id.clone()),
    };
    LimitedBy {
        kind,
        name,
        tank: limit.tank.clone(),
    }
}

fn complete(
    request: &StockRequest,
    mix: &Mix<'_>,
    plan: &Plan,
    ratio: Option<f64>,
    tanks: Vec<TankRow>,
) -> StockReport {
    let poured = poured(mix, plan, &tanks);
    let names: Vec<&str> = tanks.iter().map(|tank| tank.name.as_str()).collect();
    let unknown: Vec<String> = positions(mix.roles, Role::Unknown)
        .into_iter()
        .map(|at| mix.doses[at].fertilizer.id.clone())
        .collect();
    let limited = match (&plan.ended, unknown.first()) {
        (_, Some(id)) => Some(LimitedBy {
            kind: "rule",
            name: id.clone(),
            tank: None,
        }),
        (Some(limit), None) => Some(limited_by(limit)),
        (None, None) => None,
    };
    let largest = plan.largest.as_ref().map(|limit| limit.ratio);
    let not_computed = (0..mix.doses.len())
        .filter(|at| mix.is_by_rule(*at))
        .map(|at| mix.doses[at].fertilizer.id.clone());
    let weighed = weigh::sheet(request, &tanks, &poured, ratio);
    let mut report = StockReport {
        water: crate::words::water::name(&request.water),
        ratio,
        margin_index: request.margin_index,
        coldest_c: request.coldest_c,
        hottest_c: request.hottest_c,
        largest_ratio: largest,
        division_ratio: plan.chosen.as_ref().map(|limit| limit.ratio),
        whole_ratio: plan.whole,
        cautious_ratio: plan.cautious,
        limited_at_c: plan.ended.as_ref().and_then(|limit| limit.at_c),
        limited_by: limited,
        proven: plan.proven,
        offered_ratios: PROPORTIONERS
            .into_iter()
            .filter(|setting| largest.is_some_and(|largest| *setting <= largest))
            .collect(),
        not_computed: not_computed.collect(),
        diluted: check::diluted(request, ratio, &poured),
        unequal: check::unequal(request, &names, &poured),
        order: weighed.order,
        premixes: weighed.premixes,
        rounding: weighed.rounding,
        mended: mend::all(request, &tanks, &poured, ratio),
        finished: Finished::of(request, ratio),
        cautions: Vec::new(),
        tanks: Vec::new(),
    };
    drop(poured);
    report.tanks = tanks;
    report.cautions = words::cautions(request, &report, mix.doses, &unknown);
    let ranges = request.ranges.as_ref();
    let about_ranges = ranges.and_then(|stated| spread::caution(mix.doses, stated));
    report.cautions.extend(about_ranges);
    report
}

/// Every line of every tank with its fertilizer.
fn poured<'t>(mix: &Mix<'_>, plan: &Plan, tanks: &'t [TankRow]) -> Vec<Poured<'t>> {
    let rows = plan.tanks.iter().zip(tanks).enumerate();
    rows.flat_map(|(position, (tank, row))| {
        let lines = tank.lines.iter().zip(&row.mix);
        lines.map(move |(line, dose)| Poured {
            dose,
            fertilizer: Arc::clone(&mix.doses[line.dose].fertilizer),
            tank: position,
        })
    })
    .collect()
}
