//! The dangers of a fertilizer that ask for a caution beside it.

use super::Fertilizer;
use crate::nutrient::Nutrient;

/// A danger that asks for a caution beside the fertilizer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Hazard {
    /// Feeds fire.
    Oxidizer,
    /// Burns skin and eyes.
    Acid,
    /// Burns skin and eyes; heats when dissolved.
    Base,
    /// Narrow margin between need and harm; may harm fertility.
    Boron,
    /// Very toxic to water life.
    Copper,
    /// May cause cancer when breathed in.
    Nickel,
}

/// Assay of boron, copper or nickel (percent by mass) from which a product gets that metal's own
/// caution: a compound of it rather than a mix with traces. Common practice, no source.
const COMPOUND_PCT: f64 = 1.0;

impl Fertilizer {
    /// The dangers to caution about, from what it is made of and from its hazard words.
    pub fn hazards(&self) -> Vec<Hazard> {
        let says = |word: &str| self.hazard.to_lowercase().contains(word);
        let holds = |n: Nutrient| self.assay_pct[n] >= COMPOUND_PCT;
        let nitrate_salt = self.assay_pct[Nutrient::NitrateN] >= COMPOUND_PCT && !self.is_liquid();
        [
            (Hazard::Oxidizer, nitrate_salt || says("oxidi")),
            (Hazard::Acid, self.is_acid()),
            (Hazard::Base, self.is_base()),
            (Hazard::Boron, holds(Nutrient::B)),
            (Hazard::Copper, holds(Nutrient::Cu)),
            (Hazard::Nickel, holds(Nutrient::Ni)),
        ]
        .into_iter()
        .filter_map(|(hazard, applies)| applies.then_some(hazard))
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::read;
    use super::*;

    #[test]
    fn dangers_follow_from_what_it_is() {
        let own = read(r#"{"id": "mine", "formula": "KNO3"}"#);
        assert_eq!(own.hazards(), [Hazard::Oxidizer]);
        let acid = read(
            r#"{"id": "a", "formula": "HNO3", "strength_pct": 60, "density_g_per_ml": 1.367}"#,
        );
        assert_eq!(acid.hazards(), [Hazard::Acid]);
        assert_eq!(
            read(r#"{"id": "k", "formula": "KOH"}"#).hazards(),
            [Hazard::Base]
        );
        assert_eq!(
            read(r#"{"id": "b", "formula": "H3BO3"}"#).hazards(),
            [Hazard::Boron]
        );
    }
}
