//! Cheaper salts: from today's mix and prices to the cheapest mix that feeds the same, what each
//! single swap saves and changes, and which prices decide.
//!
//! ```text
//! request -> today's mix, cheapest mix (formulate) -> prices that decide, curves (its program)
//!                                                  -> swaps (chemistry, stock tanks) -> report
//! ```

pub mod report;
pub mod request;

mod curve;
mod decide;
mod program;
mod swaps;

#[cfg(test)]
mod laws;

pub use report::SubstituteReport;
pub use request::SubstituteRequest;

use crate::chemistry::NotConverged;
use crate::formulate::engine::Minilp;
use crate::formulate::problem::{Problem, Setting};
use crate::formulate::request::{Candidate, FormulateRequest, Keeps};
use crate::formulate::{FormulateReport, Worked, no_answer};
use crate::lp::Stuck;
use crate::readings::{Asked, readings};
use crate::refusal::Refusal;
use crate::solution::brought;
use crate::stock::{Standing, StockRequest, stock};
use crate::words::substitute as words;
use decide::Deciding;
use program::Program;
use report::{InTanks, NowIs, SaltPoint, Swap};
use request::{Keep, Now};
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Dose, Nutrient};
use swaps::{Columns, Looking};

/// The ratio at which stock tanks are judged where none is asked. Common practice, no source.
const STOCK_RATIO: f64 = 100.0;

/// Today's mix, where it is known before the cheapest one.
struct Today {
    is: NowIs,
    mix: Vec<Dose>,
    candidates: Vec<Candidate>,
    report: Option<FormulateReport>,
}

impl Today {
    fn of(request: &SubstituteRequest) -> Result<Self, Refusal> {
        let from = |choice: &[Candidate], is: NowIs| {
            let asked = FormulateRequest {
                choice: choice.to_vec(),
                ..request.formulate.clone()
            };
            let worked = Worked::of(&asked, &Minilp)?;
            Ok(Self {
                is,
                mix: worked.doses(),
                candidates: choice.to_vec(),
                report: Some(worked.report()?),
            })
        };
        match &request.now {
            Now::Given(mix, candidates) => Ok(Self {
                is: NowIs::Given,
                mix: mix.clone(),
                candidates: candidates.clone(),
                report: None,
            }),
            Now::FromHand(choice) => from(choice, NowIs::FromHand),
            Now::Formulated => from(&request.formulate.choice, NowIs::Formulated),
        }
    }

    /// Its report; a mix that is given is held against what is asked at the cheapest one's setting.
    fn report(
        &mut self,
        request: &SubstituteRequest,
        setting: Setting,
    ) -> Result<FormulateReport, Refusal> {
        if let Some(report) = self.report.take() {
            return Ok(report);
        }
        let asked = FormulateRequest {
            choice: self.candidates.clone(),
            ..request.formulate.clone()
        };
        Worked::as_it_is(&asked, setting, &self.mix)?.report()
    }
}

/// Finds the cheapest mix that keeps what is asked, and what lies between it and today's.
///
/// # Errors
/// A refusal of kind `no-answer` where no proven optimum is reached.
pub fn substitute(request: &SubstituteRequest) -> Result<SubstituteReport, Refusal> {
    let mut today = Today::of(request)?;
    let asked = FormulateRequest {
        keeps: match request.keep {
            Keep::Bands => Keeps::Bands,
            Keep::Deviation => Keeps::AsCloseAs(Box::new(brought(&today.mix))),
        },
        ..request.formulate.clone()
    };
    let worked = Worked::of(&asked, &Minilp)?;
    let setting = worked.settled.setting;
    let now = today.report(request, setting)?;
    let cheapest = worked.report()?;
    let cost = |report: &FormulateReport| report.cost_per_m3.ok_or_else(no_answer);
    let (now_per_m3, cheapest_per_m3) = (cost(&now)?, cost(&cheapest)?);
    let saving_per_m3 = now_per_m3 - cheapest_per_m3;
    let stuck = |_: Stuck| no_answer();
    let mut report = SubstituteReport {
        keep: request.keep,
        currency: request.currency.clone(),
        now_is: today.is,
        now,
        cheapest,
        saving_per_m3,
        saving_pct: (now_per_m3 > 0.0).then(|| 100.0 * saving_per_m3 / now_per_m3),
        reweighed_saving_per_m3: None,
        stock_ratio: request.formulate.ratio.unwrap_or(STOCK_RATIO),
        now_stock: InTanks::unknown(),
        cheapest_stock: InTanks::unknown(),
        swaps: Vec::new(),
        break_even: Vec::new(),
        holds_while: Vec::new(),
        loosened: Vec::new(),
        curve: Vec::new(),
        salt_curve: Vec::new(),
        cautions: Vec::new(),
    };
    decide(&worked, &mut report).map_err(stuck)?;
    curves(&worked, &mut report).map_err(stuck)??;
    swap(&asked, &today, &worked, &mut report)?;
    report.cautions = words::cautions(&report);
    Ok(report)
}

/// Prices that decide.
fn decide(worked: &Worked<'_>, report: &mut SubstituteReport) -> Result<(), Stuck> {
    let (problem, solved) = (&worked.settled.problem, &worked.settled.solved);
    // A blend of two mixes is no corner of the program.
    if worked.settled.is_poured {
        return Ok(());
    }
    let Some(deciding) = Deciding::of(worked.request, problem, solved)? else {
        return Ok(());
    };
    report.break_even = deciding.break_even(&solved.grams)?;
    report.holds_while = deciding.holds_while(&solved.grams)?;
    if let Some(priced) = solved.cheapest.as_ref().filter(|_| !solved.outside) {
        let cost = report.cheapest.cost_per_m3.unwrap_or_default();
        let currency = report.currency.as_deref();
        let mut program = Program::new(problem);
        report.loosened = decide::loosened(&mut program, priced, (cost, currency))?;
    }
    Ok(())
}

/// Cost against what is allowed.
fn curves(
    worked: &Worked<'_>,
    report: &mut SubstituteReport,
) -> Result<Result<(), Refusal>, Stuck> {
    let settled = &worked.settled;
    let with_bands = FormulateRequest {
        keeps: Keeps::Bands,
        ..worked.request.clone()
    };
    report.curve = curve::deviation(&Problem::new(&with_bands, settled.setting))?;
    for corner in curve::salt(&settled.problem)? {
        let doses = columns_as_doses(worked, &corner.grams);
        let in_tank: Vec<Dose> = worked
            .request
            .already
            .iter()
            .chain(&doses)
            .cloned()
            .collect();
        let holds = curve::holds(&settled.problem, &corner.grams);
        let asked = Asked::at_reference(None, true);
        let shown = match readings(&worked.source, &in_tank, asked) {
            Ok(shown) => shown,
            Err(NotConverged) => return Ok(Err(Refusal::unsolved("mix"))),
        };
        let ions = shown.detail.map(|detail| detail.ions).unwrap_or_default();
        let ours = ions.iter().filter(|row| ["Na+", "Cl-"].contains(&row.ion));
        report.salt_curve.push(SaltPoint {
            sodium_mg_l: holds[Nutrient::Na],
            chloride_mg_l: holds[Nutrient::Cl],
            ec_share_pct: ours.map(|row| row.ec_share_pct).sum(),
            cost_per_m3: corner.per_m3,
        });
    }
    Ok(Ok(()))
}

fn columns_as_doses(worked: &Worked<'_>, grams: &[f64]) -> Vec<Dose> {
    let columns = worked.settled.problem.columns.iter().zip(grams);
    let doses = columns.filter(|(_, grams)| **grams > 0.0);
    doses
        .map(|(column, grams)| Dose {
            fertilizer: worked.request.choice[column.candidate].fertilizer.clone(),
            amount: GramsPerL(*grams),
        })
        .collect()
}

/// Single swaps, each looked at by the chemistry and in the stock tanks.
fn swap(
    asked: &FormulateRequest,
    today: &Today,
    worked: &Worked<'_>,
    report: &mut SubstituteReport,
) -> Result<(), Refusal> {
    let mut wide = asked.clone();
    let is_in = |choice: &[Candidate], id: &str| choice.iter().any(|c| c.fertilizer.id == id);
    for candidate in &today.candidates {
        if !is_in(&asked.choice, &candidate.fertilizer.id) {
            wide.choice.push(candidate.clone());
        }
    }
    // What today's mix misses is no reason against a swap that misses it no worse.
    let mut problem = Problem::new(&wide, worked.settled.setting);
    problem.no_worse_than(&brought(&today.mix));
    let ids = || {
        let columns = problem.columns.iter();
        columns.map(|column| wide.choice[column.candidate].fertilizer.id.as_str())
    };
    let columns = Columns {
        used: ids()
            .map(|id| today.mix.iter().any(|dose| dose.fertilizer.id == id))
            .collect(),
        allowed: ids().map(|id| is_in(&asked.choice, id)).collect(),
    };
    let mut program = Program::new(&problem);
    let now_per_m3 = report.now.cost_per_m3.unwrap_or_default();
    let reweighed = swaps::reweighed(&mut program, &columns).map_err(|_| no_answer())?;
    report.reweighed_saving_per_m3 = reweighed.map(|per_m3| now_per_m3 - per_m3);
    let least = reweighed.unwrap_or(f64::INFINITY);
    let found =
        swaps::find(&mut program, &columns, (now_per_m3, least)).map_err(|_| no_answer())?;
    let (now_stock, standing) = in_tanks(asked, &today.mix, report.stock_ratio);
    (report.now_stock, report.cheapest_stock) = (now_stock, {
        let doses = columns_as_doses(worked, &worked.settled.solved.grams);
        in_tanks(asked, &doses, report.stock_ratio).0
    });
    let in_tank: Vec<Dose> = asked.already.iter().chain(&today.mix).cloned().collect();
    let unsolved = |NotConverged| Refusal::unsolved("mix");
    let shown = readings(&worked.source, &in_tank, Asked::at_reference(None, false));
    let looking = Looking {
        request: &wide,
        problem: &problem,
        source: &worked.source,
        standing: &standing,
        now: &today.mix,
        shown: &shown.map_err(unsolved)?,
    };
    let swaps: Result<Vec<Swap>, NotConverged> =
        found.iter().map(|one| looking.look(one)).collect();
    report.swaps = swaps.map_err(unsolved)?;
    Ok(())
}

/// A mix as stock in two tanks.
fn in_tanks(asked: &FormulateRequest, mix: &[Dose], ratio: f64) -> (InTanks, Standing) {
    let mut mix = mix.to_vec();
    mix.sort_by(|a, b| a.fertilizer.id.cmp(&b.fertilizer.id));
    let request = StockRequest::plain(mix, asked.water.clone(), ratio, asked.bands.clone());
    let found = stock(&request);
    let cloudy = found.tanks.iter().find(|tank| tank.clear == Some(false));
    let unknown = !found.not_computed.is_empty() && found.tanks.iter().all(|t| t.clear.is_none());
    let tanks = InTanks {
        clear: if unknown {
            None
        } else {
            Some(cloudy.is_none())
        },
        tank: cloudy.map(|tank| tank.name.clone()),
        first_solid: cloudy.and_then(|tank| tank.first_solid.clone()),
    };
    let standing = Standing::of(&request, &found, ratio);
    (tanks, standing)
}

impl InTanks {
    const fn unknown() -> Self {
        Self {
            clear: None,
            tank: None,
            first_solid: None,
        }
    }
}
