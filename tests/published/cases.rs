//! The published cases of `tests/data/worked.csv`, turned into requests.
//!
//! In: rows of printed salts, stocks, waters and results.  Out: the rows of a case, and the request
//! that predicts from them. [`salts`](super::salts) reads what is weighed,
//! [`figures`](super::figures) holds each printed figure beside ours.

use super::salts::Salt;
use crate::common::answer;
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

/// Where a source can be found.
#[derive(Clone, Debug, Deserialize)]
pub struct Source {
    pub source_id: String,
    pub citation: String,
}

pub static WORKED: LazyLock<Vec<Line>> = LazyLock::new(|| read(include_str!("../data/worked.csv")));
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
