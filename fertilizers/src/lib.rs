//! The ground everything else stands on: nutrients, units, formulas, assays and the fertilizer
//! table, and the way a grower's file is read so that every fault in it is named.
//!
//! Knows nothing of recipes, solving, terminals or files on disk: text comes in, values or
//! [`Fault`]s go out.

pub mod document;
pub mod fault;
pub mod fertilizer;
pub mod formula;
pub mod grid;
pub mod guarantee;
pub mod ion;
pub mod mix;
pub mod nutrient;
pub mod prices;
pub mod table;
pub mod units;

mod assay;
mod elements;

pub use assay::{Assay, refuse_plain_n};
pub use document::{Node, Value};
pub use elements::Element;
pub use fault::{Fault, Faults, Kind, Problem};
pub use fertilizer::{Fertilizer, Hazard, Tank};
pub use formula::Formula;
pub use guarantee::Guarantee;
pub use ion::{Ion, Ligand};
pub use mix::{Dose, MixLine};
pub use nutrient::{Aimed, Composition, Nutrient};
pub use table::Table;
