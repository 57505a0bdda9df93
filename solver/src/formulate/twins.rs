//! Fertilizers that bring the same in parallel: two hydrates of one sulfate, one salt twice.
//!
//! Parallel columns are what the engine has been seen to stumble over, and a choice between them
//! is a matter of price alone. One of each pair stands for both while the engine works; the proof
//! covers all.

use super::request::Candidate;
use saltwright_fertilizers::Ion;

/// Largest angle between two parallel columns, radians. Rounded assays of one salt's hydrates
/// differ by a few 1e-4.
const PARALLEL: f64 = 1e-3;

/// Pairs (twin, the one kept), as positions in the choice.
///
/// Kept is the cheaper for what it delivers, or the lower id where prices do not tell. Neither may
/// have an amount that runs out.
pub fn find(choice: &[Candidate]) -> Vec<(usize, usize)> {
    let directions: Vec<Direction> = choice.iter().map(Direction::of).collect();
    let mut order: Vec<usize> = (0..choice.len()).collect();
    order.sort_by(|a, b| {
        let price = |at: usize| {
            let length = directions[at].length;
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
            .find(|other| directions[at].is_parallel(&directions[**other]));
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
struct Direction {
    length: f64,
    /// Parts of the unit vector, in order of ion, without zeros.
    unit: Vec<(Option<Ion>, f64)>,
}

impl Direction {
    fn of(candidate: &Candidate) -> Self {
        let fertilizer = &candidate.fertilizer;
        let ions = fertilizer.ions_mmol_per_g().iter();
        let mut unit: Vec<(Option<Ion>, f64)> =
            ions.map(|(ion, mmol)| (Some(*ion), *mmol)).collect();
        unit.push((None, fertilizer.acid_meq_per_g()));
        unit.retain(|(_, part)| *part != 0.0);
        unit.sort_unstable_by_key(|(ion, _)| *ion);
        let length = unit.iter().map(|(_, part)| part * part).sum::<f64>().sqrt();
        for (_, part) in &mut unit {
            *part /= length;
        }
        Self { length, unit }
    }

    /// |a - b| of both unit vectors: the chord of their angle, exact for small ones where a cosine
    /// is not. Both stand in order of ion, so they are walked side by side, and no further than
    /// it takes to tell them apart.
    fn is_parallel(&self, other: &Self) -> bool {
        let (mut ours, mut theirs) = (self.unit.as_slice(), other.unit.as_slice());
        if ours.is_empty() || theirs.is_empty() {
            return false;
        }
        let mut chord = 0.0;
        while chord <= PARALLEL * PARALLEL {
            let (left, right) = match (ours, theirs) {
                ([], []) => return true,
                ([a, ..], [b, ..]) if a.0 == b.0 => (a.1, b.1),
                ([a, ..], [b, ..]) if a.0 < b.0 => (a.1, 0.0),
                ([a, ..], []) => (a.1, 0.0),
                (_, [b, ..]) => (0.0, b.1),
            };
            chord += (left - right) * (left - right);
            ours = &ours[usize::from(left != 0.0)..];
            theirs = &theirs[usize::from(right != 0.0)..];
        }
        false
    }
}
