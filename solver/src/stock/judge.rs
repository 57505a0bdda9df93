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
        self.ends
            .iter()
            .map(|end| end.state(&stock, EXACT))
            .collect()
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
            if self
                .excess(&stock, at, QUICK)
                .is_none_or(|excess| excess > 0.0)
            {
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

    /// The largest ratio up to a cap: marched up until something is too close, then bisected.
    ///
    /// Alkaline water holds the pH of a weak stock up, and phosphates drop out that stay in
    /// solution in a stronger one, whose own phosphate takes the pH down: such a gap is passed
    /// where there is a clear stock beyond it.
    pub fn largest(&self, brought: &Dissolved, cap: f64) -> Largest {
        let mut ratio = Limits::RATIO.low;
        let mut clear_to = 0.0;
        let mut crossed: Option<Crossing> = None;
        loop {
            match self.verdict(brought, ratio) {
                None => (clear_to, crossed) = (ratio, None),
                Some((by, at_c)) => {
                    let phosphate = matches!(by, End::Solid(solid) if solid.is_made_of("HPO4-2"));
                    let crossing = Crossing {
                        clear_to,
                        not_from: ratio,
                        by,
                        at_c,
                    };
                    let first = *crossed.get_or_insert(crossing);
                    if !(self.is_alkaline() && phosphate) || ratio >= cap {
                        return self.bisected(brought, first);
                    }
                }
            }
            if ratio >= cap {
                return Largest {
                    ratio: cap,
                    by: End::Cap,
                    at_c: None,
                };
            }
            ratio = (ratio * MARCH).min(cap);
        }
    }

    fn bisected(&self, brought: &Dissolved, mut crossing: Crossing) -> Largest {
        while crossing.not_from - crossing.clear_to > RATIO_EXACT * crossing.not_from
            && crossing.not_from > 1e-3
        {
            let middle = 0.5 * (crossing.clear_to + crossing.not_from);
            match self.verdict(brought, middle) {
                Some((by, at_c)) => {
                    (crossing.not_from, crossing.by, crossing.at_c) = (middle, by, at_c);
                }
                None => crossing.clear_to = middle,
            }
        }
        Largest {
            ratio: crossing.clear_to,
            by: crossing.by,
            at_c: Some(crossing.at_c),
        }
    }
}

/// Two ratios between which a stock stops being clear, and why.
#[derive(Clone, Copy, Debug)]
struct Crossing {
    clear_to: f64,
    not_from: f64,
    by: End,
    at_c: f64,
}
