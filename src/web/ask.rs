//! From fields to a request, and from faults back to the fields they came from.
//!
//! In: the fields of a form.  Out: the request that a job reads, and for every part of it the field
//! that filled it, so that a refusal is shown beside that field. Computes nothing.

use super::Visit;
use crate::cli::input::Known;
use saltwright_fertilizers::units::Litres;
use saltwright_fertilizers::{Fault, Faults, Node, Problem, Table, Value};
use saltwright_solver::Refusal;
use saltwright_solver::job::{Outcome, Report, answer_node};

/// Longest pasted line that is shown beside its fault, characters.
const MAX_EXCERPT: usize = 60;

/// A fault as it is shown on a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// The field it belongs to; none for the question as a whole.
    pub field: Option<String>,
    /// What is wrong, where, and what to do.
    pub words: String,
    /// The pasted line it stands in.
    pub excerpt: Option<String>,
}

/// A request while it is made from fields.
pub struct Asking<'a> {
    /// The visit whose fields are read.
    pub visit: &'a Visit<'a>,
    /// The request so far.
    pub request: Node,
    /// The visitor's own fertilizers beside the shipped ones.
    pub known: Known<'a>,
    /// The batch, once its field was read.
    pub litres: Option<Litres>,
    /// The fields of several lines; a fault in another says nothing of where in it.
    pub lists: Vec<String>,
    /// Where parts of the request came from, in words, where no field shows it.
    pub told: Vec<String>,
    origins: Vec<(String, String)>,
    said: Vec<Said>,
}

impl<'a> Asking<'a> {
    /// A request for a job, with nothing in it yet.
    pub fn new(job: &str, visit: &'a Visit<'a>) -> Self {
        Self {
            visit,
            request: Node::table([("job", Node::text(job))]),
            known: Known::new(Table::default(), &visit.site.library),
            litres: None,
            lists: Vec::new(),
            told: Vec::new(),
            origins: Vec::new(),
            said: Vec::new(),
        }
    }

    /// What stands in a field.
    pub fn value(&self, field: &str) -> Option<&'a str> {
        self.visit.fields.get(field).map(str::trim)
    }

    /// What stands in a field as it was written, blanks and all.
    pub fn text(&self, field: &str) -> Option<&'a str> {
        self.visit.fields.get(field)
    }

    /// Sets a part of the request that came from a field.
    pub fn set(&mut self, key: &str, node: Node, field: &str) {
        self.request.set(key, node);
        self.origin(key, field);
    }

    /// Notes which field a part of the request came from; the closest part counts.
    pub fn origin(&mut self, part: impl Into<String>, field: &str) {
        self.origins.push((part.into(), field.to_owned()));
    }

    /// Does something whose faults belong to a field.
    pub fn within<T>(&mut self, field: &str, act: impl FnOnce(&mut Self, &mut Faults) -> T) -> T {
        let mut faults = Faults::default();
        let made = act(self, &mut faults);
        for fault in faults.into_list() {
            self.say(&fault, Some(field));
        }
        made
    }

    /// Fills a key with the quantity in a field.
    pub fn quantity(
        &mut self,
        field: &str,
        key: &str,
        parse: impl Fn(&str) -> Result<f64, Problem>,
    ) -> Option<f64> {
        let typed = self.value(field)?;
        match parse(typed) {
            Ok(number) => {
                self.set(key, Node::number(number), field);
                Some(number)
            }
            Err(problem) => {
                self.refuse(field, problem);
                None
            }
        }
    }

    /// Fills a key with the quantities in a field, apart by semicolons.
    pub fn quantities(
        &mut self,
        field: &str,
        key: &str,
        parse: impl Fn(&str) -> Result<f64, Problem>,
    ) {
        let Some(typed) = self.value(field) else {
            return;
        };
        let mut nodes = Vec::new();
        for part in apart(typed) {
            match parse(&part) {
                Ok(number) => nodes.push(Node::number(number)),
                Err(problem) => self.refuse(field, problem),
            }
        }
        self.list(key, nodes, field);
    }

    /// Sets a figure within a table of the request from a quantity in a field.
    pub fn figure(
        &mut self,
        field: &str,
        (table, path): (&mut Node, &str),
        key: &str,
        parse: impl Fn(&str) -> Result<f64, Problem>,
    ) {
        self.origin(format!("{path}.{key}"), field);
        let Some(typed) = self.value(field) else {
            return;
        };
        match parse(typed) {
            Ok(number) => table.set(key, Node::number(number)),
            Err(problem) => self.refuse(field, problem),
        }
    }

    /// Fills a key with the name in a field.
    pub fn name(&mut self, field: &str, key: &str) {
        if let Some(name) = self.value(field) {
            self.set(key, Node::text(name), field);
        }
    }

    /// Fills a key with the names in a field: ticked, or typed apart by commas, blanks or lines.
    pub fn names(&mut self, field: &str, key: &str) {
        let all = self.visit.fields.all(field);
        let names = all.flat_map(|value| value.split([',', ';', ' ', '\n']));
        let names: Vec<&str> = names.filter(|name| !name.is_empty()).collect();
        if !names.is_empty() {
            self.set(key, Node::texts(names), field);
        }
    }

    /// Fills a key with the id in a field, or with nothing where it says "none".
    pub fn id_or_none(&mut self, field: &str, key: &str) {
        match self.value(field) {
            None => {}
            Some("none") => self.set(key, Value::Null.into(), field),
            Some(id) => self.set(key, Node::text(id), field),
        }
    }

    /// Notes what is wrong with a field.
    pub fn refuse(&mut self, field: &str, problem: Problem) {
        let fault = Fault {
            file: None,
            line: None,
            field: String::new(),
            problem,
        };
        self.say(&fault, Some(field));
    }

    /// A fault in words, beside its field.
    pub fn say(&mut self, fault: &Fault, field: Option<&str>) {
        let mut told = fault.clone();
        told.file = None;
        let text = field.and_then(|field| self.text(field));
        let line = text.zip(told.line).and_then(|(text, line)| {
            let line = text.lines().nth(line.checked_sub(1)?)?;
            Some(line.chars().take(MAX_EXCERPT).collect::<String>())
        });
        self.said.push(Said {
            field: field.filter(|field| !field.is_empty()).map(str::to_owned),
            words: told.to_string(),
            excerpt: line,
        });
    }

    /// The faults of a refused request, each beside the field it came from.
    fn refused(&mut self, refusal: &Refusal) {
        for fault in refusal.faults() {
            let below = |part: &str| {
                let rest = fault.field.strip_prefix(part)?;
                (rest.is_empty() || rest.starts_with(['.', '['])).then_some(rest)
            };
            let found = self
                .origins
                .iter()
                .filter_map(|(part, field)| Some((part.len(), below(part)?, field.clone())))
                .max_by_key(|(length, ..)| *length);
            match found {
                Some((_, rest, field)) => {
                    let told = Fault {
                        field: self.entry(&fault.field, rest, &field),
                        ..fault.clone()
                    };
                    self.say(&told, Some(&field));
                }
                None => self.say(fault, None),
            }
        }
    }

    /// What is left of a path below its field: an entry of a list is told by its id, or else
    /// counted from one, since its position and key say nothing to who filled in a form; a key is
    /// told of a list that was pasted, where it stands.
    fn entry(&self, path: &str, rest: &str, field: &str) -> String {
        let is_list = self.lists.iter().any(|list| list == field);
        let plain = || {
            let key = rest.trim_start_matches('.');
            if is_list { key } else { "" }.to_owned()
        };
        let Some((list, inside)) = path.split_once('[') else {
            return plain();
        };
        let Some((position, _)) = inside.split_once(']') else {
            return plain();
        };
        let (Ok(position), true) = (position.parse::<usize>(), rest.starts_with('[')) else {
            return plain();
        };
        let item = match self.request.get(list).map(|node| &node.value) {
            Some(Value::List(items)) => items.get(position),
            _ => None,
        };
        match item.map(|item| &item.get("id").unwrap_or(item).value) {
            Some(Value::Text(id)) => id.clone(),
            _ => format!("number {}", position + 1),
        }
    }

    /// Answers the request; where anything is wrong, all of it is said instead.
    pub fn answer(&mut self) -> Option<Report> {
        if !self.said.is_empty() {
            return None;
        }
        match answer_node(&self.request, &self.visit.site.library).outcome {
            Outcome::Report(report) => Some(report),
            Outcome::Refused(refusal) => {
                self.refused(&refusal);
                None
            }
        }
    }

    /// What is wrong, in the order it was met.
    pub fn said(self) -> Vec<Said> {
        self.said
    }

    /// A list of nodes under a key, from a field.
    pub fn list(&mut self, key: &str, nodes: Vec<Node>, field: &str) {
        self.set(key, Value::List(nodes).into(), field);
    }
}

/// Figures apart by semicolons; by commas, too, but between two digits a comma is a decimal one.
pub fn apart(typed: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    for (at, c) in typed.char_indices() {
        let between_digits = typed[..at].ends_with(|c: char| c.is_ascii_digit())
            && typed[at + c.len_utf8()..].starts_with(|c: char| c.is_ascii_digit());
        match parts.last_mut() {
            Some(part) if c != ';' && (c != ',' || between_digits) => part.push(c),
            _ => parts.push(String::new()),
        }
    }
    parts.retain(|part| !part.trim().is_empty());
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_stand_apart() {
        for (typed, read) in [
            ("20 L", vec!["20 L"]),
            ("20,5", vec!["20,5"]),
            ("20, 10", vec!["20", " 10"]),
            ("20L,10L", vec!["20L", "10L"]),
            ("20,5;10;", vec!["20,5", "10"]),
        ] {
            assert_eq!(apart(typed), read, "{typed}");
        }
    }
}
