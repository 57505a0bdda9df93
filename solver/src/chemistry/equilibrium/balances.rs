//! The balances of one solution: what is there, what it forms, and how far a state is from
//! meeting them.

use super::{Carbon, Protons, State};
use crate::chemistry::activity::Strength;
use crate::chemistry::component::{Component, Totals};
use crate::chemistry::species::{Conditions, MOST, Table};
use nalgebra::{SMatrix, SVector};
use std::f64::consts::LN_10;

/// Most unknowns: every component that forms something, and H+.
pub(super) const UNKNOWNS: usize = 16;
/// Totals below this, mmol/L, are dust of the computing.
const DUST_MMOL_L: f64 = 1e-15;
/// Water that the salts leave in a litre at least, kg; only absurd totals come near it.
const LEAST_WATER_KG_L: f64 = 0.05;
/// Water displaced by a mmol/L of ions, kg/L (mean partial molar volume of about 20 mL/mol).
const DISPLACED_KG_L: f64 = 2.0e-5;

/// A species that moves with the unknowns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Term {
    pub position: usize,
    /// ln K with the activities that are fixed.
    pub ln_k: f64,
    /// Size of its charge.
    pub charge: f64,
    pub z2: f64,
    /// Unknowns it is made of and how many of each.
    pub parts: [(usize, f64); 3],
    pub count: usize,
}

impl Term {
    pub(super) fn parts(&self) -> &[(usize, f64)] {
        &self.parts[..self.count]
    }
}

/// The balances of one solution.
pub(super) struct System<'a> {
    pub at: &'a Conditions,
    pub table: &'static Table,
    pub terms: Vec<Term>,
    /// Master species of every unknown, by position in the table.
    pub masters: [usize; UNKNOWNS],
    pub components: [Option<Component>; UNKNOWNS],
    pub unknowns: usize,
    /// Totals, mol/kg.
    pub totals: SVector<f64, UNKNOWNS>,
    /// The unknown that is H+; none where the pH is given.
    pub proton: Option<usize>,
    pub ph: Option<f64>,
    pub ln_co2: Option<f64>,
    pub inert: Vec<(usize, f64)>,
    /// Ionic strength of what moves with nothing, mol/kg.
    pub inert_strength: f64,
    pub kg_water_l: f64,
    pub acid_mol_kg: f64,
    pub rest_meq_l: f64,
    /// Every total by component, mol/kg: carbon too, where the air decides on it.
    pub all: [f64; Component::COUNT],
}

/// Everything a step needs, at one state.
pub(super) struct Point {
    pub molality: [f64; MOST],
    pub ln_gamma: [f64; MOST],
    pub gradient: SVector<f64, UNKNOWNS>,
    pub ionic_strength: f64,
    pub charges: f64,
    pub objective: f64,
    pub hessian: SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    pub kappa_row: SVector<f64, UNKNOWNS>,
    pub strength_row: SVector<f64, UNKNOWNS>,
    pub kappa_strength: f64,
}

impl<'a> System<'a> {
    pub(super) fn new(
        at: &'a Conditions,
        totals: &Totals,
        carbon: Carbon,
        protons: Protons,
    ) -> Self {
        let table = Table::shipped();
        let displaced: f64 = totals.iter().map(|(_, mmol)| mmol).sum();
        let water = at.solvent.density_kg_l - DISPLACED_KG_L * displaced;
        let kg_water_l = water.max(LEAST_WATER_KG_L);
        let per_kg = 1.0 / (1000.0 * kg_water_l);
        let rest_meq_l = totals.rest_meq_l();
        let mut system = Self {
            at,
            table,
            terms: Vec::with_capacity(MOST),
            masters: [table.proton; UNKNOWNS],
            components: [None; UNKNOWNS],
            unknowns: 0,
            totals: SVector::zeros(),
            proton: None,
            ph: match protons {
                Protons::Ph(ph) => Some(ph),
                Protons::Balance => None,
            },
            ln_co2: match carbon {
                Carbon::Open(log_pco2) => Some(LN_10 * (log_pco2 + at.log_k_henry)),
                Carbon::Closed => None,
            },
            inert: Vec::with_capacity(Component::COUNT),
            inert_strength: 0.5 * rest_meq_l.abs() * per_kg,
            kg_water_l,
            acid_mol_kg: totals.acid_meq_l * per_kg,
            rest_meq_l,
            all: [0.0; Component::COUNT],
        };
        let mut unknown_of = [None; Component::COUNT];
        let mut present = [false; Component::COUNT];
        for (component, mmol) in totals.iter() {
            let (index, molal) = (component.index(), mmol * per_kg);
            system.all[index] = molal;
            if component == Component::Carbon && system.ln_co2.is_some() {
                present[index] = true;
            } else if mmol > DUST_MMOL_L && table.inert[index] {
                let z2 = f64::from(component.charge().pow(2));
                system.inert.push((table.forms[index][0], molal));
                system.inert_strength += 0.5 * z2 * molal;
            } else if mmol > DUST_MMOL_L {
                present[index] = true;
                unknown_of[index] = Some(system.unknowns);
                system.add_unknown(table.forms[index][0], Some(component), molal);
            }
        }
        if system.ph.is_none() {
            system.proton = Some(system.unknowns);
            system.add_unknown(table.proton, None, system.acid_mol_kg);
        }
        system.collect_terms(&present, &unknown_of);
        system
    }

    fn add_unknown(&mut self, master: usize, component: Option<Component>, total: f64) {
        let position = self.unknowns;
        self.masters[position] = master;
        self.components[position] = component;
        self.totals[position] = total;
        self.unknowns += 1;
    }

    /// The species that the present components form.
    fn collect_terms(
        &mut self,
        present: &[bool; Component::COUNT],
        unknown_of: &[Option<usize>; Component::COUNT],
    ) {
        for (position, species) in self.table.species.iter().enumerate() {
            let is_here = species.holds.iter().all(|c| present[c.index()]);
            if !is_here {
                continue;
            }
            let mut term = Term {
                position,
                ln_k: self.at.ln_k[position],
                charge: f64::from(species.charge.abs()),
                z2: f64::from(species.charge.pow(2)),
                parts: [(0, 0.0); 3],
                count: 0,
            };
            for component in &species.holds {
                match unknown_of[component.index()] {
                    Some(unknown) => {
                        term.parts[term.count] = (unknown, 1.0);
                        term.count += 1;
                    }
                    None => term.ln_k += self.ln_co2.unwrap_or(0.0),
                }
            }
            // Rising order, so that products of unknowns land in the lower triangle.
            term.parts[..term.count].sort_unstable_by_key(|(unknown, _)| *unknown);
            let protons = f64::from(species.protons);
            match (self.proton, self.ph) {
                (Some(unknown), _) if species.protons != 0 => {
                    term.parts[term.count] = (unknown, protons);
                    term.count += 1;
                }
                (None, Some(ph)) => term.ln_k -= protons * ph * LN_10,
                _ => {}
            }
            self.terms.push(term);
        }
    }

    /// ln of activity coefficients and their slopes, for all species that move.
    fn coefficients(&self, strength: f64) -> ([f64; MOST], [f64; MOST]) {
        let strength = Strength::new(strength, &self.at.solvent);
        let (mut ln_gamma, mut slope) = ([0.0; MOST], [0.0; MOST]);
        for term in &self.terms {
            let species = &self.table.species[term.position];
            (ln_gamma[term.position], slope[term.position]) =
                strength.ln_gamma(species.gamma, species.charge);
        }
        (ln_gamma, slope)
    }

    pub(super) fn evaluate(&self, state: &State) -> Point {
        let (ln_gamma, slope) = self.coefficients(state.strength);
        let mut point = Point {
            molality: [0.0; MOST],
            ln_gamma,
            gradient: -self.totals,
            ionic_strength: self.inert_strength,
            charges: self.rest_meq_l.abs() / (1000.0 * self.kg_water_l),
            objective: -self.totals.dot(&state.y),
            hessian: SMatrix::zeros(),
            kappa_row: SVector::zeros(),
            strength_row: SVector::zeros(),
            kappa_strength: 0.0,
        };
        for (position, molality) in &self.inert {
            let charge = self.table.species[*position].charge.abs();
            point.charges += f64::from(charge) * molality;
        }
        for term in &self.terms {
            let mut ln_m = term.ln_k - ln_gamma[term.position];
            let mut kappa = -slope[term.position];
            for (unknown, count) in term.parts() {
                let master = self.masters[*unknown];
                ln_m += count * (state.y[*unknown] + ln_gamma[master]);
                kappa += count * slope[master];
            }
            let m = ln_m.exp();
            point.molality[term.position] = m;
            point.objective += m;
            point.ionic_strength += 0.5 * term.z2 * m;
            point.charges += term.charge * m;
            point.kappa_strength += 0.5 * term.z2 * m * kappa;
            for (i, (row, count)) in term.parts().iter().enumerate() {
                let weighted = count * m;
                point.gradient[*row] += weighted;
                point.kappa_row[*row] += weighted * kappa;
                point.strength_row[*row] += 0.5 * term.z2 * weighted;
                for (column, other) in &term.parts()[..=i] {
                    point.hessian[(*row, *column)] += weighted * other;
                }
            }
        }
        point
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The workspaces are of fixed size: the shipped tables fit.
    #[test]
    fn the_tables_fit_the_workspaces() {
        let table = Table::shipped();
        let forming = table.inert.iter().filter(|inert| !**inert).count();
        assert!(forming < UNKNOWNS, "{forming} components and H+");
        assert!(table.species.len() < MOST);
        for species in &table.species {
            let parts = species.holds.len() + usize::from(species.protons != 0);
            assert!(parts <= 3, "{}", species.name);
        }
    }
}
