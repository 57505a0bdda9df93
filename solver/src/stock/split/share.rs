//! One part divided between tanks.
//!
//! With the part taken out, a division of the rest will do at a ratio where its tanks together bear
//! the whole part. Exact for one divided part.

use super::search::{BETTER, Search, Set, with_lowest};
use super::{Division, whole_shares};
use saltwright_fertilizers::document::Limits;
use std::collections::HashMap;

/// A salt is divided between tanks only where that raises the ratio by this, relative: one line
/// more on the scale must be worth it. Common practice, no source.
const WORTH_DIVIDING: f64 = 0.01;
/// Smallest share of a divided salt: less is not worth weighing. Common practice, no source.
const SMALLEST_SHARE: f64 = 0.1;
/// How exactly a share is found.
const SHARE_EXACT: f64 = 2e-3;

/// The strongest division with one part divided, where it beats `whole` by enough.
pub(super) fn divide_one(search: &mut Search<'_>, tanks: usize, whole: f64) -> Option<Division> {
    let mut best: Option<Division> = None;
    for part in 0..search.parts.len() {
        let beaten = best
            .as_ref()
            .map_or(whole * (1.0 + WORTH_DIVIDING), |best| {
                best.ratio * (1.0 + BETTER)
            });
        if beaten > Limits::RATIO.high {
            break;
        }
        let mut shared = Shared {
            search,
            part,
            bears: HashMap::new(),
            ratio: beaten,
        };
        if let Some(better) = shared.strongest(tanks) {
            best = Some(better);
        }
    }
    best
}

/// A division at a ratio that no division of whole parts bears: one part divided so that the
/// heaviest tank is as light as can be.
pub(super) fn divide_one_at(search: &mut Search<'_>, tanks: usize, ratio: f64) -> Option<Division> {
    let mut best: Option<(f64, Division)> = None;
    for part in 0..search.parts.len() {
        let rest = search.all() & !(1 << part);
        if search.any(rest, tanks, ratio).is_none() {
            continue;
        }
        let mut shared = Shared {
            search,
            part,
            bears: HashMap::new(),
            ratio,
        };
        if let Some(sets) = shared.room(rest, tanks, 0.0, &mut Vec::new()) {
            let (heaviest, division) = shared.levelled(&sets);
            if best.as_ref().is_none_or(|(least, _)| heaviest < *least) {
                best = Some((heaviest, division));
            }
        }
    }
    best.map(|(_, division)| division)
}

/// The search with one part taken out, to be divided.
struct Shared<'s, 'a> {
    search: &'s mut Search<'a>,
    part: usize,
    /// Largest share of the part that a set bears at `ratio`.
    bears: HashMap<Set, f64>,
    ratio: f64,
}

impl Shared<'_, '_> {
    /// The strongest division from `ratio` up.
    fn strongest(&mut self, tanks: usize) -> Option<Division> {
        let rest = self.search.all() & !(1 << self.part);
        let mut best = None;
        loop {
            // Without the part, the rest must find room at all.
            if self.ratio > Limits::RATIO.high {
                return best;
            }
            self.search.any(rest, tanks, self.ratio)?;
            let Some(sets) = self.room(rest, tanks, 0.0, &mut Vec::new()) else {
                return best;
            };
            let division = self.raised(&sets);
            self.move_to(division.ratio * (1.0 + BETTER));
            best = Some(division);
            if self.search.any(rest, tanks, self.ratio).is_none() {
                return best;
            }
        }
    }

    fn move_to(&mut self, ratio: f64) {
        self.ratio = ratio;
        self.bears.clear();
    }

    /// A division of the rest whose tanks together bear the whole part.
    fn room(
        &mut self,
        rest: Set,
        tanks: usize,
        borne: f64,
        so_far: &mut Vec<Set>,
    ) -> Option<Vec<Set>> {
        if rest == 0 {
            // Tanks left over may hold the part alone.
            let mut sets = so_far.clone();
            sets.resize(sets.len() + tanks, 0);
            let alone = (0..tanks).map(|_| self.share(0)).sum::<f64>();
            return (borne + alone >= 1.0).then_some(sets);
        }
        if tanks == 0 || self.ratio >= self.search.none_from[tanks][rest] {
            return None;
        }
        for first in with_lowest(rest) {
            if tanks == 1 && first != rest || !self.search.clear(first, self.ratio) {
                continue;
            }
            let share = self.share(first);
            so_far.push(first);
            let found = self.room(rest & !first, tanks - 1, borne + share, so_far);
            so_far.pop();
            if found.is_some() {
                return found;
            }
        }
        None
    }

    /// Largest share of the part that a tank with this set bears; 0 below the smallest share.
    fn share(&mut self, set: Set) -> f64 {
        if let Some(share) = self.bears.get(&set) {
            return *share;
        }
        let share = self.share_at(set, self.ratio);
        self.bears.insert(set, share);
        share
    }

    fn share_at(&mut self, set: Set, ratio: f64) -> f64 {
        let base = self.search.sums[set];
        let part = self.search.parts[self.part].brings;
        let mut worst = self.search.known[set].worst_end;
        let judge = self.search.judge;
        let mut clear = |share: f64| judge.clear(&(base + part * share), ratio, &mut worst);
        if !clear(SMALLEST_SHARE) {
            return 0.0;
        }
        if clear(1.0) {
            return 1.0;
        }
        let (mut low, mut high) = (SMALLEST_SHARE, 1.0);
        while high - low > SHARE_EXACT {
            let middle = 0.5 * (low + high);
            if clear(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The same tanks as strong as they can be.
    fn raised(&mut self, sets: &[Set]) -> Division {
        let (mut low, mut high) = (self.ratio, Limits::RATIO.high);
        let mut shares = self.shares_at(sets, low);
        // Marched up first: near the known ratio the answer is.
        let mut step = 1.0 + 4.0 * BETTER;
        while low < high {
            let next = (low * step).min(high);
            let tried = self.shares_at(sets, next);
            if tried.iter().sum::<f64>() >= 1.0 {
                (low, shares) = (next, tried);
                step *= step;
            } else {
                high = next;
                break;
            }
        }
        while high - low > BETTER * low {
            let middle = 0.5 * (low + high);
            let tried = self.shares_at(sets, middle);
            if tried.iter().sum::<f64>() >= 1.0 {
                (low, shares) = (middle, tried);
            } else {
                high = middle;
            }
        }
        self.division(sets, &shares, low)
    }

    /// At `ratio`, shares that level the loads; and the load of the heaviest tank.
    fn levelled(&mut self, sets: &[Set]) -> (f64, Division) {
        let borne = self.shares_at(sets, self.ratio);
        let whole = self.search.parts[self.part].grams.max(f64::MIN_POSITIVE);
        let loads: Vec<f64> = sets.iter().map(|set| self.search.grams[*set]).collect();
        let shares = |level: f64| -> Vec<f64> {
            let room = loads.iter().zip(&borne);
            room.map(|(load, most)| ((level - load) / whole).clamp(0.0, most.max(0.0)))
                .collect()
        };
        let (mut low, mut high) = (0.0, loads.iter().sum::<f64>() + whole);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if shares(middle).iter().sum::<f64>() >= 1.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        let mut found = shares(high);
        if found
            .iter()
            .any(|share| *share > 0.0 && *share < SMALLEST_SHARE)
        {
            found = borne;
        }
        (high, self.division(sets, &found, self.ratio))
    }

    fn division(&self, sets: &[Set], shares: &[f64], ratio: f64) -> Division {
        let mut division = whole_shares(sets, self.search.parts.len(), ratio);
        for (row, share) in division.shares.iter_mut().zip(weighable(shares)) {
            row[self.part] = share;
        }
        division
            .shares
            .retain(|row| row.iter().any(|share| *share > 0.0));
        division
    }

    fn shares_at(&mut self, sets: &[Set], ratio: f64) -> Vec<f64> {
        let mut shares = Vec::with_capacity(sets.len());
        for set in sets {
            let bears = self.search.clear(*set, ratio) || *set == 0;
            shares.push(if bears {
                self.share_at(*set, ratio)
            } else {
                f64::NEG_INFINITY
            });
        }
        shares
    }
}

/// Shares that a set of tanks bears, scaled to one and rounded to whole percents.
fn weighable(borne: &[f64]) -> Vec<f64> {
    let sum: f64 = borne.iter().sum();
    let mut percent: Vec<f64> = borne
        .iter()
        .map(|share| (100.0 * share / sum).round())
        .collect();
    let over = percent.iter().sum::<f64>() - 100.0;
    if let Some(largest) = percent.iter_mut().max_by(|a, b| a.total_cmp(b)) {
        *largest -= over;
    }
    percent.iter().map(|percent| percent / 100.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_whole_percents_of_all() {
        for borne in [
            vec![0.7, 0.4],
            vec![0.333, 0.333, 0.334],
            vec![1.0, 1.0, 0.1],
        ] {
            let shares = weighable(&borne);
            assert!(
                (shares.iter().sum::<f64>() - 1.0).abs() < 1e-12,
                "{shares:?}"
            );
            let whole = |share: &f64| (100.0 * share - (100.0 * share).round()).abs() < 1e-9;
            assert!(shares.iter().all(whole), "{shares:?}");
        }
    }
}
