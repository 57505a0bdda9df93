//! A grower's own entries over the shipped ones.
//!
//! In: texts of files.  Out: a library in which an own entry goes before the shipped one of the same
//! name, and that can say so. Knows no folder.

use crate::library::{Library, from_toml};
use crate::{Recipe, Water};
use saltwright_fertilizers::prices::{self, PriceRow};
use saltwright_fertilizers::{Fault, Faults, Problem, Table};
use std::collections::BTreeMap;

/// The lists that own entries can join.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // named for what they are
pub enum List {
    Recipes,
    Waters,
    Fertilizers,
}

/// Where an entry of a list comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// It is shipped.
    Shipped,
    /// It is the grower's own.
    Own,
    /// It is the grower's own and goes before a shipped one of that name.
    OwnOverShipped,
}

impl Place {
    /// Its word in lists; nothing for what is shipped.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Shipped => "",
            Self::Own => "own",
            Self::OwnOverShipped => "own, over the shipped one",
        }
    }
}

/// Own entries: names, and whether each hides a shipped one.
#[derive(Clone, Debug, Default)]
pub struct Own {
    hides: BTreeMap<(List, String), bool>,
    /// The grower's own prices.
    pub prices: Vec<PriceRow>,
}

impl Own {
    /// Where an entry comes from.
    pub fn place(&self, list: List, id: &str) -> Place {
        match self.hides.get(&(list, id.to_owned())) {
            None => Place::Shipped,
            Some(false) => Place::Own,
            Some(true) => Place::OwnOverShipped,
        }
    }
}

impl Library {
    /// Adds a recipe from a file; its id is the name of the file.
    pub fn add_recipe(&mut self, file: &str, id: &str, text: &str) -> Result<(), Vec<Fault>> {
        let mut recipe = from_toml(file, text, Recipe::read)?;
        recipe.id = id.to_owned();
        let before = self.recipes.len();
        self.recipes.retain(|known| known.id != id);
        self.note(List::Recipes, id, self.recipes.len() < before);
        self.recipes.push(recipe);
        self.recipes.sort_by(|a, b| a.id.cmp(&b.id));
        Ok(())
    }

    /// Adds a water from a file; its id is the name of the file.
    pub fn add_water(&mut self, file: &str, id: &str, text: &str) -> Result<(), Vec<Fault>> {
        let mut water = from_toml(file, text, Water::read)?;
        water.id = id.to_owned();
        let before = self.waters.len();
        self.waters.retain(|known| known.id != id);
        self.note(List::Waters, id, self.waters.len() < before);
        self.waters.push(water);
        self.waters.sort_by(|a, b| a.id.cmp(&b.id));
        Ok(())
    }

    /// Adds a fertilizer table; a row goes before the shipped one of its id. Where no row is marked
    /// common all are: what a grower lists stands on the shelf.
    pub fn add_fertilizers(&mut self, file: &str, text: &str) -> Result<(), Vec<Fault>> {
        let mut own = Table::read_csv(file, text)?;
        if own.iter().all(|row| !row.common) {
            own = own.shelved();
        }
        for row in &own {
            self.note(
                List::Fertilizers,
                &row.id,
                self.fertilizers.get(&row.id).is_some(),
            );
        }
        self.fertilizers = own.over(&self.fertilizers);
        Ok(())
    }

    /// Adds a price list; every fertilizer of it must be known by now.
    pub fn add_prices(&mut self, file: &str, text: &str) -> Result<(), Vec<Fault>> {
        let rows = prices::read_csv(file, text)?;
        let mut faults = Faults::in_file(file);
        for row in &rows {
            if self.fertilizers.get(&row.id).is_none() {
                let (kind, name) = ("fertilizer", row.id.clone());
                let nearest = self.fertilizers.nearest(&name);
                let problem = Problem::Unknown {
                    kind,
                    name,
                    nearest,
                };
                faults.add(row.line, "id", problem);
            }
        }
        self.own.prices = faults.finish(Some(rows))?;
        Ok(())
    }

    fn note(&mut self, list: List, id: &str, hides: bool) {
        self.own.hides.insert((list, id.to_owned()), hides);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_own_entry_goes_before_the_shipped_one_and_says_so() {
        let mut library = Library::shipped().expect("sound");
        let counts = |library: &Library| {
            [
                library.recipes.len(),
                library.waters.len(),
                library.fertilizers.len(),
            ]
        };
        let shipped = counts(&library);
        for id in ["hoagland-2", "mine"] {
            library
                .add_recipe("r.toml", id, "name = \"M\"\n[aims]\nK = 7\n")
                .expect("sound");
        }
        library
            .add_water("w.toml", "rain-barrel", "[holds]\nCa = 3\n")
            .expect("sound");
        let table = "id,name,formula,N\nurea,,,40\nmine,,KNO3,\n".replace(",N\n", ",urea-N\n");
        library.add_fertilizers("f.csv", &table).expect("sound");
        let [recipes, waters, fertilizers] = shipped;
        assert_eq!(counts(&library), [recipes + 1, waters, fertilizers + 1]);
        assert_eq!(library.recipe("hoagland-2").expect("there").name, "M");
        let urea = library.fertilizers.get("urea").expect("there");
        assert!((urea.assay_pct[saltwright_fertilizers::Nutrient::UreaN] - 40.0).abs() < 1e-12);
        for (list, id, place) in [
            (List::Recipes, "hoagland-2", Place::OwnOverShipped),
            (List::Recipes, "mine", Place::Own),
            (List::Recipes, "knop", Place::Shipped),
            (List::Waters, "rain-barrel", Place::OwnOverShipped),
            (List::Fertilizers, "urea", Place::OwnOverShipped),
            (List::Fertilizers, "mine", Place::Own),
        ] {
            assert_eq!(library.own.place(list, id), place, "{id}");
        }
    }

    #[test]
    fn a_fault_names_the_file() {
        let mut library = Library::shipped().expect("sound");
        let faults = library.add_recipe("mine/r.toml", "r", "[aims]\nKalium = 7\n");
        assert!(
            faults.expect_err("faulty")[0]
                .place()
                .starts_with("mine/r.toml:2")
        );
    }
}
