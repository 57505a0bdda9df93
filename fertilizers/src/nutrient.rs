//! The dissolved forms that the program accounts for, and how their masses turn into moles and
//! equivalents.

use crate::elements::Element;
use crate::units::{MeqPerL, MgPerL, MmolPerL};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::ops::{Add, AddAssign, Index, IndexMut, Mul};

/// One dissolved form of a nutrient, counted as the mass of its element.
///
/// The order is the order of every table, report and file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Nutrient {
    NitrateN,
    AmmoniumN,
    UreaN,
    P,
    K,
    Ca,
    Mg,
    S,
    Fe,
    Mn,
    Zn,
    B,
    Cu,
    Mo,
    Ni,
    Cl,
    Na,
    Si,
}

impl Nutrient {
    /// How many there are.
    pub const COUNT: usize = 18;

    /// All of them, in the fixed order of tables and reports.
    pub const ALL: [Self; Self::COUNT] = [
        Self::NitrateN,
        Self::AmmoniumN,
        Self::UreaN,
        Self::P,
        Self::K,
        Self::Ca,
        Self::Mg,
        Self::S,
        Self::Fe,
        Self::Mn,
        Self::Zn,
        Self::B,
        Self::Cu,
        Self::Mo,
        Self::Ni,
        Self::Cl,
        Self::Na,
        Self::Si,
    ];

    /// The six micronutrients that a recipe's `micros` list may fill in.
    pub const MICROS: [Self; 6] = [Self::Fe, Self::Mn, Self::Zn, Self::B, Self::Cu, Self::Mo];

    /// The three forms of nitrogen, whose sum is total N.
    pub const N_FORMS: [Self; 3] = [Self::NitrateN, Self::AmmoniumN, Self::UreaN];

    /// The key used in CSV heads, TOML, JSON and on screen.
    pub const fn key(self) -> &'static str {
        match self {
            Self::NitrateN => "NO3-N",
            Self::AmmoniumN => "NH4-N",
            Self::UreaN => "urea-N",
            Self::P => "P",
            Self::K => "K",
            Self::Ca => "Ca",
            Self::Mg => "Mg",
            Self::S => "S",
            Self::Fe => "Fe",
            Self::Mn => "Mn",
            Self::Zn => "Zn",
            Self::B => "B",
            Self::Cu => "Cu",
            Self::Mo => "Mo",
            Self::Ni => "Ni",
            Self::Cl => "Cl",
            Self::Na => "Na",
            Self::Si => "Si",
        }
    }

    /// The nutrient of that key, exactly as written by [`Nutrient::key`].
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|nutrient| nutrient.key() == key)
    }

    /// The name in words, for sentences.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NitrateN => "nitrate nitrogen",
            Self::AmmoniumN => "ammonium nitrogen",
            Self::UreaN => "urea nitrogen",
            Self::P => "phosphorus",
            Self::K => "potassium",
            Self::Ca => "calcium",
            Self::Mg => "magnesium",
            Self::S => "sulfur",
            Self::Fe => "iron",
            Self::Mn => "manganese",
            Self::Zn => "zinc",
            Self::B => "boron",
            Self::Cu => "copper",
            Self::Mo => "molybdenum",
            Self::Ni => "nickel",
            Self::Cl => "chloride",
            Self::Na => "sodium",
            Self::Si => "silicon",
        }
    }

    /// The element whose mass is counted.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::NitrateN | Self::AmmoniumN | Self::UreaN => "N",
            other => other.key(),
        }
    }

    /// Mass of one mole of the element, g/mol (CIAAW 2021 abridged).
    pub fn atomic_weight(self) -> f64 {
        Element::of_nutrient(self).atomic_weight()
    }

    /// Charge of the form in a nutrient solution, in elementary charges; phosphorus is counted as
    /// H2PO4-, sulfur as SO4 2-, molybdenum as MoO4 2-, unchelated metals as 2+. Boric acid,
    /// silicic acid and urea carry none.
    pub const fn charge(self) -> i32 {
        match self {
            Self::AmmoniumN | Self::K | Self::Na => 1,
            Self::Ca | Self::Mg | Self::Fe | Self::Mn | Self::Zn | Self::Cu | Self::Ni => 2,
            Self::NitrateN | Self::P | Self::Cl => -1,
            Self::S | Self::Mo => -2,
            Self::UreaN | Self::B | Self::Si => 0,
        }
    }

    /// True for the nutrients that are needed in traces only.
    pub const fn is_micro(self) -> bool {
        matches!(
            self,
            Self::Fe | Self::Mn | Self::Zn | Self::B | Self::Cu | Self::Mo | Self::Ni
        )
    }

    /// Position in [`Nutrient::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// A mass concentration of the element, counted in moles.
    pub fn to_mmol(self, amount: MgPerL) -> MmolPerL {
        MmolPerL(amount.0 / self.atomic_weight())
    }

    /// A mass concentration of the element, counted in charges; `None` where the form has none.
    pub fn to_meq(self, amount: MgPerL) -> Option<MeqPerL> {
        (self.charge() != 0)
            .then(|| MeqPerL(self.to_mmol(amount).0 * f64::from(self.charge().abs())))
    }
}

impl fmt::Display for Nutrient {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.key())
    }
}

impl Serialize for Nutrient {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

/// What a recipe can aim at: one of the forms, or total nitrogen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Aimed {
    /// A single dissolved form.
    Form(Nutrient),
    /// Total nitrogen: the sum of nitrate, ammonium and urea nitrogen.
    TotalN,
}

impl Aimed {
    /// How many there are.
    pub const COUNT: usize = Nutrient::COUNT + 1;

    /// All of them in report order: total N stands after its three forms.
    pub fn all() -> impl Iterator<Item = Self> {
        let (forms, rest) = Nutrient::ALL.split_at(3);
        forms
            .iter()
            .map(|nutrient| Self::Form(*nutrient))
            .chain([Self::TotalN])
            .chain(rest.iter().map(|nutrient| Self::Form(*nutrient)))
    }

    /// Position in report order.
    pub const fn index(self) -> usize {
        match self {
            Self::TotalN => 3,
            Self::Form(nutrient) if nutrient.index() < 3 => nutrient.index(),
            Self::Form(nutrient) => nutrient.index() + 1,
        }
    }

    /// The key used in files and reports.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Form(nutrient) => nutrient.key(),
            Self::TotalN => "N",
        }
    }

    /// The name in words, for sentences.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Form(nutrient) => nutrient.word(),
            Self::TotalN => "total nitrogen",
        }
    }

    /// Mass of one mole of the element, g/mol.
    pub fn atomic_weight(self) -> f64 {
        match self {
            Self::Form(nutrient) => nutrient.atomic_weight(),
            Self::TotalN => Nutrient::NitrateN.atomic_weight(),
        }
    }

    /// Charges a mole carries, for recipes printed in meq/L; total N counts one a mole.
    pub const fn charges(self) -> u32 {
        match self {
            Self::Form(nutrient) => nutrient.charge().unsigned_abs(),
            Self::TotalN => 1,
        }
    }

    /// What a key names, exactly as written by [`Aimed::key`].
    pub fn from_key(key: &str) -> Option<Self> {
        Self::all().find(|aimed| aimed.key() == key)
    }
}

impl fmt::Display for Aimed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.key())
    }
}

impl Serialize for Aimed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

impl JsonSchema for Aimed {
    fn schema_name() -> Cow<'static, str> {
        "Aimed".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let keys: Vec<&str> = Self::all().map(Self::key).collect();
        json_schema!({
            "description": "A dissolved form of a nutrient, counted as its element, or total nitrogen.",
            "type": "string",
            "enum": keys,
        })
    }
}

/// How much of each nutrient a litre holds (mg/L), or a fertilizer brings (mg per g, %): eighteen
/// numbers in the unit that its user names.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Composition([f64; Nutrient::COUNT]);

impl Composition {
    /// Nothing of anything.
    pub const ZERO: Self = Self([0.0; Nutrient::COUNT]);

    /// Total nitrogen: the sum of its three forms.
    pub fn total_n(&self) -> f64 {
        Nutrient::N_FORMS.iter().map(|form| self[*form]).sum()
    }

    /// What is aimed at: a form or total N.
    pub fn aimed(&self, aimed: Aimed) -> f64 {
        match aimed {
            Aimed::Form(nutrient) => self[nutrient],
            Aimed::TotalN => self.total_n(),
        }
    }

    /// Pairs of nutrient and amount, in fixed order.
    pub fn iter(&self) -> impl Iterator<Item = (Nutrient, f64)> + '_ {
        Nutrient::ALL.into_iter().map(|n| (n, self[n]))
    }

    /// The sum of all amounts.
    pub fn sum(&self) -> f64 {
        self.0.iter().sum()
    }
}

impl Index<Nutrient> for Composition {
    type Output = f64;
    fn index(&self, nutrient: Nutrient) -> &f64 {
        &self.0[nutrient.index()]
    }
}

impl IndexMut<Nutrient> for Composition {
    fn index_mut(&mut self, nutrient: Nutrient) -> &mut f64 {
        &mut self.0[nutrient.index()]
    }
}

impl Add for Composition {
    type Output = Self;
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl AddAssign for Composition {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            *mine += theirs;
        }
    }
}

impl Mul<f64> for Composition {
    type Output = Self;
    fn mul(mut self, factor: f64) -> Self {
        for amount in &mut self.0 {
            *amount *= factor;
        }
        self
    }
}

impl FromIterator<(Nutrient, f64)> for Composition {
    fn from_iter<T: IntoIterator<Item = (Nutrient, f64)>>(amounts: T) -> Self {
        let mut composition = Self::ZERO;
        for (nutrient, amount) in amounts {
            composition[nutrient] += amount;
        }
        composition
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nutrient_is_written_by_its_key_as_wide_as_asked() {
        let written = Aimed::all().map(|aimed| (format!("{aimed}"), aimed.key()));
        for (written, key) in written {
            assert_eq!(written, key);
        }
        assert_eq!(
            format!("{:>3}|{:<3}", Aimed::TotalN, Aimed::TotalN),
            "  N|N  "
        );
    }

    #[test]
    fn report_order_puts_total_n_after_its_forms() {
        let keys: Vec<_> = Aimed::all().map(Aimed::key).collect();
        assert_eq!(keys[..5], ["NO3-N", "NH4-N", "urea-N", "N", "P"]);
        assert_eq!(keys.len(), Aimed::COUNT);
        for (position, aimed) in Aimed::all().enumerate() {
            assert_eq!(aimed.index(), position);
            assert_eq!(Aimed::from_key(aimed.key()), Some(aimed));
        }
    }

    #[test]
    fn calcium_in_milliequivalents() {
        // 40.078 mg/L of calcium is 1 mmol/L and 2 meq/L by definition of the units.
        let one = MgPerL(40.078);
        assert!((Nutrient::Ca.to_mmol(one).0 - 1.0).abs() < 1e-12);
        assert!((Nutrient::Ca.to_meq(one).map_or(0.0, |meq| meq.0) - 2.0).abs() < 1e-12);
        assert_eq!(Nutrient::B.to_meq(one), None);
    }
}
