//! What `refill` is asked, resolved.

use super::super::reading::Reading;
use super::super::supply::{StockTank, Stocks};
use super::super::time::Moment;
use crate::formulate::FormulateRequest;
use crate::request::{ENVELOPE, Shelf, items, named_entries, water};
use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader};
use saltwright_fertilizers::fault::nearest;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Dose, Faults, Nutrient, Problem};
use saltwright_recipes::{Library, Water};

/// Most readings or additions.
pub const MOST: usize = 5000;
/// Grams or millilitres of what is added.
pub const ADDED: Limits = Limits::new(0.0, 1e9, "");
/// What begins the name of a stock among additions.
const STOCK: &str = "stock-";
/// Keys that go to the formulation as they are.
const SHARED: [&str; 6] = ["recipe", "water", "fertilizers", "prices", "micros", "acid"];

/// A reading of the tank.
#[derive(Clone, Debug)]
pub struct TankReading {
    /// When.
    pub at: Moment,
    /// Level.
    pub litres: f64,
    /// EC, mS/cm at 25 °C.
    pub ec_ms_cm: f64,
    /// What else the meters showed.
    pub shown: Reading,
}

/// What was added between readings.
#[derive(Clone, Debug)]
pub struct Added {
    /// When.
    pub at: Moment,
    /// What.
    pub what: What,
}

/// What can be added.
#[derive(Clone, Debug)]
pub enum What {
    /// Litres of a water; the request's own where none is named.
    Water(f64, Option<Box<Water>>),
    /// Litres of the recipe as it is formulated in the request's water.
    Feed(f64),
    /// A fertilizer, grams in all and the litres it takes up.
    Dose(Dose, f64),
    /// Litres of a stock, made up with the request's own water; what a litre of it holds.
    Stock(f64, Vec<Dose>),
    /// Litres let out.
    Drained(f64),
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct RefillRequest {
    /// Recipe, water and fertilizers, as a formulation uses them.
    pub formulate: FormulateRequest,
    /// Readings in order of time, two at least.
    pub readings: Vec<TankReading>,
    /// Additions in order of time.
    pub added: Vec<Added>,
    /// A laboratory's figures of the tank at the last reading; nutrients that it names.
    pub analysis: Option<(Water, Vec<Nutrient>)>,
    /// Limits in place of the published ones, mg/L.
    pub limits: Vec<(Nutrient, f64)>,
}

impl RefillRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        reader.accept(&SHARED);
        let entries = SHARED.iter().filter_map(|key| {
            let value = node.get(key)?;
            Some((*key, value.clone()))
        });
        let formulate = FormulateRequest::read(&Node::table(entries), library, faults);
        // Its faults were noted with the formulation.
        let shelf = Shelf::read(&mut reader, library, &mut Faults::default());
        let mut readings = items(&mut reader, ("readings", MOST), faults, TankReading::read);
        let stock = reader.get("stock");
        let stock = stock.and_then(|node| Stocks::read(node, "stock", &shelf, faults));
        let beside = Beside {
            library,
            shelf,
            tanks: stock.map(|stock| stock.tanks).unwrap_or_default(),
        };
        let mut added = items(&mut reader, ("added", MOST), faults, |reader, faults| {
            Added::read(reader, &beside, faults)
        });
        let analysis = reader.get("analysis").and_then(|node| {
            let water = Water::read(node, "analysis", faults)?;
            let named = Nutrient::ALL.into_iter().filter(|nutrient| {
                let holds = node.get("holds");
                holds.is_some_and(|holds| holds.get(nutrient.key()).is_some())
            });
            Some((water, named.collect()))
        });
        let limits = reader
            .get("limits")
            .map(|node| read_limits(node, faults))
            .unwrap_or_default();
        reader.close(faults);
        readings.sort_by(|a, b| a.at.day.total_cmp(&b.at.day));
        added.sort_by(|a, b| a.at.day.total_cmp(&b.at.day));
        if readings.len() < 2 && faults.is_empty() {
            let what = "the list of readings";
            let mend = "Give at least two: when, litres and EC of each.";
            faults.add(node.line, "readings", Problem::Empty { what, mend });
        }
        same_clock(&readings, &added, faults);
        let formulate = formulate?;
        faults.is_empty().then_some(Self {
            formulate,
            readings,
            added,
            analysis,
            limits,
        })
    }
}

/// Dates and days that somebody counted have no common beginning.
fn same_clock(readings: &[TankReading], added: &[Added], faults: &mut Faults) {
    let of_readings = readings.iter().map(|reading| ("readings", &reading.at));
    let of_added = added.iter().map(|added| ("added", &added.at));
    let mut moments = of_readings.chain(of_added);
    let Some((_, first)) = moments.next() else {
        return;
    };
    if let Some((list, _)) = moments.find(|(_, at)| at.is_date != first.is_date) {
        let what = "some moments are dates, others numbers of days".to_owned();
        let mend = "Write all of them one way.".to_owned();
        faults.add(None, list, Problem::Contradiction { what, mend });
    }
}

/// When, which may not be left out.
fn moment(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Moment> {
    let at = reader.at("at");
    let Some(node) = reader.get("at") else {
        let (what, mend) = ("the moment", "Say when, like 2026-03-02T08:00.");
        faults.add(reader.line(), at, Problem::Empty { what, mend });
        return None;
    };
    Moment::read(node, &at, faults)
}

impl TankReading {
    /// `{at, litres, ec_ms_cm (or ppm and scale, or cf), ph, temperature_c}`.
    fn read(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Self> {
        let at = moment(reader, faults);
        let before = faults.len();
        let litres = reader.number("litres", Limits::LITRES, faults);
        let shown = Reading::take(reader, faults);
        for (key, missing) in [
            ("litres", litres.is_none()),
            ("ec_ms_cm", shown.ec_ms_cm.is_none()),
        ] {
            if missing && faults.len() == before {
                let (what, mend) = ("this reading", "Give litres and EC of every reading.");
                faults.add(reader.line(), reader.at(key), Problem::Empty { what, mend });
            }
        }
        Some(Self {
            at: at?,
            litres: litres?,
            ec_ms_cm: shown.ec_ms_cm?,
            shown,
        })
    }
}

/// What stands beside the tank and may be added to it.
struct Beside<'a> {
    library: &'a Library,
    shelf: Shelf<'a>,
    tanks: Vec<StockTank>,
}

impl Beside<'_> {
    /// The stock that `stock-A` names; a blank in its name is written as a stroke.
    fn stock(&self, name: &str) -> Result<&StockTank, Problem> {
        let names = || self.tanks.iter().map(|tank| tank.name.replace(' ', "-"));
        let at = names().position(|known| known.eq_ignore_ascii_case(name));
        at.and_then(|at| self.tanks.get(at)).ok_or_else(|| {
            let known: Vec<String> = names().collect();
            Problem::Unknown {
                kind: "stock",
                name: name.to_owned(),
                nearest: nearest(name, known.iter().map(String::as_str)),
            }
        })
    }
}

impl Added {
    /// `{at, what: "water" | "feed" | "drained" | "stock-A" | id, litres | ml | g, water}`.
    fn read(reader: &mut Reader<'_>, beside: &Beside<'_>, faults: &mut Faults) -> Option<Self> {
        let (shelf, library) = (&beside.shelf, beside.library);
        let at = moment(reader, faults);
        let named = reader.get("what");
        let what = match named {
            Some(node) => document::text(node, &reader.at("what"), MAX_ID, faults)?.trim(),
            None => "water",
        };
        let litres = reader.number("litres", Limits::LITRES, faults);
        let ml = reader.number("ml", ADDED, faults);
        let grams = reader.number("g", ADDED, faults);
        let of = reader.get("water");
        let of = of.and_then(|node| water(node, &reader.at("water"), library, faults));
        let volume = litres.or(ml.map(|ml| ml / 1000.0));
        let found = match (what, volume) {
            ("water", Some(litres)) => Some(What::Water(litres, of.map(Box::new))),
            ("feed", Some(litres)) => Some(What::Feed(litres)),
            ("drained", Some(litres)) => Some(What::Drained(litres)),
            ("water" | "feed" | "drained", None) => None,
            (stock, volume) if stock.starts_with(STOCK) => {
                match beside.stock(stock.trim_start_matches(STOCK)) {
                    Ok(tank) => volume.map(|litres| What::Stock(litres, tank.mix.clone())),
                    Err(unknown) => {
                        faults.add(named?.line, reader.at("what"), unknown);
                        return None;
                    }
                }
            }
            (id, volume) => {
                let place = reader.at("what");
                let node = named?;
                let fertilizer = shelf.find(id, "fertilizer", node, &place, faults)?;
                let density = fertilizer.density_g_per_ml;
                let poured = volume.zip(density).map(|(l, density)| 1000.0 * l * density);
                if volume.is_some() && density.is_none() && grams.is_none() {
                    let id = fertilizer.id.clone();
                    faults.add(node.line, place, Problem::NeedsDensity { id });
                    return None;
                }
                grams.or(poured).map(|grams| {
                    let dose = Dose {
                        fertilizer,
                        amount: GramsPerL(grams),
                    };
                    What::Dose(dose, volume.unwrap_or(0.0))
                })
            }
        };
        if found.is_none() {
            let (what, mend) = ("the amount", "Give litres, ml or g of what was added.");
            faults.add(
                reader.line(),
                reader.at("litres"),
                Problem::Empty { what, mend },
            );
        }
        Some(Self {
            at: at?,
            what: found?,
        })
    }
}

/// `{"Na": 115}`, mg/L.
fn read_limits(node: &Node, faults: &mut Faults) -> Vec<(Nutrient, f64)> {
    let mut limits = Vec::new();
    for (name, node, at) in named_entries(node, "limits", faults) {
        let Some(nutrient) = Nutrient::from_key(name) else {
            let nearest = nearest(name, Nutrient::ALL.map(Nutrient::key));
            let (kind, name) = ("nutrient", name.to_owned());
            let problem = Problem::Unknown {
                kind,
                name,
                nearest,
            };
            faults.add(node.line, at, problem);
            continue;
        };
        let limit = document::number(node, &at, Limits::MG_PER_L, faults);
        limits.extend(limit.map(|limit| (nutrient, limit)));
    }
    limits
}
