//! What has a shipped name or stands in a file, as it is typed: a recipe or a water.

use super::origins::Origins;
use crate::store::files::{read_text, unread};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::{Library, Recipe, Water};
use std::path::Path;

/// What has a shipped name or stands in a file: a recipe or a water.
pub struct Named<'a> {
    ids: Vec<&'a str>,
    check: fn(&Node, &mut Faults),
}

impl<'a> Named<'a> {
    /// A recipe.
    pub fn recipe(library: &'a Library) -> Self {
        let check = |node: &Node, faults: &mut Faults| {
            Recipe::read(node, "", faults);
        };
        let ids = library
            .recipes
            .iter()
            .map(|recipe| recipe.id.as_str())
            .collect();
        Self { ids, check }
    }

    /// A water.
    pub fn water(library: &'a Library) -> Self {
        let check = |node: &Node, faults: &mut Faults| {
            // A blend names other waters; it is checked with the request.
            if node.get("blend").is_none() {
                Water::read(node, "", faults);
            }
        };
        let ids = library
            .waters
            .iter()
            .map(|water| water.id.as_str())
            .collect();
        Self { ids, check }
    }

    /// Notes a name that is neither known nor a file.
    pub fn check_name(&self, typed: &str, field: &str, faults: &mut Faults) {
        if !self.ids.contains(&typed) && !Path::new(typed).exists() {
            let nearest = nearest(typed, self.ids.iter().copied());
            let (kind, name) = ("such name or file", typed.to_owned());
            let problem = Problem::Unknown {
                kind,
                name,
                nearest,
            };
            faults.add(None, field, problem);
        }
    }

    /// Sets an entry of a request to what is typed; to nothing where that cannot be read.
    pub fn fill(
        &self,
        request: &mut Node,
        key: &str,
        typed: &str,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let node = self.node(typed, key, origins, faults);
        request.set(key, node.unwrap_or_else(|| Value::Null.into()));
    }

    /// A shipped name as it is; else the file, where it looks like one; else the name, which is
    /// then refused with the nearest one.
    pub fn node(
        &self,
        typed: &str,
        field: &str,
        origins: &mut Origins,
        faults: &mut Faults,
    ) -> Option<Node> {
        let path = Path::new(typed);
        let ending = path.extension().unwrap_or_default();
        let is_json = ending == "json";
        let looks_like_file =
            typed.contains(['/', '\\']) || is_json || ending == "toml" || path.exists();
        if self.ids.contains(&typed) || !looks_like_file {
            return Some(Node::text(typed));
        }
        if let Ok(false) = path.try_exists() {
            let stem = path.file_stem().unwrap_or_default().to_string_lossy();
            let nearest = nearest(&stem, self.ids.iter().copied());
            if nearest.is_none() {
                let missing = std::io::ErrorKind::NotFound.into();
                faults.extend([unread(path, &missing)]);
                return None;
            }
            let (kind, name) = ("file", typed.to_owned());
            faults.add(
                None,
                field,
                Problem::Unknown {
                    kind,
                    name,
                    nearest,
                },
            );
            return None;
        }
        let text = read_text(path)
            .map_err(|fault| faults.extend([fault]))
            .ok()?;
        origins.whole_file(field, typed);
        let mut in_file = Faults::in_file(typed);
        let read = if is_json {
            Node::from_json(&text).map_err(|problem| (None, problem))
        } else {
            Node::from_toml(text.trim_start_matches('\u{feff}'))
        };
        match &read {
            Ok(node) => (self.check)(node, &mut in_file),
            Err((line, problem)) => in_file.add(*line, "", problem.clone()),
        }
        faults.extend(in_file.into_list());
        read.ok()
    }
}
