//! The main job: from aims and fertilizers to grams, with its proof.
//!
//! ```text
//! request -> search ( problem -> model (scaled LP) -> stages -> grams ) -> solution -> report
//! ```

pub mod conflict;
pub mod engine;
pub mod problem;
pub mod ranging;
pub mod report;
pub mod request;
pub mod stages;
pub mod sure;

mod bracket;
pub(crate) mod model;
pub(crate) mod search;
mod twins;
mod write;

#[cfg(test)]
pub(crate) mod laws;

pub use report::FormulateReport;
pub use request::FormulateRequest;

use crate::chemistry::NotConverged;
use crate::lp;
pub use crate::lp::proof;
use crate::readings::Source;
use crate::refusal::Refusal;
use engine::{Engine, Minilp};
use problem::{Problem, Setting};
use saltwright_fertilizers::{Dose, Problem as Fault};
use search::Settled;
use sure::Guards;

/// Finds the mix that comes closest to the recipe, then costs least, then is simplest.
///
/// # Errors
/// A refusal of kind `no-answer` where neither the engine nor our own pivots reach a proven
/// optimum.
pub fn formulate(request: &FormulateRequest) -> Result<FormulateReport, Refusal> {
    formulate_with(request, &Minilp)
}

/// The same with an engine of the caller's.
pub fn formulate_with(
    request: &FormulateRequest,
    engine: &dyn Engine,
) -> Result<FormulateReport, Refusal> {
    match request.sure {
        None => Worked::of(request, engine)?.report(),
        Some(sure) => sure::formulate(request, sure, engine),
    }
}

/// A formulation with its program, for jobs that go on from there.
pub(crate) struct Worked<'a> {
    /// What was asked.
    pub request: &'a FormulateRequest,
    /// The water, solved.
    pub source: Source<'a>,
    twins: Vec<(usize, usize)>,
    /// The problem at its setting and what solves it.
    pub settled: Settled,
}

impl<'a> Worked<'a> {
    /// Works out a request.
    pub fn of(request: &'a FormulateRequest, engine: &dyn Engine) -> Result<Self, Refusal> {
        Self::work(request, engine, None, None)
    }

    /// Works out a request whose bands are to hold although assays are off.
    pub(super) fn guarded(
        request: &'a FormulateRequest,
        engine: &dyn Engine,
        guards: Option<&Guards>,
    ) -> Result<Self, Refusal> {
        Self::work(request, engine, guards, None)
    }

    /// Works out a request at a setting, whatever it asks to be found.
    pub fn at(
        setting: Setting,
        request: &'a FormulateRequest,
        engine: &dyn Engine,
    ) -> Result<Self, Refusal> {
        Self::work(request, engine, None, Some(setting))
    }

    fn work(
        request: &'a FormulateRequest,
        engine: &dyn Engine,
        guards: Option<&Guards>,
        setting: Option<Setting>,
    ) -> Result<Self, Refusal> {
        let twins = twin_columns(request);
        let source = Source::new(&request.water).map_err(|NotConverged| no_answer())?;
        let search = search::Search {
            request,
            engine,
            twins: &twins,
            source: &source,
            guards,
        };
        let settled = match setting {
            Some(setting) => search.solve(setting)?,
            None => search.settle()?,
        };
        Ok(Self {
            request,
            source,
            twins,
            settled,
        })
    }

    /// A mix as it is, held against what a request asks at a setting: nothing is sought. The
    /// choice of the request names what is in the mix.
    pub fn as_it_is(
        request: &'a FormulateRequest,
        setting: Setting,
        mix: &[Dose],
    ) -> Result<Self, Refusal> {
        let source = Source::new(&request.water).map_err(|NotConverged| no_answer())?;
        let problem = Problem::new(request, setting);
        let solved = stages::Solved::of_mix(&problem, request, mix);
        Ok(Self {
            request,
            source,
            twins: Vec::new(),
            settled: Settled {
                setting,
                problem,
                solved,
                is_poured: false,
            },
        })
    }

    /// What goes in, largest mass first.
    pub fn doses(&self) -> Vec<Dose> {
        write::doses(self.request, &self.settled.problem, &self.settled.solved)
    }

    /// What there is to report.
    pub fn report(&self) -> Result<FormulateReport, Refusal> {
        let (request, settled) = (self.request, &self.settled);
        let conflict = if settled.solved.outside && !settled.solved.proofs.is_empty() {
            conflict::find(&settled.problem, request).map_err(|_| no_answer())?
        } else {
            conflict::Conflict::default()
        };
        write::write(request, &self.source, settled, &conflict, &self.twins)
            .map_err(|NotConverged| no_answer())
    }
}

pub(crate) fn no_answer() -> Refusal {
    let what = "no proven answer was found for these numbers".to_owned();
    let mend = "Check for figures that differ by many powers of ten; round them.".to_owned();
    Refusal::of("recipe", Fault::NoAnswer { what, mend })
}

/// Twins of the choice as positions among the problem's columns.
fn twin_columns(request: &FormulateRequest) -> Vec<(usize, usize)> {
    let order = problem::column_order(request);
    let column = |candidate: usize| order.iter().position(|other| *other == candidate);
    let mut pairs: Vec<(usize, usize)> = twins::find(&request.choice)
        .into_iter()
        .filter_map(|(twin, kept)| Some((column(twin)?, column(kept)?)))
        .collect();
    // Columns stand in order of id, whatever the order of the request.
    pairs.sort_unstable();
    pairs
}
