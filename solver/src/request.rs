//! What requests share: recipes, waters, fertilizers, prices and mixes by name or in full,
//! resolved against the library.

use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader, Value};
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_fertilizers::{Dose, Faults, Fertilizer, MixLine, Problem, Table};
use saltwright_recipes::{Library, Recipe, Water};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How far the shares of a blend may miss one.
const SHARES_SUM: f64 = 1e-3;

/// The names of an envelope that every job may have.
pub(crate) const ENVELOPE: [&str; 2] = ["job", "id"];

/// A recipe by name or in full.
pub fn recipe(node: &Node, path: &str, library: &Library, faults: &mut Faults) -> Option<Recipe> {
    match &node.value {
        Value::Text(name) => match library.recipe(name.trim()) {
            Some(recipe) => Some(recipe.clone()),
            None => {
                let nearest = library.nearest_recipe(name);
                unknown("recipe", name, nearest, node, path, faults)
            }
        },
        _ => Recipe::read(node, path, faults),
    }
}

/// A water by name, in full, or as a blend of waters.
pub fn water(node: &Node, path: &str, library: &Library, faults: &mut Faults) -> Option<Water> {
    match &node.value {
        Value::Text(name) if name.trim() == "pure-water" => Some(Water::pure()),
        Value::Text(name) => match library.water(name.trim()) {
            Some(water) => Some(water.clone()),
            None => {
                let nearest = library.nearest_water(name);
                unknown("water", name, nearest, node, path, faults)
            }
        },
        Value::Table(_) if is_blend(node) => blend(node, path, library, faults),
        _ => Water::read(node, path, faults),
    }
}

/// The water of a request; pure water where it names none.
pub fn water_or_pure(
    reader: &mut Reader<'_>,
    library: &Library,
    faults: &mut Faults,
) -> Option<Water> {
    match reader.get("water") {
        Some(node) => water(node, "water", library, faults),
        None => Some(Water::pure()),
    }
}

fn is_blend(node: &Node) -> bool {
    node.get("blend")
        .is_some_and(|blend| blend.value != Value::Null)
}

fn blend(node: &Node, path: &str, library: &Library, faults: &mut Faults) -> Option<Water> {
    let mut reader = Reader::open(node, path, faults)?;
    let items_node = reader.get("blend")?;
    let at = reader.at("blend");
    reader.accept(&["id", "name", "note", "source"]);
    reader.close(faults);
    let before = faults.len();
    let mut parts = Vec::new();
    for (position, item) in document::list(items_node, &at, faults)?.iter().enumerate() {
        let at = format!("{at}[{position}]");
        let Some(mut reader) = Reader::open(item, &at, faults) else {
            continue;
        };
        let part = match reader.get("water") {
            Some(node) => water(node, &reader.at("water"), library, faults),
            None => {
                let (what, mend) = ("the water of this share", "Name a water.");
                faults.add(item.line, reader.at("water"), Problem::Empty { what, mend });
                None
            }
        };
        let share = reader.number("share", Limits::SHARE, faults);
        reader.close(faults);
        parts.extend(part.zip(share));
    }
    let sum: f64 = parts.iter().map(|(_, share)| share).sum();
    if faults.len() == before && (sum - 1.0).abs() > SHARES_SUM {
        let what = format!("the shares of this blend add up to {sum}, not to 1");
        let mend = "Give shares of one, like 0.6 and 0.4.".to_owned();
        faults.add(node.line, at, Problem::Contradiction { what, mend });
    }
    (faults.len() == before).then(|| Water::blend(&parts))
}

fn unknown<T>(
    kind: &'static str,
    name: &str,
    nearest: Option<String>,
    node: &Node,
    path: &str,
    faults: &mut Faults,
) -> Option<T> {
    let name: String = name.chars().take(MAX_ID).collect();
    faults.add(
        node.line,
        path,
        Problem::Unknown {
            kind,
            name,
            nearest,
        },
    );
    None
}

/// Fertilizers and prices of a request: what it gives itself, and what the library has.
pub struct Shelf<'a> {
    /// The list that the request gives, in its order; the common shelf where it gives none.
    pub listed: Vec<Arc<Fertilizer>>,
    own: Table,
    library: &'a Library,
    prices: BTreeMap<String, f64>,
}

impl<'a> Shelf<'a> {
    /// Reads `fertilizers` and `prices`.
    pub fn read(reader: &mut Reader<'_>, library: &'a Library, faults: &mut Faults) -> Self {
        let mut shelf = Self {
            listed: Vec::new(),
            own: Table::default(),
            library,
            prices: BTreeMap::new(),
        };
        match reader.get("fertilizers") {
            Some(node) => shelf.read_list(node, &reader.at("fertilizers"), faults),
            None => {
                let common = library.fertilizers.iter().filter(|row| row.common);
                shelf.listed = common.cloned().collect();
            }
        }
        if let Some(node) = reader.get("prices") {
            let at = reader.at("prices");
            for (id, node, at) in named_entries(node, &at, faults) {
                if shelf.find(id, "fertilizer", node, &at, faults).is_some()
                    && let Some(price) = document::number(node, &at, Limits::PRICE, faults)
                {
                    shelf.prices.insert(id.to_owned(), price);
                }
            }
        } else {
            shelf.price_from_folder();
        }
        shelf
    }

    /// The prices of the grower's own folder serve where a request names none; a fertilizer that the
    /// request prices itself keeps that price. Of several bags the cheapest kilogram counts.
    fn price_from_folder(&mut self) {
        for row in &self.library.own.prices {
            let own = self.own.get(&row.id).and_then(|own| own.price_per_kg);
            let Some(price) = row.price_per_kg.filter(|_| own.is_none()) else {
                continue;
            };
            let least = self.prices.entry(row.id.clone()).or_insert(price);
            *least = least.min(price);
        }
    }

    fn read_list(&mut self, node: &Node, path: &str, faults: &mut Faults) {
        let Some(items) = document::list_of(node, path, ("fertilizers", MAX_LINES), faults) else {
            return;
        };
        if items.is_empty() {
            let what = "the list of fertilizers";
            let mend = "Name at least one, or leave the list out for the common shelf.";
            faults.add(node.line, path, Problem::Empty { what, mend });
        }
        for (position, item) in items.iter().enumerate() {
            let at = format!("{path}[{position}]");
            let fertilizer = match &item.value {
                Value::Text(id) => self.find(id.trim(), "fertilizer", item, &at, faults),
                _ => Fertilizer::read(item, &at, faults).map(Arc::new),
            };
            let Some(fertilizer) = fertilizer else {
                continue;
            };
            if self.listed.iter().any(|listed| listed.id == fertilizer.id) {
                let name = fertilizer.id.clone();
                faults.add(item.line, at, Problem::Twice { name });
                continue;
            }
            if matches!(item.value, Value::Table(_)) {
                // An id of the shipped table given in full shadows the shipped row.
                let _ = self.own.push((*fertilizer).clone());
            }
            self.listed.push(fertilizer);
        }
    }

    /// The fertilizer of that id: the request's own first, then the shipped one.
    pub fn get(&self, id: &str) -> Option<&Arc<Fertilizer>> {
        self.own
            .get(id)
            .or_else(|| self.library.fertilizers.get(id))
    }

    /// The fertilizer of that id; an unknown one is a fault with the nearest name.
    pub fn find(
        &self,
        id: &str,
        kind: &'static str,
        node: &Node,
        path: &str,
        faults: &mut Faults,
    ) -> Option<Arc<Fertilizer>> {
        let found = self.get(id).cloned();
        if found.is_none() {
            let nearest = self
                .own
                .nearest(id)
                .or_else(|| self.library.fertilizers.nearest(id));
            return unknown(kind, id, nearest, node, path, faults);
        }
        found
    }

    /// The fertilizers that a list of ids (or one id) names.
    pub fn find_all(&self, node: &Node, path: &str, faults: &mut Faults) -> Vec<Arc<Fertilizer>> {
        let one = std::slice::from_ref(node);
        let items = match &node.value {
            Value::Text(_) => one,
            _ => document::list(node, path, faults).unwrap_or_default(),
        };
        let mut found: Vec<Arc<Fertilizer>> = Vec::new();
        for (position, item) in items.iter().enumerate() {
            let at = if items.len() > 1 {
                format!("{path}[{position}]")
            } else {
                path.to_owned()
            };
            let id = document::id(item, &at, faults);
            let fertilizer =
                id.and_then(|id| self.find(id.trim(), "fertilizer", item, &at, faults));
            if let Some(fertilizer) = fertilizer
                && !found.iter().any(|seen| seen.id == fertilizer.id)
            {
                found.push(fertilizer);
            }
        }
        found
    }

    /// The price of a fertilizer: the request's, else the one in its own row.
    pub fn price(&self, fertilizer: &Fertilizer) -> Option<f64> {
        self.prices
            .get(&fertilizer.id)
            .copied()
            .or(fertilizer.price_per_kg)
    }

    /// True once any price is given.
    pub fn has_prices(&self) -> bool {
        !self.prices.is_empty() || self.listed.iter().any(|row| row.price_per_kg.is_some())
    }

    /// Everything that could be used: the request's own rows, then shipped ones it does not shadow.
    pub fn everything(&self) -> impl Iterator<Item = &Arc<Fertilizer>> {
        let shipped = self.library.fertilizers.iter();
        self.own
            .iter()
            .chain(shipped.filter(|row| self.own.get(&row.id).is_none()))
    }

    /// A mix: ids looked up, volumes turned into masses.
    pub fn mix(&self, node: &Node, path: &str, faults: &mut Faults) -> Vec<Dose> {
        MixLine::read_list(node, path, faults)
            .into_iter()
            .filter_map(|line| {
                let fertilizer = self.find(&line.id, "fertilizer", node, &line.at, faults)?;
                line.dose(&fertilizer, faults)
            })
            .collect()
    }
}

/// The entries of a table whose keys are names rather than fields; `null` counts as left out.
pub fn named_entries<'n>(
    node: &'n Node,
    path: &str,
    faults: &mut Faults,
) -> Vec<(&'n str, &'n Node, String)> {
    let Value::Table(entries) = &node.value else {
        let (found, wanted) = (node.shape(), "a table of names and numbers");
        faults.add(node.line, path, Problem::WrongShape { found, wanted });
        return Vec::new();
    };
    entries
        .iter()
        .filter(|(_, node)| node.value != Value::Null)
        .map(|(key, node)| (key.as_str(), node, document::join(path, key)))
        .collect()
}

/// The items of a list, at most so many, each read by `read`; none where there is no list.
pub(crate) fn items<T>(
    reader: &mut Reader<'_>,
    (key, most): (&'static str, usize),
    faults: &mut Faults,
    read: impl Fn(&mut Reader<'_>, &mut Faults) -> Option<T>,
) -> Vec<T> {
    let Some(node) = reader.get(key) else {
        return Vec::new();
    };
    let at = reader.at(key);
    let items = document::list_of(node, &at, (key, most), faults).unwrap_or_default();
    let each = items.iter().enumerate().filter_map(|(position, item)| {
        let mut reader = Reader::open(item, &format!("{at}[{position}]"), faults)?;
        let found = read(&mut reader, faults);
        reader.close(faults);
        found
    });
    each.collect()
}
