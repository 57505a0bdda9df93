//! What forms in a stock: acids, bases and phosphate pairs, by mass balances.
//!
//! With activity coefficients held, the balances are the gradient of a strictly convex function,
//! so a damped Newton step cannot get lost; the coefficients then follow in an outer loop.

use super::pitzer::{Activity, Pitzer, Present};
use super::solute::Dissolved;
use super::species::{
    AMMONIA, AMMONIUM, COUNT, FORMED, Formed, MASTER, MASTERS, PHOSPHATE, PROTON,
};
use nalgebra::{SMatrix, SVector};

/// Place of the proton among the masters.
const H: usize = MASTERS - 1;
/// Place of ammonium among the masters.
const NH4: usize = MASTERS - 2;
/// Outer steps from which on only half of the way is taken.
const HALVED_FROM: usize = 9;
/// Most outer and inner steps.
const MOST_OUTER: usize = 120;
const MOST_INNER: usize = 100;
/// Longest Newton step in ln of a molality.
const LONGEST: f64 = 3.0;
/// Acid or base, mol/L, below which a stock without phosphate is not worth a pH.
const NO_ACID: f64 = 1e-6;
/// pH from which ammonia and the third phosphate are reckoned, too.
const ALKALINE_PH: f64 = 7.0;

/// The make-up of a solution.
#[derive(Clone, Debug)]
pub(super) struct Speciation {
    /// mol/kg of every species.
    pub molal: [f64; COUNT],
    /// What they do to one another.
    pub activity: Activity,
    /// `None` where nothing makes pH matter.
    pub ph: Option<f64>,
}

/// Equilibrium constants and activity model at one temperature.
#[derive(Clone, Debug)]
pub(super) struct Constants {
    pub pitzer: Pitzer,
    formed: [(Formed, f64); FORMED.len()],
}

impl Constants {
    pub fn at(celsius: f64) -> Self {
        Self {
            pitzer: Pitzer::at(celsius),
            formed: FORMED.map(|formed| (formed, formed.ln_k(celsius))),
        }
    }

    /// The solution as if nothing formed in it: one evaluation instead of many.
    pub fn unformed(&self, dissolved: &Dissolved, water: f64) -> Speciation {
        let molal = dissolved.mol.map(|mol| mol / water);
        let present = Present::of(with(&molal), &self.pitzer);
        Speciation {
            activity: self.pitzer.activity(&present, &molal),
            molal,
            ph: None,
        }
    }

    /// Works out what forms in a litre that holds `water` kilograms of water. `None` where the
    /// balances do not close.
    pub fn speciate(
        &self,
        dissolved: &Dissolved,
        water: f64,
        precision: f64,
    ) -> Option<Speciation> {
        let totals = dissolved.mol.map(|mol| mol / water);
        let acid = dissolved.acid_mol / water;
        let no_phosphate = totals[PHOSPHATE] <= 0.0;
        // A little alkalinity of the water alone is bicarbonate, for which there are no constants.
        if no_phosphate && acid < NO_ACID {
            return Some(self.unformed(dissolved, water));
        }
        let found = Solve::new(self, totals, acid, false).run(precision)?;
        if found.ph.is_some_and(|ph| ph > ALKALINE_PH) {
            return Solve::new(self, totals, acid, true).run(precision);
        }
        Some(found)
    }
}

/// Species that are there.
fn with(totals: &[f64; COUNT]) -> impl Iterator<Item = usize> + '_ {
    (0..COUNT).filter(|at| totals[*at] > 0.0)
}

struct Solve<'a> {
    constants: &'a Constants,
    /// mol/kg of what is counted, by species.
    totals: [f64; COUNT],
    /// Totals of the masters; that of the proton is the acid.
    wanted: [f64; MASTERS],
    /// Masters that take part.
    takes_part: [bool; MASTERS],
    forms: Vec<(Formed, f64)>,
    present: Present,
}

impl<'a> Solve<'a> {
    fn new(constants: &'a Constants, totals: [f64; COUNT], acid: f64, alkaline: bool) -> Self {
        let mut wanted = MASTER.map(|master| totals[master]);
        wanted[H] = acid;
        let mut takes_part = wanted.map(|total| total > 0.0);
        takes_part[H] = true;
        takes_part[NH4] &= alkaline;
        let possible = |formed: &Formed| {
            let made_of_present = formed
                .of
                .iter()
                .zip(takes_part)
                .all(|(count, there)| *count == 0 || there);
            made_of_present && (alkaline || !formed.alkaline)
        };
        let forms: Vec<(Formed, f64)> = constants
            .formed
            .iter()
            .filter(|(formed, _)| possible(formed))
            .copied()
            .collect();
        let places = forms.iter().map(|(formed, _)| formed.place);
        let all = with(&totals).chain([PROTON]).chain(places);
        let present = Present::of(all, &constants.pitzer);
        Self {
            constants,
            totals,
            wanted,
            takes_part,
            forms,
            present,
        }
    }

    fn run(&self, precision: f64) -> Option<Speciation> {
        let mut molal = self.totals;
        let mut y = self.start();
        molal[PROTON] = y[H].exp();
        let mut activity = self.constants.pitzer.activity(&self.present, &molal);
        for step in 1..=MOST_OUTER {
            let ln_k = self.held(&activity);
            y = self.balance(y, &ln_k)?;
            molal = self.molalities(&y, &ln_k);
            let mut next = self.constants.pitzer.activity(&self.present, &molal);
            let moved = self
                .present
                .iter()
                .map(|at| (next.ln_gamma[at] - activity.ln_gamma[at]).abs())
                .fold(0.0, f64::max);
            if !moved.is_finite() {
                return None;
            }
            if moved < precision {
                let ph = -(y[H] + next.ln_gamma[PROTON]) / std::f64::consts::LN_10;
                return Some(Speciation {
                    molal,
                    activity: next,
                    ph: Some(ph),
                });
            }
            if step >= HALVED_FROM {
                for (new, old) in next.ln_gamma.iter_mut().zip(activity.ln_gamma) {
                    *new = 0.5 * (*new + old);
                }
            }
            activity = next;
        }
        None
    }

    /// ln of the masters' molalities to start from.
    fn start(&self) -> [f64; MASTERS] {
        let acid = self.wanted[H];
        let phosphate = self.totals[PHOSPHATE];
        let proton = if acid > 0.0 {
            0.5 * acid
        } else if phosphate > 0.0 {
            // Half-neutralised phosphate lies near pH 7.2, less in salt.
            let second = (-acid / phosphate).clamp(1e-3, 0.999);
            10_f64.powf(-6.5) * (1.0 - second) / second
        } else {
            1e-14 / (-acid).max(1e-7)
        };
        let mut y = self.wanted.map(|total| (0.9 * total.max(1e-12)).ln());
        y[H] = proton.clamp(1e-13, 20.0).ln();
        y
    }

    /// ln K of the formed species in molalities, with activities held.
    fn held(&self, activity: &Activity) -> Vec<f64> {
        let gammas = MASTER.map(|master| activity.ln_gamma[master]);
        self.forms
            .iter()
            .map(|(formed, ln_k)| {
                let masters: f64 = formed
                    .of
                    .iter()
                    .zip(gammas)
                    .map(|(count, gamma)| f64::from(*count) * gamma)
                    .sum();
                ln_k + masters + f64::from(formed.water) * activity.ln_water
                    - activity.ln_gamma[formed.place]
            })
            .collect()
    }

    fn formed<'b>(
        &'b self,
        y: &'b [f64; MASTERS],
        ln_k: &'b [f64],
    ) -> impl Iterator<Item = (&'b Formed, f64)> {
        self.forms.iter().zip(ln_k).map(move |((formed, _), ln_k)| {
            let sum: f64 = formed
                .of
                .iter()
                .zip(y)
                .map(|(count, y)| f64::from(*count) * y)
                .sum();
            // Beyond e^50 mol/kg nothing is told apart any more.
            (formed, (ln_k + sum).min(50.0).exp())
        })
    }

    fn molalities(&self, y: &[f64; MASTERS], ln_k: &[f64]) -> [f64; COUNT] {
        let mut molal = self.totals;
        for (at, master) in MASTER.into_iter().enumerate() {
            if self.takes_part[at] {
                molal[master] = y[at].exp();
            }
        }
        for (formed, amount) in self.formed(y, ln_k) {
            molal[formed.place] = amount;
        }
        if !self.takes_part[NH4] {
            molal[AMMONIUM] = self.totals[AMMONIUM];
            molal[AMMONIA] = 0.0;
        }
        molal
    }

    /// F(y) = sum of molalities less T y, its gradient and its second derivatives.
    fn sums(&self, y: &[f64; MASTERS], ln_k: &[f64]) -> Sums {
        let mut sums = Sums::default();
        for (at, y) in y.iter().enumerate() {
            if self.takes_part[at] {
                let amount = y.exp();
                sums.value += amount - self.wanted[at] * y;
                sums.gradient[at] += amount - self.wanted[at];
                sums.size[at] += amount;
                sums.curve[at][at] += amount;
            } else {
                sums.curve[at][at] = 1.0;
            }
        }
        for (formed, amount) in self.formed(y, ln_k) {
            sums.value += amount;
            for (at, count) in formed.of.iter().enumerate() {
                if *count == 0 {
                    continue;
                }
                let count = f64::from(*count);
                sums.gradient[at] += count * amount;
                sums.size[at] += count.abs() * amount;
                for (to, other) in formed.of.iter().enumerate() {
                    sums.curve[at][to] += count * f64::from(*other) * amount;
                }
            }
        }
        sums
    }

    /// Newton's steps until the balances close.
    fn balance(&self, mut y: [f64; MASTERS], ln_k: &[f64]) -> Option<[f64; MASTERS]> {
        const CLOSED: f64 = 1e-11;
        let mut sums = self.sums(&y, ln_k);
        for _ in 0..MOST_INNER {
            let closed = (0..MASTERS).all(|at| {
                let scale = sums.size[at].max(self.wanted[at].abs());
                !self.takes_part[at] || sums.gradient[at].abs() <= CLOSED * scale
            });
            if closed {
                return Some(y);
            }
            let step = solve(&sums.curve, sums.gradient.map(|g| -g))?;
            let longest = step.iter().fold(0.0_f64, |most, dy| most.max(dy.abs()));
            if !longest.is_finite() {
                return None;
            }
            let mut share = if longest > LONGEST {
                LONGEST / longest
            } else {
                1.0
            };
            let fall: f64 = step.iter().zip(sums.gradient).map(|(dy, g)| dy * g).sum();
            loop {
                let mut tried = y;
                for (y, dy) in tried.iter_mut().zip(step) {
                    *y += share * dy;
                }
                let next = self.sums(&tried, ln_k);
                let enough = sums.value + 1e-4 * share * fall + 1e-13 * sums.value.abs();
                if next.value <= enough || share < 1e-6 {
                    y = tried;
                    sums = next;
                    break;
                }
                share *= 0.5;
            }
        }
        None
    }
}

#[derive(Default)]
struct Sums {
    value: f64,
    gradient: [f64; MASTERS],
    /// Sum of the sizes of what the gradient adds up, for judging it.
    size: [f64; MASTERS],
    curve: [[f64; MASTERS]; MASTERS],
}

/// A symmetric positive system by Cholesky, scaled on its diagonal.
fn solve(matrix: &[[f64; MASTERS]; MASTERS], right: [f64; MASTERS]) -> Option<[f64; MASTERS]> {
    /// Keeps the scaled matrix positive where rounding would not.
    const FLOOR: f64 = 1e-14;
    let mut scale = [0.0; MASTERS];
    for (at, scale) in scale.iter_mut().enumerate() {
        *scale = 1.0 / matrix[at][at].sqrt();
    }
    let scaled = SMatrix::<f64, MASTERS, MASTERS>::from_fn(|at, to| {
        let floor = if at == to { FLOOR } else { 0.0 };
        matrix[at][to] * scale[at] * scale[to] + floor
    });
    let right = SVector::<f64, MASTERS>::from_fn(|at, _| right[at] * scale[at]);
    let solved = scaled.cholesky()?.solve(&right);
    let mut x = [0.0; MASTERS];
    for (at, x) in x.iter_mut().enumerate() {
        *x = solved[at] * scale[at];
    }
    x.iter().all(|x| x.is_finite()).then_some(x)
}
