//! What `label` is asked, resolved.

use super::convention::{Convention, Form};
use super::meter::Dissolved;
use crate::formulate::FormulateRequest;
use crate::request::{ENVELOPE, Shelf, named_entries, water};
use crate::spread::Stated;
use crate::spread::stated::Batch;
use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader, Value};
use saltwright_fertilizers::guarantee::{Basis, Guarantee, Printed};
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_fertilizers::{Faults, Fertilizer, Problem, Tank};
use saltwright_recipes::{Library, Water};
use std::sync::Arc;

/// Keys that are those of `formulate`, known once a recipe is to be completed.
pub const COMPLETING: [&str; 13] = [
    "micros",
    "acid",
    "acid_to",
    "only",
    "without",
    "at_most_g",
    "litres",
    "ratio",
    "strength",
    "ec_ms_cm",
    "simplest",
    "ranges",
    "sure",
];
/// What is in the bag or bottle.
pub const FORMS: [&str; 2] = ["solid", "liquid"];
/// What a completed mix must keep.
pub const KEEPS: [&str; 2] = ["aims", "bands"];
/// A dose by mass.
pub const DOSE: Limits = Limits::new(1e-6, 1000.0, " g/L");
/// A dose by volume.
pub const DOSE_ML: Limits = Limits::new(1e-6, 1000.0, " mL/L");
/// Keys of the two jobs alike.
const SHARED: [&str; 4] = ["recipe", "water", "fertilizers", "prices"];

/// What the label is thought to be made of.
#[derive(Clone, Debug)]
pub enum Made {
    /// Of these.
    Of(Vec<Arc<Fertilizer>>),
    /// Not said: of the common ones, else of any that are known.
    Unsaid {
        /// The common shelf.
        common: Vec<Arc<Fertilizer>>,
        /// Everything that is known.
        any: Vec<Arc<Fertilizer>>,
    },
}

/// How the mix is to be completed.
#[derive(Clone, Debug)]
pub struct Completing {
    /// The recipe, the water and the single salts.
    pub request: FormulateRequest,
    /// True where only the bands count, so that the cheapest is found within them.
    pub bands_only: bool,
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct LabelRequest {
    /// What it says on the bag.
    pub name: String,
    /// The guaranteed analysis.
    pub guarantee: Guarantee,
    /// How it is printed.
    pub convention: Convention,
    /// Solid or liquid.
    pub form: Form,
    /// What it is made of.
    pub made: Made,
    /// True where an inert rest is allowed.
    pub filler: bool,
    /// What a laboratory found.
    pub found: Option<Guarantee>,
    /// What a kilogram of a nutrient is worth, for penalties; keys as printed.
    pub values_per_kg: Vec<(Printed, f64)>,
    /// What was dissolved, and what a meter showed.
    pub meter: Option<Dissolved>,
    /// Grams per litre that are dosed.
    pub dose_g_per_l: Option<f64>,
    /// The water it is dissolved in.
    pub water: Option<Water>,
    /// What it costs.
    pub price_per_kg: Option<f64>,
    /// The recipe that it is to be completed to.
    pub complete: Option<Completing>,
    /// What may be off, where figures are to have their ranges.
    pub ranges: Option<Stated>,
}

impl LabelRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        reader.accept(&["note", "source"]);
        let completing = reader.get("recipe").is_some();
        // What both jobs read is refused once, by the reader of the recipe.
        let mut told_there = Faults::default();
        let shared = if completing {
            &mut told_there
        } else {
            &mut *faults
        };
        let shelf = Shelf::read(&mut reader, library, shared);
        let water = match reader.get("water") {
            Some(node) => water(node, "water", library, shared).map(Some),
            None => Some(None),
        };
        let name = reader.kept("name", faults);
        let convention = read_convention(&mut reader, faults);
        let form = read_form(&mut reader, faults);
        let basis = convention.unwrap_or(Convention::Us).basis();
        let guarantee = read_guarantee(&mut reader, basis, faults);
        let found = reader.get("found").and_then(|node| {
            let found = Guarantee::read_found(node, "found", basis, faults)?;
            check_found(&found, guarantee.as_ref()?, node, faults);
            Some(found)
        });
        let made = read_made(&mut reader, &shelf, form, faults);
        let filler = reader.flag("filler", faults).unwrap_or(true);
        let density = reader.number("density_g_per_ml", Limits::DENSITY, faults);
        let meter = reader.part(
            "meter",
            |n, at, f| Dissolved::read(n, at, density, f),
            faults,
        );
        let dose_g_per_l = reader
            .get("dose")
            .and_then(|node| read_dose(node, density, faults));
        let price_per_kg = reader.number("price_per_kg", Limits::PRICE, faults);
        let values_per_kg = read_values(&mut reader, faults);
        let bands_only = completing && read_keep(&mut reader, faults);
        if completing {
            reader.accept(&COMPLETING);
        }
        let alone = (!completing).then(|| Stated::read(&mut reader, Batch::Nothing, faults));
        reader.close(faults);
        let complete = if completing {
            let request = FormulateRequest::read(&for_formulate(node), library, faults);
            request.map(|request| Completing {
                request,
                bands_only,
            })
        } else {
            None
        };
        let (guarantee, convention) = (guarantee?, convention?);
        faults.is_empty().then_some(())?;
        Some(Self {
            name,
            guarantee,
            convention,
            form,
            made: made?,
            filler,
            found,
            values_per_kg,
            meter,
            dose_g_per_l,
            water: water?,
            price_per_kg,
            ranges: match &complete {
                Some(completing) => completing.request.ranges,
                None => alone.flatten(),
            },
            complete,
        })
    }
}

/// What is printed on the label.
fn read_guarantee(reader: &mut Reader<'_>, basis: Basis, faults: &mut Faults) -> Option<Guarantee> {
    let Some(node) = reader.get("guarantee") else {
        let what = "the guarantee";
        let mend = "Give what is printed on the label, like \"15-5-15 + 4Ca + 2Mg\".";
        faults.add(reader.line(), "guarantee", Problem::Empty { what, mend });
        return None;
    };
    Guarantee::read(node, "guarantee", basis, faults)
}

/// The part of a request that `formulate` reads.
fn for_formulate(node: &Node) -> Node {
    let keys = SHARED.into_iter().chain(COMPLETING);
    let entries = keys.filter_map(|key| Some((key, node.get(key)?.clone())));
    Node {
        line: node.line,
        ..Node::table(entries)
    }
}

/// One of a few names; the first where nothing is said.
fn choice(
    reader: &mut Reader<'_>,
    key: &'static str,
    known: &[&'static str],
    faults: &mut Faults,
) -> Option<usize> {
    let Some(node) = reader.get(key) else {
        return Some(0);
    };
    let name = document::text(node, &reader.at(key), MAX_ID, faults)?.trim();
    let found = known.iter().position(|one| *one == name);
    if found.is_none() {
        let (kind, name, known) = (key, name.to_owned(), known.join(", "));
        let problem = Problem::NotOneOf { kind, name, known };
        faults.add(node.line, reader.at(key), problem);
    }
    found
}

fn read_convention(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Convention> {
    let names = Convention::ALL.map(Convention::name);
    let at = choice(reader, "convention", &names, faults)?;
    Convention::ALL.get(at).copied()
}

fn read_form(reader: &mut Reader<'_>, faults: &mut Faults) -> Form {
    match choice(reader, "form", &FORMS, faults) {
        Some(1) => Form::Liquid,
        _ => Form::Solid,
    }
}

fn read_keep(reader: &mut Reader<'_>, faults: &mut Faults) -> bool {
    choice(reader, "keep", &KEEPS, faults) == Some(1)
}

/// Found values need a promise to be held against.
fn check_found(found: &Guarantee, guarantee: &Guarantee, node: &Node, faults: &mut Faults) {
    for one in found.claims() {
        if guarantee.get(one.printed.counted).is_none() {
            let key = one.printed.key;
            let what = format!("{key} was found, but the label does not promise it");
            let mend = "Add it to the guarantee, or leave it out here: only promises are judged.";
            faults.add(
                one.line.or(node.line),
                document::join("found", key),
                Problem::Contradiction {
                    what,
                    mend: mend.to_owned(),
                },
            );
        }
    }
}

fn read_made(
    reader: &mut Reader<'_>,
    shelf: &Shelf<'_>,
    form: Form,
    faults: &mut Faults,
) -> Option<Made> {
    let Some(node) = reader.get("ingredients") else {
        // A dry mix holds nothing that is poured, no acid and no base.
        let dry = |row: &Fertilizer| {
            !row.is_liquid() && !matches!(row.tank, Some(Tank::Acid | Tank::Base))
        };
        let fits = |row: &Arc<Fertilizer>| form == Form::Liquid || dry(row);
        let pick = |row: &Arc<Fertilizer>| fits(row).then(|| Arc::clone(row));
        return Some(Made::Unsaid {
            common: shelf.listed.iter().filter_map(pick).collect(),
            any: shelf.everything().filter_map(pick).collect(),
        });
    };
    let items = document::list_of(node, "ingredients", ("fertilizers", MAX_LINES), faults)?;
    if items.is_empty() {
        let what = "the list of ingredients";
        let mend = "Name at least one, or leave the list out for common fertilizers.";
        faults.add(node.line, "ingredients", Problem::Empty { what, mend });
        return None;
    }
    let before = faults.len();
    let mut made: Vec<Arc<Fertilizer>> = Vec::new();
    for (position, item) in items.iter().enumerate() {
        let at = format!("ingredients[{position}]");
        let fertilizer = match &item.value {
            Value::Text(id) => shelf.find(id.trim(), "fertilizer", item, &at, faults),
            _ => Fertilizer::read(item, &at, faults).map(Arc::new),
        };
        let Some(fertilizer) = fertilizer else {
            continue;
        };
        if made.iter().any(|known| known.id == fertilizer.id) {
            let name = fertilizer.id.clone();
            faults.add(item.line, at, Problem::Twice { name });
            continue;
        }
        made.push(fertilizer);
    }
    (faults.len() == before).then_some(Made::Of(made))
}

/// Grams per litre from grams, or from millilitres and a density.
pub(super) fn grams_per_l(
    reader: &mut Reader<'_>,
    density: Option<f64>,
    faults: &mut Faults,
) -> Option<f64> {
    let before = faults.len();
    let g_per_l = reader.number("g_per_l", DOSE, faults);
    let ml_per_l = reader.number("ml_per_l", DOSE_ML, faults);
    match (g_per_l, ml_per_l, density) {
        (Some(g), Some(ml), Some(density)) if (g - ml * density).abs() > 1e-6 * g => {
            let problem = Problem::MassAndVolume {
                g_per_l: g,
                ml_per_l: ml,
                density,
            };
            faults.add(reader.line(), reader.at("ml_per_l"), problem);
            None
        }
        (Some(g), _, _) => Some(g),
        (None, Some(ml), Some(density)) => Some(ml * density),
        (None, Some(_), None) => {
            let what = "a volume is given, but not the density of this mix".to_owned();
            let mend = "Give the density in g/mL, or the dose in grams.";
            let at = reader.at("ml_per_l");
            let mend = mend.to_owned();
            faults.add(reader.line(), at, Problem::Contradiction { what, mend });
            None
        }
        (None, None, _) => {
            if faults.len() == before {
                let what = "the dose";
                let mend = "Give g_per_l, or ml_per_l with density_g_per_ml.";
                let at = reader.at("g_per_l");
                faults.add(reader.line(), at, Problem::Empty { what, mend });
            }
            None
        }
    }
}

fn read_dose(node: &Node, density: Option<f64>, faults: &mut Faults) -> Option<f64> {
    let mut reader = Reader::open(node, "dose", faults)?;
    let dose = grams_per_l(&mut reader, density, faults);
    reader.close(faults);
    dose
}

fn read_values(reader: &mut Reader<'_>, faults: &mut Faults) -> Vec<(Printed, f64)> {
    let Some(node) = reader.get("values_per_kg") else {
        return Vec::new();
    };
    let mut values = Vec::new();
    for (key, node, at) in named_entries(node, "values_per_kg", faults) {
        let Some(printed) = Printed::from_key(key) else {
            let nearest = saltwright_fertilizers::fault::nearest(
                key,
                Printed::all().map(|printed| printed.key),
            );
            let (kind, name) = ("nutrient", key.chars().take(MAX_ID).collect());
            faults.add(
                node.line,
                at,
                Problem::Unknown {
                    kind,
                    name,
                    nearest,
                },
            );
            continue;
        };
        if let Some(value) = document::number(node, &at, Limits::PRICE, faults) {
            values.push((printed, value));
        }
    }
    values
}
