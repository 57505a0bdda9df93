//! What is asked: the recipe at its strength, in this water, from these fertilizers, as rows with
//! aims and bands in plain units.
//!
//! In: a resolved request.  Out: a [`Problem`] that the model scales and solves.
//! Knows nothing of linear programs.

mod rows;

use crate::chemistry::species::Table;
use crate::formulate::request::{FormulateRequest, Keeps};
use crate::solution::Brought;
use saltwright_fertilizers::{Aimed, Composition, Nutrient};

/// Half-width of the acidity band, meq/L: what a grower's acid dose can hold. Common practice, no
/// source.
const ACIDITY_BAND_MEQ_L: f64 = 0.05;
/// Largest share of ammonium in total nitrogen where the recipe names no ammonium. Common
/// practice, no source.
pub const AMMONIUM_SHARE: f64 = 0.15;

/// mg/L below which a figure means "none" and is no measure for others.
const SMALLEST_SCALE: f64 = 1e-9;

/// Distance from a band, relative, that counts as leaving it: rounding is less.
const LEFT: f64 = 1e-9;

/// What a search around the program has settled: all that the request may leave open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Strength against the recipe as written.
    pub strength: f64,
    /// What the acidity row asks; no row where there is none.
    pub acidity: Option<Acidity>,
}

/// What the acidity row asks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Acidity {
    /// Alkalinity that is left, meq/L; below zero is free acid.
    pub residual_meq_l: f64,
    /// True where exactly this is asked, by acid or base; else a band, by acid alone.
    pub exact: bool,
}

/// What a row of the problem counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Figure {
    /// A nutrient or total nitrogen, mg/L.
    Nutrient(Aimed),
    /// Acid equivalents, meq/L.
    Acidity,
    /// What sodium and chloride conduct in very thin solution, µS/cm at 25 °C. No request asks for
    /// it; a curve of cost over salinity is drawn along it.
    SodiumChloride,
}

impl Figure {
    /// The name in reports.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Nutrient(aimed) => aimed.key(),
            Self::Acidity => "acidity",
            Self::SodiumChloride => "sodium and chloride",
        }
    }

    /// The unit of its numbers.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Nutrient(_) => "mg/L",
            Self::Acidity => "meq/L",
            Self::SodiumChloride => "µS/cm",
        }
    }
}

/// One figure with its aim and band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// What is counted.
    pub figure: Figure,
    /// The figure to come close to.
    pub aim: Option<f64>,
    /// Lowest acceptable.
    pub min: Option<f64>,
    /// Highest acceptable.
    pub max: Option<f64>,
    /// How much a relative deviation counts; 0 where the row is a band only.
    pub weight: f64,
    /// What water and the mix that is already in bring.
    pub present: f64,
    /// True where the maximum is the default of a nutrient that nobody named.
    pub default_max: bool,
    /// By which assays it is judged.
    pub judged: Judged,
}

/// By which assays a row is judged.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Judged {
    /// As they are stated.
    #[default]
    AsStated,
    /// Every one low by this share of its tolerance.
    AtLeast(f64),
    /// Every one high by this share of its tolerance.
    AtMost(f64),
}

impl Row {
    /// The row as the closest stage sees it.
    fn keeping(&self, keeps: &Keeps) -> Self {
        let mut row = Self {
            weight: 0.0,
            ..*self
        };
        let now = match keeps {
            Keeps::Aims => return *self,
            Keeps::Bands => return row,
            Keeps::AsCloseAs(now) => self.with(now),
        };
        if let Some(aim) = self.aim {
            let off = (now - aim).abs();
            row.min = Some((aim - off).max(row.min.unwrap_or(0.0)));
            row.max = Some((aim + off).min(row.max.unwrap_or(f64::INFINITY)));
        }
        row.no_worse_than(now);
        row
    }

    /// What the figure comes to with a mix that brings this.
    fn with(&self, mix: &Brought) -> f64 {
        self.present
            + match self.figure {
                Figure::Nutrient(aimed) => mix.composition.aimed(aimed),
                Figure::Acidity => mix.acid_meq_l,
                Figure::SodiumChloride => sodium_chloride_us_cm(&mix.composition),
            }
    }

    /// A band that this figure misses is widened to it.
    fn no_worse_than(&mut self, found: f64) {
        self.min = self.min.map(|min| min.min(found));
        self.max = self.max.map(|max| max.max(found));
    }

    /// What one unit of deviation means, in the unit of the row: the aim, else the maximum, else
    /// the minimum.
    pub fn scale(&self) -> f64 {
        if self.figure == Figure::Acidity {
            return 1.0;
        }
        [self.aim, self.max, self.min]
            .into_iter()
            .flatten()
            .find(|value| *value > SMALLEST_SCALE)
            .unwrap_or(1.0)
    }

    /// True where this much lies beyond the band by more than rounding.
    pub fn is_left_by(&self, found: f64) -> bool {
        let slack = LEFT * self.scale();
        self.min.is_some_and(|min| found < min - slack)
            || self.max.is_some_and(|max| found > max + slack)
    }

    /// True where the row has a say.
    const fn speaks(&self) -> bool {
        self.aim.is_some() || self.min.is_some() || self.max.is_some()
    }
}

/// One fertilizer of the choice.
#[derive(Clone, Debug)]
pub struct Column {
    /// Position in the request's choice.
    pub candidate: usize,
    /// mg of each nutrient a gram brings.
    pub mg_per_g: Composition,
    /// Acid equivalents a gram brings, meq.
    pub acid_meq_per_g: f64,
    /// Price of a gram, where known.
    pub price_per_g: Option<f64>,
    /// The most there is, g/L.
    pub at_most_g_per_l: Option<f64>,
    /// How far each of its assays may be off, relative.
    pub tolerance: f64,
}

impl Column {
    /// What a gram brings to a figure.
    pub fn brings(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Nutrient(aimed) => self.mg_per_g.aimed(aimed),
            Figure::Acidity => self.acid_meq_per_g,
            Figure::SodiumChloride => sodium_chloride_us_cm(&self.mg_per_g),
        }
    }
}

impl Column {
    /// What a gram brings to a row, by the assays that the row is judged by.
    pub fn brings_to(&self, row: &Row) -> f64 {
        let stated = self.brings(row.figure);
        match row.judged {
            Judged::AsStated => stated,
            Judged::AtLeast(share) => stated * (1.0 - share * self.tolerance),
            Judged::AtMost(share) => stated * (1.0 + share * self.tolerance),
        }
    }
}

/// Rows and columns in plain units.
#[derive(Clone, Debug)]
pub struct Problem {
    /// Every figure that has a say.
    pub rows: Vec<Row>,
    /// Every fertilizer of the choice, sorted by id.
    pub columns: Vec<Column>,
    /// What water and the mix already in bring, mg/L.
    pub present: Composition,
    /// All nineteen figures, with or without a say, in report order.
    pub figures: Vec<Row>,
    /// What the acidity row asks; `None` without a row.
    pub acidity: Option<AcidityRow>,
    /// Acid equivalents that the mix already in has brought, meq/L.
    pub acid_present_meq_l: f64,
}

/// The acidity row in plain units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AcidityRow {
    /// Acid equivalents asked for: alkalinity less residual, meq/L.
    pub target_meq_l: f64,
    /// True where acid may be dosed; else the row only keeps acidic salts from adding up.
    pub has_acid: bool,
    /// True where exactly the target is asked for.
    pub exact: bool,
}

impl Problem {
    /// Resolves default bands, nitrogen rules and the acidity row at a setting.
    pub fn new(request: &FormulateRequest, setting: Setting) -> Self {
        let already = crate::solution::brought(&request.already);
        let present = request.water.holds + already.composition;
        let figures: Vec<Row> = Aimed::all()
            .map(|aimed| rows::nutrient(request, aimed, present.aimed(aimed), setting.strength))
            .collect();
        let kept = figures.iter().map(|row| row.keeping(&request.keeps));
        let mut rows: Vec<Row> = kept.filter(Row::speaks).collect();
        let has_acid = request
            .choice
            .iter()
            .any(|candidate| candidate.fertilizer.is_acid());
        let alkalinity = request.water.alkalinity_meq_l - already.acid_meq_l;
        let acidity = setting.acidity.map(|acidity| AcidityRow {
            target_meq_l: alkalinity - acidity.residual_meq_l,
            has_acid,
            exact: acidity.exact,
        });
        let acid = acidity.map(|row| rows::acidity(row, alkalinity));
        // What must lead to a pH is no matter of closeness.
        rows.extend(acid.map(|row| match acidity {
            Some(AcidityRow { exact: true, .. }) => row,
            _ => row.keeping(&request.keeps),
        }));
        let columns = column_order(request).into_iter().map(|candidate| {
            let chosen = &request.choice[candidate];
            Column {
                candidate,
                mg_per_g: chosen.fertilizer.mg_per_g(),
                acid_meq_per_g: chosen.fertilizer.acid_meq_per_g(),
                price_per_g: chosen.price_per_kg.map(|price| price / 1000.0),
                at_most_g_per_l: chosen.at_most.map(|most| most.0),
                tolerance: request.tolerance(&chosen.fertilizer),
            }
        });
        Self {
            rows,
            columns: columns.collect(),
            present,
            figures,
            acidity,
            acid_present_meq_l: already.acid_meq_l,
        }
    }

    /// Every band that a mix misses is widened to what it brings.
    pub fn no_worse_than(&mut self, mix: &Brought) {
        for row in &mut self.rows {
            let found = row.with(mix);
            row.no_worse_than(found);
        }
    }

    /// True where bands are to hold although assays are off.
    pub fn is_guarded(&self) -> bool {
        self.rows.iter().any(|row| row.judged != Judged::AsStated)
    }

    /// True where some nutrient has an aim to come close to.
    pub fn has_aims(&self) -> bool {
        self.rows
            .iter()
            .any(|row| row.aim.is_some() && row.weight > 0.0)
    }
}

/// What the sodium and chloride of a composition (mg/L) conduct in very thin solution, µS/cm.
///
/// kappa = sum of c_i lambda_i, with c in meq/L and lambda in S cm2 per equivalent.
pub(crate) fn sodium_chloride_us_cm(holds: &Composition) -> f64 {
    let of = |nutrient: Nutrient, ion: &str| {
        let lambda = Table::shipped().lambda_25(ion).unwrap_or(0.0);
        holds[nutrient] / nutrient.atomic_weight() * lambda
    };
    of(Nutrient::Na, "Na+") + of(Nutrient::Cl, "Cl-")
}

/// The choice in order of id, whatever the order of the request.
pub(crate) fn column_order(request: &FormulateRequest) -> Vec<usize> {
    let mut order: Vec<usize> = (0..request.choice.len()).collect();
    order.sort_by_key(|candidate| &request.choice[*candidate].fertilizer.id);
    order
}
