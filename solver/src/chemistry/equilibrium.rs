//! Which species there are: mass balances solved by Newton's method on log concentrations.
//!
//! Unknowns are y_j = ln m_j of every master species that forms something, of H+, and the ionic
//! strength I. At fixed I the balances are the gradient of the strictly convex
//!
//! F(y) = sum of m_s - sum of T_j y_j,   ln m_s = ln K'_s(I) + sum of nu_sj y_j,
//!
//! so that a damped step on F cannot get lost, from any start. The balance of H+ is the charge
//! balance: with the master species of [`Component`] its total is the acid added.

mod balances;
mod newton;
mod start;

use self::balances::{Point, System, UNKNOWNS};
use self::newton::Newton;
use super::activity::Strength;
use super::component::{Component, Totals};
use super::species::{Conditions, MOST};
use nalgebra::SVector;
use std::f64::consts::LN_10;

/// How closely the balances must be met, relative.
const BALANCE: f64 = 1e-11;
/// How closely the ionic strength must be met, relative and in mol/kg.
const STRENGTH: (f64, f64) = (1e-10, 1e-13);
/// Longest step in a log concentration.
const LONGEST_STEP: f64 = 4.0;
/// Iterations after which only the guarded step on F is taken.
const GUARDED_FROM: u32 = 25;
/// Iterations after which the solve is given up.
const MOST_ITERATIONS: u32 = 200;
/// What rounding may leave of a sum, relative to the size of its terms.
const ROUNDING: f64 = 1e-15;

/// What becomes of the carbon dioxide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Carbon {
    /// None escapes: right after mixing.
    Closed,
    /// In balance with air of this carbon dioxide pressure, log10 of atm.
    Open(f64),
}

/// What decides the pH.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Protons {
    /// The acid in the totals.
    Balance,
    /// A pH that is given; the acid it takes comes out.
    Ph(f64),
}

/// No balance was found; never seen, and never hidden.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the mass balances did not converge")]
pub struct NotConverged;

/// A solved solution.
#[derive(Clone, Debug)]
pub struct Speciation {
    /// -log10 of the activity of H+.
    pub ph: f64,
    /// Ionic strength, mol/kg of water.
    pub ionic_strength_mol_kg: f64,
    /// Water in a litre, kg.
    pub kg_water_l: f64,
    /// Acid in the totals that this pH stands for, meq/L.
    pub acid_meq_l: f64,
    /// Acid or base that moves the pH by one, mol/kg; none where the pH was given.
    pub buffer_mol_kg: Option<f64>,
    /// Charge of the inert rest, meq/L.
    pub rest_meq_l: f64,
    /// Newton steps taken.
    pub iterations: u32,
    molality: [f64; MOST],
    ln_gamma: [f64; MOST],
    ln_master: [f64; Component::COUNT],
    ln_proton: f64,
}

impl Speciation {
    /// Amount of a species, mmol per litre of solution, by its position in the table.
    pub fn mmol_l(&self, species: usize) -> f64 {
        1000.0 * self.kg_water_l * self.molality[species]
    }

    /// log10 of the activity of a species; minus infinity where it is absent.
    pub fn log_activity(&self, species: usize) -> f64 {
        self.molality[species].log10() + self.ln_gamma[species] / LN_10
    }
}

/// Solves a solution for its species.
///
/// `start` is any earlier answer to begin from; it changes the number of steps, not the answer.
///
/// # Errors
/// [`NotConverged`] after 200 steps.
pub fn speciate(
    at: &Conditions,
    totals: &Totals,
    carbon: Carbon,
    protons: Protons,
    start: Option<&Speciation>,
) -> Result<Speciation, NotConverged> {
    let system = System::new(at, totals, carbon, protons);
    let mut state = match start {
        Some(start) => system.warm(start),
        None => system.cold(),
    };
    // Of the step before the answer: there it has settled to far more digits than it is worth.
    let mut buffer = None;
    for iteration in 1..=MOST_ITERATIONS {
        let point = system.evaluate(&state);
        if system.is_balanced(&point, state.strength) {
            if buffer.is_none() && system.proton.is_some() {
                buffer = Newton::at(&system, &point).and_then(|newton| newton.buffer);
            }
            let found = system.finish(&state, &point, iteration);
            return Ok(Speciation {
                buffer_mol_kg: buffer,
                ..found
            });
        }
        let newton = Newton::at(&system, &point).ok_or(NotConverged)?;
        buffer = newton.buffer;
        let open = point.strength_slope(&newton);
        let longest = newton.step.amax();
        let move_strength = iteration < GUARDED_FROM && open > 0.1 && longest <= 1.0;
        if move_strength {
            let residual = state.strength - point.ionic_strength;
            let change = (-residual + point.strength_row.dot(&newton.step)) / open;
            let change = change.clamp(-0.5 * state.strength, 2.0 * state.strength);
            let step = newton.step + newton.step_per_strength * change;
            state.y += step * (LONGEST_STEP / step.amax()).min(1.0);
            state.strength += change;
        } else {
            let step = newton.step * (LONGEST_STEP / longest).min(1.0);
            state.y += step * system.shorten(&state, &step, &point);
            let found = system.evaluate(&state).ionic_strength;
            let guarded = found.clamp(0.25 * state.strength, 4.0 * state.strength);
            state.strength = 0.5 * (state.strength + guarded);
        }
    }
    Err(NotConverged)
}

/// Where the solve stands.
#[derive(Clone, Debug)]
struct State {
    y: SVector<f64, UNKNOWNS>,
    strength: f64,
}

impl System<'_> {
    fn is_balanced(&self, point: &Point, strength: f64) -> bool {
        let balances = (0..self.unknowns).all(|j| {
            let size = if self.proton == Some(j) {
                point.charges
            } else {
                self.totals[j]
            };
            point.gradient[j].abs() < BALANCE * size
        });
        let (relative, absolute) = STRENGTH;
        balances
            && (strength - point.ionic_strength).abs() < relative * point.ionic_strength + absolute
    }

    /// How much of a step lowers F enough (Armijo).
    fn shorten(&self, state: &State, step: &SVector<f64, UNKNOWNS>, point: &Point) -> f64 {
        let slope = point.gradient.dot(step);
        // What the rounding of F's terms hides cannot be told from a descent.
        let terms = self.totals.component_mul(&state.y);
        let noise = ROUNDING * (point.objective.abs() + 2.0 * terms.abs().sum());
        let mut share = 1.0;
        for _ in 0..40 {
            let tried = State {
                y: state.y + step * share,
                strength: state.strength,
            };
            let reached = self.evaluate(&tried).objective;
            if reached <= point.objective + 1e-4 * share * slope + noise {
                break;
            }
            share *= 0.5;
        }
        share
    }

    fn finish(&self, state: &State, point: &Point, iterations: u32) -> Speciation {
        let mut molality = point.molality;
        let mut ln_gamma = point.ln_gamma;
        let strength = Strength::new(state.strength, &self.at.solvent);
        for (position, amount) in &self.inert {
            let species = &self.table.species[*position];
            molality[*position] = *amount;
            ln_gamma[*position] = strength.ln_gamma(species.gamma, species.charge).0;
        }
        let proton = self.table.proton;
        let ph = self
            .ph
            .unwrap_or_else(|| -(molality[proton].log10() + ln_gamma[proton] / LN_10));
        let acid: f64 = self
            .terms
            .iter()
            .map(|term| {
                f64::from(self.table.species[term.position].protons) * molality[term.position]
            })
            .sum();
        let mut ln_master = [f64::NAN; Component::COUNT];
        for (component, _) in Component::NAMED {
            let master = self.table.forms[component.index()][0];
            if molality[master] > 0.0 {
                ln_master[component.index()] = molality[master].ln();
            }
        }
        Speciation {
            ph,
            ionic_strength_mol_kg: state.strength,
            kg_water_l: self.kg_water_l,
            acid_meq_l: match self.proton {
                Some(_) => 1000.0 * self.kg_water_l * self.acid_mol_kg,
                None => 1000.0 * self.kg_water_l * acid,
            },
            buffer_mol_kg: None,
            rest_meq_l: self.rest_meq_l,
            iterations,
            ln_proton: molality[proton].ln(),
            molality,
            ln_gamma,
            ln_master,
        }
    }
}
