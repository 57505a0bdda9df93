//! Why a recipe cannot be met: a smallest set of bands of which any one, dropped, makes the rest
//! possible.
//!
//! The multipliers of the elastic program are a Farkas proof: they weigh the bands into one that
//! no mix can keep. Their support is a conflict; a deletion filter makes it minimal.

use super::lp::{Simplex, Stuck};
use super::model::{Model, Slack};
use super::problem::{Column, Problem};
use crate::formulate::request::FormulateRequest;
use saltwright_fertilizers::Aimed;

/// Multipliers below this are rounding.
const SUPPORT: f64 = 1e-9;
/// Deviation, in aims, from which bands count as not kept.
const KEPT: f64 = 1e-9;
/// How often a bound of ours may be widened.
const MOST_WIDENINGS: usize = 40;
/// Most fertilizers named as a way out.
const MOST_MENDS: usize = 3;

/// Which end of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The minimum.
    Min,
    /// The maximum.
    Max,
}

impl Side {
    const fn beyond(self) -> Slack {
        match self {
            Self::Min => Slack::ShortBeyond,
            Self::Max => Slack::OverBeyond,
        }
    }

    /// The name in reports.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Min => "min",
            Self::Max => "max",
        }
    }
}

/// One band end of a conflict, in the unit of its row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clash {
    /// Row of the problem.
    pub row: usize,
    /// Which end.
    pub side: Side,
    /// The bound that cannot be kept with the others.
    pub bound: f64,
    /// How far the figure can go while the others are kept.
    pub reachable: f64,
}

/// A conflict and what would mend it.
#[derive(Clone, Debug, Default)]
pub struct Conflict {
    /// The band ends; dropping any one makes the rest possible.
    pub clashes: Vec<Clash>,
    /// Fertilizers outside the choice that would make everything possible.
    pub mended_by: Vec<String>,
    /// Fertilizers outside the choice that would solve this conflict, where none solves all.
    pub helped_by: Vec<String>,
}

type Bound = (usize, Side);

/// Finds a minimal conflict of a problem that cannot be met.
pub(super) fn find(problem: &Problem, request: &FormulateRequest) -> Result<Conflict, Stuck> {
    let mut search = Search::new(problem);
    let all = every_side(problem);
    let (distance, simplex) = search.miss(&all)?;
    if distance <= KEPT {
        return Ok(Conflict::default());
    }
    let multipliers = simplex.y.clone();
    let mut conflict: Vec<Bound> = all
        .iter()
        .copied()
        .filter(|(row, side)| match side {
            Side::Min => multipliers[*row] > SUPPORT,
            Side::Max => multipliers[*row] < -SUPPORT,
        })
        .collect();
    // Micronutrients are tried first, so that what remains speaks of macronutrients.
    let mut order = conflict.clone();
    order.sort_by_key(|(row, side)| (is_macro(problem, *row), *row, *side));
    for bound in order {
        let rest: Vec<Bound> = conflict.iter().copied().filter(|b| *b != bound).collect();
        if !rest.is_empty() && search.miss(&rest)?.0 > KEPT {
            conflict = rest;
        }
    }
    let clashes = conflict
        .iter()
        .map(|bound| search.reach(&conflict, *bound))
        .collect::<Result<_, _>>()?;
    let prices = search.miss(&conflict)?.1.y.clone();
    let worth = |column: &Column| -> f64 {
        let rows = problem.rows.iter().zip(&search.model.row_scale);
        rows.zip(prices.iter())
            .map(|((row, scale), y)| y * column.brings_to(row) / scale)
            .sum()
    };
    let (mended_by, helped_by) = ways_out(problem, request, &all, &conflict, &worth);
    Ok(Conflict {
        clashes,
        mended_by,
        helped_by,
    })
}

fn is_macro(problem: &Problem, row: usize) -> bool {
    match problem.rows[row].figure {
        super::problem::Figure::Nutrient(Aimed::Form(nutrient)) => !nutrient.is_micro(),
        _ => true,
    }
}

fn every_side(problem: &Problem) -> Vec<Bound> {
    let mut sides = Vec::new();
    for (row, figure) in problem.rows.iter().enumerate() {
        if figure.min.is_some() {
            sides.push((row, Side::Min));
        }
        if figure.max.is_some() {
            sides.push((row, Side::Max));
        }
    }
    sides
}

/// Deviations of one problem by which ends of its bands count.
struct Search<'a> {
    problem: &'a Problem,
    model: Model,
    /// The point that was found last, where it still is one: the next is not far.
    last: Option<Simplex>,
}

impl<'a> Search<'a> {
    fn new(problem: &'a Problem) -> Self {
        Self {
            problem,
            model: Model::new(problem),
            last: None,
        }
    }

    /// Gives more room where the point ends at a bound of ours; false where it does not.
    fn widen(&mut self, at: &Simplex) -> bool {
        let widened = self.model.widen(self.problem, &at.x);
        if widened {
            self.last = None;
        }
        widened
    }

    /// The least sum of deviations beyond the given band ends, in aims, others being free.
    fn miss(&mut self, sides: &[Bound]) -> Result<(f64, &Simplex), Stuck> {
        for _ in 0..MOST_WIDENINGS {
            let cost = self.cost_of(sides);
            let mut simplex = match self.last.take() {
                Some(last) => last,
                None => self.model.without_salts()?,
            };
            simplex.optimise(&self.model.lp, &cost)?;
            let distance = simplex.objective(&cost);
            // A point within all bands needs no more room.
            if distance <= KEPT || !self.widen(&simplex) {
                return Ok((distance, self.last.insert(simplex)));
            }
        }
        Err(Stuck::Endless)
    }

    fn cost_of(&self, sides: &[Bound]) -> Vec<f64> {
        let mut cost = vec![0.0; self.model.lp.columns()];
        for (row, side) in sides {
            cost[self.model.slack(*row, side.beyond())] = 1.0;
        }
        cost
    }

    /// Drives one figure towards its bound while the other ends of the conflict are kept.
    fn reach(&mut self, conflict: &[Bound], bound: Bound) -> Result<Clash, Stuck> {
        let others: Vec<Bound> = conflict.iter().copied().filter(|b| *b != bound).collect();
        let (row, side) = bound;
        let cost = self.cost_of(&[bound]);
        let mut short = 0.0;
        for _ in 0..MOST_WIDENINGS {
            let mut simplex = self.miss(&others)?.1.clone();
            let mut kept = self.model.lp.clone();
            for (row, side) in &others {
                kept.upper[self.model.slack(*row, side.beyond())] = 0.0;
            }
            simplex.optimise(&kept, &cost)?;
            short = simplex.objective(&cost) * self.model.row_scale[row];
            if !self.widen(&simplex) {
                break;
            }
        }
        let figure = self.problem.rows[row];
        let (limit, reachable) = match side {
            Side::Min => {
                let limit = figure.min.unwrap_or(0.0);
                (limit, limit - short)
            }
            Side::Max => {
                let limit = figure.max.unwrap_or(0.0);
                (limit, limit + short)
            }
        };
        Ok(Clash {
            row,
            side,
            bound: limit,
            reachable,
        })
    }
}

/// Fertilizers outside the choice that make everything possible, and those that at least solve the
/// conflict; common ones first. Only what the multipliers find worth something can break them.
fn ways_out(
    problem: &Problem,
    request: &FormulateRequest,
    all: &[Bound],
    conflict: &[Bound],
    worth: &dyn Fn(&Column) -> f64,
) -> (Vec<String>, Vec<String>) {
    let mut known: Vec<_> = request.beyond.iter().collect();
    known.sort_by_key(|row| !row.common);
    let (mut mends, mut helps) = (Vec::new(), Vec::new());
    for fertilizer in known {
        if mends.len() >= MOST_MENDS {
            break;
        }
        let column = Column {
            candidate: usize::MAX,
            mg_per_g: fertilizer.mg_per_g(),
            acid_meq_per_g: fertilizer.acid_meq_per_g(),
            price_per_g: None,
            at_most_g_per_l: None,
            tolerance: request.tolerance(fertilizer),
        };
        if worth(&column) <= SUPPORT {
            continue;
        }
        let mut wider = problem.clone();
        wider.columns.push(column);
        let mut search = Search::new(&wider);
        let mut possible = |sides: &[Bound]| {
            let missed = search.miss(sides);
            missed.is_ok_and(|(distance, _)| distance <= KEPT)
        };
        if possible(conflict) {
            if possible(all) {
                mends.push(fertilizer.id.clone());
            } else if helps.len() < MOST_MENDS {
                helps.push(fertilizer.id.clone());
            }
        }
    }
    (mends, helps)
}
