//! Which species there are: mass balances solved by Newton's method on log concentrations.
//!
//! Unknowns are y_j = ln m_j of every master species that forms something, of H+, and the ionic
//! strength I. At fixed I the balances are the gradient of the strictly convex
//!
//! F(y) = sum of m_s - sum of T_j y_j,   ln m_s = ln K'_s(I) + sum of nu_sj y_j,
//!
//! so that a damped step on F cannot get lost, from any start. The balance of H+ is the charge
//! balance: with the master species of [`Component`] its total is the acid added.

use super::activity::Strength;
use super::component::{Component, Totals};
use super::species::{Conditions, MOST, Table};
use nalgebra::{Cholesky, Const, SMatrix, SVector};
use std::f64::consts::LN_10;

/// Most unknowns: every component that forms something, and H+.
const UNKNOWNS: usize = 16;
/// Totals below this, mmol/L, are dust of the computing.
const DUST_MMOL_L: f64 = 1e-15;
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
/// Water that the salts leave in a litre at least, kg; only absurd totals come near it.
const LEAST_WATER_KG_L: f64 = 0.05;
/// Water displaced by a mmol/L of ions, kg/L (mean partial molar volume of about 20 mL/mol).
const DISPLACED_KG_L: f64 = 2.0e-5;

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
    for iteration in 1..=MOST_ITERATIONS {
        let point = system.evaluate(&state);
        if system.is_balanced(&point, state.strength) {
            return Ok(system.finish(&state, &point, iteration));
        }
        let newton = Newton::at(&system, &point).ok_or(NotConverged)?;
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

/// A species that moves with the unknowns.
#[derive(Clone, Copy, Debug)]
struct Term {
    position: usize,
    /// ln K with the activities that are fixed.
    ln_k: f64,
    z2: f64,
    /// Unknowns it is made of and how many of each.
    parts: [(usize, f64); 3],
    count: usize,
}

impl Term {
    fn parts(&self) -> &[(usize, f64)] {
        &self.parts[..self.count]
    }
}

/// The balances of one solution.
struct System<'a> {
    at: &'a Conditions,
    table: &'static Table,
    terms: Vec<Term>,
    /// Master species of every unknown, by position in the table.
    masters: [usize; UNKNOWNS],
    components: [Option<Component>; UNKNOWNS],
    unknowns: usize,
    /// Totals, mol/kg.
    totals: SVector<f64, UNKNOWNS>,
    /// The unknown that is H+; none where the pH is given.
    proton: Option<usize>,
    ph: Option<f64>,
    ln_co2: Option<f64>,
    inert: Vec<(usize, f64)>,
    /// Ionic strength of what moves with nothing, mol/kg.
    inert_strength: f64,
    kg_water_l: f64,
    acid_mol_kg: f64,
    rest_meq_l: f64,
    /// Carbon that the totals name, mol/kg: where the open solve may start.
    all: [f64; Component::COUNT],
}

/// Everything a step needs, at one state.
struct Point {
    molality: [f64; MOST],
    kappa: [f64; MOST],
    ln_gamma: [f64; MOST],
    gradient: SVector<f64, UNKNOWNS>,
    ionic_strength: f64,
    charges: f64,
    objective: f64,
    hessian: SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    kappa_row: SVector<f64, UNKNOWNS>,
    strength_row: SVector<f64, UNKNOWNS>,
    kappa_strength: f64,
}

impl Point {
    /// Slope of the ionic strength's residual along the Newton path.
    fn strength_slope(&self, newton: &Newton) -> f64 {
        1.0 - self.kappa_strength - self.strength_row.dot(&newton.step_per_strength)
    }
}

/// The Newton step at fixed ionic strength, and how it moves with it.
struct Newton {
    step: SVector<f64, UNKNOWNS>,
    step_per_strength: SVector<f64, UNKNOWNS>,
}

type Factor = Cholesky<f64, Const<UNKNOWNS>>;

impl Newton {
    fn at(system: &System<'_>, point: &Point) -> Option<Self> {
        let (factor, scale) = factorise(&point.hessian, system.unknowns)?;
        let mut sides = SMatrix::<f64, UNKNOWNS, 2>::zeros();
        sides.set_column(0, &-point.gradient.component_mul(&scale));
        sides.set_column(1, &-point.kappa_row.component_mul(&scale));
        factor.solve_mut(&mut sides);
        let step = sides.column(0).component_mul(&scale);
        let finite = step.iter().all(|value| value.is_finite());
        finite.then(|| Self {
            step,
            step_per_strength: sides.column(1).component_mul(&scale),
        })
    }
}

/// Cholesky factor of the scaled Hessian with the scale it took, unknowns that are not there
/// standing apart.
fn factorise(
    hessian: &SMatrix<f64, UNKNOWNS, UNKNOWNS>,
    unknowns: usize,
) -> Option<(Factor, SVector<f64, UNKNOWNS>)> {
    let mut scale = SVector::<f64, UNKNOWNS>::from_element(1.0);
    for j in 0..unknowns {
        scale[j] = 1.0 / hessian[(j, j)].max(f64::MIN_POSITIVE).sqrt();
    }
    let mut ridge = 1e-14;
    while ridge < 1.0 {
        let mut scaled = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::identity();
        for j in 0..unknowns {
            for i in j..unknowns {
                scaled[(i, j)] = hessian[(i, j)] * scale[i] * scale[j];
            }
            scaled[(j, j)] += ridge;
        }
        if let Some(factor) = Cholesky::new(scaled) {
            return Some((factor, scale));
        }
        ridge *= 100.0;
    }
    None
}

impl<'a> System<'a> {
    fn new(at: &'a Conditions, totals: &Totals, carbon: Carbon, protons: Protons) -> Self {
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

    /// Begins where another answer ended.
    fn warm(&self, start: &Speciation) -> State {
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
    fn cold(&self) -> State {
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

    fn evaluate(&self, state: &State) -> Point {
        let (ln_gamma, slope) = self.coefficients(state.strength);
        let mut point = Point {
            molality: [0.0; MOST],
            kappa: [0.0; MOST],
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
            point.kappa[term.position] = kappa;
            point.objective += m;
            point.ionic_strength += 0.5 * term.z2 * m;
            point.charges += term.z2.sqrt() * m;
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
            buffer_mol_kg: self.buffer(point),
            rest_meq_l: self.rest_meq_l,
            iterations,
            ln_proton: molality[proton].ln(),
            molality,
            ln_gamma,
            ln_master,
        }
    }

    /// ln 10 times the Schur complement of H+ in the Hessian: acid that moves the pH by one while
    /// all totals stay, mol/kg.
    fn buffer(&self, point: &Point) -> Option<f64> {
        let proton = self.proton?;
        let (factor, scale) = factorise(&point.hessian, self.unknowns)?;
        // H+ is the last unknown: its pivot is the complement.
        let pivot = factor.l_dirty()[(proton, proton)] / scale[proton];
        Some(LN_10 * pivot * pivot)
    }
}

/// The solution without ion pairs: each acid with its own protons only.
struct Alone {
    /// Total (or none where the master's activity is fixed), and forms as protons and ln K'.
    acids: Vec<(Component, Option<f64>, Vec<(i32, f64)>)>,
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
            acids.push((component, fixed.is_none().then_some(total), forms));
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
        let acid = self.acids.iter().find(|(known, ..)| *known == component);
        acid.map_or(1.0, |(_, _, forms)| 1.0 / weigh(forms, ln_proton).0)
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
        let acids = self.acids.iter().map(|(_, total, forms)| {
            let (sum, protons) = weigh(forms, ln_proton);
            total.map_or(protons, |total| total * protons / sum)
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
