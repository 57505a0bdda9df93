//! A solution ion by ion: what each conducts, in which form the phosphorus is, what holds the pH.

use crate::chemistry::conductivity::Conductivity;
use crate::chemistry::species::Table;
use crate::chemistry::{Component, Speciation};
use schemars::JsonSchema;
use serde::Serialize;

/// Least amount of a species that is listed, mmol/L, and least share of EC, percent.
const LISTED: (f64, f64) = (1e-6, 1e-4);

/// A solution ion by ion.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Detail {
    /// Every species, largest share of EC first.
    pub ions: Vec<IonRow>,
    /// In which form the phosphorus is, by protons.
    pub phosphate: Option<Phosphate>,
    /// Acid or base that moves the pH by one, mmol/L.
    pub buffer_mmol_l: Option<f64>,
}

/// One species, at 25 °C, right after mixing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IonRow {
    /// As a chemist writes it.
    pub ion: &'static str,
    /// Amount, mmol/L.
    pub mmol_l: f64,
    /// Its share of the EC, percent.
    pub ec_share_pct: f64,
}

/// Forms of phosphorus, percent of all of it, ion pairs counted with their phosphate.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Phosphate {
    /// H3PO4.
    pub h3po4_pct: f64,
    /// H2PO4-, the form that roots take up most readily.
    pub h2po4_pct: f64,
    /// HPO4 2-.
    pub hpo4_pct: f64,
    /// PO4 3-.
    pub po4_pct: f64,
}

impl Detail {
    /// Of a solution at 25 °C, right after mixing.
    pub fn of(closed: &Speciation, conducted: &Conductivity) -> Self {
        let table = Table::shipped();
        let share = |us_cm: f64| 100.0 * us_cm / conducted.us_cm;
        let (least, least_share) = LISTED;
        let mut ions: Vec<IonRow> = table
            .species
            .iter()
            .enumerate()
            .map(|(position, species)| IonRow {
                ion: &species.name,
                mmol_l: closed.mmol_l(position),
                ec_share_pct: share(conducted.of_species(position)),
            })
            .filter(|row| row.mmol_l >= least || row.ec_share_pct >= least_share)
            .collect();
        let rest = closed.rest_meq_l;
        if rest.abs() >= least {
            ions.push(IonRow {
                ion: if rest > 0.0 {
                    "open charge +"
                } else {
                    "open charge -"
                },
                mmol_l: rest.abs(),
                ec_share_pct: share(conducted.rest_us_cm),
            });
        }
        ions.sort_by(|a, b| {
            let by_share = b.ec_share_pct.total_cmp(&a.ec_share_pct);
            by_share.then_with(|| b.mmol_l.total_cmp(&a.mmol_l))
        });
        Self {
            ions,
            phosphate: phosphate(closed),
            buffer_mmol_l: closed
                .buffer_mol_kg
                .map(|buffer| 1000.0 * buffer * closed.kg_water_l),
        }
    }
}

/// Phosphorus by the protons that its phosphate carries.
fn phosphate(closed: &Speciation) -> Option<Phosphate> {
    let table = Table::shipped();
    let with = |protons: i32| {
        let species = table
            .species
            .iter()
            .enumerate()
            .filter(move |(_, species)| {
                species.holds.contains(&Component::Phosphate) && species.protons == protons
            });
        species
            .map(|(position, _)| closed.mmol_l(position))
            .sum::<f64>()
    };
    let forms = [1, 0, -1, -2].map(with);
    let all: f64 = forms.iter().sum();
    let [h3po4_pct, h2po4_pct, hpo4_pct, po4_pct] = forms.map(|mmol| 100.0 * mmol / all);
    (all > 0.0).then_some(Phosphate {
        h3po4_pct,
        h2po4_pct,
        hpo4_pct,
        po4_pct,
    })
}
