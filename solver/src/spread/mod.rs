//! How sure every figure is: what may be off, by how much, and what that does to nutrients, EC and
//! cost.
//!
//! ```text
//! what is stated (tolerances, scale, tank, water, meter) -> inputs, each with a half-width
//!   -> effects of each on a figure -> standard uncertainty, shares of each cause, worst case
//! ```
//!
//! Every half-width is the end of a rectangular distribution, so its standard uncertainty is
//! half-width/3^½; uncertainties of independent inputs add as squares and a range spans k = 2 of
//! them to either side. Terms and rules: JCGM 100:2008 (GUM), 4.3.7, 5.1.2 and 6.2. Beside it stands
//! the worst case: every input at the end of its half-width at once.

mod corner;
mod inputs;
mod names;
mod slopes;
pub mod stated;

pub mod next;

pub(crate) use corner::{Alkalinity, Reading, ends};
pub(crate) use inputs::{Effect, End, Inputs, Moves};
pub(crate) use names::Names;
pub(crate) use slopes::Slopes;
pub use stated::Stated;

use crate::ec::COVERAGE;
use crate::words::spread as words;
use next::NextRow;
use saltwright_fertilizers::{Aimed, Composition, Dose, Nutrient};
use schemars::JsonSchema;
use serde::Serialize;

/// Share of a figure's variance, percent, below which a cause is not listed.
const LISTED_PCT: f64 = 0.05;

/// Why a figure is not exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// The assays and the purity of a bag, by its position among the inputs.
    Bag(usize),
    /// Division and calibration of the scale.
    Scale,
    /// Division of the measuring cylinder.
    Cylinder,
    /// Volume of the tank.
    Volume,
    /// Ratio of the proportioner.
    Proportioner,
    /// Strength of all stocks together, against what was weighed for them.
    Stocks,
    /// Strength of one stock, by its position.
    Stock(usize),
    /// Figures of the water analysis.
    WaterAnalysis,
    /// A laboratory's figures of the tank.
    TankAnalysis,
    /// Prices.
    Prices,
    /// The EC model.
    Model,
    /// What the model makes of the source water's own EC.
    WaterEc,
    /// The meter's thermometer.
    Thermometer,
    /// The EC meter.
    Meter,
    /// The pH model: its constants, traces of acid or base, charge that labels leave open.
    PhModel,
    /// The alkalinity of the source water.
    Alkalinity,
    /// Strength of acids and bases.
    Acids,
    /// The pH meter.
    PhMeter,
}

/// Where a figure may lie.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Range {
    /// Lower end of its range (k = 2).
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// With everything at the end of its tolerance that makes it least.
    pub worst_low: f64,
    /// With everything at the end of its tolerance that makes it most.
    pub worst_high: f64,
}

impl Range {
    /// In a unit of which the old one holds so many.
    pub(crate) fn times(self, factor: f64) -> Self {
        Self {
            low: self.low * factor,
            high: self.high * factor,
            worst_low: self.worst_low * factor,
            worst_high: self.worst_high * factor,
        }
    }
}

/// What one cause does to a figure.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CauseRow {
    /// A nutrient, `EC`, `pH` or `cost`; of a correction also what is poured, as its steps name it.
    pub figure: &'static str,
    /// A fertilizer by id, or what else is off.
    pub cause: String,
    /// Its share of the figure's variance, percent.
    pub share_pct: f64,
}

/// How far one figure may be off, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncertain {
    /// A nutrient, `EC`, `pH` or `cost`; of a correction also what is poured.
    pub figure: &'static str,
    /// Variances of its causes, largest first.
    pub causes: Vec<(Cause, f64)>,
}

impl Uncertain {
    /// Adds up effects by cause.
    pub(crate) fn new(figure: &'static str, parts: impl IntoIterator<Item = (Cause, f64)>) -> Self {
        let mut causes: Vec<(Cause, f64)> = Vec::new();
        for (cause, variance) in parts {
            match causes.iter_mut().find(|(known, _)| *known == cause) {
                Some((_, sum)) => *sum += variance,
                None => causes.push((cause, variance)),
            }
        }
        // A stable sort: equal shares stand in the order of the mix.
        causes.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self { figure, causes }
    }

    /// Its variance.
    pub fn variance(&self) -> f64 {
        self.causes.iter().map(|(_, variance)| variance).sum()
    }

    /// Half of its range: k = 2 standard uncertainties.
    pub fn half_width(&self) -> f64 {
        COVERAGE * self.variance().sqrt()
    }

    /// Why it is not exact, largest share first.
    fn rows(&self, names: &Names) -> Vec<CauseRow> {
        let all = self.variance();
        let shares = self.causes.iter().map(|(cause, variance)| {
            let share_pct = 100.0 * variance / all;
            (*cause, share_pct)
        });
        let listed = shares.filter(|(_, share_pct)| *share_pct >= LISTED_PCT);
        let rows = listed.map(|(cause, share_pct)| CauseRow {
            figure: self.figure,
            cause: names.of(cause).to_owned(),
            share_pct,
        });
        rows.collect()
    }
}

/// What is uncertain about the figures of a report, and what would narrow them.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Sureness {
    /// Why each figure is not exact, largest share first.
    pub causes: Vec<CauseRow>,
    /// The one improvement that would narrow each figure most; of a correction in the order of what
    /// they bring: the readings in the end and the pours, then the nutrients.
    pub measure_next: Vec<NextRow>,
    /// The nutrient whose range is widest for its size.
    pub widest: Option<&'static str>,
    /// Where the cost of 1,000 litres may lie, where there is one.
    pub cost_range: Option<Range>,
}

impl Sureness {
    /// Causes of all figures, and what would narrow each.
    pub(crate) fn of<'a>(
        figures: impl Iterator<Item = &'a Uncertain> + Clone,
        names: &Names,
        widest: Option<&'static str>,
        cost_range: Option<Range>,
    ) -> Self {
        let next = |figure| NextRow::of(figure, names);
        Self {
            causes: figures
                .clone()
                .flat_map(|figure| figure.rows(names))
                .collect(),
            measure_next: figures.filter_map(next).collect(),
            widest,
            cost_range,
        }
    }
}

/// What goes in, and how far each nutrient may be off.
#[derive(Clone, Debug)]
pub(crate) struct Spread {
    pub inputs: Inputs,
    /// In report order.
    nutrients: Vec<(Uncertain, Range)>,
}

impl Spread {
    /// Works out every nutrient.
    pub fn new(inputs: Inputs) -> Self {
        let nutrients = Aimed::all().map(|aimed| nutrient(&inputs, aimed)).collect();
        Self { inputs, nutrients }
    }

    /// Where a nutrient may lie, mg/L.
    pub fn range(&self, aimed: Aimed) -> Range {
        self.nutrients[aimed.index()].1
    }

    /// Causes, and what to measure next; `meters` what is known of EC and pH, `costs` what each bag
    /// costs.
    pub fn sureness(&self, meters: &[Uncertain], costs: Option<&[(&str, f64)]>) -> Sureness {
        let cost = costs.map(|costs| cost(&self.inputs, costs));
        let nutrients = self.nutrients.iter().map(|(uncertain, _)| uncertain);
        let more = meters.iter().chain(cost.iter().map(|(cost, _)| cost));
        let cost_range = cost.as_ref().map(|(_, range)| *range);
        let names = self.inputs.names();
        Sureness::of(nutrients.chain(more), &names, self.widest(), cost_range)
    }

    /// The nutrient whose range is widest for its size.
    fn widest(&self) -> Option<&'static str> {
        let relative = self.nutrients.iter().map(|(uncertain, range)| {
            let middle = range.high - uncertain.half_width();
            (uncertain, uncertain.half_width() / middle)
        });
        let sized = relative.filter(|(_, relative)| *relative > 0.0);
        let widest = sized.max_by(|a, b| a.1.total_cmp(&b.1));
        widest.map(|(uncertain, _)| uncertain.figure)
    }
}

/// How far a nutrient may be off, and where it may lie.
fn nutrient(inputs: &Inputs, aimed: Aimed) -> (Uncertain, Range) {
    let forms = forms(aimed);
    let of = |holds: &Composition, nutrient: Nutrient| {
        let counts = forms.contains(&nutrient);
        Moves::direct(if counts { holds[nutrient] } else { 0.0 })
    };
    let effects = inputs.effects(
        &|at, nutrient| of(&inputs.bags[at].brings, nutrient),
        &|_| 0.0,
        &|nutrient| of(&inputs.water, nutrient),
    );
    let uncertain = Uncertain::new(aimed.key(), squares(&effects));
    let water = inputs.water.aimed(aimed);
    let brings = inputs.bags.iter().map(|bag| bag.brings.aimed(aimed));
    let added: f64 = brings.sum();
    let brought = |at: usize, end| inputs.brought(at, forms, end);
    let worst = |end| inputs.worst(&brought, water, end);
    let range = around(water + added, uncertain.half_width(), worst);
    (uncertain, range)
}

/// How far the cost of the bags may be off, in price per m3, and where it may lie.
fn cost(inputs: &Inputs, costs: &[(&str, f64)]) -> (Uncertain, Range) {
    let of_bag = |at: usize| {
        let id = &inputs.bags[at].fertilizer.id;
        let cost = costs.iter().find(|(known, _)| known == id);
        cost.map_or(0.0, |(_, cost)| *cost)
    };
    let effects = inputs.effects(&|_, _| Moves::default(), &of_bag, &|_| Moves::default());
    let uncertain = Uncertain::new(COST, squares(&effects));
    let all: f64 = (0..inputs.bags.len()).map(of_bag).sum();
    let price = inputs.stated.price_pct / 100.0;
    let at_end = |at: usize, end: End| of_bag(at) * end.of(price);
    let worst = |end| inputs.worst(&at_end, 0.0, end);
    let range = around(all, uncertain.half_width(), worst);
    (uncertain, range)
}

/// What to heed about the ranges of a mix.
pub(crate) fn caution(mix: &[Dose], stated: &Stated) -> Option<String> {
    let inputs = Inputs::new(mix, Composition::ZERO, None, stated);
    let silent = inputs.without_tolerance();
    (!silent.is_empty()).then(|| words::no_tolerance(&silent))
}

/// The figure of cost in reports.
pub const COST: &str = "cost";
/// The figure of EC in reports.
pub const EC: &str = "EC";
/// The figure of pH in reports.
pub const PH: &str = "pH";

/// The forms that a figure adds up.
fn forms(aimed: Aimed) -> &'static [Nutrient] {
    match aimed {
        Aimed::TotalN => &Nutrient::N_FORMS,
        Aimed::Form(nutrient) => std::slice::from_ref(&Nutrient::ALL[nutrient.index()]),
    }
}

/// Variances of effects on a figure that adds up: half-width²/3.
fn squares(effects: &[Effect]) -> impl Iterator<Item = (Cause, f64)> + '_ {
    effects
        .iter()
        .map(|effect| (effect.cause, effect.moves.direct.powi(2) / 3.0))
}

fn around(nominal: f64, half_width: f64, worst: impl Fn(End) -> f64) -> Range {
    Range {
        low: (nominal - half_width).max(0.0),
        high: nominal + half_width,
        worst_low: worst(End::Low),
        worst_high: worst(End::High),
    }
}
