//! Strong solutions: what a stock tank holds, how heavy it is, and what would drop out of it.
//!
//! ```text
//! fertilizers, water -> Dissolved -> water in a litre -> molalities -> what forms (Pitzer)
//!                                                                   -> index of every solid
//! ```
//!
//! Range: 0 to 40 °C, ionic strength up to 6 mol/kg, pH up to 7.5. Outside, numbers are given and
//! [`State::within_range`] is false.
//!
//! In:  grams of fertilizer per litre of stock, made up to the mark.  Out: [`State`].
//! Knows nothing of tanks, ratios or reports. How good: `cargo test stock -- --nocapture` prints
//! our errors beside handbook solubilities, published activities and worked tanks.

mod equilibrium;
mod pitzer;
mod solids;
mod solute;
mod species;
mod table;

#[cfg(test)]
mod laws;

pub use solids::{Basis, Solid};
pub use solute::Dissolved;

use super::activity::Solvent;
use equilibrium::Constants;

/// Temperatures, °C, for which the constants were made.
pub const CELSIUS: std::ops::RangeInclusive<f64> = 0.0..=40.0;
/// Highest ionic strength, mol/kg, of the range.
pub const MOST_IONIC_STRENGTH: f64 = 6.0;
/// Highest pH of the range.
pub const MOST_PH: f64 = 7.5;
/// How far ln of an activity coefficient may still move in an answer that is shown.
pub const EXACT: f64 = 1e-6;
/// How far it may still move where only clear or not is asked: 1e-4 of an index.
pub const QUICK: f64 = 1e-4;

/// Everything that depends on temperature alone.
#[derive(Clone, Debug)]
pub struct Conditions {
    /// Temperature, °C.
    pub celsius: f64,
    water_density: f64,
    constants: Constants,
    ln_k: Vec<f64>,
}

/// A stock, worked out.
#[derive(Clone, Debug)]
pub struct State {
    /// Index of every solid of [`Solid::all`], in its order; `None` where an ion is absent.
    pub indices: Vec<Option<f64>>,
    /// About: pH in strong solutions is a convention, and an electrode reads something else.
    /// `None` where neither phosphate nor acid makes it matter.
    pub ph: Option<f64>,
    /// mol/kg.
    pub ionic_strength: f64,
    /// kg of water in a litre.
    pub water_kg_l: f64,
    /// kg/L, which is g/mL.
    pub density_kg_l: f64,
    /// Activity of water.
    pub water_activity: f64,
    /// False outside the range of the model.
    pub within_range: bool,
}

/// Index by which a solid must be beyond its limit in a solution in which nothing formed for the
/// stock to be beyond hope: pairs and acids take up less of its ions than that.
const HOPELESS: f64 = 1.0;

/// So much is dissolved that it would be no solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooStrong;

impl Conditions {
    /// At a temperature, °C.
    pub fn at(celsius: f64) -> Self {
        Self {
            celsius,
            water_density: Solvent::at(celsius).density_kg_l,
            constants: Constants::at(celsius),
            ln_k: Solid::all()
                .iter()
                .map(|solid| solid.ln_k(celsius))
                .collect(),
        }
    }

    /// True where a solid lies so far beyond its limit that nothing that forms would help: told
    /// quickly, and only where it is sure.
    pub fn is_hopeless(&self, dissolved: &Dissolved, limit: impl Fn(&Solid) -> f64) -> bool {
        // Strong acid turns sulfate into hydrogen sulfate: then nothing is told here.
        if dissolved.acid_mol > 0.0 {
            return false;
        }
        let Some(water) = dissolved.water_kg(self.water_density) else {
            return true;
        };
        let made = self.constants.unformed(dissolved, water);
        Solid::all().iter().zip(&self.ln_k).any(|(solid, ln_k)| {
            let index = solid.index(&made.molal, &made.activity, *ln_k);
            index.is_some_and(|index| index > limit(solid) + HOPELESS)
        })
    }

    /// Works out a litre of stock.
    ///
    /// # Errors
    /// [`TooStrong`] where it would hold hardly any water, or no balance is found.
    pub fn state(&self, dissolved: &Dissolved, precision: f64) -> Result<State, TooStrong> {
        let water = dissolved.water_kg(self.water_density).ok_or(TooStrong)?;
        let made = self
            .constants
            .speciate(dissolved, water, precision)
            .ok_or(TooStrong)?;
        let indices = Solid::all()
            .iter()
            .zip(&self.ln_k)
            .map(|(solid, ln_k)| solid.index(&made.molal, &made.activity, *ln_k));
        let strength = made.activity.ionic_strength;
        Ok(State {
            indices: indices.collect(),
            ph: made.ph,
            ionic_strength: strength,
            water_kg_l: water,
            density_kg_l: water + dissolved.grams() / 1000.0,
            water_activity: made.activity.ln_water.exp(),
            within_range: CELSIUS.contains(&self.celsius)
                && strength <= MOST_IONIC_STRENGTH
                && made.ph.is_none_or(|ph| ph <= MOST_PH),
        })
    }
}

impl State {
    /// The solid with the largest index, and that index.
    pub fn first_solid(&self) -> Option<(&'static Solid, f64)> {
        Solid::all()
            .iter()
            .zip(&self.indices)
            .filter_map(|(solid, index)| Some((solid, (*index)?)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// How far the worst solid lies above its limit, 0 or below where all keep theirs; `None`
    /// where there is no solid at all.
    pub fn excess(&self, limit: impl Fn(&Solid) -> f64) -> Option<(&'static Solid, f64)> {
        Solid::all()
            .iter()
            .zip(&self.indices)
            .filter_map(|(solid, index)| Some((solid, (*index)? - limit(solid))))
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }
}
