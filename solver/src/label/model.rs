//! The linear program of the mixtures of a label.

use super::arithmetic::{End, Ingredient, Mixtures, forms, most};
use crate::formulate::engine::{Minilp, guarded};
use crate::lp::proof::Certificate;
use crate::lp::{BoxedLp, Simplex, Stuck};
use nalgebra::{DMatrix, DVector};
use saltwright_fertilizers::Nutrient;

/// Smallest figure that a row is divided by, percent: a gram in a tonne. A miss is then told to
/// 1e-11 %.
const LEAST_SCALE: f64 = 1e-4;
/// Bounds that only box the program lie this much further than anything can come, so that no price
/// settles on them.
const ROOM: f64 = 2.0;

/// The linear program of [`Mixtures`]: `A z = b` with every variable boxed.
///
/// Columns: ingredients (as `k_j` x share), filler, missing mass, then four slacks a figure (short
/// within, over within, short beyond, over beyond), two for each form whose assays have room, one
/// for the sum of shortfalls. Every row is divided by its figure.
pub(super) struct Model<'a> {
    pub of: &'a Mixtures,
    pub lp: BoxedLp,
    /// k_j: a share of one is k_j in the program. The root of the most that a figure could get,
    /// so that neither the mass nor a trace is lost beside the other.
    pub column: Vec<f64>,
    /// Figure that each demand's row is divided by, percent of the element.
    pub scale: Vec<f64>,
    /// Forms with a row of their own, because their assays have room.
    pub loose: Vec<Nutrient>,
}

/// Largest violation of a row, and gap to the bound that the prices prove, with which an optimum is
/// believed; both relative to a figure of the label.
const BELIEVED: f64 = 1e-6;

/// The optimum of a cost, from a point that keeps every row: by our pivots, and where those do not
/// come with a proof, from what the engine proposes.
pub(super) fn optimum(lp: &BoxedLp, cost: &[f64], start: &Simplex) -> Result<Simplex, Stuck> {
    let proven = |mut simplex: Simplex| {
        simplex.optimise(lp, cost)?;
        let proof = Certificate::of(lp, cost, &simplex.x, &simplex.y);
        let size = proof.objective.abs().max(1.0);
        if proof.primal_residual <= BELIEVED && proof.gap.abs() <= BELIEVED * size {
            Ok(simplex)
        } else {
            Err(Stuck::Outside)
        }
    };
    proven(start.clone()).or_else(|_| {
        let point = guarded(&Minilp, lp, cost).map_err(|_| Stuck::Outside)?;
        proven(Simplex::from_point(lp, &point)?)
    })
}

/// The row of a figure; the first row is the mass.
pub(super) const fn row_of_demand(demand: usize) -> usize {
    1 + demand
}

/// The slacks of a figure, as offsets.
#[derive(Clone, Copy)]
pub(super) enum Slack {
    ShortWithin = 0,
    OverWithin = 1,
    ShortBeyond = 2,
    OverBeyond = 3,
}

impl<'a> Model<'a> {
    pub fn new(of: &'a Mixtures) -> Self {
        let scale: Vec<f64> = of
            .demands
            .iter()
            .map(|demand| demand.declared_pct.max(LEAST_SCALE))
            .collect();
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
                share.fold(1.0, f64::max).sqrt()
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

    /// What makes up the mass: filler, or the little that damper ingredients take up.
    fn rest(&self) -> usize {
        self.of.ingredients.len()
    }

    /// Mass that is missing.
    pub fn missing(&self) -> usize {
        self.rest() + 1
    }

    pub fn slack(&self, demand: usize, slack: Slack) -> usize {
        self.rest() + 2 + 4 * demand + slack as usize
    }

    /// What the assays of a form fall short of the most they may be; and what is left of that room.
    pub fn unused(&self, at: usize) -> (usize, usize) {
        let first = self.rest() + 2 + 4 * self.of.demands.len() + 2 * at;
        (first, first + 1)
    }

    /// A form's room is counted in the figure of the first demand that it is part of.
    pub fn form_scale(&self, form: Nutrient) -> f64 {
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
        let (row, scale) = (row_of_demand(at), self.scale[at]);
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
            .most_pct()
            .map_or(room, |high| ((high - demand.declared_pct) / scale).max(0.0));
        let sides = [
            (
                Slack::ShortWithin,
                1.0,
                (demand.declared_pct - demand.least_pct()) / scale,
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
    pub fn miss(&self, ends: &[(usize, End)]) -> Result<(f64, Simplex), Stuck> {
        let mut cost = vec![0.0; self.lp.columns()];
        cost[self.missing()] = 1.0;
        for (demand, end) in ends {
            let slack = match end {
                End::Low => Slack::ShortBeyond,
                End::High => Slack::OverBeyond,
            };
            cost[self.slack(*demand, slack)] = 1.0;
        }
        let simplex = optimum(&self.lp, &cost, &self.nothing()?)?;
        Ok((simplex.objective(&cost), simplex))
    }
}

/// The share of the mass that damper ingredients can take up without bringing more.
fn slack_of_wholes(ingredients: &[Ingredient]) -> f64 {
    let widest = ingredients.iter().map(|i| i.strength).fold(0.0, f64::max);
    1.0 - (1.0 - widest) / (1.0 + widest)
}
