//! Closest, then cheapest, then simplest: three optima, each on the optimal face of the one
//! before.
//!
//! A stage is held by its reduced costs: every variable that is off the basis and would cost
//! something to move is fixed where it is; what is left are exactly the points that are as good.
//! (A row "no worse than before plus a tolerance" has no good tolerance: tight ones fail, loose
//! ones are bought with visible money.)

use super::engine::{Engine, guarded};
use super::lp::{BoxedLp, ON_BOUND, Simplex, Stuck};
use super::model::Model;
use super::problem::{Column, Problem, Row};
use super::proof::Certificate;
use super::request::FormulateRequest;
use saltwright_fertilizers::Dose;
use schemars::JsonSchema;
use serde::Serialize;
use std::borrow::Cow;
use std::sync::Arc;

/// How often a bound of ours may be widened before giving up.
pub(crate) const MOST_WIDENINGS: usize = 40;
/// Deviation beyond a band, in aims, from which the answer counts as outside it.
const OUTSIDE: f64 = 1e-9;

/// Relative difference of two objectives below which two answers are equally good.
const SHARED: f64 = 1e-7;

/// The name of a stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Stage {
    /// Least weighted deviation from the aims.
    Closest,
    /// Least cost among the closest.
    Cheapest,
    /// Least mass among the cheapest, then fewest fertilizers by dropping one at a time.
    Simplest,
}

/// A stage with its certificate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageProof {
    /// Which stage.
    pub stage: Stage,
    /// Its residuals, in the units of its objective.
    pub certificate: Certificate,
    /// True where fertilizers were dropped before and the optimum is among those left.
    pub among_these: bool,
}

/// The solved problem.
#[derive(Clone, Debug)]
pub(crate) struct Solved {
    pub model: Arc<Model>,
    /// Grams per litre of every column of the problem.
    pub grams: Vec<f64>,
    /// The corner of the program that they are; none where a mix is only looked at.
    pub last: Option<Simplex>,
    pub proofs: Vec<StageProof>,
    /// True where some figure ends beyond its band.
    pub outside: bool,
    /// Of the cheapest stage: the program with what the closest stage holds, and its optimum.
    pub cheapest: Option<Priced>,
}

/// The cheapest stage, kept for its prices.
#[derive(Clone, Debug)]
pub(crate) struct Priced {
    pub lp: BoxedLp,
    pub simplex: Simplex,
    /// Price of a gram, scaled by `unit`.
    pub cost: Vec<f64>,
    /// What one unit of scaled cost is in price per litre.
    pub unit: f64,
}

/// Runs all stages that the problem asks for.
pub(crate) fn solve(
    problem: &Problem,
    engine: &dyn Engine,
    simplest: bool,
    twins: &[(usize, usize)],
) -> Result<Solved, Stuck> {
    let mut model = Model::new(problem);
    model.note_twins(twins);
    let mut model = Arc::new(model);
    for _ in 0..MOST_WIDENINGS {
        match attempt(problem, &model, engine, simplest)? {
            Attempt::Done(solved) => return Ok(*solved),
            Attempt::NeedsRoom(x) => {
                if !Arc::make_mut(&mut model).widen(problem, &x) {
                    return Err(Stuck::Endless);
                }
            }
        }
    }
    Err(Stuck::Endless)
}

enum Attempt {
    Done(Box<Solved>),
    /// A variable ended at a bound that is ours.
    NeedsRoom(Vec<f64>),
}

fn attempt(
    problem: &Problem,
    model: &Arc<Model>,
    engine: &dyn Engine,
    simplest: bool,
) -> Result<Attempt, Stuck> {
    let mut solved = Solved {
        model: Arc::clone(model),
        grams: Vec::new(),
        last: None,
        proofs: Vec::new(),
        outside: false,
        cheapest: None,
    };
    let distance = model.cost_of_distance(problem);
    let mut simplex = closest(model, engine, &distance)?;
    let mut lp = model.lp.clone();
    if model.needs_room(&simplex.x) {
        return Ok(Attempt::NeedsRoom(simplex.x));
    }
    let outside = |simplex: &Simplex| {
        (0..problem.rows.len()).any(|i| model.beyond(i).any(|slack| simplex.x[slack] > OUTSIDE))
    };
    solved.outside = outside(&simplex);
    if solved.outside
        && let Some((bands, kept)) = within_bands(model, &simplex)?
    {
        (lp, simplex) = (bands, kept);
        simplex.optimise(&lp, &distance)?;
        if model.needs_room(&simplex.x) {
            return Ok(Attempt::NeedsRoom(simplex.x));
        }
        solved.outside = outside(&simplex);
    }
    solved.prove(Stage::Closest, &lp, &distance, 1.0, &mut simplex, false)?;
    lp.hold(&simplex);
    if let Some(money) = model.cost_of_money(problem) {
        let (cost, unit) = normalised(&money);
        simplex.optimise(&lp, &cost)?;
        if model.needs_room(&simplex.x) {
            return Ok(Attempt::NeedsRoom(simplex.x));
        }
        solved.prove(Stage::Cheapest, &lp, &cost, unit, &mut simplex, false)?;
        solved.cheapest = Some(Priced {
            lp: lp.clone(),
            simplex: simplex.clone(),
            cost,
            unit,
        });
        lp.hold(&simplex);
    }
    if simplest || (solved.cheapest.is_none() && !problem.has_aims()) {
        let (cost, unit) = normalised(&model.cost_of_mass());
        simplex.optimise(&lp, &cost)?;
        if model.needs_room(&simplex.x) {
            return Ok(Attempt::NeedsRoom(simplex.x));
        }
        let dropped = simplest && drop_salts(&mut lp, &mut simplex, &cost, model.salts.len())?;
        solved.prove(Stage::Simplest, &lp, &cost, unit, &mut simplex, dropped)?;
    }
    solved.grams = model.grams(problem, &simplex.x);
    solved.last = Some(simplex);
    Ok(Attempt::Done(Box::new(solved)))
}

/// Stage one: the engine proposes, our basis proves; where the engine fails, our own pivots from
/// the point without fertilizers.
fn closest(model: &Model, engine: &dyn Engine, cost: &[f64]) -> Result<Simplex, Stuck> {
    let mut without_twins = Cow::Borrowed(&model.lp);
    for twin in &model.twins {
        let lp = without_twins.to_mut();
        lp.upper[twin.salt] = lp.lower[twin.salt];
    }
    let proposed = guarded(engine, &without_twins, cost)
        .ok()
        .and_then(|point| Simplex::from_point(&model.lp, &point).ok())
        .and_then(|mut simplex| {
            simplex.optimise(&model.lp, cost).ok()?;
            Certificate::of(&model.lp, cost, &simplex.x, &simplex.y)
                .holds()
                .then_some(simplex)
        });
    if let Some(simplex) = proposed {
        return Ok(simplex);
    }
    let mut simplex = model.without_salts()?;
    simplex.optimise(&model.lp, cost)?;
    Ok(simplex)
}

/// The program without what leaves the bands, and a point of it; `None` where some band must be
/// left.
///
/// [`BEYOND`](super::model::BEYOND) is a price, and closeness can be worth more than it where little
/// of a fertilizer is left. A grower means the bands first.
fn within_bands(model: &Model, from: &Simplex) -> Result<Option<(BoxedLp, Simplex)>, Stuck> {
    let leaving = model.cost_of_leaving();
    let mut simplex = from.clone();
    simplex.optimise(&model.lp, &leaving)?;
    if simplex.objective(&leaving) > OUTSIDE {
        return Ok(None);
    }
    let mut lp = model.lp.clone();
    lp.hold(&simplex);
    Ok(Some((lp, simplex)))
}

/// A cost scaled so that its largest entry is 1, and what one unit then is.
pub(crate) fn normalised(cost: &[f64]) -> (Vec<f64>, f64) {
    let unit = cost.iter().copied().fold(0.0, f64::max);
    if unit > 0.0 {
        (cost.iter().map(|c| c / unit).collect(), unit)
    } else {
        (cost.to_vec(), 1.0)
    }
}

/// Tries to leave out one used fertilizer after the other, least mass first, while the face that
/// the stages before hold allows it; then least mass among those left. `true` where one left.
fn drop_salts(
    lp: &mut BoxedLp,
    simplex: &mut Simplex,
    mass: &[f64],
    salts: usize,
) -> Result<bool, Stuck> {
    let is_point = (0..lp.columns()).all(|j| simplex.basic[j] || lp.upper[j] <= lp.lower[j]);
    if is_point {
        return Ok(false);
    }
    let mut used: Vec<usize> = (0..salts).filter(|j| simplex.x[*j] > ON_BOUND).collect();
    used.sort_by(|a, b| (simplex.x[*a] * mass[*a]).total_cmp(&(simplex.x[*b] * mass[*b])));
    let mut dropped = false;
    for salt in used {
        if simplex.x[salt] <= ON_BOUND || lp.lower[salt] > 0.0 {
            continue;
        }
        let mut only_this = vec![0.0; lp.columns()];
        only_this[salt] = 1.0;
        if simplex.is_optimal(lp, &only_this) {
            continue;
        }
        let mut trial = simplex.clone();
        trial.optimise(lp, &only_this)?;
        if trial.x[salt] <= ON_BOUND * 1e-3 {
            lp.upper[salt] = lp.lower[salt];
            *simplex = trial;
            dropped = true;
        }
    }
    simplex.optimise(lp, mass)?;
    Ok(dropped)
}

impl Solved {
    /// A mix that nobody sought, held against the bands.
    pub fn of_mix(problem: &Problem, request: &FormulateRequest, mix: &[Dose]) -> Self {
        let of = |column: &Column| {
            let id = &request.choice[column.candidate].fertilizer.id;
            let doses = mix.iter().filter(|dose| dose.fertilizer.id == *id);
            doses.map(|dose| dose.amount.0).sum()
        };
        let grams: Vec<f64> = problem.columns.iter().map(of).collect();
        let found = |row: &Row| {
            let brought = problem.columns.iter().zip(&grams);
            let brought = brought.map(|(column, grams)| column.brings_to(row) * grams);
            row.present + brought.sum::<f64>()
        };
        Self {
            outside: problem.rows.iter().any(|row| row.is_left_by(found(row))),
            model: Arc::new(Model::new(problem)),
            grams,
            last: None,
            proofs: Vec::new(),
            cheapest: None,
        }
    }

    /// Keeps the proofs of the stages in which another answer is as good, and drops the rest.
    pub fn keep_shared(&mut self, other: &Self) {
        let objective = |proof: &StageProof| proof.certificate.objective;
        self.proofs.retain(|proof| {
            let same = other.proofs.iter().find(|o| o.stage == proof.stage);
            same.is_some_and(|o| {
                let (a, b) = (objective(proof), objective(o));
                (a - b).abs() <= SHARED * a.abs().max(b.abs())
            })
        });
        if !self.proofs.iter().any(|p| p.stage == Stage::Cheapest) {
            self.cheapest = None;
        }
    }

    /// Checks a stage, pivots on where its proof is too coarse, and notes its certificate in the units
    /// of its objective.
    ///
    /// Of the simplest stage the claim is given up where it stays too coarse: the mix is as close and as
    /// cheap as the stages before prove.
    fn prove(
        &mut self,
        stage: Stage,
        lp: &BoxedLp,
        cost: &[f64],
        unit: f64,
        simplex: &mut Simplex,
        among_these: bool,
    ) -> Result<(), Stuck> {
        let certify = |simplex: &Simplex| Certificate::of(lp, cost, &simplex.x, &simplex.y);
        let is_fine = |found: &Certificate| found.holds() && found.rescaled(unit).can_be_told();
        let mut certificate = certify(simplex);
        if !is_fine(&certificate) {
            simplex.refine(lp, cost)?;
            certificate = certify(simplex);
        }
        if !is_fine(&certificate) {
            return match stage {
                Stage::Simplest if certificate.primal_holds() => Ok(()),
                _ => Err(Stuck::Outside),
            };
        }
        self.proofs.push(StageProof {
            stage,
            certificate: certificate.rescaled(unit),
            among_these,
        });
        Ok(())
    }
}
