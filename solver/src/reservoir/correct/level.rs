//! How much to keep, how much water, how much stock: so that nothing overflows and the EC is met.

use super::super::liquid::{Liquid, Tank};
use super::super::supply::Way;
use super::dose::Remedied;
use super::report::Do;
use crate::chemistry::{Conditions, NotConverged};
use crate::root::root;

/// Deviation of the EC, relative, that is left alone: what a good meter cannot tell (common
/// practice, no source).
pub(super) const LEFT_ALONE: f64 = 0.02;
/// How closely the EC is met, mS/cm.
const EC_CLOSE: f64 = 1e-5;

/// The parts of a corrected tank, litres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Level {
    /// What stays of the solution.
    pub keep: f64,
    /// Source water.
    pub water: f64,
    /// Of every stock.
    pub stock: f64,
}

/// Why an EC is not met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unmet {
    /// The water itself reads this, mS/cm, above the aim.
    Water(f64),
    /// No stock is named.
    NoStock,
    /// The stocks alone read no more than this, mS/cm.
    Stock(f64),
}

/// A dose of acid or base.
#[derive(Clone, Debug)]
pub(super) struct Dosed {
    /// Acid or base.
    pub way: Way,
    /// Millilitres or grams.
    pub units: f64,
}

impl Dosed {
    /// As a step.
    pub fn what(&self) -> Do {
        match self.way {
            Way::Acid => Do::AddAcid,
            Way::Base => Do::AddBase,
        }
    }
}

/// Everything that can be poured together.
pub(super) struct Bench<'a> {
    /// Where pH is told.
    pub at: &'a Conditions,
    /// The tank as it is.
    pub start: Tank,
    /// Litres that it takes.
    pub capacity: f64,
    /// Litres that are left free for acid or base.
    pub reserve: f64,
    /// Level to end at.
    pub fill_to: Option<f64>,
    /// A litre of water.
    pub water: Liquid,
    /// A litre of each stock that is poured by strength.
    pub stocks: Vec<Liquid>,
    /// What lowers and raises the pH.
    pub acid: Option<Remedied>,
    /// The same.
    pub base: Option<Remedied>,
    /// EC to come to, mS/cm.
    pub ec_aim: f64,
    /// Deviation of the EC, relative, that is left alone.
    pub left_alone: f64,
    /// pH to come to where it is corrected; none where it is left.
    pub ph_target: Option<f64>,
}

impl Bench<'_> {
    /// The parts poured together, before acid or base, after standing in air.
    pub fn mixed(&self, level: Level) -> Result<Tank, NotConverged> {
        let mut tank = self.start;
        tank.litres = level.keep;
        if level.water <= 0.0 && level.stock <= 0.0 {
            return Ok(tank);
        }
        if level.water > 0.0 {
            tank.pour(level.water, &self.water);
        }
        for stock in self.stocks.iter().filter(|_| level.stock > 0.0) {
            tank.pour(level.stock, stock);
        }
        tank.liquid.stand(self.at)?;
        Ok(tank)
    }

    /// The tank as it is, with room for acid or base.
    fn still(&self) -> Level {
        Level {
            keep: self.start.litres.min(self.brim()),
            ..Level::default()
        }
    }

    /// The highest level before acid or base.
    fn brim(&self) -> f64 {
        self.capacity - self.reserve
    }

    /// The acid or base.
    pub fn remedy(&self, way: Way) -> Option<&Remedied> {
        match way {
            Way::Acid => self.acid.as_ref(),
            Way::Base => self.base.as_ref(),
        }
    }

    /// The dose that brings a tank to the pH asked for.
    pub fn dose(&self, tank: &Tank) -> Result<Option<Dosed>, NotConverged> {
        let Some(target) = self.ph_target else {
            return Ok(None);
        };
        for way in [Way::Acid, Way::Base] {
            let Some(remedy) = self.remedy(way) else {
                continue;
            };
            if let Some(units) = remedy.needed(tank, self.at, target)? {
                return Ok(Some(Dosed { way, units }));
            }
        }
        Ok(None)
    }

    /// The tank in the end.
    pub fn finished(&self, level: Level) -> Result<Tank, NotConverged> {
        let tank = self.mixed(level)?;
        let dosed = self.dose(&tank)?;
        self.dosed(tank, dosed.as_ref())
    }

    /// A tank after its dose and standing in air.
    pub fn dosed(&self, mut tank: Tank, dosed: Option<&Dosed>) -> Result<Tank, NotConverged> {
        if let Some(dosed) = dosed
            && let Some(remedy) = self.remedy(dosed.way)
        {
            remedy.pour(&mut tank, dosed.units);
            tank.liquid.stand(self.at)?;
        }
        Ok(tank)
    }

    /// By how much the EC in the end is too high, mS/cm.
    fn off(&self, level: Level) -> Result<f64, NotConverged> {
        Ok(self.finished(level)?.liquid.ec_ms_cm()? - self.ec_aim)
    }

    /// The parts that meet the EC, or as they are where nothing does.
    pub fn level(&self) -> Result<(Level, Option<Unmet>), NotConverged> {
        let still = self.still();
        if let Some(fill) = self.fill_to.map(|fill| fill.min(self.brim()))
            && fill > still.keep
        {
            return self.filled(fill);
        }
        let off = self.off(still)?;
        if off.abs() <= self.left_alone * self.ec_aim {
            Ok((still, None))
        } else if off > 0.0 {
            self.thinned()
        } else {
            self.fed()
        }
    }

    /// Water in; where that would overflow, solution out first.
    fn thinned(&self) -> Result<(Level, Option<Unmet>), NotConverged> {
        let keep = self.still().keep;
        let room = self.brim() - keep;
        let poured = |water: f64| Level {
            keep,
            water,
            stock: 0.0,
        };
        if let Some(water) = self.meet(poured, (0.0, room))? {
            return Ok((poured(water), None));
        }
        self.replaced(self.brim())
    }

    /// So much drained that water up to this level meets the EC.
    fn replaced(&self, litres: f64) -> Result<(Level, Option<Unmet>), NotConverged> {
        let kept = |keep: f64| Level {
            keep,
            water: litres - keep,
            stock: 0.0,
        };
        match self.meet(kept, (0.0, self.still().keep))? {
            Some(keep) => Ok((kept(keep), None)),
            None => {
                let alone = self.finished(kept(0.0))?.liquid.ec_ms_cm()?;
                Ok((self.still(), Some(Unmet::Water(alone))))
            }
        }
    }

    /// Stock in; where that would overflow, solution out first.
    fn fed(&self) -> Result<(Level, Option<Unmet>), NotConverged> {
        if self.stocks.is_empty() {
            return Ok((self.still(), Some(Unmet::NoStock)));
        }
        let (each, keep, brim) = (self.each(), self.still().keep, self.brim());
        let most = (brim - keep) * each;
        let poured = |stock: f64| Level {
            keep,
            water: 0.0,
            stock,
        };
        if let Some(stock) = self.meet(poured, (0.0, most))? {
            return Ok((poured(stock), None));
        }
        let kept = |stock: f64| Level {
            keep: (brim - stock / each).min(keep),
            water: 0.0,
            stock,
        };
        match self.meet(kept, (most, brim * each))? {
            Some(stock) => Ok((kept(stock), None)),
            None => {
                let alone = self.finished(kept(brim * each))?;
                let alone = alone.liquid.ec_ms_cm()?;
                Ok((self.still(), Some(Unmet::Stock(alone))))
            }
        }
    }

    /// Water and stock up to a level; where that is still too strong, solution out first.
    fn filled(&self, fill: f64) -> Result<(Level, Option<Unmet>), NotConverged> {
        let keep = self.still().keep;
        let poured = |stock: f64| Level {
            keep,
            water: self.water_beside(fill - keep, stock),
            stock,
        };
        let most = if self.stocks.is_empty() {
            0.0
        } else {
            (fill - keep) * self.each()
        };
        if let Some(stock) = self.meet(poured, (0.0, most))? {
            return Ok((poured(stock), None));
        }
        if self.off(poured(0.0))? > 0.0 {
            return self.replaced(fill);
        }
        if self.stocks.is_empty() {
            return Ok((poured(0.0), Some(Unmet::NoStock)));
        }
        let kept = |stock: f64| Level {
            keep: (fill - stock / self.each()).min(keep),
            water: 0.0,
            stock,
        };
        match self.meet(kept, (most, fill * self.each()))? {
            Some(stock) => Ok((kept(stock), None)),
            None => {
                let alone = self.finished(kept(fill * self.each()))?;
                Ok((poured(0.0), Some(Unmet::Stock(alone.liquid.ec_ms_cm()?))))
            }
        }
    }

    /// Litres of each stock in a litre of all of them.
    fn each(&self) -> f64 {
        let count = u32::try_from(self.stocks.len()).unwrap_or(1);
        1.0 / f64::from(count.max(1))
    }

    /// Water beside so much of each stock in a volume.
    fn water_beside(&self, litres: f64, stock: f64) -> f64 {
        let all = if self.stocks.is_empty() {
            0.0
        } else {
            stock / self.each()
        };
        (litres - all).max(0.0)
    }

    fn meet(
        &self,
        parts: impl Fn(f64) -> Level,
        ends: (f64, f64),
    ) -> Result<Option<f64>, NotConverged> {
        root(|at| self.off(parts(at)), ends, EC_CLOSE)
    }
}
