//! The program of a purchase: the formulation's rows with hard bands, and a row for each fertilizer
//! that what is used is at home or bought.
//!
//! In the formulation's scale (t_j = k_j x_j, x_j in g/L of the season's mix, which is kg/m3):
//!
//! ```text
//! bands as in the formulation, no deviation beyond them
//! t_j + w_j - sum_s z_js = h_j      h_j = k_j (on hand kg) / (season m3),  w_j left over
//! z_js = n_js k_j (bag kg) / (season m3),  n_js whole
//! minimise sum_js price_js n_js
//! ```
//!
//! Any mix within the bands can be bought: whole bags are only more of it. So there is an answer
//! exactly when the program without whole numbers has one.

use super::request::{Bag, PurchaseRequest};
use crate::formulate::model::Model;
use crate::formulate::problem::{Figure, Problem};
use crate::lp::proof::Certificate;
use crate::lp::{BoxedLp, ON_BOUND, Simplex, Stuck};
use nalgebra::{DMatrix, DVector};
use saltwright_fertilizers::Problem as Fault;

/// Deviation beyond bands, in aims, from which they count as not kept.
pub(super) const KEPT: f64 = 1e-9;
/// Most bags of a size: as many as the engine counts in whole numbers without loss.
const MOST_BAGS: f64 = 1e6;
/// How often a bound of ours may be widened.
const MOST_WIDENINGS: usize = 20;

/// Bags of one size as a column.
#[derive(Clone, Copy, Debug)]
pub(super) struct Size {
    /// Position in the request's choice.
    pub candidate: usize,
    /// Position among the model's salts.
    pub salt: usize,
    pub bag: Bag,
    /// Column of the program.
    pub column: usize,
    /// What one bag is in the column's unit.
    pub step: f64,
}

/// The program of a purchase.
#[derive(Clone, Debug)]
pub(super) struct Program {
    pub lp: BoxedLp,
    /// Price, scaled by `unit`.
    pub cost: Vec<f64>,
    /// What one unit of scaled cost is in money.
    pub unit: f64,
    pub sizes: Vec<Size>,
    /// The point without fertilizers: values and closing columns.
    start: (Vec<f64>, Vec<usize>),
    /// Slacks beyond the bands, with the room they have while a first point is sought.
    beyond: Vec<(usize, f64)>,
    /// Bounds of fertilizers that are ours rather than the problem's.
    artificial: Vec<usize>,
}

/// The optimum without whole numbers.
#[derive(Clone, Debug)]
pub(super) struct Relaxed {
    /// The corner.
    pub simplex: Simplex,
    /// What no purchase can cost less than, in money, from the proof.
    pub bound: f64,
}

impl Program {
    /// The program with bounds wide enough for its own optimum, and that optimum; `None` where no
    /// mix keeps the bands.
    pub fn relaxed(
        request: &PurchaseRequest,
        problem: &Problem,
    ) -> Result<Option<(Self, Relaxed)>, Failure> {
        let mut room = 1.0;
        for _ in 0..MOST_WIDENINGS {
            let program = Self::new(request, problem, room)?;
            let Some(relaxed) = program.relax()? else {
                return Ok(None);
            };
            if !program.is_cramped(&relaxed.simplex.x) {
                return Ok(Some((program, relaxed)));
            }
            room *= 4.0;
        }
        Err(Failure::Stuck)
    }

    fn new(request: &PurchaseRequest, problem: &Problem, room: f64) -> Result<Self, Fault> {
        let model = Model::new(problem);
        let uses = uses(request, problem, &model, room);
        let (rows, width) = (model.lp.rows(), model.lp.columns());
        let sizes = sizes(request, &uses, width + uses.len())?;
        let columns = width + uses.len() + sizes.len();
        let mut lp = BoxedLp {
            a: DMatrix::zeros(rows + uses.len(), columns),
            b: DVector::zeros(rows + uses.len()),
            lower: vec![0.0; columns],
            upper: vec![0.0; columns],
        };
        lp.a.view_mut((0, 0), (rows, width)).copy_from(&model.lp.a);
        lp.b.rows_mut(0, rows).copy_from(&model.lp.b);
        lp.upper[..width].copy_from_slice(&model.lp.upper);
        for (salt, used) in uses.iter().enumerate() {
            let (row, left) = (rows + salt, width + salt);
            lp.upper[salt] = used.most;
            lp.a[(row, salt)] = 1.0;
            lp.a[(row, left)] = 1.0;
            lp.b[row] = used.at_home;
            lp.upper[left] = used.at_home;
        }
        let mut prices = vec![0.0; columns];
        for (size, count) in &sizes {
            let row = rows + size.salt;
            lp.a[(row, size.column)] = -1.0;
            lp.upper[size.column] = size.step * count;
            lp.upper[width + size.salt] += size.step * count;
            prices[size.column] = size.bag.price / size.step;
        }
        let (mut x, mut closing) = model.closing();
        x.resize(columns, 0.0);
        closing.extend(width..width + uses.len());
        let beyond = (0..rows).flat_map(|row| model.beyond(row));
        let beyond: Vec<(usize, f64)> = beyond.map(|j| (j, lp.upper[j])).collect();
        for (j, _) in &beyond {
            lp.upper[*j] = 0.0;
        }
        let unit = prices.iter().copied().fold(0.0, f64::max);
        let unit = if unit > 0.0 { unit } else { 1.0 };
        let artificial = (0..uses.len()).filter(|salt| uses[*salt].is_ours);
        Ok(Self {
            lp,
            cost: prices.into_iter().map(|price| price / unit).collect(),
            unit,
            sizes: sizes.into_iter().map(|(size, _)| size).collect(),
            start: (x, closing),
            beyond,
            artificial: artificial.collect(),
        })
    }

    /// A point within the bands whose bags lie between the given bounds; `None` where there is none.
    pub fn first(&self, lp: &BoxedLp) -> Result<Option<Simplex>, Stuck> {
        let mut wide = lp.clone();
        let mut outside = vec![0.0; wide.columns()];
        for (j, room) in &self.beyond {
            wide.upper[*j] = *room;
            outside[*j] = 1.0;
        }
        let (x, closing) = &self.start;
        let mut x = x.clone();
        for size in &self.sizes {
            x[size.column] = lp.lower[size.column];
        }
        let mut simplex = Simplex::from_unit_basis(&wide, closing, x)?;
        simplex.optimise(&wide, &outside)?;
        Ok((simplex.objective(&outside) <= KEPT).then_some(simplex))
    }

    /// The cheapest point without whole numbers.
    fn relax(&self) -> Result<Option<Relaxed>, Stuck> {
        let Some(mut simplex) = self.first(&self.lp)? else {
            return Ok(None);
        };
        simplex.optimise(&self.lp, &self.cost)?;
        let proof = Certificate::of(&self.lp, &self.cost, &simplex.x, &simplex.y);
        if !proof.holds() {
            return Err(Stuck::Outside);
        }
        Ok(Some(Relaxed {
            bound: ((proof.objective - proof.gap) * self.unit).max(0.0),
            simplex,
        }))
    }

    /// True where a fertilizer ends at a bound of ours.
    pub fn is_cramped(&self, x: &[f64]) -> bool {
        let near = |j: &usize| self.lp.upper[*j] - x[*j] <= ON_BOUND * self.lp.upper[*j];
        self.artificial.iter().any(near)
    }

    /// Whole bags of each size in a point, to the nearest.
    pub fn bags(&self, x: &[f64]) -> Vec<u32> {
        let count = |size: &Size| (x[size.column] / size.step).round().max(0.0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most MOST_BAGS
        self.sizes.iter().map(|size| count(size) as u32).collect()
    }

    /// True where a mix within the bands can be made from so many bags.
    pub fn serves(&self, bags: &[u32]) -> Result<bool, Stuck> {
        let mut bought = self.lp.clone();
        for (size, bags) in self.sizes.iter().zip(bags) {
            let amount = f64::from(*bags) * size.step;
            bought.lower[size.column] = amount;
            bought.upper[size.column] = amount;
        }
        Ok(self.first(&bought)?.is_some())
    }

    /// What so many bags cost.
    pub fn price(&self, bags: &[u32]) -> f64 {
        let rows = self.sizes.iter().zip(bags);
        rows.map(|(size, bags)| size.bag.price * f64::from(*bags))
            .sum()
    }

    /// Whole bags that hold at least what a point without whole numbers buys.
    ///
    /// For each fertilizer full bags of the size that is cheapest by the kilogram, then the cheapest
    /// single size for the rest.
    pub fn rounded_up(&self, x: &[f64]) -> Vec<u32> {
        let mut bags = vec![0; self.sizes.len()];
        let mut salts: Vec<usize> = self.sizes.iter().map(|size| size.salt).collect();
        salts.dedup();
        for salt in salts {
            let all = || {
                self.sizes
                    .iter()
                    .enumerate()
                    .filter(|(_, s)| s.salt == salt)
            };
            let need: f64 = all().map(|(_, size)| x[size.column]).sum();
            let by_kg = |size: &Size| size.bag.price / size.step;
            let best = all().min_by(|a, b| by_kg(a.1).total_cmp(&by_kg(b.1)));
            let Some((best, size)) = best else { continue };
            // Rounding of the point is no reason for another bag.
            let full = (need / size.step * (1.0 + ON_BOUND) + ON_BOUND).floor();
            let rest = need - full * size.step;
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // below MOST_BAGS
            {
                bags[best] = full as u32;
            }
            if rest > ON_BOUND * need {
                let count = |size: &Size| (rest / size.step).ceil().max(1.0);
                let price = |size: &Size| count(size) * size.bag.price;
                let last = all().min_by(|a, b| price(a.1).total_cmp(&price(b.1)));
                if let Some((last, size)) = last {
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                    {
                        bags[last] += count(size) as u32;
                    }
                }
            }
        }
        bags
    }
}

/// Why there is no program, or no optimum of it.
#[derive(Clone, Debug)]
pub(super) enum Failure {
    /// The pivots ended without an answer.
    Stuck,
    /// It cannot be asked so.
    Fault(Fault),
}

impl From<Stuck> for Failure {
    fn from(_: Stuck) -> Self {
        Self::Stuck
    }
}

impl From<Fault> for Failure {
    fn from(fault: Fault) -> Self {
        Self::Fault(fault)
    }
}

/// A fertilizer of the model, in its scale.
struct Use {
    /// Position in the request's choice.
    candidate: usize,
    /// What a kilogram is.
    per_kg: f64,
    /// The most that any mix within the bands can use.
    most: f64,
    /// True where that is a bound of ours, because no maximum limits it.
    is_ours: bool,
    /// What is on hand, as far as it can be used.
    at_home: f64,
}

fn uses(request: &PurchaseRequest, problem: &Problem, model: &Model, room: f64) -> Vec<Use> {
    let salts = model.salts.iter().zip(&model.column_scale).enumerate();
    let uses = salts.map(|(salt, (column, scale))| {
        let candidate = problem.columns[*column].candidate;
        // kg/m3 is g/L.
        let per_kg = scale / request.season_m3;
        let (most, is_ours) = most_used(model, problem, salt, room);
        let on_hand_kg = request.supplies[candidate].on_hand_kg;
        Use {
            candidate,
            per_kg,
            most,
            is_ours,
            at_home: (per_kg * on_hand_kg).min(most),
        }
    });
    uses.collect()
}

/// The most of a fertilizer, in its scale, and true where it is a bound of ours.
fn most_used(model: &Model, problem: &Problem, salt: usize, room: f64) -> (f64, bool) {
    let mut most = f64::INFINITY;
    for (i, row) in problem.rows.iter().enumerate() {
        // What one acid brings a base can take away again.
        let one_way = || (0..model.salts.len()).all(|j| model.lp.a[(i, j)] >= 0.0);
        let share = model.lp.a[(i, salt)];
        if let (Some(max), true) = (row.max, share > 0.0)
            && (row.figure != Figure::Acidity || one_way())
        {
            let limit = (max - row.present) / model.row_scale[i] / share;
            // A hair wider, so that the row itself is the limit.
            most = most.min(limit.max(0.0) * (1.0 + KEPT));
        }
    }
    let at_most = problem.columns[model.salts[salt]].at_most_g_per_l;
    if let Some(at_most) = at_most {
        most = most.min(at_most * model.column_scale[salt]);
    }
    if most.is_finite() {
        (most, false)
    } else {
        (model.lp.upper[salt] * room, true)
    }
}

/// The columns of bags from `first` on, each with the most bags that could be of use; sizes of which
/// none is of use are left out.
fn sizes(request: &PurchaseRequest, uses: &[Use], first: usize) -> Result<Vec<(Size, f64)>, Fault> {
    let mut sizes = Vec::new();
    for (salt, used) in uses.iter().enumerate() {
        for bag in &request.supplies[used.candidate].sizes {
            let step = used.per_kg * bag.kg;
            let most = ((used.most - used.at_home) / step).ceil();
            if most > MOST_BAGS {
                return Err(Fault::TooLarge {
                    value: most,
                    high: MOST_BAGS,
                    unit: " bags of one size",
                });
            }
            if most > 0.0 {
                let size = Size {
                    candidate: used.candidate,
                    salt,
                    bag: *bag,
                    column: first + sizes.len(),
                    step,
                };
                sizes.push((size, most));
            }
        }
    }
    Ok(sizes)
}
