//! Values taken out of the tree by name, with every fault noted and nothing ignored.

use super::{Limits, MAX_ID, MAX_TEXT, Node, Value};
use crate::fault::{Faults, Problem, nearest};
use crate::units::parse_number;

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

    /// A text as it is kept: empty where it is left out.
    pub fn kept(&mut self, key: &'static str, faults: &mut Faults) -> String {
        self.text(key, faults).unwrap_or_default().to_owned()
    }

    /// A short name, as in `id`.
    pub fn name(&mut self, key: &'static str, faults: &mut Faults) -> Option<&'a str> {
        let node = self.get(key)?;
        id(node, &self.at(key), faults)
    }

    /// The `id` of what stands here; where there is none, `mend` says what to do.
    pub fn id(&mut self, mend: &'static str, faults: &mut Faults) -> Option<&'a str> {
        let Some(node) = self.get("id") else {
            let what = "the id";
            faults.add(self.line, self.at("id"), Problem::Empty { what, mend });
            return None;
        };
        id(node, &self.at("id"), faults)
    }

    /// What `read` makes of an entry, told where it stands.
    pub fn part<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&'a Node, &str, &mut Faults) -> Option<T>,
        faults: &mut Faults,
    ) -> Option<T> {
        let node = self.get(key)?;
        read(node, &self.at(key), faults)
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
                        // What is only counted needs no help.
                        nearest: (!faults.is_full())
                            .then(|| nearest(name, self.known.iter().copied()))
                            .flatten(),
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
