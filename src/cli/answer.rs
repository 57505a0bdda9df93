//! From a request to what is printed, written and returned: what `formulate` and `predict` share.

use super::origins::Origins;
use super::{Ending, Stop};
use crate::store::files::write_text;
use saltwright_fertilizers::{Faults, Node, Problem};
use saltwright_recipes::Library;
use saltwright_solver::Refusal;
use saltwright_solver::job::{Answer, Id, Outcome, Report, answer_node};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Answers a request, or refuses it for the faults that were met while it was made.
///
/// With `json` the answer or refusal is printed as it is. What is refused ends in all its faults,
/// told in the words of the command line.
pub fn ask(
    (request, faults): (&Node, Faults),
    origins: &Origins,
    library: &Library,
    json: bool,
    out: &mut dyn Write,
) -> Result<Report, Stop> {
    let answer = |request: &Node| answer_node(request, library);
    ask_by((request, faults), &answer, origins, json, out)
}

/// The same, answered in a way of the caller's.
pub fn ask_by(
    (request, faults): (&Node, Faults),
    answered: &dyn Fn(&Node) -> Answer,
    origins: &Origins,
    json: bool,
    out: &mut dyn Write,
) -> Result<Report, Stop> {
    let answer = if faults.is_empty() {
        answered(request)
    } else {
        Answer {
            job: job_of(request),
            id: Id::None,
            outcome: Outcome::Refused(Refusal::new(faults.into_list())),
        }
    };
    if json {
        serde_json::to_writer_pretty(&mut *out, &answer).map_err(std::io::Error::from)?;
        writeln!(out)?;
    }
    match answer.outcome {
        Outcome::Report(report) => Ok(report),
        Outcome::Refused(refusal) => {
            let told = refusal.faults().iter().map(|fault| origins.told(fault));
            Err(Stop::Faults(told.collect()))
        }
    }
}

fn job_of(request: &Node) -> Option<String> {
    match &request.get("job")?.value {
        saltwright_fertilizers::Value::Text(job) => Some(job.clone()),
        _ => None,
    }
}

/// Writes the mix to a file and the nutrients beside it, and says so.
pub fn keep(
    path: Option<&Path>,
    mix: impl FnOnce() -> String,
    nutrients: impl FnOnce() -> String,
    json: bool,
    out: &mut dyn Write,
) -> Result<(), Stop> {
    let Some(path) = path else {
        return Ok(());
    };
    let files = [
        ("", "the mix", mix()),
        ("-nutrients", "the nutrients", nutrients()),
    ];
    keep_all(path, &files, json, out)
}

/// Writes tables to a file and beside it, each with the ending of its name and what it is, and says
/// so.
pub fn keep_all(
    path: &Path,
    files: &[(&str, &str, String)],
    json: bool,
    out: &mut dyn Write,
) -> Result<(), Stop> {
    for (ending, _, text) in files {
        write_text(&beside(path, ending), text)?;
    }
    if !json {
        let mut said = "\nWrote";
        for (ending, what, _) in files {
            writeln!(out, "{said} {what} to {}", beside(path, ending).display())?;
            said = "and";
        }
    }
    Ok(())
}

/// `mix.csv` makes `mix-nutrients.csv`.
fn beside(path: &Path, ending: &str) -> PathBuf {
    if ending.is_empty() {
        return path.to_owned();
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}{ending}.csv"))
}

/// The ending of a report that is not that of the job asked for.
pub fn mismatch() -> Result<Ending, Stop> {
    Err(mismatched())
}

/// Why it is none.
pub fn mismatched() -> Stop {
    let what = "the answer belongs to another job".to_owned();
    let mend = "This is a fault of the program.".to_owned();
    let mut faults = Faults::default();
    faults.add(None, "", Problem::NoAnswer { what, mend });
    Stop::Faults(faults.into_list())
}
