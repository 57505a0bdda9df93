//! The machine face: `POST api/JOB` with a request, `GET api` for its description.
//!
//! In: the text of a request.  Out: the answer that `saltwright batch` gives, or a problem document
//! with the refusal inside.

pub mod describe;
pub mod examples;
pub mod problem;
pub mod requests;

use super::document::{Document, Media};
use saltwright_fertilizers::{Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::Refusal;
use saltwright_solver::job::{Answer, Id, JOBS, Outcome, answer_watched};
use saltwright_solver::purchase::Progress;

/// Answers a request to a job; a request that names none is one to the job of its address.
pub fn answer(job: &str, text: &str, library: &Library) -> Document {
    answer_while(job, text, library, &mut |_| true)
}

/// The same, where a search that takes long ends once `goes_on` says no.
pub fn answer_while(
    job: &str,
    text: &str,
    library: &Library,
    goes_on: &mut dyn FnMut(&Progress) -> bool,
) -> Document {
    let answer = match Node::from_json(text.trim_start_matches('\u{feff}')) {
        Ok(node) => answer_watched(&addressed(job, node), library, goes_on),
        Err(problem) => refused(problem),
    };
    match &answer.outcome {
        Outcome::Report(_) => Document::new(Media::Json, json(&answer)),
        Outcome::Refused(_) => {
            let status = match answer.job.as_deref() {
                None => 400,
                Some(named) if named == job && !JOBS.contains(&job) => 404,
                Some(_) => 422,
            };
            problem::refused(status, &answer)
        }
    }
}

/// The answer to a request that could not be read as text.
pub fn unreadable() -> Document {
    let reason = "this is not UTF-8 text".to_owned();
    let mend = "Write requests as UTF-8.";
    problem::refused(400, &refused(Problem::Unreadable { reason, mend }))
}

fn refused(problem: Problem) -> Answer {
    Answer {
        job: None,
        id: Id::None,
        outcome: Outcome::Refused(Refusal::of("", problem)),
    }
}

/// The request with the job of its address. Where it names another job, that name is turned into
/// one that nobody knows, and so refused.
fn addressed(job: &str, mut node: Node) -> Node {
    let named = node.get("job").map(|named| named.value.clone());
    match named {
        None | Some(Value::Null) => node.set("job", Node::text(job)),
        Some(Value::Text(named)) if named == job => {}
        Some(Value::Text(named)) => {
            node.set("job", Node::text(format!("{named} at {job}")));
        }
        // Another value is refused by the reader.
        Some(_) => {}
    }
    node
}

fn json(answer: &Answer) -> String {
    // A report has no keys but texts, and no number that JSON lacks a form for.
    serde_json::to_string(answer).unwrap_or_default()
}
