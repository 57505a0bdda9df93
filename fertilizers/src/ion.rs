//! What a fertilizer turns into when it dissolves.
//!
//! Charges are those of the master species that the solution chemistry counts in: phosphorus as
//! H2PO4-, carbonate as dissolved CO2, borate as boric acid, silicate as silicic acid. Protons and
//! hydroxide are never listed: whatever charge the listed ions leave open is acid (+) or base (-).

use crate::nutrient::Nutrient;
use std::fmt;

/// An organic molecule that holds a metal in solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ligand {
    /// Ethylenediaminetetraacetate, C10H12N2O8 4-.
    Edta,
    /// Diethylenetriaminepentaacetate, C14H18N3O10 5-.
    Dtpa,
    /// Ethylenediamine-di(o-hydroxyphenylacetate), C18H16N2O6 4-.
    Eddha,
    /// Di(hydroxybenzyl)ethylenediaminediacetate, C20H20N2O6 4-.
    Hbed,
    /// Hydroxyethylethylenediaminetriacetate, C10H15N2O7 3-.
    Hedta,
}

impl Ligand {
    /// All of them; names that start alike stand longest first, as the formula reader needs.
    pub const ALL: [Self; 5] = [Self::Hedta, Self::Eddha, Self::Edta, Self::Dtpa, Self::Hbed];

    /// The name in formulas, e.g. `EDTA`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Edta => "EDTA",
            Self::Dtpa => "DTPA",
            Self::Eddha => "EDDHA",
            Self::Hbed => "HBED",
            Self::Hedta => "HEDTA",
        }
    }

    /// Charge of the fully deprotonated ligand.
    pub const fn charge(self) -> i32 {
        match self {
            Self::Dtpa => -5,
            Self::Hedta => -3,
            Self::Edta | Self::Eddha | Self::Hbed => -4,
        }
    }

    /// Its atoms, as symbol and count.
    pub const fn atoms(self) -> [(&'static str, f64); 4] {
        match self {
            Self::Edta => [("C", 10.0), ("H", 12.0), ("N", 2.0), ("O", 8.0)],
            Self::Dtpa => [("C", 14.0), ("H", 18.0), ("N", 3.0), ("O", 10.0)],
            Self::Eddha => [("C", 18.0), ("H", 16.0), ("N", 2.0), ("O", 6.0)],
            Self::Hbed => [("C", 20.0), ("H", 20.0), ("N", 2.0), ("O", 6.0)],
            Self::Hedta => [("C", 10.0), ("H", 15.0), ("N", 2.0), ("O", 7.0)],
        }
    }
}

impl fmt::Display for Ligand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// One dissolved species as it is accounted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ion {
    /// A nutrient in its free form (NO3-, NH4+, H2PO4-, Ca 2+, H3BO3 ...).
    Free(Nutrient),
    /// A metal held by a ligand, e.g. FeEDTA-.
    Chelate(Nutrient, Ligand),
    /// Inorganic carbon from carbonates and bicarbonates, counted as CO2.
    Carbon,
}

impl Ion {
    /// Charge in elementary charges. Iron is held as iron(III), other metals as 2+.
    pub const fn charge(self) -> i32 {
        match self {
            Self::Free(nutrient) => nutrient.charge(),
            Self::Chelate(Nutrient::Fe, ligand) => 3 + ligand.charge(),
            Self::Chelate(_, ligand) => 2 + ligand.charge(),
            Self::Carbon => 0,
        }
    }
}
