//! What is shipped, looked up by name.

use crate::bands::Bands;
use crate::crop::Crop;
use crate::own::Own;
use crate::recipe::Recipe;
use crate::water::Water;
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::{Fault, Faults, Node, Table};

/// The files of `data/`, by id, in order of id.
mod shipped {
    include!(concat!(env!("OUT_DIR"), "/shipped.rs"));
}

/// Invented prices to try things on.
pub const DEMO_PRICES: &str = include_str!("../data/demo/prices.csv");
/// The invented list of bags of the demonstration, with what is at home.
pub const DEMO_BAGS: &str = include_str!("../data/demo/bags.csv");

/// Invented stock jugs for the demonstration.
pub const DEMO_STOCKS: &str = include_str!("../data/demo/stocks.toml");

/// Two invented weeks of a tank, as a table of the journal.
pub const DEMO_JOURNAL: &str = include_str!("../data/demo/journal.csv");

/// Everything a request may name: fertilizers, recipes, waters, crop ranges, default bands.
#[derive(Clone, Debug)]
pub struct Library {
    /// The fertilizer table.
    pub fertilizers: Table,
    /// Recipes, sorted by id.
    pub recipes: Vec<Recipe>,
    /// Source waters, sorted by id.
    pub waters: Vec<Water>,
    /// Crop ranges.
    pub crops: Vec<Crop>,
    /// Bands where a recipe names none.
    pub bands: Bands,
    /// Which entries are the grower's own.
    pub own: Own,
}

impl Library {
    /// The shipped library.
    pub fn shipped() -> Result<Self, Vec<Fault>> {
        let mut recipes = Vec::with_capacity(shipped::RECIPES.len());
        for (id, text) in shipped::RECIPES {
            let mut recipe = from_toml(&format!("{id}.toml"), text, Recipe::read)?;
            recipe.id = (*id).to_owned();
            recipes.push(recipe);
        }
        let mut waters = Vec::with_capacity(shipped::WATERS.len());
        for (id, text) in shipped::WATERS {
            let mut water = from_toml(&format!("{id}.toml"), text, Water::read)?;
            water.id = (*id).to_owned();
            waters.push(water);
        }
        Ok(Self {
            fertilizers: Table::shipped()?,
            recipes,
            waters,
            crops: Crop::shipped()?,
            bands: Bands::shipped()?,
            own: Own::default(),
        })
    }

    /// The recipe of that id.
    pub fn recipe(&self, id: &str) -> Option<&Recipe> {
        self.recipes.iter().find(|recipe| recipe.id == id)
    }

    /// The water of that id.
    pub fn water(&self, id: &str) -> Option<&Water> {
        self.waters.iter().find(|water| water.id == id)
    }

    /// The recipe id nearest to what was typed.
    pub fn nearest_recipe(&self, typed: &str) -> Option<String> {
        nearest(typed, self.recipes.iter().map(|recipe| recipe.id.as_str()))
    }

    /// The water id nearest to what was typed.
    pub fn nearest_water(&self, typed: &str) -> Option<String> {
        nearest(typed, self.waters.iter().map(|water| water.id.as_str()))
    }
}

/// Reads one TOML file with the reader of its kind.
pub(crate) fn from_toml<T>(
    file: &str,
    text: &str,
    read: fn(&Node, &str, &mut Faults) -> Option<T>,
) -> Result<T, Vec<Fault>> {
    let mut faults = Faults::in_file(file);
    let value = match Node::from_toml(text) {
        Ok(node) => read(&node, "", &mut faults),
        Err((line, problem)) => {
            faults.add(line, "", problem);
            None
        }
    };
    faults.finish(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_fertilizers::{Aimed, Nutrient};

    fn library() -> Library {
        Library::shipped().unwrap_or_else(|faults| panic!("{}", faults[0]))
    }

    #[test]
    fn enough_recipes_each_with_a_citation() {
        let library = library();
        assert!(library.recipes.len() >= 25, "{}", library.recipes.len());
        for recipe in &library.recipes {
            assert!(recipe.source.len() > 8, "{}", recipe.id);
            assert!(!recipe.name.is_empty(), "{}", recipe.id);
            if let Some(micros) = &recipe.micros {
                assert!(library.recipe(micros).is_some(), "{}", recipe.id);
            }
        }
        let leafy = |recipe: &&Recipe| {
            ["lettuce", "leafy", "herb", "basil", "rocket"]
                .iter()
                .any(|crop| recipe.crop.contains(crop))
        };
        assert!(library.recipes.iter().filter(leafy).count() >= 6);
    }

    #[test]
    fn invented_waters_say_so_and_balance() {
        let library = library();
        assert!(library.waters.len() >= 4);
        for water in &library.waters {
            assert!(water.source.contains("invented"), "{}", water.id);
            let error = water.charge_error_pct().unwrap_or(0.0);
            assert!(error.abs() <= 3.0, "{}: {error:.1} %", water.id);
        }
    }

    #[test]
    fn invented_prices_are_of_what_is_shipped() {
        let prices = saltwright_fertilizers::prices::read_csv("prices.csv", DEMO_PRICES);
        let prices = prices.expect("sound");
        let library = library();
        for row in &prices {
            assert!(library.fertilizers.get(&row.id).is_some(), "{}", row.id);
            assert!(row.price_per_kg.is_some(), "{}", row.id);
        }
    }

    #[test]
    fn a_recipe_printed_in_milliequivalents_is_converted_by_our_code() {
        // Source: Takatsuji (1997), pp. 86-87: Yamazaki lettuce, K 4 me/L; x 39.098.
        let library = library();
        let recipe = library.recipe("yamazaki-lettuce").expect("shipped");
        let k = recipe.aim(Aimed::Form(Nutrient::K)).and_then(|aim| aim.aim);
        assert!((k.unwrap_or(0.0) - 156.39).abs() < 0.01);
    }
}
