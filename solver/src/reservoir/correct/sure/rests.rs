//! What a correction rests on, and everything about it that may be off.

use super::super::dose::Remedied;
use super::super::start::{MadeOf, UNNAMED_RATIO};
use super::Plan;
use crate::chemistry::Component;
use crate::ec::{OF_FERTILIZERS, OF_WATER};
use crate::ph::{FLOOR_MEQ_L, OF_ACIDS, OF_ALKALINITY};
use crate::readings::METER_PCT_PER_KELVIN;
use crate::reservoir::liquid::Liquid;
use crate::reservoir::supply::Way;
use crate::spread::{Cause, Names, Stated};
use saltwright_fertilizers::{Composition, Dose, Fertilizer, Nutrient};
use saltwright_recipes::Water;
use std::sync::Arc;

/// Half-width of an even spread in standard uncertainties (JCGM 100:2008, 4.3.7).
const HALF_WIDTH: f64 = 1.732_050_807_568_877_2;

/// What makes of a solution that conducts so much by its ions what a meter shows.
#[derive(Clone, Copy, Debug, Default)]
pub struct Eye {
    /// The meter, relative.
    meter: f64,
    /// The model of what fertilizers add, relative.
    model: f64,
    /// The model of the source water, relative.
    water: f64,
}

impl Eye {
    /// (1 + m) (x + e (x - w) + f w): x by the ions, w the source water's own.
    pub fn shows(&self, by_ions: f64, water: f64) -> f64 {
        let modelled = by_ions + self.model * (by_ions - water) + self.water * water;
        (1.0 + self.meter) * modelled
    }

    /// The other way.
    pub fn by_ions(&self, shown: f64, water: f64) -> f64 {
        (shown / (1.0 + self.meter) + (self.model - self.water) * water) / (1.0 + self.model)
    }

    /// The same through a meter that is right.
    pub fn exact(&self) -> Self {
        Self {
            meter: 0.0,
            ..*self
        }
    }
}

/// What a correction rests on.
#[derive(Clone)]
pub struct Rests {
    /// How EC is read.
    pub eye: Eye,
    /// What the pH meter shows too much.
    pub ph_meter: f64,
    /// Litres in a litre of the tank's marks.
    pub marks: f64,
    /// Acid that nobody accounts for, meq/L.
    pub trace_meq_l: f64,
    /// A litre of water.
    pub water: Liquid,
    /// What the feed brings to a litre at strength 1.
    pub feed: Liquid,
    /// A litre of each stock.
    pub stocks: Vec<Liquid>,
    /// A laboratory's figures.
    pub analysed: Option<Liquid>,
    /// What lowers the pH.
    pub acid: Option<Remedied>,
    /// What raises it.
    pub base: Option<Remedied>,
}

/// What a thing that is off by all of itself adds everywhere.
#[derive(Clone, Default)]
struct Touch {
    water: Liquid,
    feed: Liquid,
    stocks: Vec<Liquid>,
    analysed: Liquid,
    acid: Liquid,
    base: Liquid,
}

/// What is moved.
#[derive(Clone)]
enum What {
    Holds(Box<Touch>),
    Meter,
    Model,
    WaterEc,
    PhMeter,
    Trace,
    Marks,
}

/// One thing that may be off.
#[derive(Clone)]
pub struct Off {
    /// What it is called.
    pub cause: Cause,
    /// The furthest to either side, in its own unit.
    pub half_width: f64,
    /// True where it has a say in what it takes, not only in what is poured.
    pub in_pours: bool,
    what: What,
}

impl Rests {
    /// With one thing off by so much.
    pub fn with(&self, off: &Off, by: f64) -> Self {
        let mut moved = self.clone();
        match &off.what {
            What::Meter => moved.eye.meter += by,
            What::Model => moved.eye.model += by,
            What::WaterEc => moved.eye.water += by,
            What::PhMeter => moved.ph_meter += by,
            What::Trace => moved.trace_meq_l += by,
            What::Marks => moved.marks += by,
            What::Holds(touch) => {
                moved.water += touch.water * by;
                moved.feed += touch.feed * by;
                for (stock, touch) in moved.stocks.iter_mut().zip(&touch.stocks) {
                    *stock += *touch * by;
                }
                if let Some(analysed) = &mut moved.analysed {
                    *analysed += touch.analysed * by;
                }
                for (remedy, touch) in
                    [(&mut moved.acid, touch.acid), (&mut moved.base, touch.base)]
                {
                    if let Some(remedy) = remedy {
                        remedy.brings += touch * by;
                    }
                }
            }
        }
        moved
    }
}

/// Where all of it is found.
pub struct Known<'a> {
    /// What the tank is made of.
    pub made_of: &'a MadeOf,
    /// The source water.
    pub water: &'a Water,
}

/// Mixes in which one bag may be: the feed, each stock, the acid, the base.
struct Mixes<'a> {
    feed: &'a [Dose],
    stocks: Vec<&'a [Dose]>,
    acid: &'a [Dose],
    base: &'a [Dose],
}

impl<'a> Mixes<'a> {
    fn all(&self) -> impl Iterator<Item = &'a Dose> {
        let stocks = self.stocks.iter().copied();
        let rest = stocks.chain([self.acid, self.base]);
        std::iter::once(self.feed).chain(rest).flatten()
    }

    /// What a bag brings everywhere by one of its assays, or in all.
    fn touched(&self, bag: &Fertilizer, assay: Option<Nutrient>) -> Touch {
        let of = |mix: &[Dose]| {
            let mut brings = Liquid::default();
            for dose in mix.iter().filter(|dose| dose.fertilizer.id == bag.id) {
                brings += match assay {
                    Some(nutrient) => Liquid::of_assay(bag, nutrient) * dose.amount.0,
                    None => Liquid::of_mix(std::slice::from_ref(dose)),
                };
            }
            brings
        };
        Touch {
            feed: of(self.feed),
            stocks: self.stocks.iter().map(|mix| of(mix)).collect(),
            acid: of(self.acid),
            base: of(self.base),
            ..Touch::default()
        }
    }
}

impl Known<'_> {
    /// What a plan rests on, everything that may be off, and what that is called; none where no
    /// ranges are asked for.
    pub fn of(&self, plan: &Plan<'_>) -> Option<(Rests, Vec<Off>, Names)> {
        let stated = plan.request.ranges?;
        let bench = plan.bench;
        let rests = Rests {
            eye: Eye::default(),
            ph_meter: 0.0,
            marks: 1.0,
            trace_meq_l: 0.0,
            water: bench.water,
            feed: Liquid::of_mix(&self.made_of.feed),
            stocks: bench.stocks.clone(),
            analysed: self.made_of.analysed,
            acid: bench.acid.clone(),
            base: bench.base.clone(),
        };
        let mut offs = Vec::new();
        let tanks = || {
            let tanks = plan.request.stocks.tanks.iter();
            tanks.filter(|tank| !tank.is_for_ph())
        };
        let mix_of = |remedy: &'_ Option<Remedied>| {
            remedy
                .as_ref()
                .map_or_else(Vec::new, |remedy| remedy.mix.clone())
        };
        let (acid, base) = (mix_of(&bench.acid), mix_of(&bench.base));
        let mixes = Mixes {
            feed: &self.made_of.feed,
            stocks: tanks().map(|tank| tank.mix.as_slice()).collect(),
            acid: &acid,
            base: &base,
        };
        readings(&stated, &mut offs);
        let bags = bags(&mixes, &stated, &mut offs);
        plan.stocks(&stated, &mut offs);
        plan.remedies(&stated, &mut offs);
        self.waters(plan, &rests, &stated, &mut offs);
        offs.retain(|off| off.half_width > 0.0);
        let names = Names {
            bags,
            stocks: tanks().map(|tank| format!("stock {}", tank.name)).collect(),
        };
        Some((rests, offs, names))
    }

    /// Figures of the water, and of a laboratory.
    fn waters(&self, plan: &Plan<'_>, rests: &Rests, stated: &Stated, offs: &mut Vec<Off>) {
        let share = stated.water_pct / 100.0;
        let in_water = |figure: Liquid| Touch {
            water: figure,
            // A litre of stock is counted with a litre of water.
            stocks: vec![figure; rests.stocks.len()],
            ..Touch::default()
        };
        let held = |holds: &Composition| {
            let held: Vec<(Nutrient, f64)> = holds.iter().filter(|(_, mg_l)| *mg_l > 0.0).collect();
            held
        };
        for (nutrient, mg_l) in held(&self.water.holds) {
            let touch = in_water(Liquid::of_figure(nutrient, mg_l));
            offs.push(Off::holds(Cause::WaterAnalysis, share, touch));
        }
        let mut alkalinity = Liquid::of_acid(-self.water.alkalinity_meq_l);
        alkalinity.totals[Component::Carbon] = rests.water.totals[Component::Carbon];
        let of_alkalinity = share.max(HALF_WIDTH * OF_ALKALINITY);
        let touch = in_water(alkalinity);
        offs.push(Off::holds(Cause::Alkalinity, of_alkalinity, touch));
        let Some(analysis) = &plan.request.analysis else {
            return;
        };
        for (nutrient, mg_l) in held(&analysis.holds) {
            let touch = Touch {
                analysed: Liquid::of_figure(nutrient, mg_l),
                ..Touch::default()
            };
            offs.push(Off::holds(Cause::TankAnalysis, share, touch));
        }
    }
}

/// Meters, model, and the marks of the tank.
fn readings(stated: &Stated, offs: &mut Vec<Off>) {
    let of_thermometer = METER_PCT_PER_KELVIN * stated.temperature_c;
    offs.extend([
        Off::plain(Cause::Meter, stated.meter_pct / 100.0, What::Meter),
        Off::plain(Cause::Thermometer, of_thermometer / 100.0, What::Meter),
        Off::plain(Cause::Model, HALF_WIDTH * OF_FERTILIZERS, What::Model),
        Off::plain(Cause::WaterEc, HALF_WIDTH * OF_WATER, What::WaterEc),
        Off::plain(Cause::PhMeter, stated.meter_ph, What::PhMeter),
        Off::plain(Cause::PhModel, HALF_WIDTH * FLOOR_MEQ_L, What::Trace),
        Off::plain(Cause::Volume, stated.volume_pct / 100.0, What::Marks),
    ]);
}

/// Bags by their assays, each on its own, and as a whole; their ids.
fn bags(mixes: &Mixes<'_>, stated: &Stated, offs: &mut Vec<Off>) -> Vec<String> {
    let mut bags: Vec<Arc<Fertilizer>> = Vec::new();
    for dose in mixes.all() {
        if bags.iter().all(|bag| bag.id != dose.fertilizer.id) {
            bags.push(Arc::clone(&dose.fertilizer));
        }
    }
    for (at, bag) in bags.iter().enumerate() {
        let tolerance = bag.tolerance_pct.or(stated.tolerance_pct).unwrap_or(0.0) / 100.0;
        let assays = bag.assay_pct.iter().filter(|(_, percent)| *percent > 0.0);
        for (nutrient, _) in assays.filter(|_| tolerance > 0.0) {
            let touch = mixes.touched(bag, Some(nutrient));
            offs.push(Off::holds(Cause::Bag(at), tolerance, touch));
        }
        if stated.purity_pct > 0.0 {
            let touch = mixes.touched(bag, None);
            offs.push(Off::holds(Cause::Bag(at), stated.purity_pct / 100.0, touch));
        }
    }
    bags.iter().map(|bag| bag.id.clone()).collect()
}

impl Plan<'_> {
    /// Each stock as a whole: its strength, in the tank as in the jug, and how it is measured.
    fn stocks(&self, stated: &Stated, offs: &mut Vec<Off>) {
        let stocks = &self.request.stocks;
        let tanks = stocks.tanks.iter().filter(|tank| !tank.is_for_ph());
        let count = self.bench.stocks.len();
        let ml = 1000.0 * self.level.stock;
        for (at, tank) in tanks.enumerate() {
            let salts = Liquid::of_mix(&tank.mix);
            let mut touch = Touch {
                stocks: vec![Liquid::default(); count],
                ..Touch::default()
            };
            touch.stocks[at] = salts;
            if ml > 0.0 {
                let off = 0.5 * stated.cylinder_ml / ml;
                offs.push(Off::poured(Cause::Cylinder, off, touch.clone()));
            }
            // In the tank it is as strong as it was poured.
            touch.feed = salts * (1.0 / stocks.ratio.unwrap_or(UNNAMED_RATIO));
            offs.push(Off::holds(
                Cause::Stock(at),
                stated.stock_pct / 100.0,
                touch,
            ));
        }
    }

    /// Acid and base: no surer than usual, and how they are measured.
    fn remedies(&self, stated: &Stated, offs: &mut Vec<Off>) {
        let Some(dosed) = self.dosed else { return };
        let Some(remedy) = self.bench.remedy(dosed.way) else {
            return;
        };
        let brings = remedy.brings;
        let touch = match dosed.way {
            Way::Acid => Touch {
                acid: brings,
                ..Touch::default()
            },
            Way::Base => Touch {
                base: brings,
                ..Touch::default()
            },
        };
        let tolerances = remedy.mix.iter().map(|dose| {
            let stated = dose.fertilizer.tolerance_pct.or(stated.tolerance_pct);
            stated.unwrap_or(0.0) / 100.0
        });
        let usual = HALF_WIDTH * OF_ACIDS;
        if tolerances.fold(stated.purity_pct / 100.0, f64::max) < usual {
            offs.push(Off::holds(Cause::Acids, usual, touch.clone()));
        }
        if dosed.units > 0.0 {
            // Portions are measured one by one.
            let portions = f64::from(self.portions).sqrt() / dosed.units;
            let (cause, off) = if remedy.is_poured() {
                (Cause::Cylinder, 0.5 * stated.cylinder_ml * portions)
            } else {
                (Cause::Scale, 0.5 * stated.scale_g * portions)
            };
            offs.push(Off::poured(cause, off, touch.clone()));
            if !remedy.is_poured() {
                offs.push(Off::poured(Cause::Scale, stated.scale_pct / 100.0, touch));
            }
        }
    }
}

impl Off {
    fn plain(cause: Cause, half_width: f64, what: What) -> Self {
        Self {
            cause,
            half_width,
            in_pours: true,
            what,
        }
    }

    fn holds(cause: Cause, half_width: f64, touch: Touch) -> Self {
        Self::plain(cause, half_width, What::Holds(Box::new(touch)))
    }

    /// Off while it is poured: what it takes does not change.
    fn poured(cause: Cause, half_width: f64, touch: Touch) -> Self {
        Self {
            in_pours: false,
            ..Self::holds(cause, half_width, touch)
        }
    }
}
