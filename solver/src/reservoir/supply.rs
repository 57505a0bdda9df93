//! What stands beside the tank: stocks, and what lowers or raises the pH.

use super::reading::POSSIBLE_PH;
use crate::request::{ENVELOPE, Shelf};
use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::mix::MAX_LINES;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Problem};
use std::sync::Arc;

/// Most tanks of stock beside a reservoir.
pub const MOST_TANKS: usize = 8;
/// Grams in a litre of stock; no litre of water holds more of anything sold.
pub const G_PER_L_STOCK: Limits = Limits::new(0.0, 2000.0, " g/L");
/// What is poured of a bottle on trial.
pub const TRIAL_ML: Limits = Limits::new(1e-3, 1e6, " mL");
/// pH before and after it.
pub const TRIAL_PH: Limits = Limits::new(*POSSIBLE_PH.start(), *POSSIBLE_PH.end(), "");
/// Keys of a stock report that have no say here.
pub const REPORT_KEYS: [&str; 22] = [
    "water",
    "margin_index",
    "coldest_c",
    "hottest_c",
    "largest_ratio",
    "division_ratio",
    "whole_ratio",
    "cautious_ratio",
    "limited_by",
    "limited_at_c",
    "proven",
    "offered_ratios",
    "not_computed",
    "diluted",
    "unequal",
    "order",
    "premixes",
    "rounding",
    "mended",
    "cautions",
    "name",
    "note",
];
/// The same of one of its tanks.
pub const TANK_KEYS: [&str; 14] = [
    "litres",
    "load_g_per_l",
    "clear",
    "first_solid",
    "index",
    "index_uncertainty",
    "words",
    "ph",
    "density_g_per_ml",
    "density_20c_g_per_ml",
    "water_to_add_kg_per_l",
    "ionic_strength_mol_kg",
    "within_model",
    "indices",
];
/// The same of one of its lines.
pub const LINE_KEYS: [&str; 7] = [
    "name",
    "g_per_l",
    "ml_per_l_stock",
    "g",
    "ml",
    "share",
    "placed_by",
];

/// The stocks of a reservoir.
#[derive(Clone, Debug, Default)]
pub struct Stocks {
    /// Parts of finished solution per part of each.
    pub ratio: Option<f64>,
    /// The tanks, in the order of the request.
    pub tanks: Vec<StockTank>,
}

/// One tank of stock.
#[derive(Clone, Debug)]
pub struct StockTank {
    /// What it is called.
    pub name: String,
    /// What a litre of it holds.
    pub mix: Vec<Dose>,
}

impl StockTank {
    /// True where it is poured by the pH and not by the strength: all in it is acid, or all base.
    pub fn is_for_ph(&self) -> bool {
        let all = |is: fn(&Fertilizer) -> bool| self.mix.iter().all(|dose| is(&dose.fertilizer));
        !self.mix.is_empty() && (all(Fertilizer::is_acid) || all(Fertilizer::is_base))
    }

    /// Acid milliequivalents in a litre of it.
    pub fn acid_meq_l(&self) -> f64 {
        let acid = |dose: &Dose| dose.fertilizer.acid_meq_per_g() * dose.amount.0;
        self.mix.iter().map(acid).sum()
    }
}

impl Stocks {
    /// Reads `{ratio, tanks: [{name, mix: [{id, g_per_l_stock}]}]}`; a stock report will do.
    pub fn read(node: &Node, path: &str, shelf: &Shelf<'_>, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        reader.accept(&ENVELOPE);
        reader.accept(&REPORT_KEYS);
        let ratio = reader.number("ratio", Limits::RATIO, faults);
        let tanks_node = reader.get("tanks");
        let at = reader.at("tanks");
        reader.close(faults);
        let Some(tanks_node) = tanks_node else {
            let (what, mend) = ("the list of stock tanks", "Name each with its mix.");
            faults.add(node.line, at, Problem::Empty { what, mend });
            return None;
        };
        let items = document::list_of(tanks_node, &at, ("tanks", MOST_TANKS), faults)?;
        let mut stocks = Self {
            ratio,
            tanks: Vec::new(),
        };
        for (position, item) in items.iter().enumerate() {
            let at = format!("{at}[{position}]");
            let Some(tank) = StockTank::read(item, &at, position, shelf, faults) else {
                continue;
            };
            if stocks.tanks.iter().any(|other| other.name == tank.name) {
                let name = tank.name.clone();
                faults.add(item.line, at, Problem::Twice { name });
            }
            stocks.tanks.push(tank);
        }
        Some(stocks)
    }
}

impl StockTank {
    fn read(
        node: &Node,
        path: &str,
        position: usize,
        shelf: &Shelf<'_>,
        faults: &mut Faults,
    ) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        reader.accept(&TANK_KEYS);
        let name = reader.name("name", faults);
        let mix_node = reader.get("mix");
        let at = reader.at("mix");
        reader.close(faults);
        let items = match mix_node {
            Some(node) => document::list_of(node, &at, ("fertilizers", MAX_LINES), faults)?,
            None => &[],
        };
        if items.is_empty() {
            let what = "the mix of this tank";
            let mend = "Give what a litre of it holds: [{\"id\": …, \"g_per_l_stock\": …}].";
            faults.add(node.line, &at, Problem::Empty { what, mend });
            return None;
        }
        let lines = items.iter().enumerate().filter_map(|(position, item)| {
            read_line(item, &format!("{at}[{position}]"), shelf, faults)
        });
        let letter = char::from(b'A'.saturating_add(u8::try_from(position).unwrap_or(0)));
        Some(Self {
            mix: lines.collect(),
            name: name.map_or_else(|| letter.to_string(), str::to_owned),
        })
    }
}

fn read_line(node: &Node, path: &str, shelf: &Shelf<'_>, faults: &mut Faults) -> Option<Dose> {
    let mut reader = Reader::open(node, path, faults)?;
    reader.accept(&LINE_KEYS);
    let fertilizer = read_id(&mut reader, shelf, faults);
    let grams = reader.number("g_per_l_stock", G_PER_L_STOCK, faults);
    if grams.is_none() && reader.get("g_per_l_stock").is_none() {
        let (what, mend) = (
            "the amount",
            "Give g_per_l_stock, grams in a litre of stock.",
        );
        faults.add(node.line, path, Problem::Empty { what, mend });
    }
    reader.close(faults);
    Some(Dose {
        fertilizer: fertilizer?,
        amount: GramsPerL(grams?),
    })
}

fn read_id(
    reader: &mut Reader<'_>,
    shelf: &Shelf<'_>,
    faults: &mut Faults,
) -> Option<Arc<Fertilizer>> {
    let at = reader.at("id");
    let Some(node) = reader.get("id") else {
        let (what, mend) = ("the id", "Name the fertilizer.");
        faults.add(reader.line(), at, Problem::Empty { what, mend });
        return None;
    };
    let id = document::id(node, &at, faults)?;
    shelf.find(id.trim(), "fertilizer", node, &at, faults)
}

/// Which way a remedy moves the pH.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Down.
    Acid,
    /// Up.
    Base,
}

impl Way {
    /// The key in requests.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Acid => "acid",
            Self::Base => "base",
        }
    }

    /// True where so much acid moves the pH this way.
    fn is_moved_by(self, acid: f64) -> bool {
        match self {
            Self::Acid => acid > 0.0,
            Self::Base => acid < 0.0,
        }
    }
}

/// What moves the pH.
#[derive(Clone, Debug)]
pub enum Remedy {
    /// An acid or base of the table.
    Known(Arc<Fertilizer>),
    /// A tank of stock, by its position.
    Stock(usize),
    /// A bottle of unknown strength.
    Judged(Trial),
    /// None is to be used.
    None,
}

/// What a bottle of unknown strength did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    /// Millilitres poured.
    pub ml: f64,
    /// Into how many litres of the tank's solution.
    pub litres: f64,
    /// pH before.
    pub ph_before: f64,
    /// pH right after.
    pub ph_after: f64,
}

impl Remedy {
    /// Reads `acid` or `base`. Left out: a stock tank that holds nothing else, else the first of
    /// the common shelf; `null`: none.
    pub fn read(
        way: Way,
        reader: &mut Reader<'_>,
        shelf: &Shelf<'_>,
        stocks: &Stocks,
        faults: &mut Faults,
    ) -> Self {
        let key = way.key();
        let Some(node) = reader.get_or_null(key) else {
            return Self::usual(way, shelf, stocks);
        };
        let line = node.line;
        match &node.value {
            Value::Null => Self::None,
            Value::Table(_) => Trial::read(node, key, way, faults).map_or(Self::None, Self::Judged),
            _ => {
                let Some(named) = shelf.find_all(node, key, faults).into_iter().next() else {
                    return Self::None;
                };
                let acid = named.acid_meq_per_g();
                if !named.is_charted() {
                    let what = format!("there are no constants for {} here", named.id);
                    let mend = "Name a mineral one, or tell what 5 mL of it did to the pH.";
                    let mend = mend.to_owned();
                    faults.add(line, key, Problem::Contradiction { what, mend });
                } else if !way.is_moved_by(acid) {
                    let what = format!("{} is no {key}", named.id);
                    let mend = match way {
                        Way::Acid => "Name an acid, like nitric-acid-38.",
                        Way::Base => "Name a base, like potassium-bicarbonate.",
                    };
                    let mend = mend.to_owned();
                    faults.add(line, key, Problem::Contradiction { what, mend });
                }
                Self::Known(named)
            }
        }
    }

    fn usual(way: Way, shelf: &Shelf<'_>, stocks: &Stocks) -> Self {
        /// The mildest base to handle; the common shelf has none.
        const BASE: &str = "potassium-bicarbonate";
        let of_stock = stocks
            .tanks
            .iter()
            .position(|tank| tank.is_for_ph() && way.is_moved_by(tank.acid_meq_l()));
        if let Some(position) = of_stock {
            return Self::Stock(position);
        }
        let serves = |row: &&Arc<Fertilizer>| {
            let kept_so = match way {
                Way::Acid => row.is_acid() && row.is_liquid(),
                Way::Base => row.is_base(),
            };
            kept_so && row.is_charted() && way.is_moved_by(row.acid_meq_per_g())
        };
        let listed = shelf.listed.iter().find(serves);
        let mildest = || shelf.get(BASE).filter(|_| way == Way::Base);
        let found = listed.or_else(mildest);
        found.map_or(Self::None, |row| Self::Known(Arc::clone(row)))
    }
}

impl Trial {
    fn read(node: &Node, path: &str, way: Way, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        let mut wanted = |key: &'static str, limits: Limits| {
            let before = faults.len();
            let found = reader.number(key, limits, faults);
            if found.is_none() && faults.len() == before {
                let what = "a figure of this trial";
                let mend = "Give ml, litres, ph_before and ph_after.";
                faults.add(node.line, reader.at(key), Problem::Empty { what, mend });
            }
            found
        };
        let (ml, litres) = (wanted("ml", TRIAL_ML), wanted("litres", Limits::LITRES));
        let (before, after) = (wanted("ph_before", TRIAL_PH), wanted("ph_after", TRIAL_PH));
        reader.close(faults);
        let trial = Self {
            ml: ml?,
            litres: litres?,
            ph_before: before?,
            ph_after: after?,
        };
        if !way.is_moved_by(trial.ph_before - trial.ph_after) {
            let what = format!(
                "this bottle moved the pH from {} to {}, so it is no {path}",
                trial.ph_before, trial.ph_after
            );
            let mend = "Check which bottle it was, and read again after it has mixed in.";
            let mend = mend.to_owned();
            faults.add(node.line, path, Problem::Contradiction { what, mend });
            return None;
        }
        Some(trial)
    }
}
