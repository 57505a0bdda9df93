//! A figure sought between one that is too low and one that is too high.

use super::search::Settled;

/// Tries after which the search halves: false position is quick where the answer moves smoothly,
/// and slow at a leap.
const SMOOTH: usize = 12;
/// Width, relative, at which what lies between two figures is a leap of the answer.
const LEAP: f64 = 1e-9;
/// The same near zero.
const LEAP_AT_ZERO: f64 = 1e-11;

/// A figure that was tried, and by how much its answer is too high.
struct Tried {
    at: f64,
    off: f64,
    settled: Option<Settled>,
}

/// Two figures with the one sought between them: false position in the Illinois variant, which
/// halves the say of an end that does not move, then halving.
#[derive(Default)]
pub(super) struct Bracket {
    low: Option<Tried>,
    high: Option<Tried>,
    /// Which end moved last: -1 the low one, 1 the high one.
    side: i8,
}

impl Bracket {
    /// From nothing at all, whose answer is too low by this.
    pub fn from_nothing(off: f64) -> Self {
        let nothing = Tried {
            at: 0.0,
            off,
            settled: None,
        };
        Self {
            low: Some(nothing),
            ..Self::default()
        }
    }

    /// Takes a try as the new low end where its answer is too low, else as the new high end.
    pub fn narrow(&mut self, at: f64, off: f64, settled: Settled) {
        let side = if off < 0.0 { -1 } else { 1 };
        let (moved, other) = if off < 0.0 {
            (&mut self.low, &mut self.high)
        } else {
            (&mut self.high, &mut self.low)
        };
        *moved = Some(Tried {
            at,
            off,
            settled: Some(settled),
        });
        if self.side == side
            && let Some(other) = other
        {
            other.off *= 0.5;
        }
        self.side = side;
    }

    /// The figure to try next; none before there are both ends.
    pub fn between(&self, step: usize) -> Option<f64> {
        let (low, high) = (self.low.as_ref()?, self.high.as_ref()?);
        let share = if step < SMOOTH {
            (low.off / (low.off - high.off)).clamp(0.01, 0.99)
        } else {
            0.5
        };
        Some(low.at + share * (high.at - low.at))
    }

    /// True where both ends are the same figure with different answers.
    pub fn is_leap(&self) -> bool {
        let (Some(low), Some(high)) = (&self.low, &self.high) else {
            return false;
        };
        (high.at - low.at).abs() <= LEAP * low.at.abs().max(high.at.abs()) + LEAP_AT_ZERO
    }

    /// What was found at both ends.
    pub fn into_ends(self) -> Option<(Settled, Settled)> {
        Some((self.low?.settled?, self.high?.settled?))
    }
}
