//! What to weigh and pour, with a mark beside what needs care.

use super::round::{self, Measure};
use super::{Column, Kind, Part};
use saltwright_fertilizers::units::LITRES_PER_US_GALLON;
use saltwright_fertilizers::{Hazard, Tank};

/// One fertilizer and how much of it.
#[derive(Clone, Copy, Debug)]
pub struct Amount<'a> {
    /// Which.
    pub id: &'a str,
    /// Grams per litre.
    pub g_per_l: f64,
    /// Millilitres per litre, for what is poured.
    pub ml_per_l: Option<f64>,
    /// The stock tank it belongs in, as the report names it.
    pub tank: Option<&'a str>,
}

impl<'a> Amount<'a> {
    /// An amount that goes straight into the tank, into no stock.
    pub const fn of(id: &'a str, g_per_l: f64, ml_per_l: Option<f64>) -> Self {
        Self {
            id,
            g_per_l,
            ml_per_l,
            tank: None,
        }
    }

    /// The amount for a number of litres.
    fn times(&self, litres: f64, measure: Measure) -> String {
        match self.ml_per_l {
            Some(ml) => round::poured(ml * litres, measure),
            None => round::mass(self.g_per_l * litres, measure),
        }
    }
}

/// For how much solution amounts are shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Volumes {
    /// Litres of the batch.
    pub batch: Option<f64>,
    /// Parts of finished solution per part of stock.
    pub ratio: Option<f64>,
}

/// The table; `first` heads its names, `dangers` knows those of a fertilizer by id.
pub fn table(
    first: &str,
    amounts: &[Amount<'_>],
    volumes: Volumes,
    measure: Measure,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Part {
    let (one, one_name) = one(measure);
    let tanks = amounts.iter().any(|amount| amount.tank.is_some());
    let mut columns = vec![Column::new(first, Kind::Name)];
    if let Some(litres) = volumes.batch {
        columns.push(Column::new(round::volume(litres, measure), Kind::Figures));
    }
    columns.push(Column::new(one_name, Kind::Figures));
    if let Some(ratio) = volumes.ratio {
        let head = format!("stock 1:{}", round::plain(ratio));
        columns.push(Column::new(head, Kind::Figures));
    }
    if tanks {
        columns.push(Column::new("tank", Kind::Words));
    }
    columns.push(Column::new("", Kind::Words));
    let rows = amounts.iter().map(|amount| {
        let mut cells = vec![amount.id.to_owned()];
        cells.extend(volumes.batch.map(|litres| amount.times(litres, measure)));
        cells.push(amount.times(one, measure));
        let stock = volumes
            .ratio
            .map(|ratio| amount.times(ratio, Measure::Metric));
        cells.extend(stock.map(|amount| format!("{amount}/L")));
        if tanks {
            cells.push(tank(amount.tank.unwrap_or_default()).to_owned());
        }
        cells.push(mark(&dangers(amount.id)));
        cells
    });
    let rows = rows.collect();
    Part::Table { columns, rows }
}

/// The volume that amounts are told for, in litres and in words.
pub const fn one(measure: Measure) -> (f64, &'static str) {
    match measure {
        Measure::Metric => (1.0, "1 L"),
        Measure::Us => (LITRES_PER_US_GALLON, "1 gal"),
    }
}

/// A tank in words.
pub fn tank(name: &str) -> &str {
    if name == Tank::Either.name() {
        "A, B"
    } else {
        name
    }
}

/// The mark beside what needs care.
pub fn mark(dangers: &[Hazard]) -> String {
    let words: Vec<&str> = dangers.iter().map(|danger| word(*danger)).collect();
    if words.is_empty() {
        String::new()
    } else {
        format!("! {}", words.join(" "))
    }
}

const fn word(danger: Hazard) -> &'static str {
    match danger {
        Hazard::Oxidizer => "fire",
        Hazard::Acid => "acid",
        Hazard::Base => "base",
        Hazard::Boron => "boron",
        Hazard::Copper => "copper",
        Hazard::Nickel => "nickel",
    }
}
