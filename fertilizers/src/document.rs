//! A request or a file as a tree, before it means anything.
//!
//! JSON and TOML become the same [`Node`]s; TOML nodes know their line. A [`Reader`] then takes
//! values out of a table by name and notes every fault on the way, so that a grower sees all of
//! them at once and a misspelled key is never ignored.

use crate::fault::{Faults, Problem, nearest};
use crate::units::parse_number;
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

/// The range a number must lie in; its ends are allowed.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
    /// Unit for messages, with a leading blank: ` mg/L`.
    pub unit: &'static str,
}

impl Limits {
    /// Aims and water: 0 to 1e5 mg/L.
    pub const MG_PER_L: Self = Self::new(0.0, 1e5, " mg/L");
    /// Masses in a mix: 0 to 1,000 g per litre of finished solution.
    pub const G_PER_L: Self = Self::new(0.0, 1000.0, " g/L");
    /// Grams at hand: 0 to 1,000 g/L times the largest batch.
    pub const GRAMS: Self = Self::new(0.0, 1e12, " g");
    /// Litres of a batch.
    pub const LITRES: Self = Self::new(1e-3, 1e9, " L");
    /// Dilution ratio of a stock.
    pub const RATIO: Self = Self::new(1.0, 1000.0, "");
    /// Price per kilogram in any currency.
    pub const PRICE: Self = Self::new(0.0, 1e6, " per kg");
    /// Percent.
    pub const PERCENT: Self = Self::new(0.0, 100.0, " %");
    /// Degrees Celsius.
    pub const CELSIUS: Self = Self::new(0.0, 60.0, " °C");
    /// pH.
    pub const PH: Self = Self::new(0.0, 14.0, "");
    /// EC, mS/cm at 25 °C: far beyond any feed.
    pub const EC: Self = Self::new(0.0, 1000.0, " mS/cm");
    /// Density of anything poured, g/mL.
    pub const DENSITY: Self = Self::new(0.1, 20.0, " g/mL");
    /// Solubility of anything weighed, g per litre of water.
    pub const SOLUBILITY: Self = Self::new(0.0, 1e5, " g/L");
    /// Weight of a nutrient in the closeness sum.
    pub const WEIGHT: Self = Self::new(0.0, 100.0, "");
    /// Strength against the recipe as written.
    pub const STRENGTH: Self = Self::new(1e-3, 1e3, "");
    /// Alkalinity, meq/L; the upper end is that of 1e5 mg/L CaCO3.
    pub const ALKALINITY: Self = Self::new(0.0, 2000.0, " meq/L");
    /// A share of one.
    pub const SHARE: Self = Self::new(0.0, 1.0, "");

    /// A range from `low` to `high`.
    pub const fn new(low: f64, high: f64, unit: &'static str) -> Self {
        Self { low, high, unit }
    }

    /// The value if it lies within, else what is wrong with it.
    pub fn check(self, value: f64) -> Result<f64, Problem> {
        let Self { low, high, unit } = self;
        if !value.is_finite() {
            let found = value.to_string();
            Err(Problem::NotANumber { found })
        } else if value < 0.0 && low >= 0.0 {
            Err(Problem::Negative { value })
        } else if value > high && unit == Self::PERCENT.unit {
            Err(Problem::Over100 { percent: value })
        } else if value > high {
            Err(Problem::TooLarge { value, high, unit })
        } else if value < low {
            Err(Problem::TooSmall { value, low, unit })
        } else {
            Ok(value)
        }
    }
}

/// Takes values out of one table by name.
///
/// Every name asked for counts as known; [`Reader::close`] refuses the rest by name.
pub struct Reader<'a> {
    path: String,
    line: Option<usize>,
    entries: &'a [(String, Node)],
    known: Vec<&'static str>,
}

impl<'a> Reader<'a> {
    /// Opens a table; anything else is a fault.
    pub fn open(node: &'a Node, path: &str, faults: &mut Faults) -> Option<Self> {
        match &node.value {
            Value::Table(entries) => Some(Self {
                path: path.to_owned(),
                line: node.line,
                entries,
                known: Vec::new(),
            }),
            _ => {
                faults.add(
                    node.line,
                    path,
                    Problem::WrongShape {
                        found: node.shape(),
                        wanted: "a table of named values",
                    },
                );
                None
            }
        }
    }

    /// The dotted path of an entry.
    pub fn at(&self, key: &str) -> String {
        join(&self.path, key)
    }

    /// The line this table starts on.
    pub const fn line(&self) -> Option<usize> {
        self.line
    }

    /// The entry of that name; `null` counts as left out.
    pub fn get(&mut self, key: &'static str) -> Option<&'a Node> {
        self.get_or_null(key)
            .filter(|node| node.value != Value::Null)
    }

    /// The entry of that name, `null` included.
    pub fn get_or_null(&mut self, key: &'static str) -> Option<&'a Node> {
        self.known.push(key);
        self.entries
            .iter()
            .find(|(name, _)| name == key)
            .map(|(_, node)| node)
    }

    /// Names that may stand here but have no say (keys of a report that is read back).
    pub fn accept(&mut self, keys: &[&'static str]) {
        self.known.extend(keys);
    }

    /// A number within limits.
    pub fn number(
        &mut self,
        key: &'static str,
        limits: Limits,
        faults: &mut Faults,
    ) -> Option<f64> {
        let node = self.get(key)?;
        number(node, &self.at(key), limits, faults)
    }

    /// A text of at most [`MAX_TEXT`] bytes.
    pub fn text(&mut self, key: &'static str, faults: &mut Faults) -> Option<&'a str> {
        let node = self.get(key)?;
        text(node, &self.at(key), MAX_TEXT, faults)
    }

    /// True or false.
    pub fn flag(&mut self, key: &'static str, faults: &mut Faults) -> Option<bool> {
        let node = self.get(key)?;
        match node.value {
            Value::Bool(yes) => Some(yes),
            _ => {
                let wanted = "true or false";
                let found = node.shape();
                faults.add(
                    node.line,
                    self.at(key),
                    Problem::WrongShape { found, wanted },
                );
                None
            }
        }
    }

    /// Refuses every entry that nobody asked for, naming the nearest one that exists.
    pub fn close(self, faults: &mut Faults) {
        for (name, node) in self.entries {
            if !self.known.contains(&name.as_str()) {
                faults.add(
                    node.line,
                    join(&self.path, &crate::units::shorten(name)),
                    Problem::Unknown {
                        kind: "key",
                        name: crate::units::shorten(name),
                        nearest: nearest(name, self.known.iter().copied()),
                    },
                );
            }
        }
    }
}

/// `recipe` and `aims` make `recipe.aims`.
pub fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// The number of a node, within limits; a text that holds a number (`"1,4"`) is read as one.
pub fn number(node: &Node, path: &str, limits: Limits, faults: &mut Faults) -> Option<f64> {
    let read = match &node.value {
        Value::Number(number) => Ok(*number),
        Value::Text(text) => parse_number(text),
        _ => Err(Problem::NotANumber {
            found: node.shape().to_owned(),
        }),
    };
    match read.and_then(|number| limits.check(number)) {
        Ok(number) => Some(number),
        Err(problem) => {
            faults.add(node.line, path, problem);
            None
        }
    }
}

/// The text of a node, at most `most` bytes long.
pub fn text<'a>(node: &'a Node, path: &str, most: usize, faults: &mut Faults) -> Option<&'a str> {
    let problem = match &node.value {
        Value::Text(text) if text.len() <= most => return Some(text),
        Value::Text(text) => Problem::TooMany {
            things: "bytes of text",
            count: text.len(),
            most,
        },
        _ => Problem::WrongShape {
            found: node.shape(),
            wanted: "a text",
        },
    };
    faults.add(node.line, path, problem);
    None
}

/// The id in a node: a text of 1 to [`MAX_ID`] bytes.
pub fn id<'a>(node: &'a Node, path: &str, faults: &mut Faults) -> Option<&'a str> {
    let id = text(node, path, MAX_ID, faults)?;
    if id.trim().is_empty() {
        let what = "the id";
        let mend = "Give it a short name, like my-mix.";
        faults.add(node.line, path, Problem::Empty { what, mend });
        return None;
    }
    Some(id)
}

/// The list in a node.
pub fn list<'a>(node: &'a Node, path: &str, faults: &mut Faults) -> Option<&'a [Node]> {
    match &node.value {
        Value::List(items) => Some(items),
        _ => {
            let wanted = "a list in square brackets";
            let found = node.shape();
            faults.add(node.line, path, Problem::WrongShape { found, wanted });
            None
        }
    }
}

/// The list in a node, of at most `most` things.
pub fn list_of<'a>(
    node: &'a Node,
    path: &str,
    (things, most): (&'static str, usize),
    faults: &mut Faults,
) -> Option<&'a [Node]> {
    let items = list(node, path, faults)?;
    if items.len() <= most {
        return Some(items);
    }
    let problem = Problem::TooMany {
        things,
        count: items.len(),
        most,
    };
    faults.add(node.line, path, problem);
    None
}

#[cfg(test)]
mod tests {
    use super::*;

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
