//! The ends of the EC of all mixtures that keep a label.

use super::EcOfMix;
use crate::label::arithmetic::{Mixture, Mixtures};
use crate::label::region::Region;
use crate::lp::Stuck;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_recipes::Water;

/// Ionic strength, mol/L, up to which a model of feeds is trusted.
const MOST_IONIC_STRENGTH: f64 = 0.06;

/// The interval of EC over all mixtures, mS/cm, and the mixtures at its ends, as shares.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// The mixture there.
    pub low_shares: Vec<f64>,
    /// The mixture at the upper end.
    pub high_shares: Vec<f64>,
}

impl Interval {
    /// The interval that covers both.
    fn and(self, other: Self) -> Self {
        let (low, low_shares) = if other.low < self.low {
            (other.low, other.low_shares)
        } else {
            (self.low, self.low_shares)
        };
        let (high, high_shares) = if other.high > self.high {
            (other.high, other.high_shares)
        } else {
            (self.high, self.high_shares)
        };
        Self {
            low,
            high,
            low_shares,
            high_shares,
        }
    }
}

/// A dose of a label in a water.
pub(super) struct Test<'a> {
    /// The mixtures that keep the label.
    pub mixtures: &'a Mixtures,
    /// Grams in a litre.
    pub g_per_l: f64,
    /// What they are dissolved in.
    pub water: &'a Water,
    /// EC of a mix in it.
    pub solved: EcOfMix<'a>,
}

/// Which end is looked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Up,
    Down,
}

impl Way {
    const fn sign(self) -> f64 {
        match self {
            Self::Up => 1.0,
            Self::Down => -1.0,
        }
    }
}

/// The mixtures of a region, searched for the ends of their EC.
struct Search<'a> {
    test: &'a Test<'a>,
    region: &'a Region<'a>,
}

impl Test<'_> {
    /// EC of shares of a dose.
    pub fn ec(&self, shares: &[f64], g_per_l: f64) -> Option<f64> {
        (self.solved)(&self.mix(shares, g_per_l))
    }

    /// True where the model is trusted.
    pub fn in_range(&self, shares: &[f64], g_per_l: f64) -> bool {
        let mix = self.mix(shares, g_per_l);
        ionic_strength_mol_l(self.water, &mix) <= MOST_IONIC_STRENGTH
    }

    fn mix(&self, shares: &[f64], g_per_l: f64) -> Vec<Dose> {
        let ingredients = self.mixtures.ingredients.iter();
        ingredients
            .zip(shares)
            .filter(|(_, share)| **share > 0.0)
            .map(|(ingredient, share)| Dose {
                fertilizer: ingredient.fertilizer.clone(),
                amount: GramsPerL(g_per_l * share),
            })
            .collect()
    }

    /// The interval over all mixtures; `None` where the model has no answer or there is no mixture.
    ///
    /// A bag that is off may be stronger or weaker as a whole (drier or damper), or in each assay
    /// by itself; the interval covers both.
    pub fn interval(&self) -> Result<Option<Interval>, Stuck> {
        let wholes = self.mixtures.of_wholes();
        let mut interval: Option<Interval> = None;
        for of in [&wholes, self.mixtures] {
            let Some(region) = Region::new(of)? else {
                continue;
            };
            let Some(found) = self.within(&region)? else {
                return Ok(None);
            };
            interval = Some(match interval {
                Some(known) => known.and(found),
                None => found,
            });
        }
        Ok(interval)
    }

    fn within(&self, region: &Region<'_>) -> Result<Option<Interval>, Stuck> {
        Search { test: self, region }.run()
    }
}

impl Search<'_> {
    fn run(&self) -> Result<Option<Interval>, Stuck> {
        let mut starts = self.starts()?;
        let Some((high, high_shares)) = self.best_of(Way::Up, &starts)? else {
            return Ok(None);
        };
        starts.push(high_shares.clone());
        let lowest = self.best_of(Way::Down, &starts)?;
        Ok(lowest.map(|(low, low_shares)| Interval {
            low,
            high: high.max(low),
            low_shares,
            high_shares,
        }))
    }

    /// Mixtures to search from: any, and where acids or bases are about, the sourest and the most
    /// alkaline. Between those two EC falls and rises again, as acid and base take each other away.
    fn starts(&self) -> Result<Vec<Vec<f64>>, Stuck> {
        let mut starts = vec![shares(&self.region.any())];
        let ingredients = self.test.mixtures.ingredients.iter();
        let acid: Vec<f64> = ingredients.map(|i| i.fertilizer.acid_meq_per_g()).collect();
        if acid.iter().any(|meq| *meq != 0.0) {
            let base: Vec<f64> = acid.iter().map(|meq| -meq).collect();
            for way in [acid, base] {
                starts.push(shares(&self.region.most_of(&way)?.1));
            }
        }
        Ok(starts)
    }

    fn best_of(&self, way: Way, starts: &[Vec<f64>]) -> Result<Option<(f64, Vec<f64>)>, Stuck> {
        let mut best: Option<(f64, Vec<f64>)> = None;
        for start in starts {
            let Some(found) = self.climb(way, start)? else {
                return Ok(None);
            };
            let better = |known: &(f64, Vec<f64>)| way.sign() * (found.0 - known.0) > 0.0;
            if best.as_ref().is_none_or(better) {
                best = Some(found);
            }
        }
        Ok(best)
    }

    /// From a mixture to the end of the interval.
    fn climb(&self, way: Way, start: &[f64]) -> Result<Option<(f64, Vec<f64>)>, Stuck> {
        const MOST_STEPS: usize = 25;
        let sign = way.sign();
        let mut at = start.to_vec();
        let Some(mut value) = self.test.ec(&at, self.test.g_per_l) else {
            return Ok(None);
        };
        let mut gap = 0.0;
        for _ in 0..MOST_STEPS {
            let Some(slopes) = self.slopes(&at, value) else {
                return Ok(None);
            };
            let corner = self.corner(&slopes, way)?;
            let toward: f64 = slopes
                .iter()
                .zip(corner.iter().zip(&at))
                .map(|(s, (c, a))| s * (c - a))
                .sum();
            gap = (sign * toward).max(0.0);
            let Some((next, reached)) = self.best_between(&at, &corner, way) else {
                return Ok(None);
            };
            if sign * (reached - value) <= 1e-9 * value.abs() {
                break;
            }
            (at, value) = (next, reached);
        }
        if way == Way::Up {
            value += gap;
        }
        Ok(Some((value, at)))
    }

    /// EC per share of each ingredient, mS/cm.
    fn slopes(&self, at: &[f64], value: f64) -> Option<Vec<f64>> {
        const STEP: f64 = 1e-3;
        let mut moved = at.to_vec();
        let slope = |j: usize| {
            moved[j] += STEP;
            let ec = self.test.ec(&moved, self.test.g_per_l);
            moved[j] = at[j];
            Some((ec? - value) / STEP)
        };
        (0..at.len()).map(slope).collect()
    }

    /// The mixture with the most (least) of a linear figure.
    fn corner(&self, slopes: &[f64], way: Way) -> Result<Vec<f64>, Stuck> {
        let worth: Vec<f64> = slopes.iter().map(|slope| way.sign() * slope).collect();
        let (_, mixture) = self.region.most_of(&worth)?;
        Ok(shares(&mixture))
    }

    /// The best of a mixture, a corner and what lies between: salts alone are best at a corner,
    /// acids and bases may neutralise each other in between.
    fn best_between(&self, at: &[f64], corner: &[f64], way: Way) -> Option<(Vec<f64>, f64)> {
        const BETWEEN: [f64; 10] = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1];
        const HALVINGS: usize = 20;
        let point = |step: f64| -> Option<(Vec<f64>, f64)> {
            let point: Vec<f64> = at
                .iter()
                .zip(corner)
                .map(|(a, c)| a + step * (c - a))
                .collect();
            let ec = self.test.ec(&point, self.test.g_per_l)?;
            Some((point, ec))
        };
        let better = |a: f64, b: f64| way.sign() * (a - b) > 0.0;
        let mut best = point(1.0)?;
        let mut step = 1.0;
        for tried in BETWEEN {
            let found = point(tried)?;
            if better(found.1, best.1) {
                (best, step) = (found, tried);
            }
        }
        if step < 1.0 {
            let mut width = 0.05;
            for _ in 0..HALVINGS {
                for tried in [step - width, step + width] {
                    let found = point(tried.clamp(0.0, 1.0))?;
                    if better(found.1, best.1) {
                        (best, step) = (found, tried.clamp(0.0, 1.0));
                    }
                }
                width *= 0.7;
            }
        }
        Some(best)
    }
}

/// Ionic strength from totals, mol/L: half the sum of concentration times charge squared.
fn ionic_strength_mol_l(water: &Water, mix: &[Dose]) -> f64 {
    let squared = |charge: i32| f64::from(charge * charge);
    let in_water: f64 = water
        .holds
        .iter()
        .map(|(n, mg)| mg / n.atomic_weight() * squared(n.charge()))
        .sum();
    let ions = mix.iter().flat_map(|dose| {
        let ions = dose.fertilizer.ions_mmol_per_g().iter();
        ions.map(|(ion, mmol)| dose.amount.0 * mmol * squared(ion.charge()))
    });
    (in_water + water.alkalinity_meq_l.abs() + ions.sum::<f64>()) / 2000.0
}

fn shares(mixture: &Mixture) -> Vec<f64> {
    mixture.pct.iter().map(|pct| pct / 100.0).collect()
}
