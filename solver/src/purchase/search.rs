//! The search for whole bags that carries its own proof: branch and bound, each part of it closed by
//! prices that are checked from the data.
//!
//! A part of the search holds between how many bags of each size are bought. The program without whole
//! numbers, inside those limits, has an optimum whose prices prove what no purchase in that part can
//! cost less than ([`Certificate`]), or prices that prove it empty ([`emptiness`]). A part is closed
//! once nothing in it can cost less than the best purchase known; else it is split at a size that is
//! bought in part. Whole cents help: what all prices are multiples of, every total is a multiple of,
//! so a part closes as soon as its bound is above the next total below the best one.
//!
//! Land and Doig 1960, Econometrica 28, 497-520 (from memory); the proof of a part is that of
//! [`crate::lp::proof`]. Nothing here looks at a clock: the search ends by its number of parts, so
//! that equal questions have equal answers.

use super::model::{Program, Relaxed};
use crate::lp::proof::{Certificate, emptiness};
use crate::lp::{Again, BoxedLp, ON_BOUND, Simplex, Stuck};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Share of a total below which two are the same.
const SAME: f64 = 1e-9;
/// Parts of a bag that count as none.
const WHOLE: f64 = 1e-6;
/// Violation of rows and bounds up to which a point is one of its part.
const IS_POINT: f64 = 1e-7;
/// A hundredth of a cent: the finest price that a common divisor is sought of.
const PER_UNIT: f64 = 1e4;
/// Splits between two looks at the one who waits.
const LOOK: u64 = 16;

/// A part of the search.
struct Part {
    /// What nothing in it costs less than, in money.
    bound: f64,
    /// Fewest and most bags of each size.
    limits: Vec<(u32, u32)>,
    /// The size to split at, and the whole bags below what its optimum buys.
    split: (usize, u32),
    /// Which part it is: of equal ones the first goes on.
    number: u64,
}

/// What came of looking at a part.
enum Looked {
    /// Nothing cheaper is in it.
    Closed,
    /// It goes on.
    Open(Part),
    /// It could be neither solved nor proved empty.
    Unclear,
}

/// The search.
pub(super) struct Search<'a> {
    program: &'a Program,
    root: &'a Simplex,
    /// What every total is a multiple of, where there is such a figure.
    grain: Option<f64>,
    /// The cheapest purchase so far, and what it costs.
    pub best: Vec<u32>,
    pub total: f64,
    /// Parts that were looked at.
    pub parts: u64,
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ended {
    /// What no purchase can cost less than, by the proofs of all parts.
    pub bound: f64,
    /// True where every part was closed.
    pub closed: bool,
}

impl<'a> Search<'a> {
    /// From a purchase that is known to serve.
    pub fn new(program: &'a Program, relaxed: &'a Relaxed, best: Vec<u32>) -> Self {
        Self {
            program,
            root: &relaxed.simplex,
            grain: grain(program.sizes.iter().map(|size| size.bag.price)),
            total: program.price(&best),
            best,
            parts: 0,
        }
    }

    /// Looks at no more parts than `most`, and no longer than `watch` says yes: it is told the cheapest
    /// total and the bound so far.
    pub fn run(
        &mut self,
        most: u64,
        watch: &mut dyn FnMut(f64, f64) -> bool,
    ) -> Result<Ended, Stuck> {
        let mut lp = self.program.lp.clone();
        let all = self.program.sizes.iter().map(|size| {
            let most = (lp.upper[size.column] / size.step).round();
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most MOST_BAGS
            (0, most as u32)
        });
        let all: Vec<(u32, u32)> = all.collect();
        let mut open = BinaryHeap::new();
        let (mut unclear, mut steps) = (f64::INFINITY, 0_u64);
        match self.look(&mut lp, all, 0.0)? {
            Looked::Open(part) => open.push(part),
            Looked::Unclear => unclear = 0.0,
            Looked::Closed => {}
        }
        while let Some(part) = open.pop() {
            if self.is_closed(part.bound) {
                // The least bound of all: the others are closed, too.
                open.clear();
                break;
            }
            let waits = steps.is_multiple_of(LOOK);
            steps += 1;
            if self.parts >= most || (waits && !watch(self.total, part.bound.min(unclear))) {
                open.push(part);
                break;
            }
            let (size, below) = part.split;
            let (low, high) = part.limits[size];
            for limits_of_size in [(low, below), (below + 1, high)] {
                let mut limits = part.limits.clone();
                limits[size] = limits_of_size;
                match self.look(&mut lp, limits, part.bound)? {
                    Looked::Open(part) => open.push(part),
                    Looked::Unclear => unclear = unclear.min(part.bound),
                    Looked::Closed => {}
                }
            }
        }
        let least = open
            .peek()
            .map_or(f64::INFINITY, |part| part.bound)
            .min(unclear);
        let closed = least.is_infinite() || self.is_closed(least);
        Ok(Ended {
            bound: if closed {
                self.total
            } else {
                least.min(self.total)
            },
            closed,
        })
    }

    /// True where nothing that costs so much or more is cheaper than the best purchase.
    fn is_closed(&self, bound: f64) -> bool {
        let room = SAME * self.total;
        match self.grain {
            Some(grain) => bound > self.total - grain + room,
            None => bound >= self.total - room,
        }
    }

    fn look(
        &mut self,
        lp: &mut BoxedLp,
        limits: Vec<(u32, u32)>,
        known: f64,
    ) -> Result<Looked, Stuck> {
        self.parts += 1;
        let program = self.program;
        for (size, (low, high)) in program.sizes.iter().zip(&limits) {
            lp.lower[size.column] = f64::from(*low) * size.step;
            lp.upper[size.column] = f64::from(*high) * size.step;
        }
        let found = match self.root.again(lp, &program.cost) {
            Ok(Again::Optimum(found)) => found,
            Ok(Again::Empty(prices)) if emptiness(lp, &prices) > super::model::KEPT => {
                return Ok(Looked::Closed);
            }
            // Once more from a point of its own, where there is one.
            _ => match program.first(lp)? {
                Some(mut simplex) => {
                    simplex.optimise(lp, &program.cost)?;
                    Box::new(simplex)
                }
                None => return Ok(Looked::Unclear),
            },
        };
        let proof = Certificate::of(lp, &program.cost, &found.x, &found.y);
        let bound = ((proof.objective - proof.gap) * program.unit).max(known);
        if self.is_closed(bound) {
            return Ok(Looked::Closed);
        }
        if proof.primal_residual > IS_POINT {
            return Ok(Looked::Unclear);
        }
        self.try_whole(&found.x)?;
        if self.is_closed(bound) {
            return Ok(Looked::Closed);
        }
        Ok(match self.split(&found.x) {
            Some(split) => Looked::Open(Part {
                bound,
                limits,
                split,
                number: self.parts,
            }),
            None => Looked::Unclear,
        })
    }

    /// Takes the bags of a point, rounded up, where they are cheaper and serve.
    fn try_whole(&mut self, x: &[f64]) -> Result<(), Stuck> {
        let nearest = self.program.bags(x);
        for bags in [nearest, self.program.rounded_up(x)] {
            let price = self.program.price(&bags);
            if price < self.total * (1.0 - SAME) && self.program.serves(&bags)? {
                (self.best, self.total) = (bags, price);
            }
        }
        Ok(())
    }

    /// The size whose part of a bag is dearest to round either way, and the whole bags below.
    fn split(&self, x: &[f64]) -> Option<(usize, u32)> {
        let sizes = self.program.sizes.iter().enumerate();
        let parts = sizes.filter_map(|(at, size)| {
            let bags = x[size.column] / size.step;
            let part = bags - bags.floor();
            let off = part.min(1.0 - part);
            (off > WHOLE).then_some((at, bags.floor(), off * size.bag.price.max(ON_BOUND)))
        });
        let dearest = parts.max_by(|a, b| a.2.total_cmp(&b.2));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most MOST_BAGS
        dearest.map(|(at, below, _)| (at, below as u32))
    }
}

/// The largest figure that all prices are multiples of; none where they have no end behind the point.
fn grain(prices: impl Iterator<Item = f64>) -> Option<f64> {
    let mut common: u64 = 0;
    for price in prices {
        let units = (price * PER_UNIT).round();
        if (price * PER_UNIT - units).abs() > SAME * units {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // prices are limited
        let (mut a, mut b) = (units as u64, common);
        while b > 0 {
            (a, b) = (b, a % b);
        }
        common = a;
    }
    #[allow(clippy::cast_precision_loss)] // far below 2^53
    let grain = common as f64 / PER_UNIT;
    (common > 0).then_some(grain)
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Part {}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Part {
    /// The least bound goes on first; of equal ones the one found last, which is nearer to whole bags.
    fn cmp(&self, other: &Self) -> Ordering {
        let by_bound = other.bound.total_cmp(&self.bound);
        by_bound.then(self.number.cmp(&other.number))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_all_prices_are_multiples_of() {
        assert_eq!(grain([30.0, 12.5, 50.0].into_iter()), Some(2.5));
        assert_eq!(grain([0.0, 28.0].into_iter()), Some(28.0));
        assert_eq!(grain([19.99, 7.49].into_iter()), Some(0.01));
        assert_eq!(grain([10.0 / 3.0, 1.0].into_iter()), None);
        assert_eq!(grain([0.0].into_iter()), None);
    }
}
