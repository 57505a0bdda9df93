//! A request that got no report, and every reason why.

use saltwright_fertilizers::{Fault, Kind, Problem};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};
use std::borrow::Cow;

/// All that is wrong with a request; at least one fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    faults: Vec<Fault>,
}

impl Refusal {
    /// A refusal for these faults; a refusal always says why.
    pub fn new(faults: Vec<Fault>) -> Self {
        if faults.is_empty() {
            let reason = "this request could not be read".to_owned();
            let mend = "Compare it with the examples of `saltwright help json`.";
            return Self::of("", Problem::Unreadable { reason, mend });
        }
        Self { faults }
    }

    /// A refusal for one fault of the request as a whole.
    pub fn of(field: &str, problem: Problem) -> Self {
        let fault = Fault {
            file: None,
            line: None,
            field: field.to_owned(),
            problem,
        };
        Self {
            faults: vec![fault],
        }
    }

    /// A refusal where the balances of a solution were not met.
    pub(crate) fn unsolved(field: &str) -> Self {
        let what = "the chemistry of this solution could not be solved".to_owned();
        let mend = "Check for amounts that no water holds.".to_owned();
        Self::of(field, Problem::NoAnswer { what, mend })
    }

    /// The faults, in the order they were met.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }
}

/// A fault as machines read it.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Fault")]
struct Told {
    /// The kind of fault.
    kind: Kind,
    /// The field: a dotted path, like `recipe.aims.K.min`.
    r#where: String,
    /// What is wrong, in a sentence.
    what: String,
    /// What to do about it.
    mend: String,
    #[serde(flatten)]
    place: Option<Place>,
}

/// Where a fault stands in a file or a pasted text.
#[derive(Serialize, JsonSchema)]
struct Place {
    /// The file as the grower named it.
    file: Option<String>,
    /// Line in it, counted from 1.
    line: Option<usize>,
}

impl From<&Fault> for Told {
    fn from(fault: &Fault) -> Self {
        let placed = fault.file.is_some() || fault.line.is_some();
        Self {
            kind: fault.problem.kind(),
            r#where: fault.field.clone(),
            what: fault.problem.to_string(),
            mend: fault.problem.mend(),
            place: placed.then(|| Place {
                file: fault.file.clone(),
                line: fault.line,
            }),
        }
    }
}

/// A refusal as machines read it.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Refusal")]
struct Refused {
    /// The first fault.
    refusal: Option<Told>,
    /// All faults, where there are several.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    faults: Vec<Told>,
}

impl Serialize for Refusal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let several = self.faults.len() > 1;
        let all = self.faults.iter().filter(|_| several);
        let refused = Refused {
            refusal: self.faults.first().map(Told::from),
            faults: all.map(Told::from).collect(),
        };
        refused.serialize(serializer)
    }
}

impl JsonSchema for Refusal {
    fn schema_name() -> Cow<'static, str> {
        Refused::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        Refused::json_schema(generator)
    }
}
