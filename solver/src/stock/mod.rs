//! Stock tanks that stay clear: which fertilizer into which tank, how strong, how much to weigh.
//!
//! ```text
//! mix, water -> roles -> parts -> divisions (judged by chemistry) -> tanks -> limits
//!                                                  -> order at the scale, premixes, checks -> report
//! ```

pub mod report;
pub mod request;

mod check;
mod judge;
mod layout;
mod mend;
mod place;
mod split;
mod tank;
mod weigh;

pub use report::StockReport;
pub use request::StockRequest;

use crate::chemistry::concentrate::Dissolved;
use crate::words::stock as words;
use check::Poured;
use judge::{End, Judge, Keep};
use layout::{Ends, Limit, Mix, Tank};
use place::Role;
pub(crate) use place::{chelate, chelate_ph};
use report::{LimitedBy, TankRow};
use saltwright_fertilizers::document::Limits;
use split::{Division, Found, Part};

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

/// The tanks chosen and how strong tanks may be.
struct Plan {
    tanks: Vec<Tank>,
    /// Of the strongest division.
    largest: Option<Limit>,
    /// The same, also where there is no strength at all: what ends it.
    ended: Option<Limit>,
    /// Of the tanks chosen.
    chosen: Option<Limit>,
    whole: Option<f64>,
    cautious: Option<f64>,
    proven: bool,
}

impl Plan {
    fn of(request: &StockRequest, mix: &Mix<'_>, judge: &Judge) -> Self {
        let searched: Vec<usize> = positions(mix.roles, Role::Searched);
        let single: Vec<Part> = searched
            .iter()
            .map(|dose| {
                let dose = &mix.doses[*dose];
                Part {
                    brings: Dissolved::of_gram(&dose.fertilizer) * dose.amount.0,
                    grams: dose.amount.0,
                }
            })
            .collect();
        let (groups, merged) = split::merge(&single);
        let parts: Vec<Part> = groups
            .iter()
            .map(|group| Part {
                brings: group
                    .iter()
                    .fold(Dissolved::default(), |sum, at| sum + single[*at].brings),
                grams: group.iter().map(|at| single[*at].grams).sum(),
            })
            .collect();
        let groups: Vec<Vec<usize>> = groups
            .iter()
            .map(|group| group.iter().map(|at| searched[*at]).collect())
            .collect();
        let found = if parts.is_empty() {
            Found {
                strongest: None,
                whole: None,
                asked: None,
            }
        } else {
            split::divide(judge, &parts, request.tanks, request.ratio)
        };
        let tanks = |division: &Division| mix.tanks(division, &groups);
        let unknown = mix.roles.contains(&Role::Unknown);
        let limit = |tanks: &[Tank]| mix.limit(tanks, judge).filter(|_| !unknown);
        let layout = |division: &Division| {
            let tanks = tanks(division);
            let limit = limit(&tanks);
            (tanks, limit)
        };
        let strength = |(_, limit): &Layout| limit.as_ref().map_or(0.0, |limit| limit.ratio);
        let whole = found.whole.as_ref().map(layout);
        let asked = found.asked.as_ref().map(layout);
        // What rides along may turn the order of the strongest around.
        let strongest = [
            found.strongest.as_ref().map(layout),
            whole.clone(),
            asked.clone(),
        ]
        .into_iter()
        .flatten()
        .reduce(|best, next| {
            if strength(&next) > strength(&best) {
                next
            } else {
                best
            }
        })
        .unwrap_or_else(|| {
            let tanks = mix.by_rule();
            let limit = limit(&tanks);
            (tanks, limit)
        });
        let reaches = |layout: &Layout| {
            request
                .ratio
                .is_some_and(|ratio| ratio <= strength(layout) * (1.0 + judge::RATIO_EXACT))
        };
        let chosen = match asked {
            Some(asked) if reaches(&asked) || !reaches(&strongest) => asked,
            _ => strongest.clone(),
        };
        Self {
            largest: strongest.1.clone().filter(Limit::is_any),
            ended: strongest.1,
            whole: whole
                .and_then(|(_, limit)| limit)
                .filter(Limit::is_any)
                .map(|limit| limit.ratio),
            cautious: layout::cautious(mix, &chosen.0, judge).filter(|_| !unknown),
            proven: !merged,
            tanks: chosen.0,
            chosen: chosen.1.filter(Limit::is_any),
        }
    }
}

/// Tanks and how strong they may be.
type Layout = (Vec<Tank>, Option<Limit>);

fn positions(roles: &[Role], wanted: Role) -> Vec<usize> {
    let roles = roles.iter().enumerate();
    roles
        .filter(|(_, role)| **role == wanted)
        .map(|(at, _)| at)
        .collect()
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
    let poured: Vec<Poured<'_>> = plan
        .tanks
        .iter()
        .zip(&tanks)
        .enumerate()
        .flat_map(|(position, (tank, row))| {
            tank.lines
                .iter()
                .zip(&row.mix)
                .map(move |(line, dose)| (position, line.dose, dose))
        })
        .map(|(tank, position, dose)| Poured {
            dose,
            fertilizer: std::sync::Arc::clone(&mix.doses[position].fertilizer),
            tank,
        })
        .collect();
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
        water: words::water_name(&request.water),
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
        cautions: Vec::new(),
        tanks: Vec::new(),
    };
    drop(poured);
    report.tanks = tanks;
    report.cautions = words::cautions(request, &report, mix.doses, &unknown);
    report
}
