//! A request or a file as a tree, before it means anything.
//!
//! JSON and TOML become the same [`Node`]s; TOML nodes know their line. A [`Reader`] then takes
//! values out of a table by name and notes every fault on the way, so that a grower sees all of
//! them at once and a misspelled key is never ignored.

mod limits;
mod reader;

pub use limits::Limits;
pub use reader::{Reader, id, join, list, list_of, number, text};

use crate::fault::Problem;
use serde::de::{DeserializeSeed, Error as _, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// Deepest nesting of tables and lists that is read.
pub const MAX_DEPTH: usize = 32;
/// Longest id, bytes.
pub const MAX_ID: usize = 64;
/// Longest name or note, bytes.
pub const MAX_TEXT: usize = 4000;

/// One value with the line it stands on, where that is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Line in the file, counted from 1.
    pub line: Option<usize>,
    /// The value.
    pub value: Value,
}

/// What a node holds.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Value {
    Null,
    Bool(bool),
    Number(f64),
    Text(String),
    List(Vec<Node>),
    Table(Vec<(String, Node)>),
}

impl From<Value> for Node {
    fn from(value: Value) -> Self {
        Self { line: None, value }
    }
}

impl Node {
    /// A text node.
    pub fn text(text: impl Into<String>) -> Self {
        Value::Text(text.into()).into()
    }

    /// A number node.
    pub fn number(number: f64) -> Self {
        Value::Number(number).into()
    }

    /// A list of texts.
    pub fn texts<T: Into<String>>(texts: impl IntoIterator<Item = T>) -> Self {
        Value::List(texts.into_iter().map(Node::text).collect()).into()
    }

    /// A table of named nodes.
    pub fn table<K: Into<String>>(entries: impl IntoIterator<Item = (K, Node)>) -> Self {
        let entries = entries.into_iter().map(|(key, node)| (key.into(), node));
        Value::Table(entries.collect()).into()
    }

    /// The entry of that name, if this is a table that has it.
    pub fn get(&self, key: &str) -> Option<&Node> {
        match &self.value {
            Value::Table(entries) => entries
                .iter()
                .find(|(name, _)| name == key)
                .map(|(_, node)| node),
            _ => None,
        }
    }

    /// Sets or replaces an entry of a table; anything else is left as it is.
    pub fn set(&mut self, key: &str, node: Node) {
        if let Value::Table(entries) = &mut self.value {
            match entries.iter_mut().find(|(name, _)| name == key) {
                Some((_, old)) => *old = node,
                None => entries.push((key.to_owned(), node)),
            }
        }
    }

    /// Sets the entries that are there.
    pub fn fill<'k>(&mut self, entries: impl IntoIterator<Item = (&'k str, Option<Node>)>) {
        for (key, node) in entries {
            if let Some(node) = node {
                self.set(key, node);
            }
        }
    }

    /// A table of the entries that are there.
    pub fn table_of<'k>(entries: impl IntoIterator<Item = (&'k str, Option<Node>)>) -> Self {
        let mut table = Value::Table(Vec::new()).into();
        Self::fill(&mut table, entries);
        table
    }

    /// What stands here, in words for a message.
    pub const fn shape(&self) -> &'static str {
        match &self.value {
            Value::Null => "nothing (null)",
            Value::Bool(_) => "true or false",
            Value::Number(_) => "a number",
            Value::Text(_) => "a text",
            Value::List(_) => "a list",
            Value::Table(_) => "a table of named values",
        }
    }

    /// Reads JSON text. A key that stands twice in one object and nesting beyond [`MAX_DEPTH`] are
    /// faults.
    pub fn from_json(text: &str) -> Result<Self, Problem> {
        let mut reader = serde_json::Deserializer::from_str(text);
        let node = Seed { depth: 0 }
            .deserialize(&mut reader)
            .and_then(|node| reader.end().map(|()| node));
        node.map_err(|error| {
            let said = error.to_string();
            if said.starts_with("number out of range") {
                Problem::NumberOverflow
            } else {
                Problem::Unreadable {
                    reason: format!("this is not readable JSON: {said}"),
                    mend: "Check quotes, commas and brackets near there.",
                }
            }
        })
    }

    /// Reads TOML text; every node knows its line.
    pub fn from_toml(text: &str) -> Result<Self, (Option<usize>, Problem)> {
        let starts = line_starts(text);
        let parsed = toml::de::DeTable::parse(text).map_err(|error| {
            let line = error.span().map(|span| line_of(&starts, span.start));
            let reason = format!("this is not readable TOML: {}", error.message());
            let mend = "Write `key = value`; names and other text go in quotes.";
            (line, Problem::Unreadable { reason, mend })
        })?;
        let line = line_of(&starts, parsed.span().start);
        from_toml_table(parsed.get_ref(), &starts, line, 0)
    }
}

/// Byte offsets at which lines start.
fn line_starts(text: &str) -> Vec<usize> {
    std::iter::once(0)
        .chain(text.match_indices('\n').map(|(at, _)| at + 1))
        .collect()
}

fn line_of(starts: &[usize], at: usize) -> usize {
    starts.partition_point(|start| *start <= at)
}

type TomlResult = Result<Node, (Option<usize>, Problem)>;

fn from_toml_table(
    table: &toml::de::DeTable<'_>,
    starts: &[usize],
    line: usize,
    depth: usize,
) -> TomlResult {
    if depth > MAX_DEPTH {
        return Err((Some(line), too_deep()));
    }
    let mut entries = Vec::with_capacity(table.len());
    for (key, value) in table {
        let at = line_of(starts, key.span().start);
        let node = from_toml_value(value.get_ref(), starts, at, depth + 1)?;
        entries.push((key.get_ref().to_string(), node));
    }
    Ok(Node {
        line: Some(line),
        value: Value::Table(entries),
    })
}

fn from_toml_value(
    value: &toml::de::DeValue<'_>,
    starts: &[usize],
    line: usize,
    depth: usize,
) -> TomlResult {
    use toml::de::DeValue;
    if depth > MAX_DEPTH {
        return Err((Some(line), too_deep()));
    }
    let value = match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Boolean(yes) => Value::Bool(*yes),
        DeValue::Integer(number) => number_or_text(number.as_str()),
        DeValue::Float(number) => number_or_text(number.as_str()),
        DeValue::Datetime(moment) => Value::Text(moment.to_string()),
        DeValue::Array(items) => Value::List(
            items
                .iter()
                .map(|item| {
                    let at = line_of(starts, item.span().start);
                    from_toml_value(item.get_ref(), starts, at, depth + 1)
                })
                .collect::<Result<_, _>>()?,
        ),
        DeValue::Table(table) => return from_toml_table(table, starts, line, depth + 1),
    };
    Ok(Node {
        line: Some(line),
        value,
    })
}

/// A TOML number; `nan` and `inf` stay text and are refused as not-a-number by whoever reads them.
fn number_or_text(written: &str) -> Value {
    match written.replace('_', "").parse::<f64>() {
        Ok(number) if number.is_finite() => Value::Number(number),
        _ => Value::Text(written.to_owned()),
    }
}

fn too_deep() -> Problem {
    Problem::Unreadable {
        reason: format!("values are nested deeper than {MAX_DEPTH} levels"),
        mend: "Flatten it.",
    }
}

/// Deserializes a node while counting its depth.
#[derive(Clone, Copy)]
struct Seed {
    depth: usize,
}

impl<'de> DeserializeSeed<'de> for Seed {
    type Value = Node;
    fn deserialize<D: serde::Deserializer<'de>>(self, deserializer: D) -> Result<Node, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Seed {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Value::Null.into())
    }
    fn visit_bool<E>(self, yes: bool) -> Result<Node, E> {
        Ok(Value::Bool(yes).into())
    }
    #[allow(clippy::cast_precision_loss)] // a count beyond 2^53 is refused by every limit anyway
    fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
        Ok(Node::number(number as f64))
    }
    #[allow(clippy::cast_precision_loss)]
    fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
        Ok(Node::number(number as f64))
    }
    fn visit_f64<E>(self, number: f64) -> Result<Node, E> {
        Ok(Node::number(number))
    }
    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(Node::text(text))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Node, A::Error> {
        let seed = self.deeper()?;
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(seed)? {
            list.push(item);
        }
        Ok(Value::List(list).into())
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let seed = self.deeper()?;
        let mut entries: Vec<(String, Node)> = Vec::new();
        let mut seen = std::collections::HashSet::new();
        while let Some(key) = map.next_key::<String>()? {
            if !seen.insert(key.clone()) {
                return Err(A::Error::custom(format!("the key \"{key}\" stands twice")));
            }
            entries.push((key, map.next_value_seed(seed)?));
        }
        Ok(Value::Table(entries).into())
    }
}

impl Seed {
    fn deeper<E: serde::de::Error>(self) -> Result<Self, E> {
        if self.depth >= MAX_DEPTH {
            return Err(E::custom(too_deep()));
        }
        Ok(Self {
            depth: self.depth + 1,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::Faults;

    #[test]
    fn json_and_toml_make_the_same_tree() {
        let json = Node::from_json(r#"{"a": 1, "b": {"c": "x", "d": [1.5, true]}}"#);
        let toml = Node::from_toml("a = 1\n[b]\nc = \"x\"\nd = [1.5, true]\n");
        let (json, toml) = (json.expect("json"), toml.expect("toml"));
        assert_eq!(
            json.get("b").and_then(|b| b.get("c")).map(|c| &c.value),
            toml.get("b").and_then(|b| b.get("c")).map(|c| &c.value)
        );
        assert_eq!(
            toml.get("b").and_then(|b| b.get("c")).and_then(|c| c.line),
            Some(3)
        );
    }

    #[test]
    fn a_key_twice_is_unreadable() {
        let problem = Node::from_json(r#"{"a": 1, "a": 2}"#).expect_err("twice");
        assert!(problem.to_string().contains("\"a\" stands twice"));
    }

    #[test]
    fn deep_nesting_is_refused_not_followed() {
        let deep = "[".repeat(10_000) + &"]".repeat(10_000);
        assert!(matches!(
            Node::from_json(&deep),
            Err(Problem::Unreadable { .. })
        ));
        let allowed = "[".repeat(MAX_DEPTH) + &"]".repeat(MAX_DEPTH);
        assert!(Node::from_json(&allowed).is_ok());
        let deep = format!("a = {}{}", "[".repeat(60), "]".repeat(60));
        assert!(Node::from_toml(&deep).is_err());
    }

    #[test]
    fn misspelled_keys_are_named() {
        let node = Node::from_json(r#"{"recpe": 1}"#).expect("json");
        let mut faults = Faults::default();
        let mut reader = Reader::open(&node, "", &mut faults).expect("table");
        assert!(reader.get("recipe").is_none());
        reader.close(&mut faults);
        let list = faults.into_list();
        assert_eq!(list[0].problem.mend(), "Did you mean \"recipe\"?");
    }

    #[test]
    fn numbers_beyond_what_a_double_holds() {
        assert_eq!(
            Node::from_json("{\"a\": 1e999}"),
            Err(Problem::NumberOverflow)
        );
    }
}
