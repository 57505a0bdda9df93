//! Solutions of other programs, compared figure by figure.
//!
//! `anchors.csv` and `worked_solutions.csv`: totals and the answers of a reference model written
//! apart from this program (suffix `r`) and of PHREEQC (USGS, public domain) 3.7.3 and 3.8.6, each
//! with its own constants and with those of this program laid over it (suffix `r` behind the
//! version). Which column is worth what: `tests/data/chemistry/SOURCES.md`.

use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::solids::indices;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, Protons, Speciation, Totals, speciate,
};
use std::collections::BTreeMap;

pub type Row = BTreeMap<String, String>;

/// The rows of a table, by column.
pub fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect()
}

/// A number of a row; none where the cell is empty.
pub fn number(row: &Row, column: &str) -> Option<f64> {
    row.get(column)?.parse().ok()
}

/// A solution, closed and open.
pub struct Solved {
    pub closed: Speciation,
    pub open: Speciation,
    pub ec_ms_cm: f64,
    pub indices: Vec<(&'static str, f64)>,
}

pub fn solve(totals: &Totals, celsius: f64) -> Solved {
    let at = Conditions::at(celsius);
    let closed = speciate(&at, totals, Carbon::Closed, Protons::Balance, None).expect("closed");
    let open = speciate(
        &at,
        totals,
        Carbon::Open(-3.38),
        Protons::Balance,
        Some(&closed),
    );
    Solved {
        ec_ms_cm: conductivity(&at, &closed).us_cm / 1000.0,
        indices: indices(&at, &closed)
            .map(|(solid, index)| (solid.id, index))
            .collect(),
        closed,
        open: open.expect("open"),
    }
}

/// The anchors' totals stand in columns, those of the worked solutions in one cell.
fn totals(row: &Row) -> Totals {
    let mut parts: Vec<(Component, f64)> = Vec::new();
    for (component, name) in Component::NAMED {
        parts.extend(number(row, &format!("{name}_mmol_l")).map(|mmol| (component, mmol)));
    }
    if let Some(list) = row.get("totals_mmol_l") {
        for part in list.split(';') {
            let (name, mmol) = part.split_once('=').expect("name=amount");
            let component = Component::from_name(name).expect(name);
            parts.push((component, mmol.parse().expect("a number")));
        }
        parts.extend(number(row, "dic_mmol_l_r").map(|mmol| (Component::Carbon, mmol)));
    }
    Totals::neutral(parts)
}

/// Largest and mean differences of a column.
#[derive(Default)]
pub struct Spread {
    pub n: usize,
    sum: f64,
    pub max: f64,
    worst: String,
}

impl Spread {
    pub fn add(&mut self, off: f64, case: &str) {
        self.n += 1;
        self.sum += off.abs();
        if off.abs() > self.max {
            self.max = off.abs();
            self.worst = case.to_owned();
        }
    }
    pub fn mean(&self) -> f64 {
        self.sum / self.n as f64
    }
    pub fn line(&self, what: &str, unit: &str) -> String {
        format!(
            "{what:<58} {:>4}  {:.4} / {:.4} {unit}  ({})",
            self.n,
            self.mean(),
            self.max,
            self.worst
        )
    }
}

#[test]
fn the_reference_model_and_the_geochemical_code() {
    let files = [
        ("anchors", include_str!("../data/chemistry/anchors.csv")),
        (
            "worked",
            include_str!("../data/chemistry/worked_solutions.csv"),
        ),
    ];
    let mut spreads: BTreeMap<String, Spread> = BTreeMap::new();
    for (file, text) in files {
        for row in rows(text) {
            let case = &row["case_id"];
            let solved = solve(&totals(&row), number(&row, "temp_c").unwrap_or(25.0));
            let mut compare = |column: &str, ours: f64, relative: bool| {
                for suffix in ["r", "386", "373", "386r", "373r"] {
                    let Some(theirs) = number(&row, &format!("{column}_{suffix}")) else {
                        continue;
                    };
                    let off = if relative {
                        100.0 * (ours / theirs - 1.0)
                    } else {
                        ours - theirs
                    };
                    spreads
                        .entry(format!("{file} {column} {suffix}"))
                        .or_default()
                        .add(off, case);
                }
            };
            compare("ph_closed", solved.closed.ph, false);
            compare("ph_open", solved.open.ph, false);
            compare("ec25_ms_cm", solved.ec_ms_cm, true);
            compare("ionic_strength", solved.closed.ionic_strength_mol_kg, true);
            for (id, index) in &solved.indices {
                compare(&format!("si_{id}"), *index, false);
            }
            let buffer = number(&row, "buffer_mol_kg_ph").expect("buffer");
            let ours = solved.closed.buffer_mol_kg.expect("buffer");
            spreads
                .entry(format!("{file} buffer"))
                .or_default()
                .add(100.0 * (ours / buffer - 1.0), case);
        }
    }
    for (what, spread) in &spreads {
        println!("{}", spread.line(what, ""));
    }
}
