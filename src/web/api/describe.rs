//! The description of the machine face: OpenAPI 3.1, its schemas made from the types of requests
//! and reports.

use super::problem::Problem;
use super::requests;
use crate::web::document::{Document, Media};
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

/// The description, for a site at this base address.
pub fn document(base: &str) -> Document {
    let text = serde_json::to_string_pretty(&describe(base)).unwrap_or_default();
    Document::new(Media::Json, text)
}

/// The description as a tree.
pub fn describe(base: &str) -> Value {
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
    for told in JOBS {
        let request = (told.request)(&mut read);
        let report = (told.report)(&mut written);
        let path = format!("{base}api/{}", told.job);
        paths.insert(path, post(told, &request, &report, &mut written));
    }
    let problem = written.subschema_for::<Problem<'_>>();
    let mut schemas = read.take_definitions(true);
    schemas.extend(written.take_definitions(true));
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
            "responses": {
                "Problem": {
                    "description": "Refused: what is wrong and what would mend it (RFC 9457).",
                    "content": { "application/problem+json": { "schema": problem } },
                },
            },
        },
    })
}

fn post(told: &Told, request: &Schema, report: &Schema, written: &mut SchemaGenerator) -> Value {
    let id = written.subschema_for::<Id>();
    let problem = json!({ "$ref": "#/components/responses/Problem" });
    json!({
        "post": {
            "operationId": told.job,
            "summary": told.summary,
            "requestBody": {
                "required": true,
                "content": { "application/json": { "schema": request } },
            },
            "responses": {
                "200": {
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
                },
                "default": problem,
            },
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_recipes::Library;
    use saltwright_solver::job;

    #[test]
    fn every_job_is_described() {
        let mut told: Vec<&str> = JOBS.iter().map(|told| told.job).collect();
        let mut jobs = job::JOBS.to_vec();
        told.sort_unstable();
        jobs.sort_unstable();
        assert_eq!(told, jobs);
    }

    /// A key that is described is one that the reader knows.
    #[test]
    fn every_key_of_a_request_is_read() {
        let library = Library::shipped().expect("sound");
        let described = describe("/");
        for told in JOBS {
            let body = format!("/paths/~1api~1{}/post/requestBody/content", told.job);
            let schema = &described.pointer(&body).expect("a body")["application/json"]["schema"];
            let name = schema["$ref"]
                .as_str()
                .and_then(|path| path.rsplit('/').next());
            let shape = &described["components"]["schemas"][name.expect("a name")];
            assert_eq!(shape["additionalProperties"], false);
            let keys = shape["properties"].as_object().expect("keys");
            assert!(keys.len() > 5);
            for key in keys.keys().filter(|key| *key != "job") {
                let mut request = json!({ "job": told.job });
                // With a recipe a label knows the keys of a formulation, too.
                if keys.contains_key("recipe") {
                    request["recipe"] = json!("hoagland-2");
                }
                request[key.as_str()] = Value::Null;
                let answer = job::answer(&request.to_string(), &library);
                let answer = serde_json::to_value(&answer).expect("JSON");
                let said = answer.to_string();
                assert!(!said.contains("there is no key"), "{key}: {said}");
            }
        }
    }
}
