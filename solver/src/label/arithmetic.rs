//! Can these ingredients give these numbers at all?
//!
//! Over all mixtures x of the ingredients (shares of the mass, summing to one; an inert filler may
//! make up the rest) with every assay within its tolerance:
//!
//! ```text
//! low_i <= content_i(x) <= high_i   for every figure i of the label
//! content_f = sum_j a_jf x_j,  a_jf within a(1 - t_j) .. a(1 + t_j), each assay on its own
//! ```
//!
//! as a linear program whose every row has slacks of its own. If it cannot be met, the row prices
//! weigh the label's figures into one index that it promises and no ingredient reaches: a proof
//! anyone can check with the assays alone ([`Certificate`]).

use crate::lp::{BoxedLp, Simplex, Stuck};
use nalgebra::{DMatrix, DVector};
use saltwright_fertilizers::guarantee::Printed;
use saltwright_fertilizers::{Aimed, Fertilizer, Nutrient};
use std::sync::Arc;

/// A miss, relative to the figure, that counts as none.
const KEPT: f64 = 1e-9;
/// Row prices below this are rounding.
const SUPPORT: f64 = 1e-9;
/// Bounds that only box the program lie this much further than anything can come, so that no price
/// settles on them.
const ROOM: f64 = 2.0;
/// A share of the mass below which nothing is in the mixture.
const NOTHING: f64 = 1e-12;

/// An ingredient and how far its assays may be off.
#[derive(Clone, Debug)]
pub struct Ingredient {
    /// What.
    pub fertilizer: Arc<Fertilizer>,
    /// Relative half-width of each assay, a fraction.
    pub tolerance: f64,
    /// How much stronger or weaker than its assay the whole of it may be (drier or damper), a
    /// fraction.
    pub strength: f64,
}

impl Ingredient {
    /// With the tolerance that its own row states.
    pub fn of(fertilizer: Arc<Fertilizer>) -> Self {
        let tolerance = fertilizer.tolerance_pct.unwrap_or(0.0) / 100.0;
        Self {
            fertilizer,
            tolerance,
            strength: 0.0,
        }
    }

    /// With assays taken as they stand.
    fn exact(&self) -> Self {
        Self {
            fertilizer: Arc::clone(&self.fertilizer),
            tolerance: 0.0,
            strength: 0.0,
        }
    }

    /// With its tolerance taken as one of the whole: all of its assays move together.
    fn as_a_whole(&self) -> Self {
        Self {
            strength: self.tolerance,
            ..self.exact()
        }
    }

    /// The least and the most of a form, percent.
    fn assay(&self, form: Nutrient) -> (f64, f64) {
        let assay = self.fertilizer.assay_pct[form];
        (
            assay * (1.0 - self.tolerance),
            assay * (1.0 + self.tolerance),
        )
    }
}

/// One figure that a label promises, percent of the element.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// The key as printed.
    pub printed: Printed,
    /// What it counts.
    pub aimed: Aimed,
    /// The figure itself.
    pub declared_pct: f64,
    /// The least that keeps the promise.
    pub low_pct: f64,
    /// The most; none where the label promises a minimum.
    pub high_pct: Option<f64>,
    /// True where a shortfall counts in the label's sum of shortfalls.
    pub in_sum: bool,
}

/// The forms that a figure adds up.
pub(crate) fn forms(aimed: Aimed) -> Vec<Nutrient> {
    match aimed {
        Aimed::Form(form) => vec![form],
        Aimed::TotalN => Nutrient::N_FORMS.to_vec(),
    }
}

/// Everything that a mixture must keep.
#[derive(Clone, Debug)]
pub struct Mixtures {
    /// What it may be made of.
    pub ingredients: Vec<Ingredient>,
    /// The figures of the label.
    pub demands: Vec<Demand>,
    /// True where an inert filler may make up the rest.
    pub filler: bool,
    /// The most that the shortfalls of the figures marked so may sum to, percentage points as
    /// printed.
    pub most_sum: Option<f64>,
}

/// Which end of a promise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The least.
    Low,
    /// The most.
    High,
}

/// A mixture: percent of each ingredient, and of filler.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixture {
    /// In the order of the ingredients.
    pub pct: Vec<f64>,
    /// The inert rest.
    pub filler_pct: f64,
    /// True where it keeps the label only with assays at the ends of their tolerances.
    pub at_tolerance: bool,
}

/// One promise of a contradiction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Broken {
    /// Position among the demands.
    pub demand: usize,
    /// Which end of it.
    pub end: End,
    /// How far the figure comes while all other promises are kept, percent of the element; none
    /// where the others alone contradict each other.
    pub reachable_pct: Option<f64>,
}

/// Weights on the label's figures that prove it impossible.
///
/// A mixture's index is the sum of weight times content over the figures. The promises ask for at
/// least `asked`; each ingredient, whatever its share, brings at most `most` for a whole kilogram
/// of it, and so no mixture brings more.
#[derive(Clone, Debug, PartialEq)]
pub struct Certificate {
    /// Weight of each demand, index points per percent of the element; below zero where the
    /// promise is a maximum.
    pub weights: Vec<f64>,
    /// The least index that keeps the promises.
    pub asked: f64,
    /// The highest index of any ingredient, or of the filler (0).
    pub most: f64,
    /// The ingredient that has it; none for the filler.
    pub richest: Option<usize>,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// One mixture that keeps every promise.
    Possible(Mixture),
    /// A smallest set of promises that no mixture keeps, and the proof.
    Impossible {
        /// Drop any one of them and the others can be kept.
        broken: Vec<Broken>,
        /// Checked before it is handed on.
        certificate: Certificate,
    },
}

impl Mixtures {
    /// The same with every ingredient stronger or weaker as a whole, so that its ions stay in
    /// proportion; shares are those of an ingredient of nominal strength.
    pub(crate) fn of_wholes(&self) -> Self {
        Self {
            ingredients: self
                .ingredients
                .iter()
                .map(Ingredient::as_a_whole)
                .collect(),
            ..self.clone()
        }
    }

    /// Decides.
    ///
    /// # Errors
    /// [`Stuck`] where neither a mixture nor a proof that holds was found.
    pub(crate) fn judge(&self) -> Result<Verdict, Stuck> {
        let exact = Self {
            ingredients: self.ingredients.iter().map(Ingredient::exact).collect(),
            ..self.clone()
        };
        if let Some(region) = Region::new(&exact)? {
            return region.plainest(false).map(Verdict::Possible);
        }
        match Region::new(self)? {
            Some(region) => region.plainest(true).map(Verdict::Possible),
            None => self.contradiction(),
        }
    }

    /// A smallest set of promises that cannot be kept together.
    fn contradiction(&self) -> Result<Verdict, Stuck> {
        let model = Model::new(self);
        let ends = self.ends();
        let (_, simplex) = model.miss(&ends)?;
        let mut broken: Vec<(usize, End)> = ends
            .iter()
            .copied()
            .filter(|(demand, end)| {
                let price = simplex.y[model.row_of_demand(*demand)];
                match end {
                    End::Low => price > SUPPORT,
                    End::High => price < -SUPPORT,
                }
            })
            .collect();
        // Micronutrients are tried first, so that what remains speaks of macronutrients.
        let mut order = broken.clone();
        order.sort_by_key(|(demand, _)| match self.demands[*demand].aimed {
            Aimed::Form(form) => !form.is_micro(),
            Aimed::TotalN => true,
        });
        for tried in order {
            let rest: Vec<_> = broken.iter().copied().filter(|b| *b != tried).collect();
            if model.miss(&rest)?.0 > KEPT {
                broken = rest;
            }
        }
        let (_, simplex) = model.miss(&broken)?;
        let weights: Vec<f64> = (0..self.demands.len())
            .map(|demand| {
                let price = simplex.y[model.row_of_demand(demand)] / model.scale[demand];
                let named = |end| broken.contains(&(demand, end));
                if (price > 0.0 && named(End::Low)) || (price < 0.0 && named(End::High)) {
                    price
                } else {
                    0.0
                }
            })
            .collect();
        let certificate = self.certificate(weights);
        if !certificate.holds() {
            return Err(Stuck::Outside);
        }
        let reached = broken
            .iter()
            .map(|(demand, end)| {
                Ok(Broken {
                    demand: *demand,
                    end: *end,
                    reachable_pct: self.reachable(*demand, *end)?,
                })
            })
            .collect::<Result<_, Stuck>>()?;
        Ok(Verdict::Impossible {
            broken: reached,
            certificate,
        })
    }

    fn ends(&self) -> Vec<(usize, End)> {
        let each = |(at, demand): (usize, &Demand)| {
            let high = demand.high_pct.map(|_| (at, End::High));
            std::iter::once((at, End::Low)).chain(high)
        };
        self.demands.iter().enumerate().flat_map(each).collect()
    }

    /// How far a figure comes while every other promise is kept.
    fn reachable(&self, demand: usize, end: End) -> Result<Option<f64>, Stuck> {
        let mut others = self.clone();
        let asked = others.demands.remove(demand);
        let Some(region) = Region::new(&others)? else {
            return Ok(None);
        };
        let (low, high) = region.content(asked.aimed)?;
        Ok(Some(match end {
            End::Low => high,
            End::High => low,
        }))
    }

    /// The index that these weights make, from the data alone.
    pub fn certificate(&self, weights: Vec<f64>) -> Certificate {
        let of_form = |form: Nutrient| -> f64 {
            let counts = self.demands.iter().zip(&weights);
            counts
                .filter(|(demand, _)| forms(demand.aimed).contains(&form))
                .map(|(_, weight)| weight)
                .sum()
        };
        let by_form: Vec<(Nutrient, f64)> = Nutrient::ALL
            .into_iter()
            .map(|form| (form, of_form(form)))
            .collect();
        let worth = |ingredient: &Ingredient| -> f64 {
            let brings = by_form.iter().map(|(form, weight)| {
                let (least, most) = ingredient.assay(*form);
                (weight * least).max(weight * most)
            });
            brings.sum()
        };
        let (mut most, mut richest) = if self.filler {
            (0.0, None)
        } else {
            (f64::NEG_INFINITY, None)
        };
        for (at, ingredient) in self.ingredients.iter().enumerate() {
            let worth = worth(ingredient);
            if worth > most {
                (most, richest) = (worth, Some(at));
            }
        }
        Certificate {
            asked: self.least_index(&weights),
            weights,
            most,
            richest,
        }
    }

    /// The least index among all contents that keep the promises.
    fn least_index(&self, weights: &[f64]) -> f64 {
        let mut index = 0.0;
        // Shortfalls allowed within the sum: what a printed point saves, and how many there are.
        let mut savings: Vec<(f64, f64)> = Vec::new();
        for (demand, weight) in self.demands.iter().zip(weights) {
            if *weight < 0.0 {
                index += weight * demand.high_pct.unwrap_or(100.0);
            } else if demand.in_sum && self.most_sum.is_some() {
                let factor = demand.printed.factor;
                index += weight * demand.declared_pct;
                let points = (demand.declared_pct - demand.low_pct) / factor;
                savings.push((weight * factor, points));
            } else {
                index += weight * demand.low_pct;
            }
        }
        let mut left = self.most_sum.unwrap_or(0.0);
        savings.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (per_point, points) in savings {
            let used = points.min(left);
            index -= per_point * used;
            left -= used;
        }
        index
    }
}

impl Certificate {
    /// True where it proves what it claims.
    pub fn holds(&self) -> bool {
        self.asked > self.most
    }
}

/// The linear program of [`Mixtures`]: `A z = b` with every variable boxed.
///
/// Columns: ingredients (as `k_j` x share), filler, missing mass, then four slacks a figure (short
/// within, over within, short beyond, over beyond), two for each form whose assays have room, one
/// for the sum of shortfalls. Every row is divided by its figure.
struct Model<'a> {
    of: &'a Mixtures,
    lp: BoxedLp,
    /// k_j: a share of one is k_j in the program.
    column: Vec<f64>,
    /// Figure that each demand's row is divided by, percent of the element.
    scale: Vec<f64>,
    /// Forms with a row of their own, because their assays have room.
    loose: Vec<Nutrient>,
}

/// The slacks of a figure, as offsets.
#[derive(Clone, Copy)]
enum Slack {
    ShortWithin = 0,
    OverWithin = 1,
    ShortBeyond = 2,
    OverBeyond = 3,
}

impl<'a> Model<'a> {
    fn new(of: &'a Mixtures) -> Self {
        let scale: Vec<f64> = of.demands.iter().map(|d| d.declared_pct).collect();
        let loose: Vec<Nutrient> = Nutrient::ALL
            .into_iter()
            .filter(|form| {
                let asked = of.demands.iter().any(|d| forms(d.aimed).contains(form));
                let room =
                    |i: &Ingredient| i.tolerance > 0.0 && i.fertilizer.assay_pct[*form] > 0.0;
                asked && of.ingredients.iter().any(room)
            })
            .collect();
        let column: Vec<f64> = of
            .ingredients
            .iter()
            .map(|ingredient| {
                let brings = of.demands.iter().zip(&scale);
                let share = brings.map(|(demand, scale)| most(ingredient, demand.aimed) / scale);
                share.fold(1.0, f64::max)
            })
            .collect();
        let n = of.ingredients.len();
        let width = n + 2 + 4 * of.demands.len() + 2 * loose.len() + 1;
        let height = 1 + of.demands.len() + loose.len() + usize::from(of.most_sum.is_some());
        let lp = BoxedLp {
            a: DMatrix::zeros(height, width),
            b: DVector::zeros(height),
            lower: vec![0.0; width],
            upper: vec![0.0; width],
        };
        let mut model = Self {
            of,
            lp,
            column,
            scale,
            loose,
        };
        model.fill_mass();
        for demand in 0..of.demands.len() {
            model.fill_demand(demand);
        }
        for at in 0..model.loose.len() {
            model.fill_loose(at);
        }
        model.fill_sum();
        model
    }

    fn row_of_demand(&self, demand: usize) -> usize {
        let _ = self;
        1 + demand
    }

    /// What makes up the mass: filler, or the little that damper ingredients take up.
    fn rest(&self) -> usize {
        self.of.ingredients.len()
    }

    /// Mass that is missing.
    fn missing(&self) -> usize {
        self.rest() + 1
    }

    fn slack(&self, demand: usize, slack: Slack) -> usize {
        self.rest() + 2 + 4 * demand + slack as usize
    }

    /// What the assays of a form fall short of the most they may be; and what is left of that room.
    fn unused(&self, at: usize) -> (usize, usize) {
        let first = self.rest() + 2 + 4 * self.of.demands.len() + 2 * at;
        (first, first + 1)
    }

    /// A form's room is counted in the figure of the first demand that it is part of.
    fn form_scale(&self, form: Nutrient) -> f64 {
        let demands = self.of.demands.iter().zip(&self.scale);
        demands
            .filter(|(demand, _)| forms(demand.aimed).contains(&form))
            .map(|(_, scale)| *scale)
            .fold(f64::INFINITY, f64::min)
    }

    fn fill_mass(&mut self) {
        let (rest, missing) = (self.rest(), self.missing());
        for (j, k) in self.column.iter().enumerate() {
            self.lp.a[(0, j)] = 1.0 / (k * (1.0 + self.of.ingredients[j].strength));
            self.lp.upper[j] = ROOM * k;
        }
        self.lp.a[(0, rest)] = 1.0;
        self.lp.a[(0, missing)] = 1.0;
        self.lp.b[0] = 1.0;
        self.lp.upper[rest] = if self.of.filler {
            ROOM
        } else {
            slack_of_wholes(&self.of.ingredients)
        };
        self.lp.upper[missing] = ROOM;
    }

    fn fill_demand(&mut self, at: usize) {
        let demand = self.of.demands[at];
        let (row, scale) = (self.row_of_demand(at), self.scale[at]);
        for (j, ingredient) in self.of.ingredients.iter().enumerate() {
            self.lp.a[(row, j)] = most(ingredient, demand.aimed) / (scale * self.column[j]);
        }
        for (form_at, form) in self.loose.clone().into_iter().enumerate() {
            if forms(demand.aimed).contains(&form) {
                let (unused, _) = self.unused(form_at);
                self.lp.a[(row, unused)] = -self.form_scale(form) / scale;
            }
        }
        self.lp.b[row] = demand.declared_pct / scale;
        let ingredients = self.of.ingredients.iter();
        let highest = ingredients
            .map(|i| most(i, demand.aimed))
            .fold(0.0, f64::max);
        let room = ROOM * highest.max(demand.declared_pct) / scale;
        let over = demand
            .high_pct
            .map_or(room, |high| ((high - demand.declared_pct) / scale).max(0.0));
        let sides = [
            (
                Slack::ShortWithin,
                1.0,
                (demand.declared_pct - demand.low_pct) / scale,
            ),
            (Slack::OverWithin, -1.0, over),
            (Slack::ShortBeyond, 1.0, ROOM),
            (Slack::OverBeyond, -1.0, room),
        ];
        for (slack, sign, upper) in sides {
            let column = self.slack(at, slack);
            self.lp.a[(row, column)] = sign;
            self.lp.upper[column] = upper;
        }
    }

    fn fill_loose(&mut self, at: usize) {
        let form = self.loose[at];
        let row = 1 + self.of.demands.len() + at;
        let scale = self.form_scale(form);
        let mut widest: f64 = 0.0;
        for (j, ingredient) in self.of.ingredients.iter().enumerate() {
            let (least, most) = ingredient.assay(form);
            widest = widest.max(most - least);
            self.lp.a[(row, j)] = (most - least) / (scale * self.column[j]);
        }
        let (unused, left) = self.unused(at);
        for column in [unused, left] {
            self.lp.a[(row, column)] = -1.0;
            self.lp.upper[column] = ROOM * widest / scale;
        }
    }

    fn fill_sum(&mut self) {
        let Some(limit) = self.of.most_sum else {
            return;
        };
        let (row, last) = (self.lp.rows() - 1, self.lp.columns() - 1);
        for (at, demand) in self.of.demands.iter().enumerate() {
            if demand.in_sum {
                let column = self.slack(at, Slack::ShortWithin);
                self.lp.a[(row, column)] = self.scale[at] / demand.printed.factor;
            }
        }
        self.lp.a[(row, last)] = 1.0;
        self.lp.b[row] = limit;
        self.lp.upper[last] = ROOM * limit;
    }

    /// Nothing but filler (or nothing at all), each row closed by its own slack: always inside.
    fn nothing(&self) -> Result<Simplex, Stuck> {
        let demands = (0..self.of.demands.len()).map(|at| self.slack(at, Slack::ShortBeyond));
        let loose = (0..self.loose.len()).map(|at| self.unused(at).1);
        let sum = self.of.most_sum.map(|_| self.lp.columns() - 1);
        let closing: Vec<usize> = std::iter::once(self.missing())
            .chain(demands)
            .chain(loose)
            .chain(sum)
            .collect();
        Simplex::from_unit_basis(&self.lp, &closing, self.lp.lower.clone())
    }

    /// The least sum of misses beyond the given ends, relative to their figures; missing mass
    /// always counts.
    fn miss(&self, ends: &[(usize, End)]) -> Result<(f64, Simplex), Stuck> {
        let mut cost = vec![0.0; self.lp.columns()];
        cost[self.missing()] = 1.0;
        for (demand, end) in ends {
            let slack = match end {
                End::Low => Slack::ShortBeyond,
                End::High => Slack::OverBeyond,
            };
            cost[self.slack(*demand, slack)] = 1.0;
        }
        let mut simplex = self.nothing()?;
        simplex.optimise(&self.lp, &cost)?;
        Ok((simplex.objective(&cost), simplex))
    }
}

/// The share of the mass that damper ingredients can take up without bringing more.
fn slack_of_wholes(ingredients: &[Ingredient]) -> f64 {
    let widest = ingredients.iter().map(|i| i.strength).fold(0.0, f64::max);
    1.0 - (1.0 - widest) / (1.0 + widest)
}

/// The most of a figure that an ingredient may hold, percent.
fn most(ingredient: &Ingredient, aimed: Aimed) -> f64 {
    let forms = forms(aimed);
    forms.iter().map(|form| ingredient.assay(*form).1).sum()
}

/// All mixtures that keep a label, and a corner of them to start from.
pub(crate) struct Region<'a> {
    model: Model<'a>,
    corner: Simplex,
}

impl<'a> Region<'a> {
    /// `None` where there are none.
    pub fn new(of: &'a Mixtures) -> Result<Option<Self>, Stuck> {
        let mut model = Model::new(of);
        let (miss, corner) = model.miss(&of.ends())?;
        if miss > KEPT {
            return Ok(None);
        }
        let beyond = (0..of.demands.len())
            .flat_map(|at| [Slack::ShortBeyond, Slack::OverBeyond].map(|slack| (at, slack)));
        for (at, slack) in beyond {
            let column = model.slack(at, slack);
            model.lp.upper[column] = 0.0;
        }
        let missing = model.missing();
        model.lp.upper[missing] = 0.0;
        Ok(Some(Self { model, corner }))
    }

    /// The mixture nearest to the printed figures; of those the one with the least mass of
    /// ingredients.
    fn plainest(&self, at_tolerance: bool) -> Result<Mixture, Stuck> {
        let (model, of) = (&self.model, self.model.of);
        let mut lp = model.lp.clone();
        let mut off = vec![0.0; lp.columns()];
        for demand in 0..of.demands.len() {
            off[model.slack(demand, Slack::ShortWithin)] = 1.0;
            off[model.slack(demand, Slack::OverWithin)] = 1.0;
        }
        let mut simplex = self.corner.clone();
        simplex.optimise(&lp, &off)?;
        lp.hold(&simplex);
        let mut mass = vec![0.0; lp.columns()];
        for (cost, k) in mass.iter_mut().zip(&model.column) {
            *cost = 1.0 / k;
        }
        simplex.optimise(&lp, &mass)?;
        Ok(Mixture {
            at_tolerance,
            ..self.mixture(&simplex)
        })
    }

    /// Any of them.
    pub fn any(&self) -> Mixture {
        self.mixture(&self.corner)
    }

    fn mixture(&self, simplex: &Simplex) -> Mixture {
        let shares = simplex.x.iter().zip(&self.model.column);
        let pct: Vec<f64> = shares
            .map(|(x, k)| {
                if *x / k <= NOTHING {
                    0.0
                } else {
                    100.0 * x / k
                }
            })
            .collect();
        let filler_pct = (100.0 - pct.iter().sum::<f64>()).max(0.0);
        Mixture {
            pct,
            filler_pct,
            at_tolerance: false,
        }
    }

    /// The mixture of the greatest sum of `per_share` times share.
    pub fn most_of(&self, per_share: &[f64]) -> Result<(f64, Mixture), Stuck> {
        let lp = &self.model.lp;
        let mut cost = vec![0.0; lp.columns()];
        for ((cost, worth), k) in cost.iter_mut().zip(per_share).zip(&self.model.column) {
            *cost = -worth / k;
        }
        let (value, simplex) = self.least(cost)?;
        Ok((-value, self.mixture(&simplex)))
    }

    /// The least and the most of a figure, percent of the element.
    pub fn content(&self, aimed: Aimed) -> Result<(f64, f64), Stuck> {
        Ok((self.end(aimed, false)?, self.end(aimed, true)?))
    }

    fn end(&self, aimed: Aimed, highest: bool) -> Result<f64, Stuck> {
        let model = &self.model;
        let mut content = vec![0.0; model.lp.columns()];
        for form in forms(aimed) {
            let loose = model.loose.iter().position(|known| *known == form);
            for (j, ingredient) in model.of.ingredients.iter().enumerate() {
                let (least, most) = ingredient.assay(form);
                // Where the form has a row, the row's slack takes off what is not used.
                let pct = if highest || loose.is_some() {
                    most
                } else {
                    least
                };
                content[j] += pct / model.column[j];
            }
            if let Some(at) = loose {
                content[model.unused(at).0] = -model.form_scale(form);
            }
        }
        let sign = if highest { -1.0 } else { 1.0 };
        let cost = content.into_iter().map(|pct| sign * pct).collect();
        let (value, _) = self.least(cost)?;
        Ok((sign * value).max(0.0))
    }

    /// The least of a cost, which is scaled to one for the pivots.
    fn least(&self, mut cost: Vec<f64>) -> Result<(f64, Simplex), Stuck> {
        let unit = cost.iter().map(|c| c.abs()).fold(0.0, f64::max);
        if unit > 0.0 {
            cost.iter_mut().for_each(|c| *c /= unit);
        }
        let mut simplex = self.corner.clone();
        simplex.optimise(&self.model.lp, &cost)?;
        Ok((simplex.objective(&cost) * unit, simplex))
    }
}
