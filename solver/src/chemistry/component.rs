//! What the mass balances count: the components of a solution and their totals.

use saltwright_fertilizers::{Composition, Dose, Fertilizer, Ion, Ligand, Nutrient};
use std::ops::{AddAssign, Index, IndexMut, Mul};

/// A component, counted in its master species (H2PO4- for phosphorus, CO2 for inorganic carbon).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // chemical names
pub enum Component {
    Calcium,
    Magnesium,
    Potassium,
    Sodium,
    Ammonium,
    Nitrate,
    Chloride,
    Sulfate,
    Phosphate,
    Carbon,
    Boron,
    Silicon,
    Manganese,
    Zinc,
    Copper,
    Iron,
    Molybdenum,
    Nickel,
    Urea,
    FeEdta,
    FeDtpa,
    FeEddha,
    FeHedta,
    MnEdta,
    ZnEdta,
    CuEdta,
    /// Any 2+ metal held by HEDTA.
    MetalHedta,
    /// Any 2+ metal held by DTPA.
    MetalDtpa,
}

impl Component {
    /// How many there are.
    pub const COUNT: usize = 28;

    /// All of them with their names in the data files, in order.
    pub const NAMED: [(Self, &'static str); Self::COUNT] = [
        (Self::Calcium, "Ca"),
        (Self::Magnesium, "Mg"),
        (Self::Potassium, "K"),
        (Self::Sodium, "Na"),
        (Self::Ammonium, "NH4"),
        (Self::Nitrate, "NO3"),
        (Self::Chloride, "Cl"),
        (Self::Sulfate, "SO4"),
        (Self::Phosphate, "P"),
        (Self::Carbon, "DIC"),
        (Self::Boron, "B"),
        (Self::Silicon, "Si"),
        (Self::Manganese, "Mn"),
        (Self::Zinc, "Zn"),
        (Self::Copper, "Cu"),
        (Self::Iron, "Fe2"),
        (Self::Molybdenum, "Mo"),
        (Self::Nickel, "Ni"),
        (Self::Urea, "urea"),
        (Self::FeEdta, "FeEDTA"),
        (Self::FeDtpa, "FeDTPA"),
        (Self::FeEddha, "FeEDDHA"),
        (Self::FeHedta, "FeHEDTA"),
        (Self::MnEdta, "MnEDTA"),
        (Self::ZnEdta, "ZnEDTA"),
        (Self::CuEdta, "CuEDTA"),
        (Self::MetalHedta, "MHEDTA"),
        (Self::MetalDtpa, "MDTPA"),
    ];

    /// The component of that name in the data files.
    pub fn from_name(name: &str) -> Option<Self> {
        let found = Self::NAMED.iter().find(|(_, known)| *known == name);
        found.map(|(component, _)| *component)
    }

    /// Position in [`Component::NAMED`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Charge of the master species.
    pub const fn charge(self) -> i32 {
        match self {
            Self::Calcium
            | Self::Magnesium
            | Self::Manganese
            | Self::Zinc
            | Self::Copper
            | Self::Iron
            | Self::Nickel => 2,
            Self::Potassium | Self::Sodium | Self::Ammonium => 1,
            Self::Nitrate
            | Self::Chloride
            | Self::Phosphate
            | Self::FeEdta
            | Self::FeEddha
            | Self::MetalHedta => -1,
            Self::Sulfate
            | Self::Molybdenum
            | Self::FeDtpa
            | Self::MnEdta
            | Self::ZnEdta
            | Self::CuEdta => -2,
            Self::MetalDtpa => -3,
            Self::Carbon | Self::Boron | Self::Silicon | Self::Urea | Self::FeHedta => 0,
        }
    }

    /// The component that a dissolved form is counted in.
    ///
    /// Chelates keep their ligand. Fe-HBED is counted as Fe-EDDHA and a 2+ metal with another
    /// four-charged ligand as its EDTA chelate: assumed, no data.
    pub const fn of(ion: Ion) -> Self {
        match ion {
            Ion::Carbon => Self::Carbon,
            Ion::Free(nutrient) => Self::of_nutrient(nutrient),
            Ion::Chelate(Nutrient::Fe, Ligand::Edta) => Self::FeEdta,
            Ion::Chelate(Nutrient::Fe, Ligand::Dtpa) => Self::FeDtpa,
            Ion::Chelate(Nutrient::Fe, Ligand::Eddha | Ligand::Hbed) => Self::FeEddha,
            Ion::Chelate(Nutrient::Fe, Ligand::Hedta) => Self::FeHedta,
            Ion::Chelate(_, Ligand::Dtpa) => Self::MetalDtpa,
            Ion::Chelate(_, Ligand::Hedta) => Self::MetalHedta,
            Ion::Chelate(Nutrient::Mn, _) => Self::MnEdta,
            Ion::Chelate(Nutrient::Cu, _) => Self::CuEdta,
            Ion::Chelate(..) => Self::ZnEdta,
        }
    }

    /// The component of a nutrient in its free form.
    pub const fn of_nutrient(nutrient: Nutrient) -> Self {
        match nutrient {
            Nutrient::NitrateN => Self::Nitrate,
            Nutrient::AmmoniumN => Self::Ammonium,
            Nutrient::UreaN => Self::Urea,
            Nutrient::P => Self::Phosphate,
            Nutrient::K => Self::Potassium,
            Nutrient::Ca => Self::Calcium,
            Nutrient::Mg => Self::Magnesium,
            Nutrient::S => Self::Sulfate,
            Nutrient::Fe => Self::Iron,
            Nutrient::Mn => Self::Manganese,
            Nutrient::Zn => Self::Zinc,
            Nutrient::B => Self::Boron,
            Nutrient::Cu => Self::Copper,
            Nutrient::Mo => Self::Molybdenum,
            Nutrient::Ni => Self::Nickel,
            Nutrient::Cl => Self::Chloride,
            Nutrient::Na => Self::Sodium,
            Nutrient::Si => Self::Silicon,
        }
    }
}

/// Moles of N atoms in a mole of the component: urea holds two.
const fn atoms(nutrient: Nutrient) -> f64 {
    match nutrient {
        Nutrient::UreaN => 2.0,
        _ => 1.0,
    }
}

/// What a litre holds of every component, and the acid that was added to it. Additive on mixing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    mmol_l: [f64; Component::COUNT],
    /// Acid added beyond the master species, meq/L; minus this is the alkalinity to the carbonic
    /// acid end point. Protons and hydroxide are never counted otherwise: charge makes them.
    pub acid_meq_l: f64,
}

impl Totals {
    /// Totals whose charges close: what the masters leave open is acid or base.
    ///
    /// acid = -sum of z_j T_j, with the charges of the master species.
    pub fn neutral(mmol_l: impl IntoIterator<Item = (Component, f64)>) -> Self {
        let mut totals = Self::default();
        for (component, amount) in mmol_l {
            totals[component] += amount;
        }
        totals.acid_meq_l = -totals.charge_meq_l();
        totals
    }

    /// Adds dissolved forms given in mg/L of their element.
    pub fn add_composition(&mut self, mg_l: &Composition) {
        for (nutrient, amount) in mg_l.iter() {
            let mmol_l = amount / nutrient.atomic_weight() / atoms(nutrient);
            self[Component::of_nutrient(nutrient)] += mmol_l;
        }
    }

    /// Adds what a fertilizer turns into when it dissolves; the acidity follows its formula.
    pub fn add_dose(&mut self, dose: &Dose) {
        let grams = dose.amount.0;
        for (ion, mmol_per_g) in dose.fertilizer.ions_mmol_per_g() {
            let atoms = match ion {
                Ion::Free(nutrient) => atoms(*nutrient),
                _ => 1.0,
            };
            self[Component::of(*ion)] += mmol_per_g * grams / atoms;
        }
        self.acid_meq_l += dose.fertilizer.acid_meq_per_g() * grams;
    }

    /// The part of a gram of fertilizer that moves with its assay of one nutrient: the ions that
    /// hold it and the acid that goes with it; a carbonate goes with the alkali that it brings.
    pub fn of_assay(fertilizer: &Fertilizer, nutrient: Nutrient) -> Self {
        let acid_meq_l = fertilizer.acid_meq_per_g_with(nutrient);
        let mut totals = Self {
            acid_meq_l,
            ..Self::default()
        };
        let all_acid = fertilizer.acid_meq_per_g();
        for (ion, mmol_per_g) in fertilizer.ions_mmol_per_g() {
            let share = match ion {
                Ion::Free(held) if *held == nutrient => 1.0 / atoms(nutrient),
                Ion::Chelate(held, _) if *held == nutrient => 1.0,
                Ion::Carbon if all_acid != 0.0 => acid_meq_l / all_acid,
                _ => continue,
            };
            totals[Component::of(*ion)] += mmol_per_g * share;
        }
        totals
    }

    /// Charges of the master species, meq/L.
    fn charge_meq_l(&self) -> f64 {
        self.iter()
            .map(|(component, mmol)| f64::from(component.charge()) * mmol)
            .sum()
    }

    /// Charge that an incomplete analysis or a rounded assay leaves open, meq/L: it is carried as
    /// an inert ion, so that pH follows the acid that was really added.
    pub fn rest_meq_l(&self) -> f64 {
        let rest = -self.acid_meq_l - self.charge_meq_l();
        // Below what rounding leaves of the sum there is no rest.
        let size: f64 = self
            .iter()
            .map(|(component, mmol)| f64::from(component.charge().abs()) * mmol)
            .sum();
        if rest.abs() <= 1e-13 * (size + self.acid_meq_l.abs()) {
            0.0
        } else {
            rest
        }
    }

    /// All components with their totals, mmol/L.
    pub fn iter(&self) -> impl Iterator<Item = (Component, f64)> + '_ {
        Component::NAMED
            .iter()
            .zip(&self.mmol_l)
            .map(|((component, _), mmol)| (*component, *mmol))
    }
}

impl Index<Component> for Totals {
    type Output = f64;
    fn index(&self, component: Component) -> &f64 {
        &self.mmol_l[component.index()]
    }
}

impl IndexMut<Component> for Totals {
    fn index_mut(&mut self, component: Component) -> &mut f64 {
        &mut self.mmol_l[component.index()]
    }
}

impl AddAssign for Totals {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.mmol_l.iter_mut().zip(other.mmol_l) {
            *mine += theirs;
        }
        self.acid_meq_l += other.acid_meq_l;
    }
}

impl Mul<f64> for Totals {
    type Output = Self;
    fn mul(mut self, factor: f64) -> Self {
        for amount in &mut self.mmol_l {
            *amount *= factor;
        }
        self.acid_meq_l *= factor;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn components_stand_in_the_order_of_their_index() {
        for (position, (component, name)) in Component::NAMED.iter().enumerate() {
            assert_eq!(component.index(), position);
            assert_eq!(Component::from_name(name), Some(*component));
        }
    }

    #[test]
    fn the_charge_of_a_component_is_that_of_its_ion() {
        for nutrient in Nutrient::ALL {
            let component = Component::of_nutrient(nutrient);
            assert_eq!(component.charge(), nutrient.charge(), "{nutrient}");
        }
        let metals = [
            Nutrient::Fe,
            Nutrient::Mn,
            Nutrient::Zn,
            Nutrient::Cu,
            Nutrient::Ni,
        ];
        for metal in metals {
            for ligand in Ligand::ALL {
                let ion = Ion::Chelate(metal, ligand);
                assert_eq!(Component::of(ion).charge(), ion.charge(), "{ion:?}");
            }
        }
    }

    #[test]
    fn carbon_goes_with_the_assay_that_brings_its_base() {
        let shelf = saltwright_fertilizers::Table::shipped().expect("sound");
        let carbonate = shelf.get("potassium-carbonate").expect("shipped");
        let moved = Totals::of_assay(carbonate, Nutrient::K);
        let potassium = moved[Component::of_nutrient(Nutrient::K)];
        assert!(potassium > 0.0 && (moved[Component::Carbon] - 0.5 * potassium).abs() < 1e-9);
        assert!((moved.acid_meq_l + potassium).abs() < 1e-9, "{moved:?}");
        let nitrate = shelf.get("potassium-nitrate").expect("shipped");
        let moved = Totals::of_assay(nitrate, Nutrient::K);
        assert!(moved[Component::Carbon].abs() < 1e-12 && moved.acid_meq_l.abs() < 1e-12);
    }

    #[test]
    fn lye_counts_as_base_and_nitric_acid_as_acid() {
        let lye = Totals::neutral([(Component::Potassium, 2.0)]);
        assert!((lye.acid_meq_l + 2.0).abs() < 1e-12);
        let acid = Totals::neutral([(Component::Nitrate, 2.0)]);
        assert!((acid.acid_meq_l - 2.0).abs() < 1e-12);
        assert!(acid.rest_meq_l().abs() < 1e-15);
    }
}
