//! What `stock` is asked, resolved.

use crate::request::{ENVELOPE, Shelf, water_or_pure};
use crate::spread::Stated;
use crate::spread::stated::Batch;
use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Problem};
use saltwright_recipes::{Bands, Library, Water};
use std::sync::Arc;

/// Tanks where nothing else is asked: one for the calcium, one for the rest.
const TANKS: usize = 2;
/// Coldest store, °C, where nothing else is asked: a cellar in winter. Common practice, no source.
pub const COLDEST_C: f64 = 10.0;
/// Hottest store, °C, where nothing else is asked.
pub const HOTTEST_C: f64 = 30.0;
/// How far below saturation every solid must stay, as an index.
pub const MARGIN: f64 = 0.10;
/// How many tanks there may be.
const TANK_LIMITS: Limits = Limits::new(1.0, 4.0, "");
/// Most volumes of tanks.
pub const MOST_TANKS: usize = 8;
/// An index as margin: beyond a factor of ten nothing is told apart.
pub const MARGIN_LIMITS: Limits = Limits::new(0.0, 1.0, "");
/// Readability of a scale: from an analytical balance to a sack scale.
pub const SCALE_LIMITS: Limits = Limits::new(1e-5, 1000.0, " g");

/// What was really weighed into a tank.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// The tank as the report names it; none where the fertilizer is in one tank only.
    pub tank: Option<String>,
    /// What.
    pub fertilizer: Arc<Fertilizer>,
    /// How much.
    pub grams: f64,
}

/// A mix to be kept as stocks.
#[derive(Clone, Debug)]
pub struct StockRequest {
    /// What goes into a litre of finished solution.
    pub mix: Vec<Dose>,
    /// What the stocks and the finished solution are made with.
    pub water: Water,
    /// Tanks beside those of acids and bases.
    pub tanks: usize,
    /// Parts of finished solution per part of each stock; the largest where none is asked.
    pub ratio: Option<f64>,
    /// Coldest store, °C.
    pub coldest_c: f64,
    /// Hottest store, °C.
    pub hottest_c: f64,
    /// Every index must stay this far below 0.
    pub margin_index: f64,
    /// Litres of each tank, the last one standing for those that follow; empty where not said.
    pub tank_litres: Vec<f64>,
    /// Readability of the scale, g.
    pub scale_g: Option<f64>,
    /// True where acids have a tank of their own.
    pub acid_tank: bool,
    /// What was weighed otherwise than meant.
    pub already: Vec<Weighed>,
    /// Default bands, for mending a wrong weighing.
    pub bands: Bands,
    /// What may be off, where the finished solution is to have its ranges.
    pub ranges: Option<Stated>,
}

impl StockRequest {
    /// A mix (in order of id) in two tanks at a ratio, kept as stocks usually are.
    pub fn plain(mix: Vec<Dose>, water: Water, ratio: f64, bands: Bands) -> Self {
        Self {
            mix,
            water,
            tanks: TANKS,
            ratio: Some(ratio),
            coldest_c: COLDEST_C,
            hottest_c: HOTTEST_C,
            margin_index: MARGIN,
            tank_litres: Vec::new(),
            scale_g: None,
            acid_tank: true,
            already: Vec::new(),
            bands,
            ranges: None,
        }
    }

    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        let shelf = Shelf::read(&mut reader, library, faults);
        let water = water_or_pure(&mut reader, library, faults);
        let mix = read_mix(&mut reader, &shelf, faults);
        let tanks = read_tanks(&mut reader, faults);
        let ratio = reader.number("ratio", Limits::RATIO, faults);
        let coldest = reader.number("coldest_c", Limits::CELSIUS, faults);
        let hottest = reader.number("hottest_c", Limits::CELSIUS, faults);
        let margin = reader.number("margin_index", MARGIN_LIMITS, faults);
        let tank_litres = read_litres(&mut reader, faults);
        let scale_g = reader.number("scale_g", SCALE_LIMITS, faults);
        let acid_tank = reader.flag("acid_tank", faults).unwrap_or(true);
        let already = reader
            .get("already")
            .map(|node| read_already(node, &shelf, &mix, faults))
            .unwrap_or_default();
        if !already.is_empty() && tank_litres.is_empty() {
            let what = "what was weighed says little without the litres of the tanks".to_owned();
            let mend = "Say how many litres each tank holds.".to_owned();
            let problem = Problem::Contradiction { what, mend };
            faults.add(reader.line(), "already", problem);
        }
        let coldest_c = coldest.unwrap_or_else(|| COLDEST_C.min(hottest.unwrap_or(COLDEST_C)));
        let hottest_c = hottest.unwrap_or_else(|| HOTTEST_C.max(coldest_c));
        if coldest_c > hottest_c {
            let what = format!("the coldest {coldest_c} °C is above the hottest {hottest_c} °C");
            let mend = "Swap the two.".to_owned();
            let problem = Problem::Contradiction { what, mend };
            faults.add(reader.line(), "coldest_c", problem);
        }
        let batch = Batch::Litres(tank_litres.first().copied());
        let ranges = Stated::read(&mut reader, batch, faults);
        reader.close(faults);
        let (water, tanks) = (water?, tanks?);
        faults.is_empty().then(|| Self {
            mix,
            water,
            tanks,
            ratio,
            coldest_c,
            hottest_c,
            margin_index: margin.unwrap_or(MARGIN),
            tank_litres,
            scale_g,
            acid_tank,
            already,
            bands: library.bands.clone(),
            ranges,
        })
    }

    /// Litres of the tank at a position.
    pub fn litres(&self, position: usize) -> Option<f64> {
        let last = self.tank_litres.last();
        self.tank_litres.get(position).or(last).copied()
    }
}

/// The mix without its empty lines, in order of id, so that the order of a request has no say.
fn read_mix(reader: &mut Reader<'_>, shelf: &Shelf<'_>, faults: &mut Faults) -> Vec<Dose> {
    let before = faults.len();
    let Some(node) = reader.get("mix") else {
        let what = "the mix";
        let mend = "Give what goes in: [{\"id\": …, \"g_per_l\": …}].";
        faults.add(reader.line(), "mix", Problem::Empty { what, mend });
        return Vec::new();
    };
    let mut mix = shelf.mix(node, "mix", faults);
    mix.retain(|dose| dose.amount.0 > 0.0);
    mix.sort_by(|a, b| a.fertilizer.id.cmp(&b.fertilizer.id));
    if mix.is_empty() && faults.len() == before {
        let what = "the mix";
        let mend = "Give at least one fertilizer with an amount above zero.";
        faults.add(node.line, "mix", Problem::Empty { what, mend });
    }
    mix
}

fn read_tanks(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<usize> {
    let Some(node) = reader.get("tanks") else {
        return Some(TANKS);
    };
    let number = document::number(node, "tanks", TANK_LIMITS, faults)?;
    let whole = (1..=4_usize).zip([1.0, 2.0, 3.0, 4.0_f64]);
    let found = whole
        .into_iter()
        .find(|(_, count)| (count - number).abs() < f64::EPSILON);
    if found.is_none() {
        let what = format!("{number} is no whole number of tanks");
        let mend = "Give 1, 2, 3 or 4.".to_owned();
        faults.add(node.line, "tanks", Problem::Contradiction { what, mend });
    }
    found.map(|(count, _)| count)
}

/// One volume for all tanks, or a list.
fn read_litres(reader: &mut Reader<'_>, faults: &mut Faults) -> Vec<f64> {
    let key = "tank_litres";
    let Some(node) = reader.get(key) else {
        return Vec::new();
    };
    let Value::List(_) = &node.value else {
        let litres = document::number(node, key, Limits::LITRES, faults);
        return litres.into_iter().collect();
    };
    let Some(items) = document::list_of(node, key, ("tanks", MOST_TANKS), faults) else {
        return Vec::new();
    };
    if items.is_empty() {
        let what = "the list of tank volumes";
        let mend = "Give the litres of each tank, or one number for all.";
        faults.add(node.line, key, Problem::Empty { what, mend });
    }
    let numbers = items.iter().enumerate().filter_map(|(position, item)| {
        document::number(item, &format!("{key}[{position}]"), Limits::LITRES, faults)
    });
    numbers.collect()
}

fn read_already(node: &Node, shelf: &Shelf<'_>, mix: &[Dose], faults: &mut Faults) -> Vec<Weighed> {
    let items = document::list_of(node, "already", ("fertilizers", 200), faults);
    let mut all = Vec::new();
    for (position, item) in items.unwrap_or_default().iter().enumerate() {
        let at = format!("already[{position}]");
        let Some(mut reader) = Reader::open(item, &at, faults) else {
            continue;
        };
        let tank = reader.text("tank", faults).map(str::to_owned);
        let fertilizer = match reader.get("id") {
            Some(node) => document::id(node, &reader.at("id"), faults)
                .and_then(|id| shelf.find(id, "fertilizer", node, &reader.at("id"), faults)),
            None => {
                let (what, mend) = ("the id", "Name the fertilizer.");
                faults.add(item.line, reader.at("id"), Problem::Empty { what, mend });
                None
            }
        };
        let grams = reader.number("g", Limits::GRAMS, faults);
        if grams.is_none() && reader.get("g").is_none() {
            let (what, mend) = ("the amount", "Give the grams that were weighed.");
            faults.add(item.line, reader.at("g"), Problem::Empty { what, mend });
        }
        reader.close(faults);
        if let Some(fertilizer) = &fertilizer
            && !mix.iter().any(|dose| dose.fertilizer.id == fertilizer.id)
        {
            let what = format!("{} is not in the mix", fertilizer.id);
            let mend = "Give it in the mix, or leave it out here.".to_owned();
            faults.add(item.line, &at, Problem::Contradiction { what, mend });
        }
        if let (Some(fertilizer), Some(grams)) = (fertilizer, grams) {
            all.push(Weighed {
                tank,
                fertilizer,
                grams,
            });
        }
    }
    all
}
