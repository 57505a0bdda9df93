//! The published cases of `tests/data/worked.csv`, turned into requests.
//!
//! In: printed salts, stocks, waters and results.  Out: fertilizer objects, mixes in grams or
//! millilitres per litre, and each printed figure beside ours. What a source leaves open (a
//! hydrate, a grade) is settled in `tests/data/worked_assumed.csv`, one row with its reason each.

use crate::common::{answer, delivered, grams, number, row};
use saltwright_fertilizers::units::{GRAMS_PER_OUNCE, LITRES_PER_US_GALLON};
use saltwright_fertilizers::{Aimed, Formula};
use saltwright_recipes::ConcentrationUnit;
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

/// One line of `worked.csv`.
#[derive(Clone, Debug, Deserialize)]
pub struct Line {
    pub case_id: String,
    pub kind: String,
    pub name: String,
    pub formula: String,
    pub assay: String,
    pub value: String,
    pub unit: String,
    pub source_id: String,
    pub status: String,
}

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

/// Where a source can be found.
#[derive(Clone, Debug, Deserialize)]
pub struct Source {
    pub source_id: String,
    pub citation: String,
}

pub static WORKED: LazyLock<Vec<Line>> = LazyLock::new(|| read(include_str!("../data/worked.csv")));
static ASSUMED: LazyLock<Vec<Assumed>> =
    LazyLock::new(|| read(include_str!("../data/worked_assumed.csv")));
pub static SOURCES: LazyLock<Vec<Source>> =
    LazyLock::new(|| read(include_str!("../data/sources.csv")));

/// The rows of a table.
pub fn read<T: for<'de> Deserialize<'de>>(text: &str) -> Vec<T> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("a sound table")
}

/// The ids of all cases, in order of the file, each once.
pub fn ids() -> Vec<&'static str> {
    let mut ids: Vec<&str> = Vec::new();
    for line in WORKED.iter() {
        if !ids.contains(&line.case_id.as_str()) {
            ids.push(&line.case_id);
        }
    }
    ids
}

/// Author, year, title of a source.
pub fn citation(source_id: &str) -> &'static str {
    SOURCES
        .iter()
        .find(|source| source.source_id == source_id)
        .map_or_else(
            || panic!("{source_id} is not cited"),
            |source| &source.citation,
        )
}

pub fn lines(case: &str) -> impl Iterator<Item = &'static Line> {
    WORKED.iter().filter(move |line| line.case_id == case)
}

impl Line {
    pub fn number(&self) -> f64 {
        self.value
            .parse()
            .unwrap_or_else(|_| panic!("{} {}: {}", self.case_id, self.name, self.value))
    }
}

/// Half a unit of the last digit of a printed number.
pub fn half_digit(printed: &str) -> f64 {
    let decimals = printed
        .split_once('.')
        .map_or(0, |(_, digits)| digits.len());
    0.5 * 10_f64.powi(-i32::try_from(decimals).expect("few digits"))
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
    fn mix_line(&self, id: &str, case: &str) -> Value {
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

/// The program's key of a nutrient as the reference writes it, ions of a list included.
pub fn program_key(name: &str) -> &str {
    match name {
        "N-NO3" | "NO3" => "NO3-N",
        "N-NH4" => "NH4-N",
        "N-urea" => "urea-N",
        "H2PO4" => "P",
        "SO4" => "S",
        other => other,
    }
}

/// The source water of a case.
pub fn water(case: &str) -> Value {
    let mut holds = Map::new();
    let mut water = Map::new();
    for line in lines(case).filter(|line| line.kind == "water") {
        if line.name == "HCO3" {
            water.insert("hco3_mg_l".into(), json!(line.number()));
        } else {
            holds.insert(program_key(&line.name).into(), json!(line.number()));
        }
    }
    if water.is_empty() && holds.is_empty() {
        return json!({"holds": {}, "alkalinity_meq_l": 0});
    }
    water.insert("holds".into(), holds.into());
    water.into()
}

/// The targets of a case, mg/L.
pub fn targets(case: &str) -> Map<String, Value> {
    lines(case)
        .filter(|line| line.kind == "target" && line.unit == "mg/L")
        .map(|line| (program_key(&line.name).to_owned(), json!(line.number())))
        .collect()
}

/// Job `predict` on these salts of a case.
pub fn predict(case: &str, salts: &[Salt]) -> Value {
    let named = || {
        salts
            .iter()
            .enumerate()
            .map(|(at, salt)| (format!("salt-{at}"), salt))
    };
    let objects: Vec<Value> = named().map(|(id, salt)| salt.object(&id)).collect();
    let mix: Vec<Value> = named().map(|(id, salt)| salt.mix_line(&id, case)).collect();
    let mut request = json!({"job": "predict", "id": case, "water": water(case), "mix": mix});
    if !objects.is_empty() {
        request["fertilizers"] = objects.into();
    }
    let report = answer(&request);
    assert!(report["refusal"].is_null(), "{case}: {}", report["refusal"]);
    report
}

/// A figure as printed and as we work it out.
#[derive(Clone, Debug)]
pub struct Figure {
    pub line: &'static Line,
    pub ours: f64,
}

impl Figure {
    /// Percent by which ours lies above the print.
    pub fn off_pct(&self) -> f64 {
        100.0 * (self.ours - self.line.number()) / self.line.number()
    }

    /// The quantity with its unit where that is not mg/L, as `discrepancies.csv` writes it.
    pub fn label(&self) -> String {
        let name = &self.line.name;
        match self.line.unit.as_str() {
            "meq/L" => format!("{name} meq/L"),
            "% of anion or cation meq" => format!("{name} % eq"),
            _ => name.clone(),
        }
    }
}

/// Cases that print their micronutrients once for all: where their results stand.
fn results_of(case: &str) -> &str {
    if case.starts_with("UFLA") {
        "UFLA-TOMATO-A"
    } else {
        case
    }
}

/// Every result of a case beside ours. The ratios that Steiner's list aims at count as results: its
/// salts come from another source.
pub fn figures(case: &str) -> Vec<Figure> {
    lines(results_of(case))
        .filter(|line| {
            line.kind == "result" || (line.kind == "target" && line.unit.starts_with('%'))
        })
        .filter(|line| {
            super::NOT_COMPARED
                .iter()
                .all(|not| (not.0, not.1) != (case, &line.name))
        })
        .map(|line| Figure {
            line,
            ours: ours(case, line),
        })
        .collect()
}

/// What we make of one result.
fn ours(case: &str, line: &Line) -> f64 {
    let salts = salts(case, &line.assay);
    let name = line.name.as_str();
    if let Some((nutrient, giver)) = name.split_once(" from ") {
        let giver: Vec<Salt> = salts
            .into_iter()
            .filter(|salt| salt.formula == giver || salt.name.starts_with(giver))
            .take(1)
            .collect();
        assert_eq!(giver.len(), 1, "{case} {name}");
        let row = row(&predict(case, &giver), program_key(nutrient)).clone();
        return number(&row, "/delivered") - number(&row, "/water");
    }
    if let Some(salt) = name.strip_suffix(" in feed") {
        return in_feed(case, line, salt, &salts);
    }
    let report = predict(case, &salts);
    match name {
        "HCO3 neutralized" => water_alkalinity(case) - number(&report, "/alkalinity_meq_l"),
        // N that an ounce of pure nitrogen in 100 US gallons would bring; the case doses 15 %.
        "factor" => delivered(&report, "N") / 0.15,
        _ => concentration(
            &report,
            name.split(" if ").next().unwrap_or(name),
            &line.unit,
        ),
    }
}

/// Alkalinity of a case's water, from the program: what is left where nothing is added.
fn water_alkalinity(case: &str) -> f64 {
    number(&predict(case, &[]), "/alkalinity_meq_l")
}

/// A salt counted in the finished solution: mmol/L by its cation, mg/L by its mass.
fn in_feed(case: &str, line: &Line, salt: &str, salts: &[Salt]) -> f64 {
    let named = |s: &&Salt| s.formula == salt || s.name.starts_with(salt);
    let salt = salts
        .iter()
        .find(named)
        .unwrap_or_else(|| panic!("{case} {salt}"));
    if line.unit == "mg/L" {
        return 1000.0 * salt.g_per_l(case);
    }
    let report = predict(case, std::slice::from_ref(salt));
    let cation = ["K", "Ca", "Mg"]
        .into_iter()
        .find(|key| delivered(&report, key) > 0.0);
    concentration(&report, cation.expect("a cation"), &line.unit)
}

/// A nutrient of a report in the unit of a print.
pub fn concentration(report: &Value, name: &str, unit: &str) -> f64 {
    let key = program_key(name);
    let mg_per_l = delivered(report, key);
    // "P" in a list of equivalents is PO4 3- here; lists that mean H2PO4- write so.
    let per = |unit: ConcentrationUnit| {
        let p_charge = if name == "P" { 3 } else { 1 };
        let aimed = Aimed::from_key(key).unwrap_or_else(|| panic!("{name}"));
        unit.mg_per_l(aimed, p_charge).expect("a charge")
    };
    match unit {
        "mg/L" => mg_per_l,
        "mmol/L" => mg_per_l / per(ConcentrationUnit::MmolPerL),
        "meq/L" => mg_per_l / per(ConcentrationUnit::MeqPerL),
        "% of anion or cation meq" => {
            let sides = [["NO3", "H2PO4", "SO4"], ["K", "Ca", "Mg"]];
            let side = sides
                .iter()
                .find(|side| side.contains(&name))
                .expect("an ion");
            let sum: f64 = side
                .iter()
                .map(|ion| concentration(report, ion, "meq/L"))
                .sum();
            100.0 * concentration(report, name, "meq/L") / sum
        }
        unit => panic!("{name}: {unit}"),
    }
}

/// Grams per litre of one fertilizer that bring one nutrient to its aim, by job `formulate`; every
/// other figure is left free.
pub fn g_per_l_for(salt: &Salt, nutrient: &str, mg_per_l: f64) -> f64 {
    const MOST: f64 = 1e5;
    let mut aims: Map<String, Value> = Aimed::all()
        .map(|aimed| (aimed.key().to_owned(), json!({"max": MOST})))
        .collect();
    let aim = json!({"aim": mg_per_l, "min": 0, "max": MOST});
    aims.insert(program_key(nutrient).to_owned(), aim);
    let report = answer(&json!({
        "job": "formulate", "acid": null, "recipe": {"aims": aims},
        "fertilizers": [salt.object("salt")],
    }));
    assert_eq!(report["outcome"], "within-bands", "{report}");
    grams(&report, "salt")
}
