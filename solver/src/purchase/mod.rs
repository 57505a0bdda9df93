//! Whole bags for a season: which to buy so that one mix keeps the bands at the least cost.
//!
//! ```text
//! request -> any mix within the bands? -> program -> optimum in parts -> whole bags, bound -> mix of the season
//! ```
//!
//! The engine proposes whole bags; our own search (`search`) finds what it missed and proves the
//! bound, part by part. Every purchase is held against the bands from data.

pub mod report;
pub mod request;

mod model;
mod search;

#[cfg(test)]
mod laws;

pub use report::PurchaseReport;
pub use request::PurchaseRequest;

use crate::formulate::engine::{Minilp, WholeEngine, WholeProgram, guarded_whole};
use crate::formulate::{FormulateReport, Worked, no_answer};
use crate::refusal::Refusal;
use crate::words::purchase as words;
use model::{Failure, Program, Relaxed};
use report::{BuyRow, LeftRow};
use saltwright_fertilizers::units::GramsPerL;
use search::Search;

/// Parts of a search that count for a second of it: a quarter of what this takes (measured 2026-11-28:
/// 20,000 or more in a second of computing, 13 fertilizers in 22 sizes). A number of parts, unlike a
/// clock, ends every run alike.
const PARTS_A_SECOND: f64 = 5_000.0;
/// Share of the seconds that is left for the proof, however long the engine took.
const LEAST_SHARE: f64 = 0.25;

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress {
    /// What the cheapest purchase so far costs.
    pub total: f64,
    /// What no purchase can cost less than.
    pub bound: f64,
    /// Seconds that the search has taken.
    pub seconds: f64,
}

impl Progress {
    /// 100 (total - bound)/total; 0 where nothing is paid.
    pub fn gap_pct(&self) -> f64 {
        if self.total > 0.0 {
            100.0 * (self.total - self.bound) / self.total
        } else {
            0.0
        }
    }
}

/// Finds the whole bags that cost least, within the seconds that the request allows.
///
/// # Errors
/// A refusal of kind `no-answer` where no mix of these fertilizers keeps the bands, with the reason.
pub fn purchase(request: &PurchaseRequest) -> Result<PurchaseReport, Refusal> {
    purchase_with(request, &Minilp, &mut |_| true)
}

/// The same with an engine of the caller's, at most until `watch` says no: it is told how far the
/// search has come, a few times a second.
pub fn purchase_with(
    request: &PurchaseRequest,
    engine: &dyn WholeEngine,
    watch: &mut dyn FnMut(&Progress) -> bool,
) -> Result<PurchaseReport, Refusal> {
    let mut watch = |progress: &Progress| progress.seconds < request.search_s && watch(progress);
    let mut open = request.formulate.clone();
    for (at, candidate) in open.choice.iter_mut().enumerate() {
        candidate.at_most = least(candidate.at_most, request.at_home(at));
    }
    let any = Worked::of(&open, &Minilp)?;
    if any.settled.solved.outside {
        return Err(impossible(&any.report()?));
    }
    let (problem, setting) = (&any.settled.problem, any.settled.setting);
    let (program, relaxed) = Program::relaxed(request, problem)
        .map_err(refused)?
        .ok_or_else(no_answer)?;
    let search = (
        request.search_s,
        &mut watch as &mut dyn FnMut(&Progress) -> bool,
    );
    let mut found = seek(&program, &relaxed, engine, search).map_err(refused)?;
    let mut bought = request.formulate.clone();
    for (at, candidate) in bought.choice.iter_mut().enumerate() {
        let there = GramsPerL(found.stock_kg(request, &program, at) / request.season_m3);
        candidate.at_most = least(candidate.at_most, Some(there));
    }
    if bought.litres.is_none() {
        bought.litres = Some(1000.0 * request.season_m3);
    }
    // A strength or residual that is sought may come out a little otherwise with what was bought.
    let formulation = match Worked::of(&bought, &Minilp) {
        Ok(again) if !again.settled.solved.outside => again,
        _ => Worked::at(setting, &bought, &Minilp)?,
    };
    let formulation = formulation.report()?;
    found.drop_unused(request, &program, &formulation);
    Ok(written(request, &program, &found, formulation))
}

fn least(a: Option<GramsPerL>, b: Option<GramsPerL>) -> Option<GramsPerL> {
    let both = a.into_iter().chain(b);
    both.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// No mix keeps the bands, whatever is bought: a fault for each band of the conflict.
fn impossible(any: &FormulateReport) -> Refusal {
    let faults = words::impossible(any);
    if faults.is_empty() {
        return no_answer();
    }
    Refusal::new(faults)
}

fn refused(failure: Failure) -> Refusal {
    match failure {
        Failure::Stuck => no_answer(),
        Failure::Fault(fault) => Refusal::of("bags", fault),
    }
}

/// The cheapest purchase that was found.
struct Found {
    /// Bags of each size of the program.
    bags: Vec<u32>,
    bound: f64,
    bound_in_parts: f64,
    parts: u64,
    stopped: bool,
}

/// Looks for the cheapest whole bags: the engine proposes, our own search proves and may find better.
fn seek(
    program: &Program,
    relaxed: &Relaxed,
    engine: &dyn WholeEngine,
    (search_s, watch): (f64, &mut dyn FnMut(&Progress) -> bool),
) -> Result<Found, Failure> {
    let start = program.rounded_up(&relaxed.simplex.x);
    if !program.serves(&start)? {
        return Err(Failure::Stuck);
    }
    let total = program.price(&start);
    let bound = relaxed.bound.min(total);
    let mut found = Found {
        bags: start,
        bound,
        bound_in_parts: bound,
        parts: 0,
        stopped: false,
    };
    if program.sizes.is_empty() || total <= found.bound {
        return Ok(found);
    }
    let seconds = propose(program, engine, &mut found, watch)?;
    let left_s = (search_s - seconds).max(LEAST_SHARE * search_s);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most an hour
    let most = (left_s * PARTS_A_SECOND) as u64;
    let mut search = Search::new(program, relaxed, found.bags);
    let ended = search.run(most, &mut |total, bound| {
        watch(&Progress {
            total,
            bound: bound.min(total),
            seconds,
        })
    })?;
    found.bags = search.best;
    found.parts = search.parts;
    found.bound = ended.bound.max(bound).min(program.price(&found.bags));
    found.stopped = !ended.closed;
    Ok(found)
}

/// Lets the engine look for a cheaper purchase, and takes it where it serves; the seconds that took.
fn propose(
    program: &Program,
    engine: &dyn WholeEngine,
    found: &mut Found,
    watch: &mut dyn FnMut(&Progress) -> bool,
) -> Result<f64, Failure> {
    let steps: Vec<(usize, f64)> = program.sizes.iter().map(|s| (s.column, s.step)).collect();
    let whole = WholeProgram::new(&program.lp, &program.cost, &steps);
    let (start, bound) = (program.price(&found.bags), found.bound);
    let sought = guarded_whole(engine, &whole, &mut |sought| {
        let best = sought
            .point
            .as_ref()
            .map(|x| program.price(&program.bags(x)));
        watch(&Progress {
            total: best.map_or(start, |best| best.min(start)),
            bound,
            seconds: sought.seconds,
        })
    });
    let Ok(sought) = sought else { return Ok(0.0) };
    if let Some(bags) = sought.point.map(|point| program.bags(&point))
        && program.price(&bags) < start
        && program.serves(&bags)?
    {
        found.bags = bags;
    }
    Ok(sought.seconds)
}

impl Found {
    /// What there is of a fertilizer of the choice, at home and bought.
    fn stock_kg(&self, request: &PurchaseRequest, program: &Program, candidate: usize) -> f64 {
        let sizes = program.sizes.iter().zip(&self.bags);
        let bought = sizes.filter(|(size, _)| size.candidate == candidate);
        let bought: f64 = bought
            .map(|(size, bags)| size.bag.kg * f64::from(*bags))
            .sum();
        request.supplies[candidate].on_hand_kg + bought
    }

    /// Takes back bags of which the mix uses nothing: free ones, or what a stopped search left.
    fn drop_unused(
        &mut self,
        request: &PurchaseRequest,
        program: &Program,
        formulation: &FormulateReport,
    ) {
        for at in 0..self.bags.len() {
            let size = &program.sizes[at];
            let used = used_kg(request, formulation, size.candidate);
            let spare = self.stock_kg(request, program, size.candidate) - used;
            let unused = (spare / size.bag.kg).floor().max(0.0);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // not below zero
            {
                self.bags[at] -= self.bags[at].min(unused as u32);
            }
        }
        self.bound = self.bound.min(program.price(&self.bags));
    }
}

/// What the season uses of a fertilizer.
fn used_kg(request: &PurchaseRequest, formulation: &FormulateReport, candidate: usize) -> f64 {
    let id = &request.formulate.choice[candidate].fertilizer.id;
    let row = formulation.mix.iter().find(|row| row.id == *id);
    // g/L is kg/m3.
    row.map_or(0.0, |row| row.g_per_l * request.season_m3)
}

fn written(
    request: &PurchaseRequest,
    program: &Program,
    found: &Found,
    formulation: FormulateReport,
) -> PurchaseReport {
    let id = |candidate: usize| request.formulate.choice[candidate].fertilizer.id.clone();
    let bought = program.sizes.iter().zip(&found.bags);
    let mut buy: Vec<BuyRow> = bought
        .filter(|(_, bags)| **bags > 0)
        .map(|(size, bags)| BuyRow {
            id: id(size.candidate),
            bag_kg: size.bag.kg,
            bags: *bags,
            cost: size.bag.price * f64::from(*bags),
        })
        .collect();
    buy.sort_by(|a, b| a.id.cmp(&b.id).then(b.bag_kg.total_cmp(&a.bag_kg)));
    let mut left_over: Vec<LeftRow> = (0..request.supplies.len())
        .map(|candidate| {
            let there = found.stock_kg(request, program, candidate);
            let used_kg = used_kg(request, &formulation, candidate);
            LeftRow {
                id: id(candidate),
                kg: (there - used_kg).max(0.0),
                used_kg,
            }
        })
        .filter(|row| row.kg > 0.0 || row.used_kg > 0.0)
        .collect();
    left_over.sort_by(|a, b| a.id.cmp(&b.id));
    let total: f64 = buy.iter().map(|row| row.cost).sum();
    let progress = Progress {
        total,
        bound: found.bound.min(total),
        seconds: 0.0,
    };
    let mut report = PurchaseReport {
        season_m3: request.season_m3,
        currency: request.currency.clone(),
        buy,
        total,
        bound: progress.bound,
        gap_pct: progress.gap_pct(),
        total_per_m3: total / request.season_m3,
        bound_in_parts: found.bound_in_parts.min(progress.bound),
        search_parts: found.parts,
        stopped: found.stopped,
        left_over,
        not_sold: request.not_sold.clone(),
        formulation,
    };
    let told = words::cautions(request, &report);
    report.formulation.cautions.extend(told);
    report
}
