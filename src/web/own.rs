//! Lists of one's own, pasted as text: recipe, water, fertilizers, prices, mixes; and the fields
//! that choose between them and what is shipped.

mod offered;

pub use offered::{
    FERTILIZERS_EXAMPLE, MIX_EXAMPLE, RECIPE_EXAMPLE, WATER_EXAMPLE, aim_name, analysis_field,
    blend_field, micros_field, pasted_fields, pasted_water, recipe_field, shelf_fields, tank_field,
    volume_unit, water_field,
};

use super::Visit;
use super::ask::Asking;
use crate::cli::input::Known;
use crate::cli::{aims, mixes, typed};
use crate::store::journal::Settings;
use crate::view::round::{self, Measure};
use saltwright_fertilizers::document::Limits;
use saltwright_fertilizers::units::{Litres, parse_number, parse_strength, parse_volume};
use saltwright_fertilizers::{
    Aimed, Faults, MixLine, Node, Problem, Table, Value, prices as price_lists,
};
use saltwright_recipes::library::DEMO_PRICES;
use saltwright_recipes::{Recipe, Water};

/// The choice of what stands in a field of one's own.
pub const OWN: &str = "own";

/// The choice of a blend of waters.
const BLEND: &str = "blend";

/// The choice of no prices, where those of the grower's folder would count.
const NONE: &str = "none";

/// Reads fertilizers and prices into the request.
pub fn shelf(asking: &mut Asking<'_>) {
    if let Some(text) = asking.text("own-fertilizers") {
        let table = asking.within("own-fertilizers", |_, faults| read_table(text, faults));
        if let Some(table) = table {
            let rows = table.iter().map(|row| row.to_node()).collect();
            asking.list("fertilizers", rows, "own-fertilizers");
            asking.known = Known::new(table, &asking.visit.site.library);
        }
    }
    match asking.value("prices") {
        Some("demo") => prices(asking, DEMO_PRICES, "prices"),
        Some(OWN) => match asking.text("own-prices") {
            Some(text) => prices(asking, text, "own-prices"),
            None => empty(asking, "own-prices", "the price list"),
        },
        Some(NONE) => asking.set("prices", Node::table::<&str>([]), "prices"),
        // The request then takes those of the folder, where there are any.
        _ => {}
    }
}

/// True where prices count: chosen ones, or those of the grower's folder.
pub fn is_priced(asking: &Asking<'_>) -> bool {
    match asking.value("prices") {
        None => !asking.visit.site.library.own.prices.is_empty(),
        Some(chosen) => chosen != NONE,
    }
}

/// Reads a table of fertilizers.
pub fn read_table(text: &str, faults: &mut Faults) -> Option<Table> {
    let read = Table::read_csv("", text);
    read.map_err(|others| faults.extend(others)).ok()
}

fn prices(asking: &mut Asking<'_>, text: &str, field: &str) {
    let priced = asking.within(field, |asking, faults| {
        let rows = price_lists::read_csv("", text);
        let rows = rows
            .map_err(|others| faults.extend(others))
            .unwrap_or_default();
        for row in rows
            .iter()
            .filter(|row| asking.known.get(&row.id).is_none())
        {
            faults.add(row.line, "id", asking.known.unknown(&row.id));
        }
        price_lists::by_the_kilogram(&rows)
    });
    if !priced.is_empty() {
        asking.set("prices", Node::table(priced), field);
    }
}

/// Reads the recipe, with the aims that were changed, into the request.
pub fn recipe(asking: &mut Asking<'_>) {
    let chosen = asking.value("recipe").unwrap_or_default();
    if chosen.is_empty() {
        let (what, mend) = ("the recipe", "Choose one, or paste your own.");
        asking.refuse("recipe", Problem::Empty { what, mend });
        return;
    }
    let recipe = if chosen == OWN {
        pasted(asking, "own-recipe", "the recipe", Recipe::read)
    } else {
        Some((Node::text(chosen), "recipe"))
    };
    let Some((mut recipe, field)) = recipe else {
        return;
    };
    for aimed in Aimed::all() {
        let name = aim_name(aimed);
        let Some(typed) = asking.value(&name) else {
            continue;
        };
        let word = [format!("{}={typed}", aimed.key())];
        let library = &asking.visit.site.library;
        recipe = asking.within(&name, |_, faults| {
            aims::changed(recipe, &word, "", library, faults).0
        });
        asking.origin(format!("recipe.aims.{}", aimed.key()), &name);
    }
    asking.set("recipe", recipe, field);
}

/// Reads the water into the request.
pub fn water(asking: &mut Asking<'_>) {
    match asking.value("water") {
        None => {}
        Some(OWN) => {
            if let Some((water, field)) = pasted_water_node(asking) {
                asking.set("water", water, field);
            }
        }
        Some(BLEND) => blend(asking),
        Some(shipped) => asking.set("water", Node::text(shipped), "water"),
    }
}

/// Reads a blend: a line for each water with its share.
fn blend(asking: &mut Asking<'_>) {
    let Some(text) = asking.text("blend") else {
        return empty(asking, "blend", "the blend");
    };
    let words: Vec<String> = text.lines().filter_map(as_pair).collect();
    let shares = asking.within("blend", |_, faults| {
        typed::pairs(&words, "", parse_strength, faults)
    });
    let mut parts = Vec::new();
    for (name, share) in shares {
        let water = if name == OWN {
            pasted_water_node(asking).map(|(water, _)| water)
        } else {
            Some(Node::text(name))
        };
        parts.extend(water.map(|water| Node::table([("water", water), ("share", share)])));
    }
    let node = Node::table([("blend", Value::List(parts).into())]);
    asking.set("water", node, "blend");
}

/// The water of one's own.
fn pasted_water_node(asking: &mut Asking<'_>) -> Option<(Node, &'static str)> {
    pasted(asking, "own-water", "the water", Water::read)
}

/// The TOML of a field, checked.
fn pasted<T>(
    asking: &mut Asking<'_>,
    field: &'static str,
    what: &'static str,
    read: Reads<T>,
) -> Option<(Node, &'static str)> {
    let Some(text) = asking.text(field) else {
        empty(asking, field, what);
        return None;
    };
    let (node, _) = asking.within(field, |_, faults| read_toml(text, read, faults))?;
    Some((node, field))
}

/// A reader of recipes or of waters.
type Reads<T> = fn(&Node, &str, &mut Faults) -> Option<T>;

/// Reads TOML, as it stands there and as what it says.
pub fn read_toml<T>(text: &str, read: Reads<T>, faults: &mut Faults) -> Option<(Node, T)> {
    match Node::from_toml(text.trim_start_matches('\u{feff}')) {
        Ok(node) => {
            let before = faults.len();
            let said = read(&node, "", faults)?;
            (faults.len() == before).then_some((node, said))
        }
        Err((line, problem)) => {
            faults.add(line, "", problem);
            None
        }
    }
}

/// Refuses a list of one's own that is not there.
pub fn empty(asking: &mut Asking<'_>, field: &str, what: &'static str) {
    let mend = "Paste it here, or choose a shipped one above.";
    asking.refuse(field, Problem::Empty { what, mend });
}

/// Reads a laboratory's figures of a tank into the request.
pub fn analysis(asking: &mut Asking<'_>) {
    let Some(text) = asking.text("analysis") else {
        return;
    };
    let read = asking.within("analysis", |_, faults| read_toml(text, Water::read, faults));
    if let Some((analysis, _)) = read {
        asking.set("analysis", analysis, "analysis");
    }
}

/// The volume of the batch; a bare number is in the unit that the field shows.
pub fn tank(asking: &mut Asking<'_>) {
    let Some(typed) = asking.value("tank") else {
        return;
    };
    match litres(typed, asking.visit.is_us()) {
        Ok(litres) => asking.litres = Some(Litres(litres)),
        Err(problem) => asking.refuse("tank", problem),
    }
}

/// Sets the litres that are weighed for to those of the batch.
pub fn litres_of_tank(asking: &mut Asking<'_>) {
    if let Some(litres) = asking.litres {
        asking.set("litres", Node::number(litres.0), "tank");
    }
}

/// A volume; a bare number is in US gallons where those are shown.
pub fn litres(typed: &str, is_us: bool) -> Result<f64, Problem> {
    let read = if is_us && parse_number(typed).is_ok() {
        parse_volume(&format!("{typed} gal"))
    } else {
        parse_volume(typed)
    };
    read.and_then(|litres| Limits::LITRES.check(litres.0))
}

/// Reads a mix: a line for each fertilizer with its amount, or a table (CSV) with a head.
pub fn mix(asking: &mut Asking<'_>, field: &str, key: &str) {
    let litres = asking.litres;
    let text = asking.text(field).unwrap_or_default();
    let is_table = text.lines().next().is_some_and(|head| {
        let mut cells = head.split([',', ';']);
        head.contains([',', ';']) && cells.any(|cell| cell.trim() == "id")
    });
    let lines = asking.within(field, |asking, faults| {
        if is_table {
            let lines = MixLine::read_csv("", text, litres).unwrap_or_else(|others| {
                faults.extend(others);
                Vec::new()
            });
            return mixes::checked(&lines, &asking.known, faults);
        }
        let words: Vec<String> = text.lines().filter_map(as_pair).collect();
        mixes::typed(&words, "", litres, &asking.known, faults)
    });
    asking.set(key, Value::List(lines).into(), field);
}

/// Reads a line for each name with its figure into a table of the request.
pub fn pairs(
    asking: &mut Asking<'_>,
    field: &str,
    key: &str,
    parse: impl Fn(&str) -> Result<f64, Problem>,
) {
    let text = asking.text(field).unwrap_or_default();
    let words: Vec<String> = text.lines().filter_map(as_pair).collect();
    let entries = asking.within(field, |_, faults| typed::pairs(&words, "", parse, faults));
    asking.set(key, Node::table(entries), field);
}

/// An amount for a litre as it is weighed or poured, to be typed into a mix.
pub fn per_litre(g_per_l: f64, ml_per_l: Option<f64>) -> String {
    match ml_per_l {
        Some(ml) => round::poured(ml, Measure::Metric),
        None => round::mass(g_per_l, Measure::Metric),
    }
}

/// An amount for a litre with every digit that a scale could show of a batch of it.
pub fn exactly(g_per_l: f64, ml_per_l: Option<f64>) -> String {
    match ml_per_l {
        Some(ml) => format!("{} mL", round::handed_on(ml)),
        None => format!("{} g", round::handed_on(g_per_l)),
    }
}

/// `name amount` or `name = amount` as a pair; nothing for a blank line.
pub fn as_pair(line: &str) -> Option<String> {
    let line = line.trim();
    let end = line.find(|c: char| c.is_whitespace() || c == '=' || c == ':');
    let Some(end) = end else {
        return (!line.is_empty()).then(|| line.to_owned());
    };
    let amount =
        line[end..].trim_start_matches(|c: char| c.is_whitespace() || c == '=' || c == ':');
    Some(format!("{}={amount}", &line[..end]))
}

/// The fields of the recipe and the water that a journal tells of a tank: shipped ones by name, others
/// as the text of their file, which `text_of` reads.
pub fn named(
    visit: &Visit<'_>,
    told: &Settings,
    text_of: &dyn Fn(&str) -> Option<String>,
) -> Vec<(&'static str, String)> {
    let library = &visit.site.library;
    let recipe = told.recipe.as_deref();
    let water = told.water.as_deref();
    let is_recipe = recipe.is_some_and(|name| library.recipe(name).is_some());
    let is_water = water.is_some_and(|name| library.water(name).is_some());
    let mut fields = Vec::new();
    for (field, own, name, is_known) in [
        ("recipe", "own-recipe", recipe, is_recipe),
        ("water", "own-water", water, is_water),
    ] {
        let Some(name) = name else { continue };
        if is_known {
            fields.push((field, name.to_owned()));
        } else if let Some(text) = text_of(name) {
            fields.push((field, OWN.to_owned()));
            fields.push((own, text));
        }
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_as_people_write_them() {
        for line in ["urea 0.5 g", "urea=0.5 g", " urea : 0.5 g ", "urea = 0.5 g"] {
            assert_eq!(as_pair(line).as_deref(), Some("urea=0.5 g"), "{line}");
        }
        assert_eq!(as_pair("  "), None);
        assert_eq!(as_pair("urea").as_deref(), Some("urea"));
    }
}
