//! Fertilizers that bring the same in parallel: two hydrates of one sulfate, one salt twice.
//!
//! Parallel columns are what the engine has been seen to stumble over, and a choice between them
//! is a matter of price alone. One of each pair stands for both while the engine works; the proof
//! covers all.

use super::request::Candidate;
use saltwright_fertilizers::Ion;
use std::collections::BTreeMap;

/// Largest angle between two parallel columns, radians. Rounded assays of one salt's hydrates
/// differ by a few 1e-4.
const PARALLEL: f64 = 1e-3;

/// Pairs (twin, the one kept), as positions in the choice.
///
/// Kept is the cheaper for what it delivers, or the lower id where prices do not tell. Neither may
/// have an amount that runs out.
pub fn find(choice: &[Candidate]) -> Vec<(usize, usize)> {
    let released: Vec<BTreeMap<Option<Ion>, f64>> = choice.iter().map(direction).collect();
    let mut order: Vec<usize> = (0..choice.len()).collect();
    order.sort_by(|a, b| {
        let price = |at: usize| {
            let length = norm(&released[at]);
            choice[at].price_per_kg.map_or(0.0, |price| price / length)
        };
        price(*a)
            .total_cmp(&price(*b))
            .then_with(|| choice[*a].fertilizer.id.cmp(&choice[*b].fertilizer.id))
    });
    let mut kept: Vec<usize> = Vec::new();
    let mut twins = Vec::new();
    for at in order {
        let like = kept
            .iter()
            .find(|other| is_parallel(&released[at], &released[**other]));
        let limited = choice[at].at_most.is_some();
        match like {
            Some(other) if !limited && choice[*other].at_most.is_none() => twins.push((at, *other)),
            _ => kept.push(at),
        }
    }
    twins.sort_unstable();
    twins
}

/// What a gram releases as one vector: ions in mmol, acid (under no ion) in meq.
fn direction(candidate: &Candidate) -> BTreeMap<Option<Ion>, f64> {
    let fertilizer = &candidate.fertilizer;
    let mut released: BTreeMap<Option<Ion>, f64> = fertilizer
        .ions_mmol_per_g()
        .iter()
        .map(|(ion, mmol)| (Some(*ion), *mmol))
        .collect();
    released.insert(None, fertilizer.acid_meq_per_g());
    released
}

fn norm(vector: &BTreeMap<Option<Ion>, f64>) -> f64 {
    vector.values().map(|v| v * v).sum::<f64>().sqrt()
}

fn is_parallel(a: &BTreeMap<Option<Ion>, f64>, b: &BTreeMap<Option<Ion>, f64>) -> bool {
    let (length_a, length_b) = (norm(a), norm(b));
    if length_a == 0.0 || length_b == 0.0 {
        return false;
    }
    // |a/|a| - b/|b||: the chord of the angle, exact for small ones where a cosine is not.
    let keys = a.keys().chain(b.keys().filter(|key| !a.contains_key(key)));
    let part = |vector: &BTreeMap<Option<Ion>, f64>, key| vector.get(key).copied().unwrap_or(0.0);
    let chord: f64 = keys
        .map(|key| (part(a, key) / length_a - part(b, key) / length_b).powi(2))
        .sum();
    chord.sqrt() <= PARALLEL
}
