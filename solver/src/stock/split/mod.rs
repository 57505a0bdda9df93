//! Which salts go into which tank: every division looked at, by subsets with memory.
//!
//! Whether a tank stays clear depends only on the subset in it, so each subset is worked out once
//! for a ratio and remembered. A division at a higher ratio than the best known is sought until
//! there is none; nothing is assumed about subsets of subsets, because a salt more can make another
//! more soluble.

mod search;
mod share;

use super::judge::{Judge, RATIO_EXACT};
use crate::chemistry::concentrate::Dissolved;
use search::{Search, Set};
use share::{divide_one, divide_one_at};

/// Most parts that are divided exactly; the smallest beyond are merged into others.
pub const MOST_PARTS: usize = 12;

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

/// Calcium beside sulfate or phosphate.
fn is_mixed(brings: &Dissolved) -> bool {
    brings.mol_of("Ca+2") > 0.0 && (brings.mol_of("SO4-2") > 0.0 || brings.mol_of("H2PO4-") > 0.0)
}

/// The strongest division, and the one for an asked ratio.
#[derive(Clone, Debug, Default)]
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
    if judge.is_alkaline() {
        // With alkaline water what is clear at a ratio need not be at a smaller one.
        search = Search::new(judge, parts, tanks);
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_fertilizers::{Composition, Fertilizer, Nutrient};

    /// Grams of something that brings so many millimoles of charge of each nutrient.
    fn part(grams: f64, nutrients: &[Nutrient]) -> Part {
        let mut assay = Composition::ZERO;
        for nutrient in nutrients {
            let charge = f64::from(nutrient.charge().abs());
            assay[*nutrient] = nutrient.atomic_weight() / charge / 4.0;
        }
        let salt = Fertilizer::of_assay("salt", "salt", assay);
        Part {
            brings: Dissolved::of_gram(&salt) * grams,
            grams,
        }
    }

    #[test]
    fn the_smallest_part_goes_where_nothing_can_drop_out() {
        use Nutrient::{AmmoniumN, Ca, Cl, K, Mg, Na, NitrateN, P, S};
        let cations = [K, Na, AmmoniumN, Mg];
        let mut parts: Vec<Part> = cations
            .iter()
            .flat_map(|cation| [NitrateN, Cl, P].map(|anion| part(1.0, &[*cation, anion])))
            .take(MOST_PARTS - 2)
            .collect();
        let lime = parts.len();
        parts.push(part(1.0, &[Ca, NitrateN]));
        let sulfate = parts.len();
        parts.push(part(0.9, &[K, S, Cl]));
        let smallest = parts.len();
        // As near to either by its ions, but calcium and sulfate would then be one part.
        parts.push(part(0.001, &[Ca, Cl]));
        let (groups, unlike) = merge(&parts);
        assert!(unlike);
        assert_eq!(groups.len(), MOST_PARTS);
        let host = groups.iter().find(|group| group.contains(&smallest));
        let host = host.expect("it is kept");
        assert!(!host.contains(&sulfate), "{groups:?}");
        let brings = host
            .iter()
            .fold(Dissolved::default(), |sum, at| sum + parts[*at].brings);
        assert!(!is_mixed(&brings), "{groups:?}");
        assert!(groups.iter().any(|group| group == &vec![lime]) || host.contains(&lime));
    }

    #[test]
    fn parts_that_bring_the_same_are_one() {
        use Nutrient::{Ca, K, NitrateN};
        let parts = [
            part(1.0, &[K, NitrateN]),
            part(0.5, &[Ca, NitrateN]),
            part(0.2, &[K, NitrateN]),
        ];
        assert_eq!(merge(&parts), (vec![vec![0, 2], vec![1]], false));
    }
}
