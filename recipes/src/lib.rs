//! What a crop should get and what the water brings: published recipes, invented source waters,
//! crop ranges, and the bands that hold where a recipe names none.
//!
//! Knows nothing of salts in a mix, of solving, or of files on disk.

pub mod bands;
pub mod crop;
pub mod library;
pub mod own;
pub mod recipe;
pub mod water;

mod unit;

pub use bands::{Band, Bands};
pub use crop::Crop;
pub use library::Library;
pub use own::{List, Own, Place};
pub use recipe::{Aim, Recipe};
pub use unit::ConcentrationUnit;
pub use water::{Balance, Water};
