//! How the keys of a `formulate` request are read: recipe, acidity, what may be used, strength.

use super::super::sure::Sure;
use super::{AcidityAsk, Candidate, Choosing, End, RESIDUAL_MEQ_L, Strength, TO_EC, WORST_CASE};
use crate::request::{self, Shelf, named_entries};
use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader, Value};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::{GramsPerL, MeqPerL};
use saltwright_fertilizers::{Faults, Fertilizer, Nutrient, Problem};
use saltwright_recipes::{Library, Recipe};
use std::sync::Arc;

pub(super) type WithMicros = (Recipe, Option<(String, Vec<Nutrient>)>);

pub(super) fn recipe(
    reader: &mut Reader<'_>,
    library: &Library,
    faults: &mut Faults,
) -> Option<WithMicros> {
    let micros_asked = reader.get("micros");
    let Some(node) = reader.get("recipe") else {
        let what = "the recipe";
        let mend = "Name a recipe, or give its aims.";
        faults.add(reader.line(), "recipe", Problem::Empty { what, mend });
        return None;
    };
    let mut recipe = request::recipe(node, "recipe", library, faults)?;
    let (list, node, at) = match micros_asked {
        Some(node) => {
            let list = document::id(node, "micros", faults)?.to_owned();
            (Some(list), node, "micros")
        }
        None => (recipe.micros.clone(), node, "recipe.micros"),
    };
    let Some(list) = list else {
        return Some((recipe, None));
    };
    let Some(from) = library.recipe(&list) else {
        let nearest = library.nearest_recipe(&list);
        let kind = "recipe";
        faults.add(
            node.line,
            at,
            Problem::Unknown {
                kind,
                name: list,
                nearest,
            },
        );
        return None;
    };
    let filled = recipe.fill_micros(from);
    Some((recipe, Some((list, filled))))
}

/// What is asked of the acidity, and a pH that is asked for although acidity is switched off.
pub(super) fn acidity(reader: &mut Reader<'_>, faults: &mut Faults) -> (AcidityAsk, Option<f64>) {
    let asked = reader.get("acid_to").and_then(|node| acid_to(node, faults));
    let off = reader
        .get_or_null("acid")
        .is_some_and(|node| node.value == Value::Null);
    match asked {
        Some(AcidityAsk::Ph { ph, .. }) if off => (AcidityAsk::Off, Some(ph)),
        _ if off => (AcidityAsk::Off, None),
        Some(asked) => (asked, None),
        None => (AcidityAsk::Residual(MeqPerL(RESIDUAL_MEQ_L)), None),
    }
}

/// `{"residual_meq_l": 0.5}` or `{"ph": 5.8, "end": "closed"}`.
pub(super) fn acid_to(node: &Node, faults: &mut Faults) -> Option<AcidityAsk> {
    let mut reader = Reader::open(node, "acid_to", faults)?;
    let residual = reader.number("residual_meq_l", Limits::ALKALINITY, faults);
    let ph = reader.number("ph", Limits::PH, faults);
    let names_ph = reader.get("ph").is_some();
    let end = reader.get("end").map(|node| (node, reader.at("end")));
    let line = reader.line();
    reader.close(faults);
    if residual.is_some() && (ph.is_some() || end.is_some()) {
        let what = "acid is asked for to a residual alkalinity and to a pH".to_owned();
        let mend = "Keep one of the two.".to_owned();
        faults.add(line, "acid_to", Problem::Contradiction { what, mend });
        return None;
    }
    if let (Some((node, _)), false) = (&end, names_ph) {
        let (what, mend) = ("the pH to reach", "Give it beside \"end\".");
        faults.add(node.line, "acid_to.ph", Problem::Empty { what, mend });
    }
    let end = match end {
        Some((node, at)) => {
            let name = document::text(node, &at, MAX_ID, faults)?;
            let known = End::NAMES.iter().find(|(known, _)| *known == name);
            if known.is_none() {
                let nearest = nearest(name, End::NAMES.iter().map(|(name, _)| *name));
                let (kind, name) = ("end of a pH", name.to_owned());
                let problem = Problem::Unknown {
                    kind,
                    name,
                    nearest,
                };
                faults.add(node.line, at, problem);
            }
            known?.1
        }
        None => End::Closed,
    };
    match ph {
        Some(ph) => Some(AcidityAsk::Ph { ph, end }),
        None => Some(AcidityAsk::Residual(MeqPerL(residual?))),
    }
}

/// The choice: the list, `only`, the acids, `without`, and what has a price.
pub(super) fn choice(
    reader: &mut Reader<'_>,
    shelf: &Shelf<'_>,
    choosing: Choosing,
    faults: &mut Faults,
) -> (Vec<Candidate>, Vec<String>) {
    let only = reader.get("only").map(|node| {
        let named = shelf.find_all(node, "only", faults);
        if named.is_empty() && faults.is_empty() {
            let what = "the list of what may be used";
            let mend = "Name at least one fertilizer, or leave \"only\" out.";
            faults.add(node.line, "only", Problem::Empty { what, mend });
        }
        named
    });
    let acids = reader.get("acid").map(|node| acids(node, shelf, faults));
    let without = reader
        .get("without")
        .map(|node| shelf.find_all(node, "without", faults))
        .unwrap_or_default();
    let is_in = |list: &[Arc<Fertilizer>], id: &str| list.iter().any(|row| row.id == id);
    let mut rows = only.clone().unwrap_or_else(|| shelf.listed.clone());
    if let Some(acids) = &acids {
        rows.retain(|row| !row.is_acid() || is_in(acids, &row.id));
        for acid in acids {
            if !is_in(&rows, &acid.id) {
                rows.push(Arc::clone(acid));
            }
        }
    }
    rows.retain(|row| !is_in(&without, &row.id));
    let named = |id: &str| {
        is_in(only.as_deref().unwrap_or_default(), id)
            || is_in(acids.as_deref().unwrap_or_default(), id)
    };
    let only_priced = choosing == Choosing::Priced && shelf.has_prices();
    let mut unpriced = Vec::new();
    let mut choice = Vec::new();
    for fertilizer in rows {
        let price_per_kg = shelf.price(&fertilizer);
        if price_per_kg.is_none() && only_priced && !named(&fertilizer.id) {
            unpriced.push(fertilizer.id.clone());
        } else {
            choice.push(Candidate {
                fertilizer,
                price_per_kg,
                at_most: None,
            });
        }
    }
    if choice.is_empty() && faults.is_empty() {
        let what = "the choice of fertilizers";
        let mend = "Allow at least one; once a price is given, only priced ones count.";
        faults.add(reader.line(), "fertilizers", Problem::Empty { what, mend });
    }
    (choice, unpriced)
}

/// The acids that a request names; each must bring acid that can be counted.
pub(super) fn acids(node: &Node, shelf: &Shelf<'_>, faults: &mut Faults) -> Vec<Arc<Fertilizer>> {
    let acids = shelf.find_all(node, "acid", faults);
    for acid in &acids {
        if acid.acid_meq_per_g() <= 0.0 {
            let what = if acid.is_charted() {
                format!("{} brings no acid", acid.id)
            } else {
                format!(
                    "the acid of {} is not computed: no constants for it here",
                    acid.id
                )
            };
            let mend = "Name nitric, phosphoric, sulfuric or hydrochloric acid.".to_owned();
            faults.add(node.line, "acid", Problem::Contradiction { what, mend });
        }
    }
    acids
}

pub(super) fn at_most(
    reader: &mut Reader<'_>,
    shelf: &Shelf<'_>,
    litres: Option<f64>,
    choice: &mut [Candidate],
    faults: &mut Faults,
) {
    let Some(node) = reader.get("at_most_g") else {
        return;
    };
    let entries = named_entries(node, "at_most_g", faults);
    if litres.is_none() && !entries.is_empty() {
        let what = "grams at hand say little without the litres they are for".to_owned();
        let mend = "Say for how many litres.".to_owned();
        faults.add(
            node.line,
            "at_most_g",
            Problem::Contradiction { what, mend },
        );
    }
    for (id, node, at) in entries {
        let Some(fertilizer) = shelf.find(id, "fertilizer", node, &at, faults) else {
            continue;
        };
        let grams = document::number(node, &at, Limits::GRAMS, faults);
        let candidate = choice.iter_mut().find(|c| c.fertilizer.id == fertilizer.id);
        if let (Some(grams), Some(litres), Some(candidate)) = (grams, litres, candidate) {
            candidate.at_most = Some(GramsPerL(grams / litres));
        }
    }
}

pub(super) fn strength(
    reader: &mut Reader<'_>,
    ec_ms_cm: Option<f64>,
    faults: &mut Faults,
) -> Option<Strength> {
    let Some(node) = reader.get("strength") else {
        return Some(Strength::Factor(1.0));
    };
    if node.value != Value::Text(TO_EC.into()) {
        let factor = document::number(node, "strength", Limits::STRENGTH, faults);
        return factor.map(Strength::Factor);
    }
    let aim = ec_ms_cm.filter(|ec| *ec > 0.0);
    if aim.is_none() {
        let what = "the EC to reach";
        let mend = "Say which EC, here or in the recipe.";
        faults.add(node.line, "ec_ms_cm", Problem::Empty { what, mend });
    }
    aim.map(Strength::ToEc)
}

/// `"worst-case"`, or a probability.
pub(super) fn sure(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Sure> {
    let node = reader.get("sure")?;
    let words = match &node.value {
        Value::Text(text) if text.parse::<f64>().is_err() => Some(text.trim()),
        _ => None,
    };
    if let Some(name) = words {
        if name == WORST_CASE {
            return Some(Sure::WorstCase);
        }
        let kind = "way to be sure";
        let problem = Problem::NotOneOf {
            kind,
            name: name.chars().take(MAX_ID).collect(),
            known: format!("{WORST_CASE}, or a probability like 0.95"),
        };
        faults.add(node.line, "sure", problem);
        return None;
    }
    document::number(node, "sure", Limits::PROBABILITY, faults).map(Sure::Probability)
}
