//! `--aim K=210`, `--aim Fe=0.8..1.2`, `--aim Cl=..70`: aims changed on the command line.

use super::typed::{pair, quantity};
use saltwright_fertilizers::document::{MAX_TEXT, Value};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::parse_with_unit;
use saltwright_fertilizers::{Aimed, Faults, Node, Problem};
use saltwright_recipes::Library;

/// The option as it is typed.
pub const OPTION: &str = "--aim";

/// A recipe with some aims changed, which its name then says. A changed aim takes the default band
/// and weight. A fault belongs where it was typed: behind an option, or in a field.
pub fn changed(
    recipe: Node,
    typed: &[String],
    at: &str,
    library: &Library,
    faults: &mut Faults,
) -> (Node, Vec<Aimed>) {
    let mut recipe = match &recipe.value {
        Value::Text(id) => match library.recipe(id) {
            Some(shipped) => shipped.to_node(),
            // The unknown name is refused with the nearest one.
            None => return (recipe, Vec::new()),
        },
        _ => recipe,
    };
    let aims = recipe.get("aims").cloned();
    let mut aims = aims.unwrap_or_else(|| Node::table::<String>([]));
    let mut named = Vec::new();
    for word in typed {
        let Some((nutrient, figure)) = pair(word, at, faults) else {
            continue;
        };
        let Some(aimed) = Aimed::from_key(nutrient) else {
            let nearest = nearest(nutrient, Aimed::all().map(Aimed::key));
            let (kind, name) = ("nutrient", nutrient.to_owned());
            let problem = Problem::Unknown {
                kind,
                name,
                nearest,
            };
            faults.add(None, at, problem);
            continue;
        };
        if let Some(aim) = aim(figure, format!("{at} {nutrient}").trim_start(), faults) {
            aims.set(nutrient, aim);
            named.push(aimed);
        }
    }
    recipe.set("aims", aims);
    let old = match recipe.get("name").map(|name| &name.value) {
        Some(Value::Text(name)) if !name.is_empty() => name.clone(),
        _ => "own recipe".to_owned(),
    };
    let name: String = format!("{old} with {}", typed.join(", "));
    if name.len() <= MAX_TEXT {
        recipe.set("name", Node::text(name));
    }
    (recipe, named)
}

/// One aim, or a band of which one end may be left open.
fn aim(figure: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let ends = figure.split_once("..");
    let parts = match ends {
        None => vec![("aim", figure)],
        Some((low, high)) => vec![("min", low), ("max", high)],
    };
    let mut unit = "mg/L".to_owned();
    let mut entries = Vec::new();
    for (key, text) in parts {
        if ends.is_some() && text.trim().is_empty() {
            continue;
        }
        let (number, typed) = quantity(text, at, parse_with_unit, faults)?;
        if !typed.is_empty() {
            unit = typed;
        }
        entries.push((key, Node::number(number)));
    }
    if entries.is_empty() {
        let what = "this aim";
        let mend = "Write it like 210, 0.8..1.2 or ..70.";
        faults.add(None, at, Problem::Empty { what, mend });
        return None;
    }
    entries.push(("unit", Node::text(unit)));
    Some(Node::table(entries))
}
