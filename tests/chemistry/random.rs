//! No composition that a request can hold makes the solver fail.

use super::tables::of_salt;
use proptest::prelude::Rng;
use proptest::test_runner::{RngAlgorithm, TestRng};
use saltwright_fertilizers::{Composition, Nutrient};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::solids::indices;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, LOG_PCO2_AIR, Protons, Speciation, Totals, speciate,
};

/// Compositions tried, shared between two threads.
const TRIED: u32 = 100_000;
/// Most of a nutrient that a request may name, mg/L.
const MOST_MG_L: f64 = 1e5;

/// What alone is an acid or a base, and salts that stand far from neutral.
const ALONE: [&str; 18] = [
    "HNO3", "HCl", "H2SO4", "H3PO4", "H3BO3", "H4SiO4", "KOH", "NaOH", "Ca(OH)2", "Mg(OH)2",
    "NH4OH", "KHCO3", "K2CO3", "K2SiO3", "K3PO4", "NH4Cl", "CO(NH2)2", "KCl",
];

struct Random(TestRng);

impl Random {
    fn seeded(seed: u8) -> Self {
        Self(TestRng::from_seed(RngAlgorithm::ChaCha, &[seed; 32]))
    }
    /// Evenly between two numbers.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * f64::from(self.0.next_u32()) / f64::from(u32::MAX)
    }
    fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }
    /// Log-uniform from 1e-9 to 1e3.
    fn mmol_l(&mut self) -> f64 {
        10_f64.powf(self.between(-9.0, 3.0))
    }
    fn below(&mut self, count: usize) -> usize {
        self.0.next_u32() as usize % count
    }
    fn component(&mut self) -> Component {
        Component::NAMED[self.below(Component::COUNT)].0
    }

    fn totals(&mut self) -> Totals {
        match self.below(8) {
            0 => self.at_the_limits(),
            1 => {
                let mut totals = of_salt(ALONE[self.below(ALONE.len())], self.mmol_l());
                if self.chance(0.5) {
                    totals += of_salt(ALONE[self.below(ALONE.len())], self.mmol_l());
                }
                totals
            }
            // One ion only, its charge left open (or nothing at all: pure water).
            2 => {
                let mut totals = Totals::default();
                if self.chance(0.98) {
                    totals[self.component()] = self.mmol_l();
                }
                totals
            }
            _ => self.anything(),
        }
    }

    /// Nutrients at the most a request may name, or a step below, or none.
    fn at_the_limits(&mut self) -> Totals {
        let mut mg_l = Composition::ZERO;
        let share = self.between(0.0, 1.0);
        for nutrient in Nutrient::ALL {
            if self.chance(share) {
                mg_l[nutrient] = MOST_MG_L * 10_f64.powi(-i32::from(self.chance(0.3)));
            }
        }
        let mut totals = Totals::default();
        totals.add_composition(&mg_l);
        if self.chance(0.3) {
            totals[Component::Carbon] = self.mmol_l();
        }
        if self.chance(0.5) {
            totals = Totals::neutral(totals.iter());
        }
        totals
    }

    /// Up to all components, whatever charge they leave open.
    fn anything(&mut self) -> Totals {
        let share = self.between(0.0, 1.0);
        let mut totals = Totals::default();
        for (component, _) in Component::NAMED {
            if self.chance(share) {
                totals[component] = self.mmol_l();
            }
        }
        match self.below(4) {
            0 => totals.acid_meq_l = self.mmol_l(),
            1 => totals.acid_meq_l = -self.mmol_l(),
            _ => totals = Totals::neutral(totals.iter()),
        }
        totals
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Steps {
    solves: u32,
    sum: u32,
    most: u32,
}

impl Steps {
    fn count(&mut self, steps: u32) {
        self.solves += 1;
        self.sum += steps;
        self.most = self.most.max(steps);
    }
}

/// The ways a composition is solved, and from where each begins.
const WAYS: [&str; 5] = [
    "closed",
    "open",
    "pH given",
    "open, from the closed answer",
    "closed, from the answer to another composition",
];

/// Solves a random composition each way and counts the steps; hands on its closed answer.
fn solve(random: &mut Random, steps: &mut [Steps; 5], earlier: Option<&Speciation>) -> Speciation {
    let at = Conditions::at(random.between(0.0, 60.0));
    let totals = random.totals();
    let open = if random.chance(0.5) {
        Carbon::Open(LOG_PCO2_AIR)
    } else {
        Carbon::Open(random.between(-8.0, 0.0))
    };
    let ph = Protons::Ph(random.between(0.0, 14.0));
    let either = if random.chance(0.5) {
        Carbon::Closed
    } else {
        open
    };
    let mut solve = |way: usize, carbon, protons, start: Option<&Speciation>| {
        let what = || {
            let way = WAYS[way];
            format!(
                "{way} ({carbon:?} {protons:?}) at {} °C: {totals:?}",
                at.celsius
            )
        };
        let solved = speciate(&at, &totals, carbon, protons, start);
        let solved = solved.unwrap_or_else(|failed| panic!("{failed}: {}", what()));
        let fault = fault(&at, &solved);
        assert!(fault.is_none(), "{fault:?} in {}", what());
        steps[way].count(solved.iterations);
        solved
    };
    let closed = solve(0, Carbon::Closed, Protons::Balance, None);
    solve(1, open, Protons::Balance, None);
    solve(2, either, ph, None);
    solve(3, open, Protons::Balance, Some(&closed));
    solve(4, Carbon::Closed, Protons::Balance, earlier);
    closed
}

/// What of an answer is no number to report.
fn fault(at: &Conditions, solved: &Speciation) -> Option<String> {
    let ec = conductivity(at, solved);
    let figures = [
        ("pH", solved.ph),
        ("ionic strength", solved.ionic_strength_mol_kg),
        ("acid", solved.acid_meq_l),
        ("buffer", solved.buffer_mol_kg.unwrap_or(0.0)),
        ("EC", ec.us_cm),
        ("EC of the rest", ec.rest_us_cm),
    ];
    let mut figures = figures
        .into_iter()
        .map(|(name, figure)| (name.to_owned(), figure));
    let mut indices = indices(at, solved).map(|(solid, index)| (solid.name.to_owned(), index));
    figures
        .find(|(_, figure)| !figure.is_finite())
        .or_else(|| indices.find(|(_, index)| !index.is_finite()))
        .map(|(name, figure)| format!("{name} {figure}"))
        .or_else(|| (ec.us_cm <= 0.0).then(|| format!("EC {}", ec.us_cm)))
}

#[test]
fn every_composition_is_solved() {
    let steps = std::thread::scope(|scope| {
        let threads = [1, 2].map(|seed| {
            scope.spawn(move || {
                let (mut random, mut steps) = (Random::seeded(seed), [Steps::default(); 5]);
                let mut earlier = None;
                for _ in 0..TRIED / 2 {
                    earlier = Some(solve(&mut random, &mut steps, earlier.as_ref()));
                }
                steps
            })
        });
        threads.map(|thread| thread.join().expect("no panic"))
    });
    for (position, what) in WAYS.into_iter().enumerate() {
        let [one, two] = steps.map(|steps| steps[position]);
        let solves = one.solves + two.solves;
        let mean = f64::from(one.sum + two.sum) / f64::from(solves);
        let most = one.most.max(two.most);
        println!("{what}: {solves} solved, {mean:.2} steps, {most} at most");
        assert_eq!(solves, TRIED);
    }
}
