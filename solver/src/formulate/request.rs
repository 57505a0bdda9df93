//! What `formulate` is asked, resolved: every name looked up, every number checked.

use super::sure::Sure;
use crate::request::{ENVELOPE, Shelf, named_entries, recipe, water_or_pure};
use crate::solution::Brought;
use crate::spread::Stated;
use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader, Value};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::{GramsPerL, MeqPerL};
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Nutrient, Problem};
use saltwright_recipes::{Bands, Library, Recipe, Water};
use std::sync::Arc;

/// Alkalinity left after the acid where nothing else is asked: a little buffer against pH swings.
/// Common practice, no source.
pub const RESIDUAL_MEQ_L: f64 = 0.5;
/// The strength that reads an EC, in requests.
pub const TO_EC: &str = "to-ec";

/// The bands for every bag within its tolerance, in requests.
pub const WORST_CASE: &str = "worst-case";

/// What is asked of the acidity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AcidityAsk {
    /// No acidity row at all.
    Off,
    /// Acid until this alkalinity is left.
    Residual(MeqPerL),
    /// Acid or base until the finished solution has this pH.
    Ph {
        /// The pH to reach.
        ph: f64,
        /// When it is to be reached.
        end: End,
    },
}

/// When a pH is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// Right after mixing.
    Closed,
    /// After standing in air.
    Open,
}

impl End {
    /// The names in requests.
    const NAMES: [(&'static str, Self); 2] = [("closed", Self::Closed), ("open", Self::Open)];
}

/// How strong the finished solution is to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Strength {
    /// The recipe as written times this.
    Factor(f64),
    /// Such that the finished solution reads this EC, mS/cm.
    ToEc(f64),
}

/// What the closest stage strives for, and the cheapest one then keeps.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Keeps {
    /// Every band, then the least distance from the aims.
    #[default]
    Aims,
    /// The bands alone: within them a figure may lie anywhere.
    Bands,
    /// The bands, and every aim as closely as a mix does that brings this; a band that it misses,
    /// no worse.
    AsCloseAs(Box<Brought>),
}

/// What prices say about the choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Choosing {
    /// Once any is given, what has none is left out.
    Priced,
    /// Nothing.
    Any,
}

/// A fertilizer that may be used.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// What.
    pub fertilizer: Arc<Fertilizer>,
    /// Its price, where known.
    pub price_per_kg: Option<f64>,
    /// The most there is.
    pub at_most: Option<GramsPerL>,
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct FormulateRequest {
    /// What the crop should get, micronutrients filled in.
    pub recipe: Recipe,
    /// The list that filled in micronutrients, and which.
    pub micros: Option<(String, Vec<Nutrient>)>,
    /// The water it is made with.
    pub water: Water,
    /// What may be used.
    pub choice: Vec<Candidate>,
    /// What is known but not in the choice.
    pub beyond: Vec<Arc<Fertilizer>>,
    /// Fertilizers left out because they have no price.
    pub unpriced: Vec<String>,
    /// The acidity row.
    pub acidity: AcidityAsk,
    /// A pH that was asked for beside "no acidity at all".
    pub ph_not_sought: Option<f64>,
    /// What is in the tank already.
    pub already: Vec<Dose>,
    /// Strength against the recipe as written.
    pub strength: Strength,
    /// Least mass and fewest fertilizers among equals.
    pub simplest: bool,
    /// Litres of finished solution, where a batch is made.
    pub litres: Option<f64>,
    /// Parts of finished solution per part of stock.
    pub ratio: Option<f64>,
    /// EC to compare with, mS/cm.
    pub ec_ms_cm: Option<f64>,
    /// Bands where the recipe names none.
    pub bands: Bands,
    /// What the mix must keep before it may be cheap.
    pub keeps: Keeps,
    /// True where the report lists the ions.
    pub detail: bool,
    /// What may be off, where every figure is to have its range.
    pub ranges: Option<Stated>,
    /// How sure the bands are to be, where more is asked than that they hold by the stated assays.
    pub sure: Option<Sure>,
}

impl FormulateRequest {
    /// A recipe at its own strength from a choice, and nothing else asked: no acidity row, no
    /// batch, no EC to compare with. Other jobs fill in what they need.
    pub fn plain(recipe: Recipe, water: Water, choice: Vec<Candidate>, bands: Bands) -> Self {
        Self {
            recipe,
            micros: None,
            water,
            choice,
            beyond: Vec::new(),
            unpriced: Vec::new(),
            acidity: AcidityAsk::Off,
            ph_not_sought: None,
            already: Vec::new(),
            strength: Strength::Factor(1.0),
            simplest: true,
            litres: None,
            ratio: None,
            ec_ms_cm: None,
            bands,
            keeps: Keeps::Aims,
            detail: false,
            ranges: None,
            sure: None,
        }
    }

    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        Self::read_with(node, library, faults, |_, _, _| ()).map(|(request, ())| request)
    }

    /// Reads a request of a job that asks all this and `more` beside it.
    pub(crate) fn read_with<T>(
        node: &Node,
        library: &Library,
        faults: &mut Faults,
        more: impl FnOnce(&mut Reader<'_>, &Shelf<'_>, &mut Faults) -> T,
    ) -> Option<(Self, T)> {
        Self::read_choosing(Choosing::Priced, node, library, faults, more)
    }

    /// The same for a job that chooses otherwise.
    pub(crate) fn read_choosing<T>(
        choosing: Choosing,
        node: &Node,
        library: &Library,
        faults: &mut Faults,
        more: impl FnOnce(&mut Reader<'_>, &Shelf<'_>, &mut Faults) -> T,
    ) -> Option<(Self, T)> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        let shelf = Shelf::read(&mut reader, library, faults);
        let recipe = read_recipe(&mut reader, library, faults);
        let water = water_or_pure(&mut reader, library, faults);
        let (acidity, ph_not_sought) = read_acidity(&mut reader, faults);
        let (mut choice, unpriced) = read_choice(&mut reader, &shelf, choosing, faults);
        let litres = reader.number("litres", Limits::LITRES, faults);
        let ratio = reader.number("ratio", Limits::RATIO, faults);
        read_at_most(&mut reader, &shelf, litres, &mut choice, faults);
        let already = reader
            .get("already")
            .map(|node| shelf.mix(node, "already", faults))
            .unwrap_or_default();
        let ec_asked = reader.number("ec_ms_cm", Limits::EC, faults);
        let ec_of_recipe = recipe.as_ref().and_then(|(recipe, _)| recipe.ec_ms_cm);
        let strength = read_strength(&mut reader, ec_asked.or(ec_of_recipe), faults);
        let detail = reader.flag("detail", faults).unwrap_or(false);
        let simplest = reader.flag("simplest", faults).unwrap_or(true);
        let ranges = Stated::read(&mut reader, litres, faults);
        let sure = read_sure(&mut reader, faults);
        let more = more(&mut reader, &shelf, faults);
        reader.close(faults);
        let (recipe, micros) = recipe?;
        let (strength, water) = (strength?, water?);
        if !faults.is_empty() {
            return None;
        }
        let ec_ms_cm = match strength {
            Strength::ToEc(ec) => Some(ec),
            Strength::Factor(factor) if is_as_written(factor) => ec_asked.or(recipe.ec_ms_cm),
            Strength::Factor(_) => ec_asked,
        };
        let beyond = shelf
            .everything()
            .filter(|row| !choice.iter().any(|c| c.fertilizer.id == row.id))
            .cloned()
            .collect();
        let request = Self {
            ec_ms_cm,
            recipe,
            micros,
            water,
            choice,
            beyond,
            unpriced,
            acidity,
            ph_not_sought,
            already,
            strength,
            simplest,
            litres,
            ratio,
            bands: library.bands.clone(),
            keeps: Keeps::Aims,
            detail,
            ranges,
            sure,
        };
        Some((request, more))
    }
}

impl FormulateRequest {
    /// How far each assay of a fertilizer may be off, relative.
    pub fn tolerance(&self, fertilizer: &Fertilizer) -> f64 {
        let otherwise = self.ranges.and_then(|stated| stated.tolerance_pct);
        let percent = fertilizer.tolerance_pct.or(otherwise);
        percent.unwrap_or(0.0) / 100.0
    }

    /// The same request with the assays of one fertilizer exact.
    pub(crate) fn with_exact(&self, id: &str) -> Self {
        let mut request = self.clone();
        let exact = |fertilizer: &mut Arc<Fertilizer>| {
            if fertilizer.id == id {
                Arc::make_mut(fertilizer).tolerance_pct = Some(0.0);
            }
        };
        let chosen = request
            .choice
            .iter_mut()
            .map(|chosen| &mut chosen.fertilizer);
        let already = request.already.iter_mut().map(|dose| &mut dose.fertilizer);
        chosen.chain(already).for_each(exact);
        request
    }
}

/// True for a recipe at its own strength.
pub fn is_as_written(strength: f64) -> bool {
    (strength - 1.0).abs() < 1e-12
}

type WithMicros = (Recipe, Option<(String, Vec<Nutrient>)>);

fn read_recipe(
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
    let mut recipe = recipe(node, "recipe", library, faults)?;
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
fn read_acidity(reader: &mut Reader<'_>, faults: &mut Faults) -> (AcidityAsk, Option<f64>) {
    let asked = reader
        .get("acid_to")
        .and_then(|node| read_acid_to(node, faults));
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
fn read_acid_to(node: &Node, faults: &mut Faults) -> Option<AcidityAsk> {
    let mut reader = Reader::open(node, "acid_to", faults)?;
    let residual = reader.number("residual_meq_l", Limits::ALKALINITY, faults);
    let ph = reader.number("ph", Limits::PH, faults);
    let end = reader.get("end").map(|node| (node, reader.at("end")));
    let line = reader.line();
    reader.close(faults);
    if residual.is_some() && (ph.is_some() || end.is_some()) {
        let what = "acid is asked for to a residual alkalinity and to a pH".to_owned();
        let mend = "Keep one of the two.".to_owned();
        faults.add(line, "acid_to", Problem::Contradiction { what, mend });
        return None;
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
fn read_choice(
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
    let acids = reader
        .get("acid")
        .map(|node| read_acids(node, shelf, faults));
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
fn read_acids(node: &Node, shelf: &Shelf<'_>, faults: &mut Faults) -> Vec<Arc<Fertilizer>> {
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

fn read_at_most(
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

fn read_strength(
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
        let mend = "Say which EC (ec_ms_cm, or --ec), here or in the recipe.";
        faults.add(node.line, "ec_ms_cm", Problem::Empty { what, mend });
    }
    aim.map(Strength::ToEc)
}

/// `"worst-case"`, or a probability.
fn read_sure(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Sure> {
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
