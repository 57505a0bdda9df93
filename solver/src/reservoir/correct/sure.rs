//! How sure a correction is: what may be off is moved to either end of its half-width, the tank is
//! worked out again, and the same pours are made.
//!
//! ```text
//! half-widths -> worlds in which one thing is off -> what the meters then show after these steps,
//!                                                 -> what it would have taken there
//!             -> half the difference of both ends -> variances by cause -> ranges
//! ```
//!
//! One meter reads before and after, one set of marks tells level, water and what is drained, one
//! bag is in the tank and in the stock: each is off once. What is off is independent of the rest and
//! evenly spread, so its variance is the square of its effect over three (JCGM 100:2008, 4.3.7).

mod rests;

use super::super::liquid::{Liquid, Tank};
use super::super::supply::{Remedy, Trial, Way};
use super::EC_BAND;
use super::dose::{Remedied, judge};
use super::level::{Bench, Dosed, Level};
use super::report::{After, Aims, Do, Reach, Step};
use super::request::CorrectRequest;
use super::start::{self, Shown};
use crate::chemistry::{MOST_IONIC_STRENGTH, NotConverged, PH_RANGE};
use crate::ec::FLOOR_US_CM;
use crate::ph::OF_CONSTANTS;
use crate::spread::next::NextRow;
use crate::spread::{Cause, EC, Names, PH, Sureness, Uncertain};
use rests::{Off, Rests};
use saltwright_fertilizers::{Aimed, Composition};

pub(super) use rests::Known;

/// What was decided, whose outcome is told.
pub(super) struct Plan<'a> {
    /// What was asked.
    pub request: &'a CorrectRequest,
    /// The bench as it was reckoned with.
    pub bench: &'a Bench<'a>,
    /// Parts of the corrected tank.
    pub level: Level,
    /// Acid or base.
    pub dosed: Option<&'a Dosed>,
    /// In how many portions that is poured.
    pub portions: u32,
    /// True where anything is done at all.
    pub acts: bool,
    /// EC of the source water, mS/cm.
    pub water_ms_cm: f64,
    /// The tank in the end.
    pub after: Tank,
    /// What it is to come to.
    pub aim: &'a Aims,
}

/// How far off the answer may be (k = 2).
pub(super) struct Ranges {
    /// Of the EC in the end, mS/cm.
    pub ec: f64,
    /// Of the pH in the end.
    pub ph: Option<f64>,
    /// Of each nutrient in the end, mg/L.
    nutrients: Vec<f64>,
    /// Of what is poured in all, beside how much that is: drained, water, each stock in litres,
    /// then units of acid or base.
    pours: [(f64, f64); 4],
    /// Causes, and what to measure next.
    pub sureness: Sureness,
}

/// Everything that one world comes to.
#[derive(Clone, Copy)]
struct Told {
    ec: f64,
    ph: f64,
    holds: Composition,
    /// Drained, water, each stock, acid or base: what it would have taken.
    pours: [f64; 4],
}

/// The last digit of a pH meter, below which no band is narrower. Common practice, no source.
const METER_DIGIT_PH: f64 = 0.1;

/// How a pour is called among the figures.
const POURS: [Do; 3] = [Do::Drain, Do::AddWater, Do::AddStock];

impl Plan<'_> {
    /// Works out every range; none outside the range of the model.
    pub fn ranges(&self, known: &Known<'_>) -> Result<Option<Ranges>, NotConverged> {
        for liquid in [&self.bench.start.liquid, &self.after.liquid] {
            let solved = liquid.solve(self.bench.at)?;
            if solved.ionic_strength_mol_kg > MOST_IONIC_STRENGTH || !PH_RANGE.contains(&solved.ph)
            {
                return Ok(None);
            }
        }
        let Some((rests, offs, names)) = known.of(self) else {
            return Ok(None);
        };
        let mut effects = Vec::with_capacity(offs.len());
        for off in &offs {
            let low = self.told(&rests.with(off, -off.half_width), off)?;
            let high = self.told(&rests.with(off, off.half_width), off)?;
            effects.push((off.cause, low, high));
        }
        Ok(Some(self.sum_up(&effects, &names)))
    }

    /// What one world comes to: the same pours made there, and those that it would have taken.
    fn told(&self, rests: &Rests, off: &Off) -> Result<Told, NotConverged> {
        let bench = self.there(rests)?;
        let level = by_marks(self.level, rests.marks);
        let made = bench.dosed(mixed(&bench, level, rests)?, self.dosed)?;
        let pours = if off.in_pours {
            self.needed(&bench, rests)?
        } else {
            [0.0; 4]
        };
        Ok(Told {
            ec: rests.eye.shows(made.liquid.ec_ms_cm()?, self.water_ms_cm),
            ph: made.liquid.ph(bench.at)? + rests.ph_meter,
            holds: made.liquid.holds,
            pours,
        })
    }

    /// The bench as it is there, with a tank that makes the meters show what they show.
    fn there(&self, rests: &Rests) -> Result<Bench<'_>, NotConverged> {
        let (at, eye, marks) = (self.bench.at, &rests.eye, rests.marks);
        let shown: Shown = start::shown(self.request);
        let truly = (
            eye.by_ions(shown.0, self.water_ms_cm),
            shown.1.map(|ph| ph - rests.ph_meter),
        );
        let analysed = rests.analysed.as_ref();
        let (liquid, _) = start::holds(truly, &rests.water, &rests.feed, analysed, at)?;
        let start = Tank {
            litres: self.bench.start.litres * marks,
            liquid,
        };
        Ok(Bench {
            at,
            start,
            capacity: self.bench.capacity * marks,
            reserve: self.bench.reserve * marks,
            fill_to: self.bench.fill_to.map(|fill| fill * marks),
            water: rests.water,
            stocks: rests.stocks.clone(),
            acid: self.remedy(Way::Acid, rests, &start)?,
            base: self.remedy(Way::Base, rests, &start)?,
            ec_aim: eye.exact().by_ions(self.bench.ec_aim, self.water_ms_cm),
            left_alone: 0.0,
            ph_target: self.bench.ph_target,
        })
    }

    /// What it would have taken there, litres by the marks.
    fn needed(&self, bench: &Bench<'_>, rests: &Rests) -> Result<[f64; 4], NotConverged> {
        let level = if self.moves_level() {
            bench.level()?.0
        } else {
            by_marks(self.level, rests.marks)
        };
        let units = match self.dosed {
            Some(asked) => bench
                .dose(&mixed(bench, level, rests)?)?
                .filter(|dosed| dosed.way == asked.way)
                .map_or(0.0, |dosed| dosed.units),
            None => 0.0,
        };
        Ok(self.pours(by_marks(level, 1.0 / rests.marks), units))
    }

    fn pours(&self, level: Level, units: f64) -> [f64; 4] {
        let drained = self.bench.start.litres - level.keep;
        [drained, level.water, level.stock, units]
    }

    /// True where anything but acid or base is poured.
    fn moves_level(&self) -> bool {
        let Level { keep, water, stock } = self.level;
        water > 0.0 || stock > 0.0 || keep < self.bench.start.litres
    }

    /// The acid or base as it is there: a bottle of unknown strength is judged by the same meter.
    fn remedy(
        &self,
        way: Way,
        rests: &Rests,
        start: &Tank,
    ) -> Result<Option<Remedied>, NotConverged> {
        let known = match way {
            Way::Acid => &rests.acid,
            Way::Base => &rests.base,
        };
        let mut remedy = known.clone();
        if let (Some(remedy), Remedy::Judged(trial)) = (&mut remedy, self.request.remedy(way)) {
            let trial = Trial {
                ph_before: trial.ph_before - rests.ph_meter,
                ph_after: trial.ph_after - rests.ph_meter,
                ..*trial
            };
            let meq_per_ml = judge(&trial, &start.liquid, self.bench.at)?;
            remedy.brings = Liquid::of_acid(meq_per_ml);
        }
        Ok(remedy)
    }

    /// Variances by cause, figure by figure.
    fn sum_up(&self, effects: &[(Cause, Told, Told)], names: &Names) -> Ranges {
        let uncertain = |figure, of: &dyn Fn(&Told) -> f64| {
            let parts = effects.iter().map(|(cause, low, high)| {
                let effect = 0.5 * (of(high) - of(low));
                (*cause, effect * effect / 3.0)
            });
            (figure, parts.collect::<Vec<_>>())
        };
        let sum =
            |(figure, parts): (&'static str, Vec<(Cause, f64)>)| Uncertain::new(figure, parts);
        let beside = |of: f64| if self.acts { of * of } else { 0.0 };
        let mut of_ec = uncertain(EC, &|told| told.ec);
        of_ec.1.push((Cause::Model, beside(FLOOR_US_CM / 1000.0)));
        let mut of_ph = uncertain(PH, &|told| told.ph);
        of_ph.1.push((Cause::PhModel, beside(OF_CONSTANTS)));
        let nutrients: Vec<Uncertain> = Aimed::all()
            .map(|aimed| sum(uncertain(aimed.key(), &|told| told.holds.aimed(aimed))))
            .collect();
        let names_of_pours = POURS.into_iter().chain(self.dosed.map(Dosed::what));
        let pours: Vec<Uncertain> = names_of_pours
            .enumerate()
            .map(|(at, what)| sum(uncertain(what.name(), &|told| told.pours[at])))
            .collect();
        let (of_ec, of_ph) = (sum(of_ec), sum(of_ph));
        let reads_ph = self.request.ph_read().is_some();
        let half = |at: usize| pours.get(at).map_or(0.0, Uncertain::half_width);
        let meters = [Some(&of_ec), reads_ph.then_some(&of_ph)];
        let made = self.pours(self.level, self.dosed.map_or(0.0, |dosed| dosed.units));
        let poured = pours.iter().zip(made).filter(|(_, made)| *made > 0.0);
        let poured = poured.map(|(pour, _)| pour);
        let figures = nutrients
            .iter()
            .chain(meters.into_iter().flatten())
            .chain(poured)
            .filter(|figure| figure.variance() > 0.0);
        let holds = self.after.liquid.holds;
        let relative = nutrients.iter().zip(Aimed::all()).map(|(found, aimed)| {
            let share = found.half_width() / holds.aimed(aimed);
            (found.figure, share)
        });
        let widest = relative
            .filter(|(_, share)| share.is_finite() && *share > 0.0)
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let widest = widest.map(|(figure, _)| figure);
        let mut sureness = Sureness::of(figures, names, widest, None);
        let of_pours: Vec<_> = pours.iter().map(|pour| pour.figure).zip(made).collect();
        self.most_telling_first(&mut sureness.measure_next, &of_pours);
        Ranges {
            ec: of_ec.half_width(),
            ph: reads_ph.then(|| of_ph.half_width()),
            sureness,
            nutrients: nutrients.iter().map(Uncertain::half_width).collect(),
            pours: std::array::from_fn(|at| (half(at), made[at])),
        }
    }

    /// Puts first what narrows most: a reading against the width of its band, a pour against what is
    /// poured. Nutrients, which no meter of the grower's shows, stay behind.
    fn most_telling_first(&self, rows: &mut [NextRow], pours: &[(&str, f64)]) {
        let size = |figure| match figure {
            EC => Some(2.0 * EC_BAND * self.aim.ec_ms_cm),
            PH => Some((self.aim.ph[1] - self.aim.ph[0]).max(METER_DIGIT_PH)),
            _ => pours
                .iter()
                .find_map(|(what, made)| (*what == figure).then_some(*made)),
        };
        let gain = |row: &NextRow| {
            let size = size(row.figure)?;
            Some((row.half_width - row.at_best) / size)
        };
        let gain = |row: &NextRow| gain(row).unwrap_or(-1.0);
        // A stable sort: nutrients keep the order of the report.
        rows.sort_by(|a, b| gain(b).total_cmp(&gain(a)));
    }
}

/// Parts whose litres are told by marks, in true litres.
fn by_marks(level: Level, marks: f64) -> Level {
    Level {
        keep: level.keep * marks,
        water: level.water * marks,
        stock: level.stock,
    }
}

/// The parts poured together there.
fn mixed(bench: &Bench<'_>, level: Level, rests: &Rests) -> Result<Tank, NotConverged> {
    let mut tank = bench.mixed(level)?;
    tank.liquid.totals.acid_meq_l += rests.trace_meq_l;
    Ok(tank)
}

impl Ranges {
    /// Where a nutrient may lie in the end, mg/L.
    pub fn of_nutrient(&self, aimed: Aimed, after: &Liquid) -> Reach {
        let half = self.nutrients.get(aimed.index()).copied().unwrap_or(0.0);
        around(after.holds.aimed(aimed), half)
    }

    /// Writes the ranges beside the readings in the end and beside every pour.
    pub fn tell(&self, after: &mut After, steps: &mut [Step]) {
        let ec = around(after.ec_ms_cm, self.ec);
        (after.ec_low_ms_cm, after.ec_high_ms_cm) = (Some(ec.low), Some(ec.high));
        if let Some((ph, half)) = after.ph.zip(self.ph) {
            (after.ph_low, after.ph_high) = (Some(ph - half), Some(ph + half));
        }
        for step in steps {
            self.fill(step);
        }
    }

    /// Writes beside a step what it may truly take.
    fn fill(&self, step: &mut Step) {
        let at = match step.what {
            Do::Drain => 0,
            Do::AddWater => 1,
            Do::AddStock => 2,
            Do::AddAcid | Do::AddBase => 3,
            Do::Wait => return,
        };
        let (half, all) = self.pours[at];
        let amount = step.litres.or(step.ml).or(step.g);
        if let Some(amount) = amount.filter(|_| all > 0.0) {
            let range = around(amount, half / all * amount);
            (step.low, step.high) = (Some(range.low), Some(range.high));
        }
    }
}

/// Half of a range to either side of a figure that is never negative.
fn around(figure: f64, half: f64) -> Reach {
    Reach {
        low: (figure - half).max(0.0),
        high: figure + half,
    }
}
