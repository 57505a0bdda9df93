//! Which division is taken, and how strong it and the strongest one are.

use super::judge::{Judge, RATIO_EXACT};
use super::layout::{self, Limit, Mix, Tank};
use super::place::{Role, positions};
use super::request::StockRequest;
use super::split::{self, Found, Part};
use crate::chemistry::concentrate::Dissolved;

/// The tanks chosen and how strong tanks may be.
pub(super) struct Plan {
    /// The tanks chosen.
    pub tanks: Vec<Tank>,
    /// Of the strongest division.
    pub largest: Option<Limit>,
    /// The same, also where there is no strength at all: what ends it.
    pub ended: Option<Limit>,
    /// Of the tanks chosen.
    pub chosen: Option<Limit>,
    /// The largest ratio with every salt whole in one tank.
    pub whole: Option<f64>,
    /// The largest ratio of the tanks chosen with indices below their uncertainties.
    pub cautious: Option<f64>,
    /// False where unlike salts were merged before dividing.
    pub proven: bool,
}

/// Tanks and how strong they may be.
type Layout = (Vec<Tank>, Option<Limit>);

fn strength((_, limit): &Layout) -> f64 {
    limit.as_ref().map_or(0.0, |limit| limit.ratio)
}

impl Plan {
    /// Divides a mix.
    pub fn of(request: &StockRequest, mix: &Mix<'_>, judge: &Judge) -> Self {
        let unknown = mix.roles.contains(&Role::Unknown);
        let with_limit = |tanks: Vec<Tank>| {
            let limit = mix.limit(&tanks, judge).filter(|_| !unknown);
            (tanks, limit)
        };
        let (groups, parts, merged) = parts(mix);
        let found = if parts.is_empty() {
            Found::default()
        } else {
            split::divide(judge, &parts, request.tanks, request.ratio)
        };
        let layout = |division: &split::Division| with_limit(mix.tanks(division, &groups));
        let whole = found.whole.as_ref().map(layout);
        let asked = found.asked.as_ref().map(layout);
        let strongest = found.strongest.as_ref().map(layout);
        // What rides along may turn the order of the strongest around.
        let strongest = [strongest, whole.clone(), asked.clone()]
            .into_iter()
            .flatten()
            .reduce(|best, next| {
                if strength(&next) > strength(&best) {
                    next
                } else {
                    best
                }
            })
            .unwrap_or_else(|| with_limit(mix.by_rule()));
        let reaches = |layout: &Layout| {
            let most = strength(layout) * (1.0 + RATIO_EXACT);
            request.ratio.is_some_and(|ratio| ratio <= most)
        };
        let (tanks, chosen) = match asked {
            Some(asked) if reaches(&asked) || !reaches(&strongest) => asked,
            _ => strongest.clone(),
        };
        let ratio = |limit: Option<Limit>| limit.filter(Limit::is_any).map(|limit| limit.ratio);
        Self {
            largest: strongest.1.clone().filter(Limit::is_any),
            ended: strongest.1,
            chosen: chosen.filter(Limit::is_any),
            whole: ratio(whole.and_then(|(_, limit)| limit)),
            cautious: layout::cautious(mix, &tanks, judge).filter(|_| !unknown),
            proven: !merged,
            tanks,
        }
    }
}

/// What is divided: the doses of each part, the parts, and whether unlike salts were merged.
fn parts(mix: &Mix<'_>) -> (Vec<Vec<usize>>, Vec<Part>, bool) {
    let searched = positions(mix.roles, Role::Searched);
    let single: Vec<Part> = searched
        .iter()
        .map(|at| {
            let dose = &mix.doses[*at];
            Part {
                brings: Dissolved::of_gram(&dose.fertilizer) * dose.amount.0,
                grams: dose.amount.0,
            }
        })
        .collect();
    let (groups, merged) = split::merge(&single);
    let sum = |group: &Vec<usize>| Part {
        brings: group
            .iter()
            .fold(Dissolved::default(), |sum, at| sum + single[*at].brings),
        grams: group.iter().map(|at| single[*at].grams).sum(),
    };
    let parts = groups.iter().map(sum).collect();
    let doses = |group: &Vec<usize>| group.iter().map(|at| searched[*at]).collect();
    (groups.iter().map(doses).collect(), parts, merged)
}
