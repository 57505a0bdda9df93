//! Where a solve begins.

use super::balances::System;
use super::{Speciation, State};
use crate::chemistry::activity::Strength;
use crate::chemistry::component::Component;
use nalgebra::SVector;
use std::f64::consts::LN_10;

impl System<'_> {
    /// Begins where another answer ended.
    pub(super) fn warm(&self, start: &Speciation) -> State {
        let mut state = State {
            y: SVector::zeros(),
            strength: start.ionic_strength_mol_kg,
        };
        for j in 0..self.unknowns {
            state.y[j] = match self.components[j] {
                Some(component) => start.ln_master[component.index()],
                None => start.ln_proton,
            };
        }
        let known = state.y.iter().all(|value| value.is_finite());
        if known { state } else { self.cold() }
    }

    /// Begins at the pH of the same solution without ion pairs.
    pub(super) fn cold(&self) -> State {
        let masters = (0..self.unknowns).map(|j| {
            let charge = self.table.species[self.masters[j]].charge;
            f64::from(charge.pow(2)) * self.totals[j].abs()
        });
        let strength = 0.8 * (0.5 * masters.sum::<f64>() + self.inert_strength);
        let strength = strength.max(1e-7);
        let alone = Alone::new(self, strength);
        let ln_proton = match self.ph {
            Some(ph) => -ph * LN_10 - alone.ln_gamma_proton,
            None => alone.ln_proton(),
        };
        let mut state = State {
            y: SVector::zeros(),
            strength,
        };
        for j in 0..self.unknowns {
            state.y[j] = match self.components[j] {
                Some(component) => {
                    let share = alone.master_share(component, ln_proton);
                    (0.9 * self.totals[j] * share).max(f64::MIN_POSITIVE).ln()
                }
                None => ln_proton,
            };
        }
        state
    }
}

/// A component with its own protons only.
struct Acid {
    component: Component,
    /// mol/kg; none where the activity of the master species is fixed.
    total: Option<f64>,
    /// Protons and ln K' of every form.
    forms: Vec<(i32, f64)>,
}

/// The solution without ion pairs: each acid with its own protons only.
struct Alone {
    acids: Vec<Acid>,
    ln_water: f64,
    ln_gamma_proton: f64,
    acid: f64,
}

impl Alone {
    fn new(system: &System<'_>, strength: f64) -> Self {
        let (table, at) = (system.table, system.at);
        let strength = Strength::new(strength, &at.solvent);
        let ln_gamma = |position: usize| {
            let species = &table.species[position];
            strength.ln_gamma(species.gamma, species.charge).0
        };
        let proton = ln_gamma(table.proton);
        let mut acids = Vec::with_capacity(8);
        for (component, _) in Component::NAMED {
            let forms = &table.forms[component.index()];
            let total = system.all[component.index()];
            let open = component == Component::Carbon && system.ln_co2.is_some();
            if forms.len() < 2 || (total <= 0.0 && !open) {
                continue;
            }
            let master = ln_gamma(forms[0]);
            let forms = forms.iter().map(|position| {
                let protons = table.species[*position].protons;
                let ln_k =
                    at.ln_k[*position] + master + f64::from(protons) * proton - ln_gamma(*position);
                (protons, ln_k)
            });
            // Where the activity of CO2 is fixed, its molality is.
            let fixed = system
                .ln_co2
                .filter(|_| open)
                .map(|ln_a| (ln_a - master).exp());
            let mut forms: Vec<(i32, f64)> = forms.collect();
            if let Some(co2) = fixed {
                for (_, ln_k) in &mut forms {
                    *ln_k += co2.ln();
                }
            }
            acids.push(Acid {
                component,
                total: fixed.is_none().then_some(total),
                forms,
            });
        }
        let hydroxide = table
            .species
            .iter()
            .position(|s| s.holds.is_empty() && s.protons == -1);
        Self {
            acids,
            ln_water: hydroxide.map_or(f64::NEG_INFINITY, |oh| at.ln_k[oh] - proton - ln_gamma(oh)),
            ln_gamma_proton: proton,
            acid: system.acid_mol_kg,
        }
    }

    /// Share of a component that stays its master species.
    fn master_share(&self, component: Component, ln_proton: f64) -> f64 {
        let acid = self.acids.iter().find(|acid| acid.component == component);
        acid.map_or(1.0, |acid| 1.0 / weigh(&acid.forms, ln_proton).0)
    }

    /// ln of the molality of H+ that balances the protons, by bisection.
    fn ln_proton(&self) -> f64 {
        let (mut low, mut high) = (-14.5 * LN_10, 1.5 * LN_10);
        for _ in 0..12 {
            let middle = 0.5 * (low + high);
            if self.excess(middle) > 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Protons beyond what the totals hold, mol/kg; rises with the proton.
    fn excess(&self, ln_proton: f64) -> f64 {
        let water = ln_proton.exp() - (self.ln_water - ln_proton).exp();
        let acids = self.acids.iter().map(|acid| {
            let (sum, protons) = weigh(&acid.forms, ln_proton);
            acid.total.map_or(protons, |total| total * protons / sum)
        });
        water + acids.sum::<f64>() - self.acid
    }
}

/// Sum of the forms relative to the master, and of the protons they carry.
fn weigh(forms: &[(i32, f64)], ln_proton: f64) -> (f64, f64) {
    forms
        .iter()
        .fold((0.0, 0.0), |(sum, carried), (protons, ln_k)| {
            let share = (ln_k + f64::from(*protons) * ln_proton).exp();
            (sum + share, carried + f64::from(*protons) * share)
        })
}
