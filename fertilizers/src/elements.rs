//! Chemical elements and their atomic weights.

use crate::nutrient::Nutrient;
use std::sync::LazyLock;

/// CIAAW (2021), abridged standard atomic weights, as shipped in `data/atomic_weights.csv`.
static WEIGHTS: LazyLock<Vec<(String, f64)>> = LazyLock::new(|| {
    include_str!("../data/atomic_weights.csv")
        .lines()
        .skip(1)
        .filter_map(|line| {
            let (symbol, weight) = line.split_once(',')?;
            Some((symbol.trim().to_owned(), weight.trim().parse().ok()?))
        })
        .collect()
});

/// The eighteen nutrients' elements, looked up once.
static OF_NUTRIENT: LazyLock<[Option<Element>; Nutrient::COUNT]> =
    LazyLock::new(|| Nutrient::ALL.map(|nutrient| Element::from_symbol(nutrient.symbol())));

/// An element with a standard atomic weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Element(u8);

impl Element {
    /// The element of that symbol, e.g. `Ca`.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        let position = WEIGHTS.iter().position(|(name, _)| name == symbol)?;
        u8::try_from(position).ok().map(Self)
    }

    /// Its symbol.
    pub fn symbol(self) -> &'static str {
        WEIGHTS.get(usize::from(self.0)).map_or("", |row| &row.0)
    }

    /// Mass of one mole, g/mol.
    pub fn atomic_weight(self) -> f64 {
        WEIGHTS
            .get(usize::from(self.0))
            .map_or(f64::NAN, |row| row.1)
    }

    /// The element whose mass a nutrient counts.
    pub(crate) fn of_nutrient(nutrient: Nutrient) -> Self {
        // Every nutrient's symbol is in the shipped table: a unit test below holds that.
        OF_NUTRIENT[nutrient.index()].unwrap_or(Self(u8::MAX))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_nutrient_has_an_atomic_weight() {
        for nutrient in Nutrient::ALL {
            assert!(nutrient.atomic_weight() > 10.0, "{nutrient}");
        }
    }

    /// Source: CIAAW, Standard Atomic Weights 2021, abridged values.
    #[test]
    fn weights_are_the_abridged_values_of_2021() {
        for (symbol, weight) in [("H", 1.0080), ("S", 32.06), ("Mo", 95.95), ("Zn", 65.38)] {
            let element = Element::from_symbol(symbol).expect("listed");
            assert!((element.atomic_weight() - weight).abs() < 1e-9, "{symbol}");
            assert_eq!(element.symbol(), symbol);
        }
        assert_eq!(Element::from_symbol("Xx"), None);
    }
}
