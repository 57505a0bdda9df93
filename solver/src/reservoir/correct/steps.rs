//! The parts of a correction as steps in order, each with what the meters should then show.

use super::super::liquid::Tank;
use super::super::supply::Way;
use super::dose::Remedied;
use super::level::{Bench, Dosed, Level};
use super::report::{Do, State, Step};
use crate::chemistry::NotConverged;
use crate::words::reservoir as words;

/// Minutes between stocks, so that they meet diluted. Common practice, no source.
const BETWEEN_STOCKS_MIN: f64 = 5.0;
/// Minutes until a tank is mixed through. Common practice, no source.
const MIXING_MIN: f64 = 15.0;
/// Minutes in which moving water and air meet after acid or base. Common practice, no source.
const STANDING_MIN: f64 = 30.0;
/// Litres that nobody drains or pours.
const NOTHING_L: f64 = 1e-9;

/// The steps, and where they lead.
pub(super) struct Steps {
    pub list: Vec<Step>,
    /// After the last wait.
    pub tank: Tank,
    /// pH right after the last portion of acid or base.
    pub ph_right_after: Option<f64>,
    /// The extreme pH right after any portion.
    pub extreme_ph: Option<f64>,
    /// Portions of acid or base.
    pub portions: u32,
}

/// Writes the steps while they are made.
struct Writer<'a> {
    bench: &'a Bench<'a>,
    reads_ph: bool,
    tank: Tank,
    list: Vec<Step>,
}

/// The parts in order.
pub(super) fn steps(
    bench: &Bench<'_>,
    level: Level,
    dosed: Option<&Dosed>,
    stocks: &[&str],
    (band, reads_ph): ([f64; 2], bool),
) -> Result<Steps, NotConverged> {
    let mut writer = Writer {
        bench,
        reads_ph,
        tank: bench.start,
        list: Vec::new(),
    };
    writer.level(level, stocks)?;
    let mut steps = Steps {
        list: Vec::new(),
        tank: writer.tank,
        ph_right_after: None,
        extreme_ph: None,
        portions: 0,
    };
    if let Some(dosed) = dosed
        && let Some(remedy) = bench.remedy(dosed.way)
    {
        let target = bench.ph_target.unwrap_or(band[0]);
        let (count, extreme) =
            remedy.portions(&writer.tank, bench.at, dosed.units, band, target)?;
        (steps.extreme_ph, steps.portions) = (Some(extreme), count);
        steps.ph_right_after = writer.portions(remedy, dosed.units, count, band)?;
    }
    steps.tank = writer.tank;
    steps.list = writer.list;
    Ok(steps)
}

impl Writer<'_> {
    /// Drain, water, stocks, and a wait behind them.
    fn level(&mut self, level: Level, stocks: &[&str]) -> Result<(), NotConverged> {
        let drained = self.tank.litres - level.keep;
        if drained > NOTHING_L {
            self.tank.litres = level.keep;
            let words = words::drain();
            self.push(Do::Drain, words, |step| step.litres = Some(drained))?;
        }
        if level.water > NOTHING_L {
            self.tank.pour(level.water, &self.bench.water);
            let words = words::add_water();
            self.push(Do::AddWater, words, |step| step.litres = Some(level.water))?;
        }
        if level.stock > NOTHING_L {
            for (position, (stock, name)) in self.bench.stocks.iter().zip(stocks).enumerate() {
                if position > 0 {
                    self.wait(BETWEEN_STOCKS_MIN, words::between_stocks())?;
                }
                self.tank.pour(level.stock, stock);
                self.push(Do::AddStock, words::add_stock(name), |step| {
                    step.tank = Some((*name).to_owned());
                    step.ml = Some(1000.0 * level.stock);
                })?;
            }
        }
        if level.water > NOTHING_L || level.stock > NOTHING_L {
            self.tank.liquid.stand(self.bench.at)?;
            self.wait(MIXING_MIN, words::mixing())?;
        }
        Ok(())
    }

    /// A dose in portions, the air having its say between them; the pH right after the last.
    fn portions(
        &mut self,
        remedy: &Remedied,
        units: f64,
        count: u32,
        band: [f64; 2],
    ) -> Result<Option<f64>, NotConverged> {
        let portion = units / f64::from(count);
        let what = match remedy.way {
            Way::Acid => Do::AddAcid,
            Way::Base => Do::AddBase,
        };
        let mut right_after = None;
        for number in 1..=count {
            remedy.pour(&mut self.tank, portion);
            let words = words::portion(remedy.way, remedy.is_poured(), number, count);
            self.push(what, words, |step| {
                step.id.clone_from(&remedy.id);
                step.tank.clone_from(&remedy.tank);
                let amount = if remedy.is_poured() {
                    &mut step.ml
                } else {
                    &mut step.g
                };
                *amount = Some(portion);
            })?;
            right_after = Some(self.tank.liquid.ph(self.bench.at)?);
            self.tank.liquid.stand(self.bench.at)?;
            self.wait(STANDING_MIN, words::standing(band, number < count))?;
        }
        Ok(right_after)
    }

    fn wait(&mut self, minutes: f64, words: String) -> Result<(), NotConverged> {
        self.push(Do::Wait, words, |step| step.minutes = Some(minutes))
    }

    fn push(
        &mut self,
        what: Do,
        words: String,
        fill: impl FnOnce(&mut Step),
    ) -> Result<(), NotConverged> {
        let ph = self.tank.liquid.ph(self.bench.at)?;
        let mut step = Step {
            what,
            tank: None,
            id: None,
            litres: None,
            ml: None,
            g: None,
            minutes: None,
            low: None,
            high: None,
            words,
            then: State {
                ec_ms_cm: self.tank.liquid.ec_ms_cm()?,
                ph: self.reads_ph.then_some(ph),
                litres: self.tank.litres,
            },
        };
        fill(&mut step);
        self.list.push(step);
        Ok(())
    }
}
