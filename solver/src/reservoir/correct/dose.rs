//! Acid and base: how much, and in how many portions.

use super::super::liquid::{AIR, By, Liquid, Tank};
use super::super::supply::{Remedy, Trial, Way};
use super::request::CorrectRequest;
use crate::chemistry::acid::dose_to_ph;
use crate::chemistry::{Carbon, Conditions, NotConverged, Protons, speciate};
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;
use std::sync::Arc;

/// How far below (above) the band a portion of acid (base) may bring the pH before the air has had
/// its say. Judgement: roots bear it for a while, and the meter tells it apart.
const OVERSHOOT: f64 = 0.5;
/// How far a portion is to move the pH, on the whole. Judgement.
const MOVES: f64 = 1.0;
/// pH steps below this are made at once.
const SMALL: f64 = 0.3;
/// Numbers of portions that are tried.
const PORTIONS: [u32; 8] = [1, 2, 3, 4, 6, 8, 12, 16];

/// An acid or base ready to be poured.
#[derive(Clone, Debug)]
pub(super) struct Remedied {
    /// Which way.
    pub way: Way,
    /// Its id; none for a bottle of unknown strength.
    pub id: Option<String>,
    /// The tank of stock.
    pub tank: Option<String>,
    /// What a unit of it brings, mmol and mg.
    pub brings: Liquid,
    /// Litres in a unit: of a millilitre, or of a gram that is weighed.
    pub litres: f64,
    /// Acid in a millilitre of a bottle of unknown strength, meq.
    pub judged_meq_per_ml: Option<f64>,
    /// The fertilizers in a unit, grams; none in a bottle of unknown strength.
    pub mix: Vec<Dose>,
}

/// Litres in a millilitre.
const ML: f64 = 1e-3;

impl Remedied {
    /// True where it is poured, not weighed.
    pub fn is_poured(&self) -> bool {
        self.litres > 0.0
    }

    /// What a request names.
    pub fn new(
        way: Way,
        request: &CorrectRequest,
        water: &Liquid,
        start: &Liquid,
        at: &Conditions,
    ) -> Result<Option<Self>, NotConverged> {
        let remedy = request.remedy(way);
        let mut ready = Self {
            way,
            id: None,
            tank: None,
            brings: Liquid::default(),
            litres: ML,
            judged_meq_per_ml: None,
            mix: Vec::new(),
        };
        match remedy {
            Remedy::None => return Ok(None),
            Remedy::Known(fertilizer) => {
                let density = fertilizer.density_g_per_ml;
                let dose = Dose {
                    fertilizer: Arc::clone(fertilizer),
                    amount: GramsPerL(density.unwrap_or(1.0)),
                };
                ready.mix = vec![dose];
                ready.brings = Liquid::of_mix(&ready.mix);
                ready.litres = density.map_or(0.0, |_| ML);
                ready.id = Some(fertilizer.id.clone());
            }
            Remedy::Stock(position) => {
                let Some(tank) = request.stocks.tanks.get(*position) else {
                    return Ok(None);
                };
                let mut litre = *water;
                litre += Liquid::of_mix(&tank.mix);
                ready.brings = litre * ML;
                ready.tank = Some(tank.name.clone());
                let in_a_ml = |dose: &Dose| Dose {
                    fertilizer: Arc::clone(&dose.fertilizer),
                    amount: GramsPerL(dose.amount.0 * ML),
                };
                ready.mix = tank.mix.iter().map(in_a_ml).collect();
            }
            Remedy::Judged(trial) => {
                let meq_per_ml = judge(trial, start, at)?;
                ready.judged_meq_per_ml = Some(meq_per_ml);
                ready.brings = Liquid::of_acid(meq_per_ml);
            }
        }
        Ok(Some(ready))
    }

    /// Units that bring a tank that stood in air to a pH in the end, as far as any amount does.
    pub fn needed(
        &self,
        tank: &Tank,
        at: &Conditions,
        ph: f64,
    ) -> Result<Option<f64>, NotConverged> {
        let (totals, brings) = (&tank.liquid.totals, &self.brings.totals);
        let per_litre = dose_to_ph(at, totals, brings, AIR, ph)?;
        Ok(per_litre.map(|units| units * tank.litres))
    }

    /// Pours so many units.
    pub fn pour(&self, tank: &mut Tank, units: f64) {
        tank.dissolve(&(self.brings * units), self.litres * units);
    }

    /// In how many portions a dose goes in, so that none moves the pH far and none leaves the band
    /// by much before the air has had its say; and the extreme pH right after one.
    pub fn portions(
        &self,
        tank: &Tank,
        at: &Conditions,
        units: f64,
        band: [f64; 2],
        target: f64,
    ) -> Result<(u32, f64), NotConverged> {
        let moves = (tank.liquid.ph(at)? - target).abs();
        let by_size = if moves > SMALL { 2.0_f64 } else { 1.0 }.max((moves / MOVES).ceil());
        let mut found = (1, target);
        for count in PORTIONS {
            if f64::from(count) < by_size && count != PORTIONS[PORTIONS.len() - 1] {
                continue;
            }
            let extreme = self.extreme(tank, at, units, count)?;
            found = (count, extreme);
            let is_mild = match self.way {
                Way::Acid => extreme >= band[0] - OVERSHOOT,
                Way::Base => extreme <= band[1] + OVERSHOOT,
            };
            if is_mild {
                break;
            }
        }
        Ok(found)
    }

    /// The lowest (highest) pH right after any of so many equal portions.
    fn extreme(
        &self,
        tank: &Tank,
        at: &Conditions,
        units: f64,
        count: u32,
    ) -> Result<f64, NotConverged> {
        let mut tank = *tank;
        let mut extreme: Option<f64> = None;
        for _ in 0..count {
            self.pour(&mut tank, units / f64::from(count));
            let ph = tank.liquid.ph(at)?;
            extreme = Some(match (extreme, self.way) {
                (None, _) => ph,
                (Some(found), Way::Acid) => found.min(ph),
                (Some(found), Way::Base) => found.max(ph),
            });
            tank.liquid.stand(at)?;
        }
        Ok(extreme.unwrap_or(f64::NAN))
    }
}

/// Acid in a millilitre of a bottle, meq, from what it did to a solution like that in the tank.
///
/// acid = (acid at the pH after, no carbon dioxide escaped - acid at the pH before) x litres / mL
pub(super) fn judge(trial: &Trial, start: &Liquid, at: &Conditions) -> Result<f64, NotConverged> {
    let mut before = *start;
    before.read_ph(at, trial.ph_before, By::Inert)?;
    let after = Protons::Ph(trial.ph_after);
    let after = speciate(at, &before.totals, Carbon::Closed, after, None)?;
    Ok((after.acid_meq_l - before.totals.acid_meq_l) * trial.litres / trial.ml)
}
