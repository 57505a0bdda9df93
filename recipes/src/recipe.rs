//! A recipe: what the crop should get of each nutrient, at which EC and pH.

mod aim;

pub use aim::Aim;

use crate::unit::{ConcentrationUnit, ListUnit};
use aim::read_aim;
use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::{Aimed, Faults, Nutrient, Problem};

/// A named list of aims.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Short unique name; empty for one that came inside a request.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// The crop it is for.
    pub crop: String,
    /// EC of the finished solution, mS/cm at 25 °C, where the recipe names it.
    pub ec_ms_cm: Option<f64>,
    /// pH band.
    pub ph: Option<[f64; 2]>,
    /// The list that fills in micronutrients this one lacks.
    pub micros: Option<String>,
    /// Citation.
    pub source: String,
    /// Anything else worth knowing.
    pub note: String,
    /// The unit it was printed in.
    pub unit: ConcentrationUnit,
    aims: [Option<Aim>; Aimed::COUNT],
}

impl Recipe {
    /// A recipe with nothing in it.
    pub fn empty(name: &str) -> Self {
        Self {
            id: String::new(),
            name: name.to_owned(),
            crop: String::new(),
            ec_ms_cm: None,
            ph: None,
            micros: None,
            source: String::new(),
            note: String::new(),
            unit: ConcentrationUnit::MgPerL,
            aims: [None; Aimed::COUNT],
        }
    }

    /// What it says of a nutrient.
    pub fn aim(&self, aimed: Aimed) -> Option<Aim> {
        self.aims[aimed.index()]
    }

    /// Sets what it says of a nutrient.
    pub fn set(&mut self, aimed: Aimed, aim: Aim) {
        self.aims[aimed.index()] = Some(aim);
    }

    /// Everything it names, in report order.
    pub fn aims(&self) -> impl Iterator<Item = (Aimed, Aim)> + '_ {
        Aimed::all().filter_map(|aimed| Some((aimed, self.aim(aimed)?)))
    }

    /// Micronutrients it does not name.
    pub fn lacks(&self) -> Vec<Nutrient> {
        Nutrient::MICROS
            .into_iter()
            .filter(|micro| self.aim(Aimed::Form(*micro)).is_none())
            .collect()
    }

    /// Fills in the micronutrients that it lacks from another list; returns which were filled.
    pub fn fill_micros(&mut self, from: &Self) -> Vec<Nutrient> {
        let mut filled = Vec::new();
        for micro in self.lacks() {
            if let Some(aim) = from.aim(Aimed::Form(micro)) {
                self.set(Aimed::Form(micro), aim);
                filled.push(micro);
            }
        }
        filled
    }

    /// The table that [`Recipe::read`] reads back, in mg/L.
    pub fn to_node(&self) -> Node {
        let aims = self.aims().map(|(aimed, aim)| {
            let parts = [("aim", aim.aim), ("min", aim.min), ("max", aim.max)];
            let mut node = Node::table([("weight", Node::number(aim.weight))]);
            node.fill(parts.map(|(key, value)| (key, value.map(Node::number))));
            (aimed.key(), node)
        });
        let mut node = Node::table([
            ("name", Node::text(&self.name)),
            ("crop", Node::text(&self.crop)),
            ("source", Node::text(&self.source)),
            ("note", Node::text(&self.note)),
            ("aims", Node::table(aims)),
        ]);
        let ph = |ph: [f64; 2]| Value::List(ph.map(Node::number).to_vec()).into();
        node.fill([
            ("ec_ms_cm", self.ec_ms_cm.map(Node::number)),
            ("ph", self.ph.map(ph)),
            ("micros", self.micros.as_ref().map(Node::text)),
        ]);
        node
    }

    /// Reads a recipe from a request or a TOML file.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let mut reader = Reader::open(node, path, faults)?;
        let unit = ListUnit::read(&mut reader, faults);
        let mut recipe = Self::empty("");
        recipe.unit = unit.unit;
        recipe.id = reader.name("id", faults).unwrap_or_default().to_owned();
        recipe.name = reader.kept("name", faults);
        recipe.crop = reader.kept("crop", faults);
        recipe.source = reader.kept("source", faults);
        recipe.note = reader.kept("note", faults);
        recipe.ec_ms_cm = reader.number("ec_ms_cm", Limits::EC, faults);
        recipe.ph = reader.part("ph", read_ph, faults);
        recipe.micros = reader.name("micros", faults).map(str::to_owned);
        let (aims_node, aims_at) = (reader.get("aims"), reader.at("aims"));
        reader.close(faults);
        if let Some(aims) = aims_node {
            recipe.read_aims(aims, &aims_at, unit, faults);
        }
        let names_nothing = recipe.aims.iter().all(Option::is_none) && recipe.micros.is_none();
        if names_nothing && faults.len() == before {
            let what = "the recipe";
            let mend = "Give an aim for at least one nutrient.";
            let line = aims_node.map_or(node.line, |aims| aims.line);
            faults.add(line, aims_at, Problem::Empty { what, mend });
        }
        (faults.len() == before).then_some(recipe)
    }

    fn read_aims(&mut self, node: &Node, path: &str, unit: ListUnit, faults: &mut Faults) {
        let Some(mut reader) = Reader::open(node, path, faults) else {
            return;
        };
        for aimed in Aimed::all() {
            let Some(node) = reader.get(aimed.key()) else {
                continue;
            };
            let at = reader.at(aimed.key());
            self.aims[aimed.index()] = if matches!(node.value, Value::Table(_)) {
                read_aim(node, &at, aimed, unit, faults)
            } else {
                unit.mg_per_l(node, &at, aimed, faults)
                    .map(|bare| Aim::bare(aimed, bare))
            };
        }
        reader.close(faults);
    }
}

/// A pH band: the lowest and the highest.
pub fn read_ph(node: &Node, path: &str, faults: &mut Faults) -> Option<[f64; 2]> {
    let items = document::list(node, path, faults)?;
    let [low, high] = items else {
        let (found, wanted) = (node.shape(), "two numbers, lowest and highest pH");
        faults.add(node.line, path, Problem::WrongShape { found, wanted });
        return None;
    };
    let min = document::number(low, path, Limits::PH, faults)?;
    let max = document::number(high, path, Limits::PH, faults)?;
    if min > max {
        faults.add(node.line, path, Problem::MinAboveMax { min, max });
        return None;
    }
    Some([min, max])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Result<Recipe, Vec<saltwright_fertilizers::Fault>> {
        let node = Node::from_json(json).expect("json");
        let mut faults = Faults::default();
        let recipe = Recipe::read(&node, "recipe", &mut faults);
        faults.finish(recipe)
    }

    #[test]
    fn a_bare_number_is_an_aim_but_a_maximum_for_sodium() {
        let recipe = read(r#"{"aims": {"K": 210, "Na": 50}}"#).expect("sound");
        let k = recipe.aim(Aimed::Form(Nutrient::K)).expect("named");
        assert_eq!((k.aim, k.max), (Some(210.0), None));
        let na = recipe.aim(Aimed::Form(Nutrient::Na)).expect("named");
        assert_eq!((na.aim, na.max), (None, Some(50.0)));
    }

    #[test]
    fn units_of_the_list_and_of_one_aim() {
        let recipe =
            read(r#"{"unit": "meq/L", "P_charge": 3, "aims": {"Ca": 4, "P": 3, "Fe": {"aim": 2, "unit": "mg/L"}}}"#)
                .expect("sound");
        let aim = |n| {
            recipe
                .aim(Aimed::Form(n))
                .and_then(|a| a.aim)
                .unwrap_or(0.0)
        };
        assert!((aim(Nutrient::Ca) - 80.156).abs() < 1e-9);
        assert!((aim(Nutrient::P) - 30.974).abs() < 1e-9);
        assert!((aim(Nutrient::Fe) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_written_is_read_back() {
        let json =
            r#"{"unit": "meq/L", "aims": {"Ca": 4, "Cl": 2, "Mg": {"min": 1}}, "ph": [5, 6]}"#;
        let recipe = read(json).expect("sound");
        let mut faults = Faults::default();
        let again = Recipe::read(&recipe.to_node(), "", &mut faults).expect("readable");
        assert_eq!(
            recipe.aims().collect::<Vec<_>>(),
            again.aims().collect::<Vec<_>>()
        );
        assert_eq!(again.ph, Some([5.0, 6.0]));
    }

    #[test]
    fn micros_fill_only_what_is_missing() {
        let mut recipe = read(r#"{"aims": {"K": 210, "Fe": 2}}"#).expect("sound");
        let micros = read(r#"{"aims": {"Fe": 5, "Mn": 0.5, "K": 1}}"#).expect("sound");
        assert_eq!(recipe.fill_micros(&micros), [Nutrient::Mn]);
        assert_eq!(
            recipe.aim(Aimed::Form(Nutrient::Fe)).and_then(|a| a.aim),
            Some(2.0)
        );
        assert_eq!(recipe.lacks().len(), 4);
    }

    #[test]
    fn refusals_name_the_field() {
        for (json, field, said) in [
            (r#"{"aims": {}}"#, "recipe.aims", "the recipe is empty"),
            (r#"{"name": "x"}"#, "recipe.aims", "the recipe is empty"),
            (r#"{"aims": {"K": -1}}"#, "recipe.aims.K", "below zero"),
            (
                r#"{"aims": {"K": 1e308}}"#,
                "recipe.aims.K",
                "limit of 100000",
            ),
            (
                r#"{"aims": {"K": "lots"}}"#,
                "recipe.aims.K",
                "not a number",
            ),
            (
                r#"{"aims": {"Kx": 1}}"#,
                "recipe.aims.Kx",
                "Did you mean \"K\"",
            ),
            (
                r#"{"aims": {"K": {"min": 3, "max": 2}}}"#,
                "recipe.aims.K",
                "above the maximum",
            ),
            (
                r#"{"aims": {"K": {"aim": 3, "max": 2}}}"#,
                "recipe.aims.K",
                "outside its own band",
            ),
            (
                r#"{"aims": {"K": {}}}"#,
                "recipe.aims.K",
                "this aim is empty",
            ),
            (
                r#"{"aims": {"K": {"aim": 1, "weight": 101}}}"#,
                "recipe.aims.K.weight",
                "limit of 100",
            ),
            (
                r#"{"unit": "meq/L", "aims": {"B": 1}}"#,
                "recipe.aims.B",
                "carries no charge",
            ),
            (
                r#"{"unit": "oz", "aims": {"K": 1}}"#,
                "recipe.unit",
                "not known here",
            ),
            (
                r#"{"aims": {"K": 1}, "ph": [7, 6]}"#,
                "recipe.ph",
                "above the maximum",
            ),
            (
                r#"{"aims": {"K": 1}, "ph": [5.5, 15]}"#,
                "recipe.ph",
                "limit of 14",
            ),
            (
                r#"{"aims": {"K": 1}, "ecmscm": 2}"#,
                "recipe.ecmscm",
                "Did you mean \"ec_ms_cm\"",
            ),
        ] {
            let faults = read(json).expect_err(json);
            assert_eq!(faults[0].field, field, "{json}");
            assert!(faults[0].to_string().contains(said), "{}", faults[0]);
        }
    }
}
