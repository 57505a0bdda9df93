//! Whether a stock stays clear, and how strong it may be.
//!
//! In:  what a litre of finished solution gets from a tank, and a ratio.  Out: clear or not; the
//! largest ratio and what ends it.

use crate::chemistry::concentrate::{Conditions, Dissolved, EXACT, QUICK, Solid, State, TooStrong};
use saltwright_fertilizers::document::Limits;

/// Factor by which the ratio is raised until something drops out: indices may turn round in very
/// strong solutions, so the first crossing from below counts.
const MARCH: f64 = 1.3;
/// How exactly the largest ratio is found, relative.
pub const RATIO_EXACT: f64 = 5e-4;

/// How close to saturation a solid may come, as an index (0 or below).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Keep {
    /// Every index at most minus this.
    Margin(f64),
    /// Every index at most minus the uncertainty of its solid.
    Cautious,
}

impl Keep {
    fn limit(self, solid: &Solid) -> f64 {
        match self {
            Self::Margin(margin) => -margin,
            Self::Cautious => -solid.uncertainty,
        }
    }
}

/// The largest ratio of a stock.
#[derive(Clone, Copy, Debug)]
pub struct Largest {
    /// Parts of finished solution per part of stock; below 1 where the solution does not even
    /// stay clear unconcentrated.
    pub ratio: f64,
    /// What ends it.
    pub by: End,
    /// At which temperature, °C; none where no temperature decides.
    pub at_c: Option<f64>,
}

/// What ends a stock's strength.
#[derive(Clone, Copy, Debug)]
pub enum End {
    /// This solid.
    Solid(&'static Solid),
    /// Nothing up to the cap.
    Cap,
    /// There would be hardly any water left.
    NoWater,
}

/// The store: water, temperatures, margin.
#[derive(Clone, Debug)]
pub struct Judge {
    /// Coldest first, hottest last; one where they are the same.
    pub ends: Vec<Conditions>,
    water: Dissolved,
    keep: Keep,
}

impl Judge {
    /// For stocks made with a water and kept between two temperatures, °C.
    pub fn new(water: Dissolved, coldest_c: f64, hottest_c: f64, keep: Keep) -> Self {
        let mut ends = vec![Conditions::at(coldest_c)];
        if hottest_c > coldest_c {
            ends.push(Conditions::at(hottest_c));
        }
        Self { ends, water, keep }
    }

    /// The same store judged otherwise.
    pub fn keeping(&self, keep: Keep) -> Self {
        Self {
            keep,
            ..self.clone()
        }
    }

    /// A litre of stock: `brought` is per litre of finished solution; the water counts once.
    pub fn stock(&self, brought: &Dissolved, ratio: f64) -> Dissolved {
        *brought * ratio + self.water
    }

    /// A stock at every end.
    pub fn states(&self, brought: &Dissolved, ratio: f64) -> Result<Vec<State>, TooStrong> {
        let stock = self.stock(brought, ratio);
        self.ends.iter().map(|end| end.state(&stock, EXACT)).collect()
    }

    /// Whether a stock stays clear at both ends; `worst_first` is the end to look at first, and
    /// becomes the one at which it did not.
    pub fn clear(&self, brought: &Dissolved, ratio: f64, worst_first: &mut usize) -> bool {
        let stock = self.stock(brought, ratio);
        let first = *worst_first;
        let hopeless = |end: &Conditions| end.is_hopeless(&stock, |solid| self.keep.limit(solid));
        if self.ends.get(first).is_some_and(hopeless) {
            return false;
        }
        for step in 0..self.ends.len() {
            let at = (first + step) % self.ends.len();
            if self.excess(&stock, at, QUICK).is_none_or(|excess| excess > 0.0) {
                *worst_first = at;
                return false;
            }
        }
        true
    }

    /// How far the worst solid lies above what is kept; `None` where it is no solution.
    fn excess(&self, stock: &Dissolved, end: usize, precision: f64) -> Option<f64> {
        let state = self.ends.get(end)?.state(stock, precision).ok()?;
        let worst = state.excess(|solid| self.keep.limit(solid));
        Some(worst.map_or(f64::NEG_INFINITY, |(_, excess)| excess))
    }

    /// What keeps a stock from being clear, worst first over both ends; `None` where it is clear.
    pub fn verdict(&self, brought: &Dissolved, ratio: f64) -> Option<(End, f64)> {
        let stock = self.stock(brought, ratio);
        let mut worst: Option<(End, f64, f64)> = None;
        for end in &self.ends {
            let Ok(state) = end.state(&stock, EXACT) else {
                return Some((End::NoWater, end.celsius));
            };
            if let Some((solid, excess)) = state.excess(|solid| self.keep.limit(solid))
                && excess > 0.0
                && worst.as_ref().is_none_or(|(_, _, most)| excess > *most)
            {
                worst = Some((End::Solid(solid), end.celsius, excess));
            }
        }
        worst.map(|(end, at_c, _)| (end, at_c))
    }

    /// True where the water brings alkalinity.
    pub fn is_alkaline(&self) -> bool {
        self.water.acid_mol < 0.0
    }

    /// True where a stock is not clear because of a phosphate.
    fn is_too_alkaline(&self, brought: &Dissolved, ratio: f64) -> bool {
        let end = self.verdict(brought, ratio).map(|(end, _)| end);
        matches!(end, Some(End::Solid(solid)) if solid.is_made_of("HPO4-2"))
    }

    /// The largest ratio: marched up until something is too close, then bisected.
    pub fn largest(&self, brought: &Dissolved) -> Largest {
        let cap = Limits::RATIO.high;
        let mut clear_to = 0.0;
        let mut ratio = 1.0;
        let mut crossed = None;
        // Alkaline water in a weak stock holds the pH up, and phosphates drop out that stay in
        // solution in a stronger one, whose own phosphate takes the pH down.
        while self.is_alkaline() && ratio < cap && self.is_too_alkaline(brought, ratio) {
            ratio *= MARCH;
        }
        if ratio >= cap {
            ratio = 1.0;
        }
        while crossed.is_none() {
            crossed = self.verdict(brought, ratio).map(|found| (ratio, found));
            if crossed.is_none() {
                if ratio >= cap {
                    return Largest {
                        ratio: cap,
                        by: End::Cap,
                        at_c: None,
                    };
                }
                clear_to = ratio;
                ratio = (ratio * MARCH).min(cap);
            }
        }
        let (mut not_from, mut found) = crossed.unwrap_or((ratio, (End::Cap, f64::NAN)));
        while not_from - clear_to > RATIO_EXACT * not_from && not_from > 1e-3 {
            let middle = 0.5 * (clear_to + not_from);
            match self.verdict(brought, middle) {
                Some(next) => (not_from, found) = (middle, next),
                None => clear_to = middle,
            }
        }
        Largest {
            ratio: clear_to,
            by: found.0,
            at_c: Some(found.1),
        }
    }
}
