//! What `purchase` is asked, resolved.

use crate::formulate::FormulateRequest;
use crate::formulate::request::Choosing;
use crate::request::{Shelf, named_entries};
use crate::substitute::request::read_currency;
use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Faults, Problem};
use saltwright_recipes::Library;
use std::sync::Arc;

/// Seconds that a search for the cheapest bags may take where nothing is said.
pub const SEARCH_S: f64 = 4.0;
/// Most bag sizes that are chosen among.
pub const MOST_SIZES: usize = 60;

/// Finished solution of a season: the litres of `formulate` in cubic metres.
pub const SEASON: Limits = Limits::new(1e-6, 1e6, " m3");
/// Size of a bag.
pub const BAG: Limits = Limits::new(1e-3, 1e6, " kg");
/// What is at home.
pub const ON_HAND: Limits = Limits::new(0.0, 1e9, " kg");
/// Price of a bag, in any currency.
pub const PRICE: Limits = Limits::new(0.0, 1e6, " a bag");
/// How long to search.
pub const SECONDS: Limits = Limits::new(0.0, 3600.0, " s");

/// A bag that can be bought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bag {
    /// What it holds.
    pub kg: f64,
    /// What it costs.
    pub price: f64,
}

/// How a fertilizer comes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Supply {
    /// Sizes it is sold in, smallest first.
    pub sizes: Vec<Bag>,
    /// What is at home.
    pub on_hand_kg: f64,
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct PurchaseRequest {
    /// Recipe, water and what may be used, without prices by the kilogram.
    pub formulate: FormulateRequest,
    /// How each fertilizer of the choice comes.
    pub supplies: Vec<Supply>,
    /// Finished solution of the season.
    pub season_m3: f64,
    /// Seconds after which the best purchase found is taken.
    pub search_s: f64,
    /// What prices are in: a label, nothing more.
    pub currency: Option<String>,
    /// Fertilizers that were allowed but are neither sold nor at home.
    pub not_sold: Vec<String>,
    /// Fertilizers that are sold or at home but not allowed.
    pub not_allowed: Vec<String>,
}

impl PurchaseRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let read = FormulateRequest::read_choosing(Choosing::Any, node, library, faults, read_own);
        let (formulate, own) = read?;
        let request = Self {
            formulate,
            supplies: Vec::new(),
            season_m3: own.season_m3?,
            search_s: own.search_s.unwrap_or(SEARCH_S),
            currency: own.currency,
            not_sold: Vec::new(),
            not_allowed: Vec::new(),
        };
        let request = request.supplied(own.supplies);
        request.check(node, faults);
        faults.is_empty().then_some(request)
    }

    /// Keeps of the choice what is sold or at home.
    fn supplied(mut self, mut supplies: Vec<(String, Supply)>) -> Self {
        let inner = &mut self.formulate;
        for mut candidate in std::mem::take(&mut inner.choice) {
            let id = &candidate.fertilizer.id;
            match supplies.iter().position(|(named, _)| named == id) {
                Some(at) => {
                    let (_, supply) = supplies.swap_remove(at);
                    candidate.price_per_kg = None;
                    inner.choice.push(candidate);
                    self.supplies.push(supply);
                }
                None => {
                    self.not_sold.push(id.clone());
                    inner.beyond.push(Arc::clone(&candidate.fertilizer));
                }
            }
        }
        self.not_allowed = supplies.into_iter().map(|(id, _)| id).collect();
        self.not_sold.sort_unstable();
        self.not_allowed.sort_unstable();
        self
    }

    fn check(&self, node: &Node, faults: &mut Faults) {
        if self.formulate.choice.is_empty() && faults.is_empty() {
            let what = "the choice of fertilizers that are sold or on hand";
            let mend = "Give bags for at least one fertilizer that may be used.";
            faults.add(node.line, "bags", Problem::Empty { what, mend });
        }
        let count = self.supplies.iter().map(|supply| supply.sizes.len()).sum();
        if count > MOST_SIZES {
            let (things, most) = ("bag sizes", MOST_SIZES);
            let problem = Problem::TooMany {
                things,
                count,
                most,
            };
            faults.add(node.line, "bags", problem);
        }
        // Bands that hold for sure are no bands of this program.
        let sure = node.get("sure").filter(|node| node.value != Value::Null);
        if let Some(node) = sure.filter(|_| faults.is_empty()) {
            let what = "\"sure\" is not worked out for a purchase".to_owned();
            let mend = "Leave it out; formulate answers it for the mix.".to_owned();
            faults.add(node.line, "sure", Problem::NoAnswer { what, mend });
        }
    }

    /// What there is at most of a fertilizer: unlimited where it is sold.
    pub(crate) fn at_home(&self, candidate: usize) -> Option<GramsPerL> {
        let supply = &self.supplies[candidate];
        // kg/m3 is g/L.
        let left = GramsPerL(supply.on_hand_kg / self.season_m3);
        supply.sizes.is_empty().then_some(left)
    }
}

/// What `formulate` does not read.
struct Own {
    season_m3: Option<f64>,
    search_s: Option<f64>,
    currency: Option<String>,
    supplies: Vec<(String, Supply)>,
}

/// The season, the seconds to search, the currency, the bags.
fn read_own(reader: &mut Reader<'_>, shelf: &Shelf<'_>, faults: &mut Faults) -> Own {
    let season_m3 = reader.number("season_m3", SEASON, faults);
    if reader.get("season_m3").is_none() {
        let what = "the season's volume";
        let mend = "Say how many cubic metres of finished solution the season takes.";
        faults.add(reader.line(), "season_m3", Problem::Empty { what, mend });
    }
    let search_s = reader.number("search_s", SECONDS, faults);
    let supplies = match reader.get("bags") {
        Some(node) => read_supplies(node, shelf, faults),
        None => {
            let what = "the list of bags";
            let mend = "Say in which bags each fertilizer is sold, and what is on hand.";
            faults.add(reader.line(), "bags", Problem::Empty { what, mend });
            Vec::new()
        }
    };
    Own {
        season_m3,
        search_s,
        currency: read_currency(reader, faults),
        supplies,
    }
}

/// `{id: {sizes: [{bag_kg, price_per_bag}], on_hand_kg}}`.
fn read_supplies(node: &Node, shelf: &Shelf<'_>, faults: &mut Faults) -> Vec<(String, Supply)> {
    let mut supplies = Vec::new();
    for (id, node, at) in named_entries(node, "bags", faults) {
        let known = shelf.find(id, "fertilizer", node, &at, faults);
        let supply = read_supply(node, &at, faults);
        supplies.extend(known.and(supply).map(|supply| (id.to_owned(), supply)));
    }
    supplies
}

fn read_supply(node: &Node, at: &str, faults: &mut Faults) -> Option<Supply> {
    let mut reader = Reader::open(node, at, faults)?;
    let on_hand_kg = reader.number("on_hand_kg", ON_HAND, faults);
    let sizes = reader.get("sizes").map(|node| (node, reader.at("sizes")));
    if sizes.is_none() && reader.get("on_hand_kg").is_none() {
        let what = "what is sold and on hand of it";
        let mend = "Give sizes: [{bag_kg, price_per_bag}], or on_hand_kg.";
        faults.add(reader.line(), at, Problem::Empty { what, mend });
    }
    reader.close(faults);
    let mut supply = Supply {
        sizes: Vec::new(),
        on_hand_kg: on_hand_kg.unwrap_or(0.0),
    };
    let Some((node, at)) = sizes else {
        return Some(supply);
    };
    let items = document::list_of(node, &at, ("bag sizes", MOST_SIZES), faults)?;
    for (position, item) in items.iter().enumerate() {
        let at = format!("{at}[{position}]");
        let Some(bag) = read_bag(item, &at, faults) else {
            continue;
        };
        #[allow(clippy::float_cmp)] // the same size written twice, not one that is near
        if supply.sizes.iter().any(|other| other.kg == bag.kg) {
            let name = format!("a bag of {} kg", bag.kg);
            faults.add(item.line, at, Problem::Twice { name });
        } else {
            supply.sizes.push(bag);
        }
    }
    supply.sizes.sort_by(|a, b| a.kg.total_cmp(&b.kg));
    Some(supply)
}

fn read_bag(node: &Node, at: &str, faults: &mut Faults) -> Option<Bag> {
    let mut reader = Reader::open(node, at, faults)?;
    let mut figure = |key, limits, what, mend, faults: &mut Faults| {
        let value = reader.number(key, limits, faults);
        if reader.get(key).is_none() {
            let problem = Problem::Empty { what, mend };
            faults.add(reader.line(), reader.at(key), problem);
        }
        value
    };
    let mend = "Say what a bag holds, in kg.";
    let kg = figure("bag_kg", BAG, "the size of this bag", mend, faults);
    let mend = "Give the price of this bag, or leave the size out.";
    let price = figure(
        "price_per_bag",
        PRICE,
        "the price of this bag",
        mend,
        faults,
    );
    reader.close(faults);
    Some(Bag {
        kg: kg?,
        price: price?,
    })
}
