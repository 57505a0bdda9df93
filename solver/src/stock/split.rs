//! Which salts go into which tank: every division looked at, by subsets with memory.
//!
//! Whether a tank stays clear depends only on the subset in it, so each subset is worked out once
//! for a ratio and remembered. A division at a higher ratio than the best known is sought until
//! there is none; nothing is assumed about subsets of subsets, because a salt more can make another
//! more soluble.

use super::judge::{Judge, RATIO_EXACT};
use crate::chemistry::concentrate::Dissolved;
use saltwright_fertilizers::document::Limits;
use std::collections::HashMap;

/// Most parts that are divided exactly; the smallest beyond are merged into others.
pub const MOST_PARTS: usize = 12;
/// A better division must be better by this, relative.
const BETTER: f64 = 2e-3;
/// A salt is divided between tanks only where that raises the ratio by this, relative: one line
/// more on the scale must be worth it. Common practice, no source.
const WORTH_DIVIDING: f64 = 0.01;
/// Smallest share of a divided salt: less is not worth weighing. Common practice, no source.
pub const SMALLEST_SHARE: f64 = 0.1;
/// How exactly a share is found.
const SHARE_EXACT: f64 = 2e-3;
/// Ratios that are tried for a start, highest first; the first two where alkaline water may keep
/// weaker stocks from being clear.
const STARTS: [f64; 12] = [
    400.0, 250.0, 150.0, 50.0, 15.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0,
];

/// A salt, or several that bring the same ions.
#[derive(Clone, Debug)]
pub struct Part {
    /// What it brings to a litre of finished solution.
    pub brings: Dissolved,
    /// Grams per litre of finished solution.
    pub grams: f64,
}

/// How the parts are divided among tanks.
#[derive(Clone, Debug, PartialEq)]
pub struct Division {
    /// By tank and part: share of the part that goes into the tank; tanks without any are left
    /// out.
    pub shares: Vec<Vec<f64>>,
    /// The ratio up to which it was found clear.
    pub ratio: f64,
}

/// Parts as a set: bit by bit.
type Set = usize;

/// What a set is known to bear.
#[derive(Clone, Copy, Debug)]
struct Known {
    clear_to: f64,
    not_from: f64,
    worst_end: usize,
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
pub struct Search<'a> {
    judge: &'a Judge,
    parts: &'a [Part],
    sums: Vec<Dissolved>,
    grams: Vec<f64>,
    mixed: Vec<bool>,
    known: Vec<Known>,
    /// By tanks left and set: the lowest ratio at which there was no division.
    none_from: Vec<Vec<f64>>,
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

    const fn all(&self) -> Set {
        (1 << self.parts.len()) - 1
    }

    fn clear(&mut self, set: Set, ratio: f64) -> bool {
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
    fn any(&mut self, set: Set, tanks: usize, ratio: f64) -> Option<Vec<Set>> {
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
    fn strongest(&mut self, set: Set, tanks: usize) -> Option<(f64, Vec<Set>)> {
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
    fn cheapest(&mut self, tanks: usize, ratio: f64) -> Option<Vec<Set>> {
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
fn with_lowest(set: Set) -> impl Iterator<Item = Set> {
    let lowest = set & set.wrapping_neg();
    let others = set ^ lowest;
    let mut next = Some(others);
    std::iter::from_fn(move || {
        let this = next?;
        next = (this > 0).then(|| (this - 1) & others);
        Some(this | lowest)
    })
}

/// Calcium beside sulfate or phosphate.
fn is_mixed(brings: &Dissolved) -> bool {
    brings.mol_of("Ca+2") > 0.0 && (brings.mol_of("SO4-2") > 0.0 || brings.mol_of("H2PO4-") > 0.0)
}

/// The strongest division, and the one for an asked ratio.
#[derive(Clone, Debug)]
pub struct Found {
    /// The strongest, one salt divided where that is worth it; `None` where not even the finished
    /// solution stays clear.
    pub strongest: Option<Division>,
    /// The strongest with every salt whole.
    pub whole: Option<Division>,
    /// The one for the asked ratio, where there is one that is clear.
    pub asked: Option<Division>,
}

/// Divides parts among tanks.
pub fn divide(judge: &Judge, parts: &[Part], tanks: usize, asked: Option<f64>) -> Found {
    let mut search = Search::new(judge, parts, tanks);
    let all = search.all();
    let whole = search.strongest(all, tanks).map(|(ratio, any)| {
        // Among the equally strong the one that costs least.
        let sets = search.cheapest(tanks, ratio).unwrap_or(any);
        whole_shares(&sets, parts.len(), ratio)
    });
    let least = whole.as_ref().map_or(1.0, |whole| whole.ratio);
    let divided = (tanks > 1)
        .then(|| divide_one(&mut search, tanks, least))
        .flatten();
    let asked = asked.and_then(|ratio| {
        if ratio <= least * (1.0 + RATIO_EXACT)
            && let Some(sets) = search.cheapest(tanks, ratio)
        {
            return Some(whole_shares(&sets, parts.len(), ratio));
        }
        (tanks > 1)
            .then(|| divide_one_at(&mut search, tanks, ratio))
            .flatten()
    });
    Found {
        strongest: divided.or_else(|| whole.clone()),
        whole,
        asked,
    }
}

fn whole_shares(sets: &[Set], parts: usize, ratio: f64) -> Division {
    let row = |set: Set| (0..parts).map(move |at| f64::from(u8::from(set >> at & 1 == 1)));
    Division {
        shares: sets.iter().map(|set| row(*set).collect()).collect(),
        ratio,
    }
}

/// The strongest division with one part divided, where it beats `whole` by enough.
fn divide_one(search: &mut Search<'_>, tanks: usize, whole: f64) -> Option<Division> {
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
fn divide_one_at(search: &mut Search<'_>, tanks: usize, ratio: f64) -> Option<Division> {
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

/// Merges parts that bring the same ions; beyond [`MOST_PARTS`] the smallest go with the part that
/// shares most of their ions. Which parts went where, and whether anything unlike was merged.
pub fn merge(parts: &[Part]) -> (Vec<Vec<usize>>, bool) {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        let alike = groups.iter_mut().find(|group| {
            group
                .first()
                .is_some_and(|first| same_ions(&parts[*first].brings, &part.brings))
        });
        match alike {
            Some(group) => group.push(at),
            None => groups.push(vec![at]),
        }
    }
    let size = |group: &[usize]| group.iter().map(|at| parts[*at].grams).sum::<f64>();
    let unlike = groups.len() > MOST_PARTS;
    while groups.len() > MOST_PARTS {
        groups.sort_by(|a, b| size(b).total_cmp(&size(a)));
        let Some(small) = groups.pop() else {
            break;
        };
        let sum = |group: &[usize]| {
            group
                .iter()
                .fold(Dissolved::default(), |sum, at| sum + parts[*at].brings)
        };
        let names: Vec<&str> = sum(&small).names().collect();
        let shared = |group: &Vec<usize>| {
            let all = sum(group);
            let parts_clash = is_mixed(&(all + sum(&small))) && !is_mixed(&all);
            (
                !parts_clash,
                names.iter().filter(|name| all.mol_of(name) > 0.0).count(),
            )
        };
        if let Some(host) = groups.iter_mut().max_by_key(|group| shared(group)) {
            host.extend(small);
        }
    }
    groups.sort_by_key(|group| group.iter().min().copied());
    (groups, unlike)
}

fn same_ions(one: &Dissolved, other: &Dissolved) -> bool {
    const ALIKE: f64 = 1e-6;
    let names: Vec<&str> = one.names().collect();
    let total = |all: &Dissolved| all.names().map(|name| all.mol_of(name)).sum::<f64>();
    let (size, other_size) = (total(one), total(other));
    size > 0.0
        && other_size > 0.0
        && names.len() == other.names().count()
        && names
            .iter()
            .all(|name| (one.mol_of(name) / size - other.mol_of(name) / other_size).abs() <= ALIKE)
        && (one.acid_mol / size - other.acid_mol / other_size).abs() <= ALIKE
}
