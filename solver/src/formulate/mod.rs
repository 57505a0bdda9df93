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

mod bracket;
mod model;
mod search;
mod twins;
mod write;

#[cfg(test)]
mod laws;

pub use report::FormulateReport;
pub use request::FormulateRequest;

use crate::chemistry::NotConverged;
use crate::lp;
pub use crate::lp::proof;
use crate::readings::Source;
use crate::refusal::Refusal;
use engine::{Engine, Minilp};
use saltwright_fertilizers::Problem as Fault;

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
    let twins = twin_columns(request);
    let source = Source::new(&request.water).map_err(|NotConverged| no_answer())?;
    let search = search::Search {
        request,
        engine,
        twins: &twins,
        source: &source,
    };
    let settled = search.settle()?;
    let conflict = if settled.solved.outside {
        conflict::find(&settled.problem, request).map_err(|_| no_answer())?
    } else {
        conflict::Conflict::default()
    };
    write::write(request, &source, &settled, &conflict, &twins).map_err(|NotConverged| no_answer())
}

fn no_answer() -> Refusal {
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
