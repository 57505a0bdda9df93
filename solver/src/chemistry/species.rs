//! The species of a solution and the constants that bind them, as data with sources.
//!
//! `data/ions.csv` lists the species, `data/constants.csv` the equilibria; `data/SOURCES.md` says
//! where the figures come from.

use super::activity::{Gamma, Solvent};
use super::component::Component;
use serde::Deserialize;
use std::f64::consts::LN_10;
use std::sync::LazyLock;

/// Kelvin at 0 °C.
const KELVIN: f64 = 273.15;
/// Molar gas constant, J/(mol K); CODATA 2018, exact.
const GAS_CONSTANT: f64 = 8.314_462_618;

/// Most species that a table may have; workspaces are of this size.
pub const MOST: usize = 72;

/// One dissolved species.
#[derive(Clone, Debug)]
pub struct Species {
    /// Name as a chemist writes it, e.g. `CaHCO3+`.
    pub name: String,
    /// Charge in elementary charges.
    pub charge: i32,
    /// The components it holds, once each.
    pub holds: Vec<Component>,
    /// Protons added to the master species (negative: taken away).
    pub protons: i32,
    /// Constants that make up its log K, each with its sign.
    log_k: Vec<(f64, usize)>,
    /// How its activity coefficient is reckoned.
    pub gamma: Gamma,
    /// How it conducts; none where it has no charge.
    pub conducts: Option<Conducts>,
}

/// How an ion conducts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conducts {
    /// Limiting conductivity at 25 °C, S cm2 per equivalent.
    pub lambda_25: f64,
    /// Ion size in the Onsager equation, angstrom.
    pub size_angstrom: f64,
    /// Exponent of the viscosity ratio that carries it to other temperatures (Walden).
    pub walden: f64,
}

/// One equilibrium constant and how it moves with temperature.
#[derive(Clone, Debug)]
pub struct Constant {
    /// Short name.
    pub id: String,
    /// log10 K at 25 °C.
    pub log_k_25: f64,
    /// Its standard uncertainty (judgement).
    pub uncertainty: f64,
    /// Reaction as written in the table.
    reaction: String,
    /// True for a solid.
    is_mineral: bool,
    shape: Shape,
}

/// How a constant moves with temperature.
#[derive(Clone, Debug)]
enum Shape {
    /// Not at all, or not known.
    Flat,
    /// van 't Hoff with this enthalpy, kJ/mol.
    Enthalpy(f64),
    /// A1 + A2 T + A3/T + A4 log10 T + A5/T2 + A6 T2, anchored at the 25 °C value.
    Series([f64; 6]),
}

impl Constant {
    /// log10 K at a temperature.
    ///
    /// log K(T) = K25 + f(T) - f(298.15), f the series; else K25 + dH/(R ln 10) (1/298.15 - 1/T).
    pub fn log_k(&self, celsius: f64) -> f64 {
        let (t, t25) = (celsius + KELVIN, super::REFERENCE_CELSIUS + KELVIN);
        match &self.shape {
            Shape::Flat => self.log_k_25,
            Shape::Enthalpy(kj) => {
                self.log_k_25 + 1000.0 * kj / (GAS_CONSTANT * LN_10) * (1.0 / t25 - 1.0 / t)
            }
            Shape::Series(a) => {
                let f = |t: f64| {
                    a[0] + a[1] * t + a[2] / t + a[3] * t.log10() + a[4] / (t * t) + a[5] * t * t
                };
                self.log_k_25 + f(t) - f(t25)
            }
        }
    }
}

/// A solid that could form.
#[derive(Clone, Debug)]
pub struct Mineral {
    /// Name in the table, e.g. `gypsum`.
    pub id: String,
    /// Its constant.
    pub constant: usize,
    /// Species and their powers in the ion activity product, by position among the species.
    pub product: Vec<(usize, f64)>,
}

/// Species, constants and solids.
#[derive(Clone, Debug)]
pub struct Table {
    /// All species; masters first, then H+, then what they form.
    pub species: Vec<Species>,
    /// All constants.
    pub constants: Vec<Constant>,
    /// All solids.
    pub minerals: Vec<Mineral>,
    /// Position of H+.
    pub proton: usize,
    /// Positions of species that hold one component alone, by component: its acids and bases.
    pub forms: [Vec<usize>; Component::COUNT],
    /// True for a component that forms nothing but its master species.
    pub inert: [bool; Component::COUNT],
}

impl Table {
    /// The shipped table.
    pub fn shipped() -> &'static Self {
        static TABLE: LazyLock<Table> = LazyLock::new(Table::read);
        &TABLE
    }

    /// Position of a species.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.species.iter().position(|species| species.name == name)
    }

    /// Limiting conductivity of an ion at 25 °C, S cm2 per equivalent.
    pub fn lambda_25(&self, name: &str) -> Option<f64> {
        let species = self.species.get(self.position(name)?)?;
        species.conducts.map(|conducts| conducts.lambda_25)
    }

    /// A constant by its id.
    pub fn constant(&self, id: &str) -> Option<&Constant> {
        self.constants.iter().find(|constant| constant.id == id)
    }

    /// Reads the shipped files. Rows are shipped sound: tests below count them.
    fn read() -> Self {
        let constants: Vec<Constant> = rows::<ConstantRow>(include_str!("data/constants.csv"))
            .map(ConstantRow::into_constant)
            .collect();
        let species: Vec<Species> = rows::<SpeciesRow>(include_str!("data/ions.csv"))
            .filter_map(|row| row.into_species(&constants))
            .take(MOST)
            .collect();
        let minerals = constants
            .iter()
            .enumerate()
            .filter(|(_, constant)| constant.is_mineral)
            .map(|(position, constant)| Mineral {
                id: constant.id.clone(),
                constant: position,
                product: product(&constant.reaction, &species),
            })
            .collect();
        let proton = species.iter().position(|row| row.name == "H+");
        let of = |component: Component| {
            let holds = move |row: &&(usize, &Species)| row.1.holds.contains(&component);
            species
                .iter()
                .enumerate()
                .collect::<Vec<_>>()
                .iter()
                .filter(holds)
                .map(|(position, row)| (*position, row.holds.len()))
                .collect::<Vec<_>>()
        };
        let forms = Component::NAMED.map(|(component, _)| {
            let held = of(component);
            let alone = held.into_iter().filter(|(_, parts)| *parts == 1);
            alone.map(|(position, _)| position).collect()
        });
        let inert = Component::NAMED.map(|(component, _)| of(component).len() == 1);
        Self {
            proton: proton.unwrap_or_default(),
            species,
            constants,
            minerals,
            forms,
            inert,
        }
    }
}

/// Everything that depends on temperature alone.
#[derive(Clone, Debug)]
pub struct Conditions {
    /// Temperature, °C.
    pub celsius: f64,
    /// Water at that temperature.
    pub solvent: Solvent,
    /// ln K of every species from its masters.
    pub ln_k: Vec<f64>,
    /// Limiting conductivity of every species, S cm2 per equivalent; 0 for the uncharged.
    pub lambda: Vec<f64>,
    /// log10 K of every solid.
    pub log_k_minerals: Vec<f64>,
    /// log10 of Henry's constant of CO2, mol/(kg atm).
    pub log_k_henry: f64,
}

impl Conditions {
    /// At a temperature, °C.
    pub fn at(celsius: f64) -> Self {
        let table = Table::shipped();
        let solvent = Solvent::at(celsius);
        let log_k: Vec<f64> = table.constants.iter().map(|c| c.log_k(celsius)).collect();
        let fluidity =
            Solvent::at(super::REFERENCE_CELSIUS).viscosity_mpa_s / solvent.viscosity_mpa_s;
        let ln_k = table.species.iter().map(|species| {
            let terms = species.log_k.iter();
            LN_10
                * terms
                    .map(|(sign, position)| sign * log_k[*position])
                    .sum::<f64>()
        });
        let lambda = table.species.iter().map(|species| {
            let conducts = species.conducts;
            conducts.map_or(0.0, |c| c.lambda_25 * fluidity.powf(c.walden))
        });
        let henry = table.constants.iter().position(|c| c.id == "KH");
        Self {
            celsius,
            solvent,
            ln_k: ln_k.collect(),
            lambda: lambda.collect(),
            log_k_minerals: table.minerals.iter().map(|m| log_k[m.constant]).collect(),
            log_k_henry: henry.map_or(f64::NAN, |position| log_k[position]),
        }
    }

    /// At 25 °C, worked out once.
    pub fn reference() -> &'static Self {
        static REFERENCE: LazyLock<Conditions> =
            LazyLock::new(|| Conditions::at(super::REFERENCE_CELSIUS));
        &REFERENCE
    }
}

/// The rows of a shipped table.
fn rows<R: for<'de> Deserialize<'de>>(text: &'static str) -> impl Iterator<Item = R> {
    csv::Reader::from_reader(text.as_bytes())
        .into_deserialize()
        .filter_map(Result::ok)
}

#[derive(Deserialize)]
struct ConstantRow {
    id: String,
    kind: String,
    reaction: String,
    log_k_25: f64,
    standard_uncertainty: f64,
    dh_kj_mol: Option<f64>,
    a1: Option<f64>,
    a2: Option<f64>,
    a3: Option<f64>,
    a4: Option<f64>,
    a5: Option<f64>,
    a6: Option<f64>,
}

impl ConstantRow {
    fn into_constant(self) -> Constant {
        let series = [self.a1, self.a2, self.a3, self.a4, self.a5, self.a6];
        let shape = if series.iter().any(Option::is_some) {
            Shape::Series(series.map(|a| a.unwrap_or(0.0)))
        } else {
            self.dh_kj_mol.map_or(Shape::Flat, Shape::Enthalpy)
        };
        Constant {
            id: self.id,
            log_k_25: self.log_k_25,
            uncertainty: self.standard_uncertainty,
            reaction: self.reaction,
            is_mineral: self.kind == "mineral",
            shape,
        }
    }
}

#[derive(Deserialize)]
struct SpeciesRow {
    species: String,
    charge: i32,
    components: String,
    protons: Option<i32>,
    log_k: String,
    gamma: String,
    gamma_a_angstrom: Option<f64>,
    gamma_b: Option<f64>,
    lambda0_25_s_cm2_per_eq: Option<f64>,
    onsager_a_angstrom: Option<f64>,
    walden_exponent: Option<f64>,
}

impl SpeciesRow {
    fn into_species(self, constants: &[Constant]) -> Option<Species> {
        let holds: Option<Vec<Component>> = self
            .components
            .split_whitespace()
            .map(|part| Component::from_name(part.strip_suffix(":1")?))
            .collect();
        let log_k: Option<Vec<(f64, usize)>> = self
            .log_k
            .split_whitespace()
            .map(|term| {
                let sign = if term.starts_with('-') { -1.0 } else { 1.0 };
                let id = term.trim_start_matches(['+', '-']);
                let position = constants.iter().position(|constant| constant.id == id)?;
                Some((sign, position))
            })
            .collect();
        let gamma = match self.gamma.as_str() {
            "wateq" => Gamma::TruesdellJones {
                size_angstrom: self.gamma_a_angstrom?,
                b: self.gamma_b?,
            },
            "davies" => Gamma::Davies,
            "neutral" => Gamma::Neutral { b: self.gamma_b? },
            _ => return None,
        };
        let conducts = self.lambda0_25_s_cm2_per_eq.map(|lambda_25| {
            Some(Conducts {
                lambda_25,
                size_angstrom: self.onsager_a_angstrom?,
                walden: self.walden_exponent?,
            })
        });
        let is_proton = self.species == "H+";
        Some(Species {
            name: self.species,
            charge: self.charge,
            holds: holds?,
            protons: if is_proton { 1 } else { self.protons? },
            log_k: log_k?,
            gamma,
            conducts: match conducts {
                Some(conducts) => Some(conducts?),
                None => None,
            },
        })
    }
}

/// The ion activity product that a dissolution reaction forms: what stands right counts up, what
/// stands left beside the solid counts down, water not at all.
fn product(reaction: &str, species: &[Species]) -> Vec<(usize, f64)> {
    let (left, right) = reaction.split_once(" = ").unwrap_or(("", ""));
    let term = |text: &str, sign: f64| {
        let text = text.trim();
        let (count, name) = match text.split_once(' ') {
            Some((count, name)) => (count.parse().unwrap_or(1.0), name),
            None => (1.0, text),
        };
        let position = species.iter().position(|species| species.name == name)?;
        Some((position, sign * count))
    };
    let left = left
        .split(" + ")
        .skip(1)
        .filter_map(|text| term(text, -1.0));
    let right = right.split(" + ").filter_map(|text| term(text, 1.0));
    left.chain(right).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_shipped_tables_is_read() {
        let table = Table::shipped();
        let lines = |text: &str| text.trim().lines().count() - 1;
        assert_eq!(table.species.len(), lines(include_str!("data/ions.csv")));
        assert_eq!(
            table.constants.len(),
            lines(include_str!("data/constants.csv"))
        );
        assert!(table.minerals.iter().all(|m| m.product.len() >= 2));
        assert_eq!(table.species[table.proton].name, "H+");
    }

    /// A species and what it is made of carry the same charge.
    #[test]
    fn charges_close_in_every_reaction() {
        let table = Table::shipped();
        for species in &table.species {
            let made_of: i32 = species.holds.iter().map(|c| c.charge()).sum();
            assert_eq!(
                species.charge,
                made_of + species.protons,
                "{}",
                species.name
            );
        }
        for mineral in &table.minerals {
            let open: f64 = mineral
                .product
                .iter()
                .map(|(position, power)| f64::from(table.species[*position].charge) * power)
                .sum();
            assert!(open.abs() < 1e-12, "{}", mineral.id);
        }
    }

    #[test]
    fn boric_acid_is_no_inert_component_and_urea_is() {
        let table = Table::shipped();
        assert!(!table.inert[Component::Boron.index()]);
        assert!(table.inert[Component::Urea.index()]);
        assert!(table.inert[Component::Chloride.index()]);
    }
}
