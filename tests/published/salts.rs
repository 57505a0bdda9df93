//! The fertilizers of the published cases, with their masses as printed.
//!
//! What a source leaves open (a hydrate, a grade) is settled in `tests/data/worked_assumed.csv`, one
//! row with its reason each.

use super::cases::{lines, program_key, read};
use saltwright_fertilizers::Formula;
use saltwright_fertilizers::units::{GRAMS_PER_OUNCE, LITRES_PER_US_GALLON};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

static ASSUMED: LazyLock<Vec<Assumed>> =
    LazyLock::new(|| read(include_str!("../data/worked_assumed.csv")));

/// What a source leaves open.
#[derive(Clone, Debug, Deserialize)]
struct Assumed {
    case_id: String,
    name: String,
    formula: String,
    assay: String,
    amount: String,
    unit: String,
    basis: String,
    why: String,
}

/// A fertilizer of a case with its mass as printed.
#[derive(Clone, Debug)]
pub struct Salt {
    pub name: String,
    pub formula: String,
    pub assay: String,
    amount: f64,
    unit: String,
}

/// Units that a source prints what comes out of the sums in, or that an assumption replaces.
const OUTCOMES: [&str; 4] = [
    "L/100 L of 1:100 stock",
    "kg/100 L of 1:100 stock",
    "L",
    "L/1000 L",
];

/// Assays in words: the formula is all there is.
const NO_ASSAY: [&str; 7] = [
    "",
    "pure salt",
    "reagent",
    "1 mol/L stock",
    "1 mol/L",
    "not printed",
    "MW 236.1",
];

/// The fertilizers of a case; `basis` is that of the result they are to be compared with.
pub fn salts(case: &str, basis: &str) -> Vec<Salt> {
    let printed = lines(case)
        .filter(|line| line.kind == "input_salt" || line.kind == "stock")
        .filter(|line| !OUTCOMES.contains(&line.unit.as_str()))
        .map(|line| Salt {
            name: line.name.clone(),
            formula: line.formula.clone(),
            assay: line.assay.clone(),
            amount: line.number(),
            unit: line.unit.clone(),
        });
    let mut salts: Vec<Salt> = printed.map(|salt| settled(case, basis, salt)).collect();
    for added in ASSUMED.iter().filter(|row| row.case_id == case) {
        assert!(!added.why.is_empty(), "{case} {} has no reason", added.name);
        if !salts.iter().any(|salt| salt.name == added.name) {
            salts.push(Salt {
                name: added.name.clone(),
                formula: added.formula.clone(),
                assay: added.assay.clone(),
                amount: added.amount.parse().expect("the mass of what is added"),
                unit: added.unit.clone(),
            });
        }
    }
    salts
}

/// A printed salt with what the source leaves open filled in.
fn settled(case: &str, basis: &str, mut salt: Salt) -> Salt {
    let assumed = |basis: &str| {
        ASSUMED
            .iter()
            .find(|row| row.case_id == case && row.name == salt.name && row.basis == basis)
    };
    if let Some(row) = assumed(basis).or_else(|| assumed("")) {
        salt.formula.clone_from(&row.formula);
        salt.assay.clone_from(&row.assay);
        if !row.amount.is_empty() {
            salt.amount = row.amount.parse().expect("a number");
            salt.unit.clone_from(&row.unit);
        }
    }
    let pure = basis == "pure-salt stoichiometry" && !salt.assay.contains("strength");
    if pure || NO_ASSAY.contains(&salt.assay.as_str()) {
        salt.assay.clear();
    }
    salt
}

/// Grams in a mole.
pub fn molar_mass(formula: &str) -> f64 {
    Formula::parse(formula)
        .unwrap_or_else(|error| panic!("{error}"))
        .molar_mass()
}

impl Salt {
    /// A fertilizer by formula and assay, either of which may be empty.
    pub fn of(formula: &str, assay: &str) -> Self {
        Self {
            name: format!("{formula} {assay}").trim().to_owned(),
            formula: formula.to_owned(),
            assay: assay.to_owned(),
            amount: 0.0,
            unit: String::new(),
        }
    }

    /// The same, so much of it.
    pub fn weighing(self, amount: f64, unit: &str) -> Self {
        let unit = unit.to_owned();
        Self {
            amount,
            unit,
            ..self
        }
    }

    /// True for what a source measures in millilitres.
    pub fn is_poured(&self) -> bool {
        self.unit == "mL/L"
    }

    /// The fertilizer object of a request.
    pub fn object(&self, id: &str) -> Value {
        let mut object = Map::new();
        object.insert("id".into(), json!(id));
        object.insert("name".into(), json!(self.name));
        if !self.formula.is_empty() {
            object.insert("formula".into(), json!(self.formula));
        }
        let mut assay = Map::new();
        for part in self
            .assay
            .split(';')
            .map(str::trim)
            .filter(|part| !part.is_empty())
        {
            let (key, percent) = part
                .rsplit_once(' ')
                .expect("a nutrient and its percentage");
            let percent: f64 = percent.parse().unwrap_or_else(|_| panic!("{part}"));
            match key {
                "strength" => object.insert("strength_pct".into(), json!(percent)),
                "density" => object.insert("density_g_per_ml".into(), json!(percent)),
                _ => assay.insert(program_key(key).into(), json!(percent)),
            };
        }
        if !assay.is_empty() {
            object.insert("assay_pct".into(), assay.into());
        }
        object.into()
    }

    /// Grams per litre of finished solution.
    pub fn g_per_l(&self, case: &str) -> f64 {
        let amount = self.amount;
        match self.unit.as_str() {
            // Stock A of grams: 5 L, of which 5 mL to the litre; stock B: 2 L, of which 2 mL.
            "mg/L" | "g/1000 L" | "g/L of micro stock dosed 1 mL/L" | "g" => amount / 1000.0,
            // A molar stock: moles in the millilitres poured.
            "mL/L" | "mmol/L" => amount / 1000.0 * molar_mass(&self.formula),
            "g/220 L" => amount / 220.0,
            "g/L of 1:100 stock" => amount / 100.0,
            "g/450 mL of stock dosed 150 mL/1000 L" => amount / 450.0 * 150.0 / 1000.0,
            // 5 mL of a 50 mL stock to the litre.
            "g/50 mL" => amount / 50.0 * 5.0,
            "oz/100 US gal" => amount * GRAMS_PER_OUNCE / (100.0 * LITRES_PER_US_GALLON),
            "g/L" => amount * stock_ml_per_l(case) / 1000.0,
            unit => panic!("{case} {}: {unit}", self.name),
        }
    }

    /// The line of a mix: an acid of known strength is poured, all else weighed.
    pub fn mix_line(&self, id: &str, case: &str) -> Value {
        if self.assay.contains("density") {
            json!({"id": id, "ml_per_l": self.amount})
        } else {
            json!({"id": id, "g_per_l": self.g_per_l(case)})
        }
    }
}

/// Millilitres of the stock poured into a litre, where the case prints them by themselves.
fn stock_ml_per_l(case: &str) -> f64 {
    lines(case)
        .find(|line| line.kind == "volume" && line.unit == "mL/L")
        .unwrap_or_else(|| panic!("{case} has no dose"))
        .number()
}
