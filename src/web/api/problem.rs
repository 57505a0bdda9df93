//! Problem documents: Nottingham, Wilde & Dalal (2023), Problem Details for HTTP APIs, RFC 9457.

use crate::web::document::{Document, Media};
use saltwright_solver::Refusal;
use saltwright_solver::job::{Answer, Id, Outcome};
use schemars::JsonSchema;
use serde::Serialize;

/// What went wrong.
#[derive(Serialize, JsonSchema)]
pub struct Problem<'a> {
    /// Always `about:blank`: the status says the kind, `refusal` says the rest.
    r#type: &'static str,
    /// The phrase of the status.
    title: &'static str,
    /// The HTTP status code.
    status: u16,
    /// What is wrong and what to do, in words.
    detail: String,
    #[serde(flatten)]
    asked: Option<Asked<'a>>,
}

/// A request that was refused, as `saltwright batch` tells it.
#[derive(Serialize, JsonSchema)]
struct Asked<'a> {
    /// The job asked for.
    job: Option<&'a str>,
    /// The id as given.
    id: &'a Id,
    #[serde(flatten)]
    refusal: &'a Refusal,
}

/// The phrase of a status. Source: Fielding, Nottingham & Reschke (2022), HTTP Semantics, RFC 9110,
/// section 15; 431: RFC 6585.
pub const fn phrase(status: u16) -> &'static str {
    match status {
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        413 => "Content Too Large",
        414 => "URI Too Long",
        415 => "Unsupported Media Type",
        421 => "Misdirected Request",
        422 => "Unprocessable Content",
        431 => "Request Header Fields Too Large",
        503 => "Service Unavailable",
        _ => "Internal Server Error",
    }
}

/// A problem of the asking itself.
pub fn document(status: u16, detail: &str) -> Document {
    write(&Problem {
        r#type: "about:blank",
        title: phrase(status),
        status,
        detail: detail.to_owned(),
        asked: None,
    })
}

/// A request that was read and refused.
pub fn refused(status: u16, answer: &Answer) -> Document {
    let Outcome::Refused(refusal) = &answer.outcome else {
        return document(500, "An answer was taken for a refusal.");
    };
    let words: Vec<String> = refusal.faults().iter().map(ToString::to_string).collect();
    write(&Problem {
        r#type: "about:blank",
        title: phrase(status),
        status,
        detail: words.join(" "),
        asked: Some(Asked {
            job: answer.job.as_deref(),
            id: &answer.id,
            refusal,
        }),
    })
}

fn write(problem: &Problem<'_>) -> Document {
    let text = serde_json::to_string(problem).unwrap_or_default();
    Document::new(Media::Problem, text).with_status(problem.status)
}
