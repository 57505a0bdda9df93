//! What `formulate` is asked, resolved: every name looked up, every number checked.

mod read;

use super::sure::Sure;
use crate::request::{ENVELOPE, Shelf, water_or_pure};
use crate::solution::Brought;
use crate::spread::Stated;
use crate::spread::stated::Batch;
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::units::{GramsPerL, MeqPerL};
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Nutrient};
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
    pub const NAMES: [(&'static str, Self); 2] = [("closed", Self::Closed), ("open", Self::Open)];
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
        let recipe = read::recipe(&mut reader, library, faults);
        let water = water_or_pure(&mut reader, library, faults);
        let (acidity, ph_not_sought) = read::acidity(&mut reader, faults);
        let (mut choice, unpriced) = read::choice(&mut reader, &shelf, choosing, faults);
        let litres = reader.number("litres", Limits::LITRES, faults);
        let ratio = reader.number("ratio", Limits::RATIO, faults);
        read::at_most(&mut reader, &shelf, litres, &mut choice, faults);
        let already = reader
            .get("already")
            .map(|node| shelf.mix(node, "already", faults))
            .unwrap_or_default();
        let ec_asked = reader.number("ec_ms_cm", Limits::EC, faults);
        let ec_of_recipe = recipe.as_ref().and_then(|(recipe, _)| recipe.ec_ms_cm);
        let strength = read::strength(&mut reader, ec_asked.or(ec_of_recipe), faults);
        let detail = reader.flag("detail", faults).unwrap_or(false);
        let simplest = reader.flag("simplest", faults).unwrap_or(true);
        let ranges = Stated::read(&mut reader, Batch::Litres(litres), faults);
        let sure = read::sure(&mut reader, faults);
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
