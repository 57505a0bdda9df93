//! The description against the reader: what it allows is read, what it does not is refused.
//!
//! Every value of every example is bent to the ends of what the description says of it and beyond.

use super::{post, tree};
use crate::common::library;
use saltwright::web::api::{describe, examples};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// A value of a request and what is said of it.
struct Leaf {
    /// Where it stands: a JSON pointer.
    pointer: String,
    schema: Value,
}

impl Leaf {
    /// Where a fault of it stands; items of a short list count as the list.
    fn path(&self) -> String {
        let mut path = String::new();
        for part in self.pointer.split('/').skip(1) {
            match part.parse::<usize>() {
                Ok(at) => write!(path, "[{at}]").expect("written"),
                Err(_) if path.is_empty() => path.push_str(part),
                Err(_) => write!(path, ".{part}").expect("written"),
            }
        }
        path
    }
}

/// The shape without its references.
fn resolved<'a>(described: &'a Value, schema: &'a Value) -> &'a Value {
    match schema["$ref"].as_str() {
        Some(path) => {
            let whole = described.pointer(path.trim_start_matches('#'));
            resolved(described, whole.expect("a definition"))
        }
        None => schema,
    }
}

/// Every value of a request with each shape that is described for it, tables and lists among them.
fn leaves(described: &Value, schema: &Value, value: &Value, pointer: &str, all: &mut Vec<Leaf>) {
    let schema = resolved(described, schema);
    for key in ["anyOf", "allOf", "oneOf"] {
        for branch in schema[key].as_array().into_iter().flatten() {
            leaves(described, branch, value, pointer, all);
        }
    }
    let object = |value: &Value| value.is_object() && schema["type"] != "array";
    if let Some(entries) = value.as_object().filter(|_| object(value)) {
        for (key, value) in entries {
            let known = schema["properties"].get(key);
            let named = schema
                .get("additionalProperties")
                .filter(|it| it.is_object());
            if let Some(inner) = known.or(named) {
                let pointer = format!("{pointer}/{key}");
                leaves(described, inner, value, &pointer, all);
            }
        }
    }
    for (at, item) in value.as_array().into_iter().flatten().enumerate() {
        if schema.get("items").is_some() {
            let pointer = format!("{pointer}/{at}");
            leaves(described, &schema["items"], item, &pointer, all);
        }
    }
    all.push(Leaf {
        pointer: pointer.to_owned(),
        schema: schema.clone(),
    });
}

/// The faults of an answer: kind and place.
fn faults(answer: &Value) -> Vec<(String, String)> {
    let several = answer["faults"].as_array().cloned();
    let one = answer.get("refusal").cloned();
    let told = several.unwrap_or_else(|| one.into_iter().collect());
    let text = |fault: &Value, key: &str| fault[key].as_str().unwrap_or_default().to_owned();
    told.iter()
        .map(|fault| (text(fault, "kind"), text(fault, "where")))
        .collect()
}

/// True where a fault of these kinds stands at that place, or at the list that holds it.
fn is_refused(answer: &Value, path: &str, kinds: &[&str]) -> bool {
    let list = path.rsplit_once('[').map_or(path, |(list, _)| list);
    faults(answer)
        .iter()
        .any(|(kind, place)| kinds.contains(&kind.as_str()) && (place == path || place == list))
}

const OUT_OF_LIMITS: [&str; 4] = ["negative", "too-small", "too-large", "over-100-percent"];

/// What the reader says of the request with that one value in place of its own, and beside it a key
/// that nobody knows: every fault is told, and nothing is worked out.
fn bent(job: &str, request: &Value, pointer: &str, value: Value) -> Value {
    let mut request = request.clone();
    *request.pointer_mut(pointer).expect("it is there") = value;
    request["litre"] = Value::Null;
    tree(&post(job, &request.to_string()))
}

/// Every example with what is described of it.
fn each(mut look: impl FnMut(&str, &Value, &Value, &[Leaf])) {
    let described = describe::describe("/", library());
    for told in describe::JOBS {
        let path = format!("/paths/~1api~1{}/post/requestBody/content", told.job);
        let body = &described.pointer(&path).expect("a body")["application/json"];
        for (_, request) in examples::of(told.job) {
            let mut all = Vec::new();
            leaves(&described, &body["schema"], &request, "", &mut all);
            look(told.job, &described, &request, &all);
        }
    }
}

#[test]
fn every_example_is_answered_and_fits() {
    let described = describe::describe("/", library());
    for told in describe::JOBS {
        let path = format!("/paths/~1api~1{}/post", told.job);
        let asked = format!("{path}/requestBody/content/application~1json/schema");
        let answered = format!("{path}/responses/200/content/application~1json/schema");
        let shown = &described.pointer(&path).expect("told")["requestBody"]["content"];
        let shown = shown["application/json"]["examples"].as_object();
        assert_eq!(shown.map(serde_json::Map::len), Some(2), "{}", told.job);
        for (name, request) in examples::of(told.job) {
            let asked = super::schema(&described, &asked);
            let fault = asked.iter_errors(&request).next().map(|it| it.to_string());
            assert_eq!(fault, None, "{} {name}", told.job);
            let answer = post(told.job, &request.to_string());
            assert_eq!(answer.status, 200, "{} {name}: {}", told.job, answer.text);
            let answered = super::schema(&described, &answered);
            let tree = tree(&answer);
            let fault = answered.iter_errors(&tree).next().map(|it| it.to_string());
            assert_eq!(fault, None, "{} {name}", told.job);
        }
    }
}

#[test]
fn the_ends_of_every_number_are_those_of_the_reader() {
    let mut tried = 0;
    each(|job, _, request, all| {
        for leaf in all {
            let value = request.pointer(&leaf.pointer).expect("it is there");
            let (Some(low), Some(high), true) = (
                leaf.schema["minimum"].as_f64(),
                leaf.schema["maximum"].as_f64(),
                value.is_number(),
            ) else {
                continue;
            };
            let path = leaf.path();
            for (end, beyond) in [
                (low, low - 1e-9 - low.abs() * 1e-6),
                (high, high * 1.000_001),
            ] {
                let kept = bent(job, request, &leaf.pointer, json!(end));
                assert!(
                    !is_refused(&kept, &path, &OUT_OF_LIMITS),
                    "{job} {path} {end}: {kept}"
                );
                let refused = bent(job, request, &leaf.pointer, json!(beyond));
                assert!(
                    is_refused(&refused, &path, &OUT_OF_LIMITS),
                    "{job} {path} {beyond}: {refused}"
                );
            }
            tried += 1;
        }
    });
    assert!(tried > 150, "{tried} numbers");
}

#[test]
fn a_number_may_come_as_text_where_it_is_described_so() {
    let mut tried = 0;
    each(|job, _, request, all| {
        for leaf in all
            .iter()
            .filter(|leaf| leaf.schema.get("pattern").is_some())
        {
            let value = request.pointer(&leaf.pointer).expect("it is there");
            if !value.is_number() {
                continue;
            }
            let text = value.to_string().replace('.', ",");
            let same = bent(job, request, &leaf.pointer, json!(text));
            assert_eq!(faults(&same).len(), 1, "{job} {}: {same}", leaf.path());
            let other = bent(job, request, &leaf.pointer, json!("a bit"));
            let path = leaf.path();
            assert!(
                is_refused(&other, &path, &["not-a-number"]),
                "{job} {path}: {other}"
            );
            tried += 1;
        }
    });
    assert!(tried > 150, "{tried} numbers");
}

#[test]
fn every_name_that_is_described_is_known_and_no_other() {
    let mut tried = 0;
    each(|job, _, request, all| {
        for leaf in all {
            let Some(names) = leaf.schema["enum"].as_array() else {
                continue;
            };
            let value = request.pointer(&leaf.pointer).expect("it is there");
            if !names.contains(value) {
                continue;
            }
            let path = leaf.path();
            let unknown = ["unknown-name", "not-a-number", "unreadable"];
            for name in names {
                let known = bent(job, request, &leaf.pointer, name.clone());
                assert!(
                    !is_refused(&known, &path, &unknown),
                    "{job} {path} {name}: {known}"
                );
                tried += 1;
            }
            let other = bent(job, request, &leaf.pointer, json!("nobody's"));
            assert!(faults(&other).len() > 1, "{job} {path}: {other}");
        }
    });
    assert!(tried > 300, "{tried} names");
}

#[test]
fn every_key_of_every_table_is_known_and_no_other() {
    let mut tried = 0;
    each(|job, _, request, all| {
        for leaf in all
            .iter()
            .filter(|leaf| leaf.schema["additionalProperties"] == false)
        {
            let value = request.pointer(&leaf.pointer).expect("it is there");
            let Some(entries) = value.as_object() else {
                continue;
            };
            let keys = leaf.schema["properties"].as_object().expect("keys");
            if !entries.keys().all(|key| keys.contains_key(key)) {
                continue;
            }
            // What belongs to another key is known beside it only.
            let fits = |key: &str| {
                let needs = leaf.schema["dependentRequired"][key].as_array();
                needs.is_none_or(|needs| {
                    needs
                        .iter()
                        .all(|it| entries.contains_key(it.as_str().expect("a key")))
                })
            };
            let others = keys.keys().filter(|key| !entries.contains_key(*key));
            for key in others.filter(|key| fits(key)) {
                let mut more = value.clone();
                more[key] = Value::Null;
                let answer = bent(job, request, &leaf.pointer, more).to_string();
                let unknown = format!("no key called \\\"{key}\\\"");
                assert!(!answer.contains(&unknown), "{job} {key}: {answer}");
                tried += 1;
            }
            let mut more = value.clone();
            more["litres "] = Value::Null;
            let answer = bent(job, request, &leaf.pointer, more).to_string();
            assert!(
                answer.contains("no key called \\\"litres \\\""),
                "{job}: {answer}"
            );
        }
    });
    assert!(tried > 300, "{tried} keys");
}
