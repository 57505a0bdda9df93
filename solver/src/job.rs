//! The machine face: one request in, one report or refusal out.

use crate::formulate::engine::Minilp;
use crate::formulate::{FormulateReport, FormulateRequest, formulate};
use crate::label::{LabelReport, LabelRequest, label};
use crate::predict::{PredictReport, PredictRequest, predict};
use crate::purchase::{Progress, PurchaseReport, PurchaseRequest, purchase_with};
use crate::refusal::Refusal;
use crate::reservoir::{
    CorrectReport, CorrectRequest, MeterReport, MeterRequest, RefillReport, RefillRequest, correct,
    meter, refill,
};
use crate::stock::{StockReport, StockRequest, stock};
use crate::substitute::{SubstituteReport, SubstituteRequest, substitute};
use crate::water::{WaterReport, WaterRequest, water};
use saltwright_fertilizers::document::{self, MAX_ID, Node, Value};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::{Faults, Problem};
use saltwright_recipes::Library;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use std::borrow::Cow;

/// The jobs there are.
pub const JOBS: &[&str] = &[
    "formulate",
    "predict",
    "water",
    "stock",
    "substitute",
    "purchase",
    "label",
    "correct",
    "refill",
    "meter",
];

/// The report of any job.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Report {
    /// Of `formulate`.
    Formulate(Box<FormulateReport>),
    /// Of `predict`.
    Predict(Box<PredictReport>),
    /// Of `purchase`.
    Purchase(Box<PurchaseReport>),
    /// Of `stock`.
    Stock(Box<StockReport>),
    /// Of `substitute`.
    Substitute(Box<SubstituteReport>),
    /// Of `water`.
    Water(Box<WaterReport>),
    /// Of `label`.
    Label(Box<LabelReport>),
    /// Of `correct`.
    Correct(Box<CorrectReport>),
    /// Of `refill`.
    Refill(Box<RefillReport>),
    /// Of `meter`.
    Meter(Box<MeterReport>),
}

/// What came of a request.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum Outcome {
    /// An answer.
    Report(Report),
    /// None, and why.
    Refused(Refusal),
}

/// One line of the machine face.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Answer {
    /// The job asked for; none where the line could not be read.
    pub job: Option<String>,
    /// The id as given.
    pub id: Id,
    /// Report or refusal.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// An id: text or number, given back as it came.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Id {
    /// None was given.
    #[default]
    None,
    /// Text.
    Text(String),
    /// A number.
    Number(f64),
}

impl Serialize for Id {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        /// Largest whole number that a double holds with all its neighbours.
        const EXACT: f64 = 9_007_199_254_740_992.0;
        match self {
            Self::None => serializer.serialize_none(),
            Self::Text(text) => serializer.serialize_str(text),
            #[allow(clippy::cast_possible_truncation)] // whole and below 2^53
            Self::Number(number) if number.fract() == 0.0 && number.abs() < EXACT => {
                serializer.serialize_i64(*number as i64)
            }
            Self::Number(number) => serializer.serialize_f64(*number),
        }
    }
}

impl JsonSchema for Id {
    fn schema_name() -> Cow<'static, str> {
        "Id".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Text or number, given back as it came; null where none was given.",
            "type": ["string", "number", "null"],
        })
    }
}

/// Answers one request given as JSON text.
pub fn answer(text: &str, library: &Library) -> Answer {
    match Node::from_json(text) {
        Ok(node) => answer_node(&node, library),
        Err(problem) => Answer {
            job: None,
            id: Id::None,
            outcome: Outcome::Refused(Refusal::of("", problem)),
        },
    }
}

/// Answers one request.
pub fn answer_node(node: &Node, library: &Library) -> Answer {
    answer_watched(node, library, &mut |_| true)
}

/// The same, where a search that takes long tells how far it has come and ends once `watch` says no.
pub fn answer_watched(
    node: &Node,
    library: &Library,
    watch: &mut dyn FnMut(&Progress) -> bool,
) -> Answer {
    let mut faults = Faults::default();
    let id = read_id(node, &mut faults);
    let job = read_job(node, &mut faults);
    let outcome = match job {
        Some(job) => run(job, node, library, faults, watch),
        None => Err(Refusal::new(faults.into_list())),
    };
    Answer {
        job: named_job(node),
        id,
        outcome: outcome.map_or_else(Outcome::Refused, Outcome::Report),
    }
}

fn run(
    job: &str,
    node: &Node,
    library: &Library,
    faults: Faults,
    watch: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Report, Refusal> {
    match job {
        "predict" => {
            let request = read(PredictRequest::read, node, library, faults)?;
            predict(&request).map(|report| Report::Predict(Box::new(report)))
        }
        "correct" => {
            let request = read(CorrectRequest::read, node, library, faults)?;
            correct(&request).map(|report| Report::Correct(Box::new(report)))
        }
        "refill" => {
            let request = read(RefillRequest::read, node, library, faults)?;
            refill(&request).map(|report| Report::Refill(Box::new(report)))
        }
        "meter" => {
            let request = read(MeterRequest::read, node, library, faults)?;
            meter(&request).map(|report| Report::Meter(Box::new(report)))
        }
        "label" => {
            let request = read(LabelRequest::read, node, library, faults)?;
            label(&request).map(|report| Report::Label(Box::new(report)))
        }
        "purchase" => {
            let request = read(PurchaseRequest::read, node, library, faults)?;
            purchase_with(&request, &Minilp, watch).map(|report| Report::Purchase(Box::new(report)))
        }
        "stock" => {
            let request = read(StockRequest::read, node, library, faults)?;
            Ok(Report::Stock(Box::new(stock(&request))))
        }
        "substitute" => {
            let request = read(SubstituteRequest::read, node, library, faults)?;
            substitute(&request).map(|report| Report::Substitute(Box::new(report)))
        }
        "water" => {
            let request = read(WaterRequest::read, node, library, faults)?;
            water(&request).map(|report| Report::Water(Box::new(report)))
        }
        _ => {
            let request = read(FormulateRequest::read, node, library, faults)?;
            formulate(&request).map(|report| Report::Formulate(Box::new(report)))
        }
    }
}

/// A request without a fault, or why not.
fn read<R>(
    reader: fn(&Node, &Library, &mut Faults) -> Option<R>,
    node: &Node,
    library: &Library,
    mut faults: Faults,
) -> Result<R, Refusal> {
    let request = reader(node, library, &mut faults);
    request
        .filter(|_| faults.is_empty())
        .ok_or_else(|| Refusal::new(faults.into_list()))
}

fn read_job(node: &Node, faults: &mut Faults) -> Option<&'static str> {
    if !matches!(node.value, Value::Table(_)) {
        let (found, wanted) = (node.shape(), "a request: {\"job\": …}");
        faults.add(None, "", Problem::WrongShape { found, wanted });
        return None;
    }
    let Some(job) = node.get("job") else {
        let what = "the job";
        let mend = "Say which, like \"job\": \"formulate\".";
        faults.add(None, "job", Problem::Empty { what, mend });
        return None;
    };
    let name = document::text(job, "job", MAX_ID, faults)?;
    let known = JOBS.iter().copied().find(|job| *job == name);
    if known.is_none() {
        let nearest = nearest(name, JOBS.iter().copied());
        let (kind, name) = ("job", name.to_owned());
        faults.add(
            None,
            "job",
            Problem::Unknown {
                kind,
                name,
                nearest,
            },
        );
    }
    known
}

/// The job as it was named, known or not.
fn named_job(node: &Node) -> Option<String> {
    match node.get("job").map(|job| &job.value) {
        Some(Value::Text(name)) if name.len() <= MAX_ID => Some(name.clone()),
        _ => None,
    }
}

fn read_id(node: &Node, faults: &mut Faults) -> Id {
    match node.get("id").map(|id| &id.value) {
        None | Some(Value::Null) => Id::None,
        Some(Value::Text(text)) => Id::Text(text.clone()),
        Some(Value::Number(number)) => Id::Number(*number),
        Some(_) => {
            let (found, wanted) = ("another value", "a text or a number");
            faults.add(None, "id", Problem::WrongShape { found, wanted });
            Id::None
        }
    }
}
