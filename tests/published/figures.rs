//! The figures of the published cases: each as printed beside ours.

use super::cases::{Line, lines, predict, program_key};
use super::salts::{Salt, salts};
use crate::common::{answer, delivered, grams, number, row};
use saltwright_fertilizers::Aimed;
use saltwright_recipes::ConcentrationUnit;
use serde_json::{Map, Value, json};

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
