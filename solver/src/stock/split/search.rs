//! The search over all ways to put every part whole into one of some tanks.

use super::{Part, is_mixed};
use crate::chemistry::concentrate::Dissolved;
use crate::stock::judge::{Judge, RATIO_EXACT};
use saltwright_fertilizers::document::Limits;

/// A better division must be better by this, relative.
pub(super) const BETTER: f64 = 2e-3;
/// Ratios that are tried for a start, highest first; the first two where alkaline water may keep
/// weaker stocks from being clear.
const STARTS: [f64; 12] = [
    400.0, 250.0, 150.0, 50.0, 15.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0,
];

/// Parts as a set: bit by bit.
pub(super) type Set = usize;

/// What a set is known to bear.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    clear_to: f64,
    not_from: f64,
    pub(super) worst_end: usize,
}

/// What matters between divisions that are equally strong, smaller first.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
struct Cost {
    /// Tanks that hold calcium beside sulfate or phosphate.
    mixed: usize,
    /// Grams per litre of the heaviest tank.
    heaviest: f64,
}

/// The search over all divisions of some parts.
pub(super) struct Search<'a> {
    pub(super) judge: &'a Judge,
    pub(super) parts: &'a [Part],
    pub(super) sums: Vec<Dissolved>,
    pub(super) grams: Vec<f64>,
    mixed: Vec<bool>,
    pub(super) known: Vec<Known>,
    /// By tanks left and set: the lowest ratio at which there was no division.
    pub(super) none_from: Vec<Vec<f64>>,
}

impl<'a> Search<'a> {
    /// For at most [`MOST_PARTS`] parts and this many tanks.
    pub fn new(judge: &'a Judge, parts: &'a [Part], tanks: usize) -> Self {
        let sets = 1 << parts.len();
        let mut sums = vec![Dissolved::default(); sets];
        let mut grams = vec![0.0; sets];
        for set in 1..sets {
            let lowest = set.trailing_zeros() as usize;
            let rest = set & (set - 1);
            sums[set] = sums[rest] + parts[lowest].brings;
            grams[set] = grams[rest] + parts[lowest].grams;
        }
        let fresh = Known {
            clear_to: 0.0,
            not_from: f64::INFINITY,
            worst_end: 0,
        };
        Self {
            judge,
            parts,
            mixed: sums.iter().map(is_mixed).collect(),
            sums,
            grams,
            known: vec![fresh; sets],
            none_from: vec![vec![f64::INFINITY; sets]; tanks + 1],
        }
    }

    pub(super) const fn all(&self) -> Set {
        (1 << self.parts.len()) - 1
    }

    pub(super) fn clear(&mut self, set: Set, ratio: f64) -> bool {
        let known = &mut self.known[set];
        if ratio <= known.clear_to {
            return true;
        }
        if ratio >= known.not_from {
            return false;
        }
        let clear = self
            .judge
            .clear(&self.sums[set], ratio, &mut known.worst_end);
        if clear {
            known.clear_to = ratio;
        } else {
            known.not_from = ratio;
        }
        clear
    }

    /// How strong a set may be: from where it is known to be clear upwards.
    fn limit(&mut self, set: Set) -> f64 {
        let cap = Limits::RATIO.high;
        while self.known[set].not_from.is_infinite() && self.known[set].clear_to < cap {
            let next = (self.known[set].clear_to.max(1.0) * 1.3).min(cap);
            self.clear(set, next);
        }
        loop {
            let Known {
                clear_to, not_from, ..
            } = self.known[set];
            if clear_to >= cap || not_from - clear_to <= RATIO_EXACT * not_from || not_from < 1e-3 {
                return clear_to;
            }
            self.clear(set, 0.5 * (clear_to + not_from));
        }
    }

    /// Any division of a set that stays clear at a ratio.
    pub(super) fn any(&mut self, set: Set, tanks: usize, ratio: f64) -> Option<Vec<Set>> {
        if set == 0 {
            return Some(Vec::new());
        }
        if tanks == 0 || ratio >= self.none_from[tanks][set] {
            return None;
        }
        if tanks == 1 {
            return self.clear(set, ratio).then(|| vec![set]);
        }
        for first in with_lowest(set) {
            if self.clear(first, ratio)
                && let Some(mut rest) = self.any(set & !first, tanks - 1, ratio)
            {
                rest.push(first);
                return Some(rest);
            }
        }
        self.none_from[tanks][set] = ratio;
        None
    }

    /// The strongest division of a set, each part whole; `None` where there is none at 1:1.
    pub(super) fn strongest(&mut self, set: Set, tanks: usize) -> Option<(f64, Vec<Set>)> {
        let skipped = if self.judge.is_alkaline() { 0 } else { 2 };
        let mut best = STARTS
            .into_iter()
            .skip(skipped)
            .find_map(|ratio| self.any(set, tanks, ratio))?;
        loop {
            let reached = best.iter().map(|tank| self.limit(*tank));
            let reached = reached.fold(Limits::RATIO.high, f64::min);
            let beyond = reached * (1.0 + BETTER);
            if beyond > Limits::RATIO.high {
                return Some((reached, best));
            }
            match self.any(set, tanks, beyond) {
                Some(better) => best = better,
                None => return Some((reached, best)),
            }
        }
    }

    /// Of all divisions clear at a ratio, the one that costs least.
    pub(super) fn cheapest(&mut self, tanks: usize, ratio: f64) -> Option<Vec<Set>> {
        let mut best = None;
        let mut so_far = Vec::new();
        let nothing = Cost {
            mixed: 0,
            heaviest: 0.0,
        };
        self.cheaper(self.all(), tanks, ratio, nothing, &mut so_far, &mut best);
        best.map(|(_, sets)| sets)
    }

    fn cheaper(
        &mut self,
        set: Set,
        tanks: usize,
        ratio: f64,
        cost: Cost,
        so_far: &mut Vec<Set>,
        best: &mut Option<(Cost, Vec<Set>)>,
    ) {
        if best.as_ref().is_some_and(|(least, _)| cost >= *least) {
            return;
        }
        if set == 0 {
            *best = Some((cost, so_far.clone()));
            return;
        }
        if tanks == 0 || ratio >= self.none_from[tanks][set] {
            return;
        }
        for first in with_lowest(set) {
            if tanks == 1 && first != set || !self.clear(first, ratio) {
                continue;
            }
            let next = Cost {
                mixed: cost.mixed + usize::from(self.mixed[first]),
                heaviest: cost.heaviest.max(self.grams[first]),
            };
            so_far.push(first);
            self.cheaper(set & !first, tanks - 1, ratio, next, so_far, best);
            so_far.pop();
        }
    }
}

/// Subsets of a set that hold its lowest part, the whole set first.
pub(super) fn with_lowest(set: Set) -> impl Iterator<Item = Set> {
    let lowest = set & set.wrapping_neg();
    let others = set ^ lowest;
    let mut next = Some(others);
    std::iter::from_fn(move || {
        let this = next?;
        next = (this > 0).then(|| (this - 1) & others);
        Some(this | lowest)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn subsets_hold_the_lowest_part_and_come_once() {
        let sets: Vec<Set> = with_lowest(0b1_1010).collect();
        assert_eq!(sets.first(), Some(&0b1_1010));
        assert_eq!(sets.len(), 4);
        assert!(
            sets.iter()
                .all(|set| set & 0b10 != 0 && set & !0b1_1010 == 0)
        );
    }
}
