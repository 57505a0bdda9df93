//! The description of the machine face: OpenAPI 3.1, its schemas made from the types of requests
//! and reports.

use super::problem::{Problem, phrase};
use super::{examples, requests};
use crate::web::document::{Document, Media};
use saltwright_recipes::Library;
use saltwright_solver::job::Id;
use saltwright_solver::purchase::PurchaseReport;
use saltwright_solver::{
    CorrectReport, FormulateReport, LabelReport, MeterReport, PredictReport, RefillReport,
    StockReport, SubstituteReport, WaterReport,
};
use schemars::generate::{Contract, SchemaSettings};
use schemars::{Schema, SchemaGenerator};
use serde_json::{Map, Value, json};

/// A job as the description tells it. A new job is one row more in [`JOBS`].
pub struct Told {
    /// Its name.
    pub job: &'static str,
    /// What it answers.
    pub summary: &'static str,
    /// The shape of its request.
    request: fn(&mut SchemaGenerator) -> Schema,
    /// The shape of its report.
    report: fn(&mut SchemaGenerator) -> Schema,
}

/// Every job.
pub const JOBS: &[Told] = &[
    Told {
        job: "formulate",
        summary: "From a recipe and a water to grams, with a proof",
        request: SchemaGenerator::subschema_for::<requests::FormulateRequest>,
        report: SchemaGenerator::subschema_for::<FormulateReport>,
    },
    Told {
        job: "predict",
        summary: "From grams to nutrients and EC",
        request: SchemaGenerator::subschema_for::<requests::PredictRequest>,
        report: SchemaGenerator::subschema_for::<PredictReport>,
    },
    Told {
        job: "water",
        summary: "What a water analysis says, and the acid it needs",
        request: SchemaGenerator::subschema_for::<requests::WaterRequest>,
        report: SchemaGenerator::subschema_for::<WaterReport>,
    },
    Told {
        job: "purchase",
        summary: "Which whole bags to buy for a season, at the least cost",
        request: SchemaGenerator::subschema_for::<requests::PurchaseRequest>,
        report: SchemaGenerator::subschema_for::<PurchaseReport>,
    },
    Told {
        job: "stock",
        summary: "From a mix to stock tanks that stay clear",
        request: SchemaGenerator::subschema_for::<requests::StockRequest>,
        report: SchemaGenerator::subschema_for::<StockReport>,
    },
    Told {
        job: "substitute",
        summary: "From today's mix and prices to the cheapest that feeds the same",
        request: SchemaGenerator::subschema_for::<requests::SubstituteRequest>,
        report: SchemaGenerator::subschema_for::<SubstituteReport>,
    },
    Told {
        job: "label",
        summary: "A bought mix against its label",
        request: SchemaGenerator::subschema_for::<requests::LabelRequest>,
        report: SchemaGenerator::subschema_for::<LabelReport>,
    },
    Told {
        job: "correct",
        summary: "From what the meters show to what to do, in order",
        request: SchemaGenerator::subschema_for::<requests::CorrectRequest>,
        report: SchemaGenerator::subschema_for::<CorrectReport>,
    },
    Told {
        job: "refill",
        summary: "What the plants took, what to fill up with, when to change",
        request: SchemaGenerator::subschema_for::<requests::RefillRequest>,
        report: SchemaGenerator::subschema_for::<RefillReport>,
    },
    Told {
        job: "meter",
        summary: "How far a meter is off, and which scale a pen has",
        request: SchemaGenerator::subschema_for::<requests::MeterRequest>,
        report: SchemaGenerator::subschema_for::<MeterReport>,
    },
];

/// What a request may be answered with beside a report, and what each means here.
const REFUSALS: [(u16, &str); 10] = [
    (400, "Not JSON, or the host is not named once."),
    (403, "Another site asked, or the link is not whole."),
    (408, "The request did not arrive in time."),
    (413, "The request is too large."),
    (414, "The address is too long."),
    (415, "The request is not sent as application/json."),
    (421, "This server answers to its own address only."),
    (
        422,
        "Read and refused: a name is unknown, a number out of its limits, parts contradict.",
    ),
    (500, "The question broke the program."),
    (503, "Too many ask at once, or the question takes too long."),
];

/// The description, for a site at this base address with this library.
pub fn document(base: &str, library: &Library) -> Document {
    let text = serde_json::to_string_pretty(&describe(base, library)).unwrap_or_default();
    Document::new(Media::Json, text)
}

/// The description as a tree.
pub fn describe(base: &str, library: &Library) -> Value {
    let Shapes {
        paths,
        problem,
        mut asked,
        answered,
    } = shapes(base);
    requests::fill_in(&mut asked, library);
    let mut schemas = asked;
    schemas.extend(answered);
    let refusals = REFUSALS.map(|(status, means)| {
        let mut refusal = json!({
            "description": format!("{}: {means} (RFC 9457)", phrase(status)),
            "content": { "application/problem+json": { "schema": problem } },
        });
        if status == 503 {
            refusal["headers"] = json!({ "Retry-After": {
                "description": "Seconds to wait.", "required": true,
                "schema": { "type": "integer", "minimum": 0 },
            } });
        }
        (status.to_string(), refusal)
    });
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Saltwright",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "One request, one report. Numbers are in the unit that their key names.",
        },
        "jsonSchemaDialect": "https://json-schema.org/draft/2020-12/schema",
        "paths": paths,
        "components": {
            "schemas": schemas,
            "responses": refusals.into_iter().collect::<Map<_, _>>(),
        },
    })
}

/// The paths, and the definitions that they refer to.
struct Shapes {
    paths: Map<String, Value>,
    problem: Schema,
    /// Of requests.
    asked: Map<String, Value>,
    /// Of reports and problems.
    answered: Map<String, Value>,
}

fn shapes(base: &str) -> Shapes {
    let settings = |contract: Contract| {
        let settings = SchemaSettings::draft2020_12().with(|settings| {
            settings.definitions_path = "/components/schemas".into();
            settings.meta_schema = None;
            settings.contract = contract;
        });
        settings.into_generator()
    };
    let mut read = settings(Contract::Deserialize);
    let mut written = settings(Contract::Serialize);
    let mut paths = Map::new();
    paths.insert(format!("{base}api"), own_path());
    for told in JOBS {
        let request = (told.request)(&mut read);
        let report = (told.report)(&mut written);
        let path = format!("{base}api/{}", told.job);
        paths.insert(path, post(told, &request, &report, &mut written));
    }
    Shapes {
        paths,
        problem: written.subschema_for::<Problem<'_>>(),
        asked: read.take_definitions(true),
        answered: written.take_definitions(true),
    }
}

/// The path of this description.
fn own_path() -> Value {
    json!({
        "get": {
            "operationId": "describe",
            "summary": "This description",
            "responses": responses(json!({
                "description": "OpenAPI 3.1.",
                "content": { "application/json": { "schema": { "type": "object" } } },
            })),
        },
    })
}

/// An answer, and every refusal beside it.
fn responses(answer: Value) -> Value {
    let refusals = REFUSALS.map(|(status, _)| {
        let path = format!("#/components/responses/{status}");
        (status.to_string(), json!({ "$ref": path }))
    });
    let answered = [("200".to_owned(), answer)];
    Value::Object(answered.into_iter().chain(refusals).collect())
}

fn post(told: &Told, request: &Schema, report: &Schema, written: &mut SchemaGenerator) -> Value {
    let id = written.subschema_for::<Id>();
    let examples: Map<String, Value> = examples::of(told.job)
        .map(|(name, request)| (name.to_owned(), json!({ "value": request })))
        .collect();
    json!({
        "post": {
            "operationId": told.job,
            "summary": told.summary,
            "requestBody": {
                "required": true,
                "content": { "application/json": {
                    "schema": {
                        "allOf": [
                            request,
                            { "properties": { "job": { "enum": [told.job, null] } } },
                        ],
                    },
                    "examples": examples,
                } },
            },
            "responses": responses(json!({
                "description": "The report.",
                "content": { "application/json": { "schema": {
                    "allOf": [
                        report,
                        {
                            "type": "object",
                            "required": ["job", "id"],
                            "properties": { "job": { "const": told.job }, "id": id },
                        },
                    ],
                } } },
            })),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_solver::job;

    #[test]
    fn every_job_is_described() {
        let mut told: Vec<&str> = JOBS.iter().map(|told| told.job).collect();
        let mut jobs = job::JOBS.to_vec();
        told.sort_unstable();
        jobs.sort_unstable();
        assert_eq!(told, jobs);
    }

    /// A name that stood for two shapes would describe one of them wrongly.
    #[test]
    fn every_definition_has_a_name_of_its_own() {
        let shapes = shapes("/");
        for (name, asked) in &shapes.asked {
            let answered = shapes.answered.get(name).unwrap_or(asked);
            assert_eq!(asked, answered, "{name}");
        }
    }
}
