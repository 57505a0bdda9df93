//! A request that got no report, and every reason why.

use saltwright_fertilizers::{Fault, Problem};
use serde::ser::{Serialize, SerializeStruct, Serializer};

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
struct Told<'a>(&'a Fault);

impl Serialize for Told<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let fault = self.0;
        let placed = fault.file.is_some() || fault.line.is_some();
        let mut told = serializer.serialize_struct("Fault", if placed { 6 } else { 4 })?;
        told.serialize_field("kind", &fault.problem.kind())?;
        told.serialize_field("where", &fault.field)?;
        told.serialize_field("what", &fault.problem.to_string())?;
        told.serialize_field("mend", &fault.problem.mend())?;
        if placed {
            told.serialize_field("file", &fault.file)?;
            told.serialize_field("line", &fault.line)?;
        }
        told.end()
    }
}

impl Serialize for Refusal {
    /// `refusal` holds the first fault; `faults` holds all where there are several.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let several = self.faults.len() > 1;
        let mut told = serializer.serialize_struct("Refusal", if several { 2 } else { 1 })?;
        told.serialize_field("refusal", &self.faults.first().map(Told))?;
        if several {
            let all: Vec<Told<'_>> = self.faults.iter().map(Told).collect();
            told.serialize_field("faults", &all)?;
        }
        told.end()
    }
}
