//! Activity in strong solutions: the ion interaction equations of Pitzer.
//!
//! In: molalities.  Out: ln of activity coefficients and of the activity of water.
//!
//! Equations: Pitzer (1991), Activity Coefficients in Electrolyte Solutions, 2nd ed., ch. 3, with
//! the higher-order electrostatic terms in the form J(x) = x/(4 + 4.581 x^-0.7237
//! exp(-0.0120 x^0.528)) of Pitzer (1975). Parameters and their sources: `data/pitzer.csv`.

use super::species::{ANIONS, CATIONS, CHARGES, COUNT, UREA, place};
use super::table::rows;
use serde::Deserialize;
use std::f64::consts::LN_10;
use std::sync::LazyLock;

/// The constant b of the model, (kg/mol)^1/2.
const B: f64 = 1.2;
/// ln g of a neutral species per mol/kg of ionic strength, over ln 10: a guess, as in common
/// databases. Urea has none.
const NEUTRAL: f64 = 0.1;
/// Mass of a mole of water, kg.
const WATER_KG_PER_MOL: f64 = 0.018_015_3;
/// Exponent of the second term between two doubly charged ions, and of the third.
const ALPHA_22: f64 = 1.4;
const ALPHA_1: f64 = 2.0;
const ALPHA_2: f64 = 12.0;
/// Kelvin at 25 °C.
const T25: f64 = 298.15;

/// One row of the parameter table; `k` is empty for pairs.
#[derive(Debug, Deserialize)]
struct Row {
    kind: Kind,
    i: String,
    j: String,
    k: String,
    a0: f64,
    a1: f64,
    a2: f64,
    a3: f64,
    a4: f64,
    a5: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    B0,
    B1,
    B2,
    C0,
    Theta,
    Psi,
}

impl Row {
    /// P(T) = A0 + A1 (1/T - 1/Tr) + A2 ln(T/Tr) + A3 (T - Tr) + A4 (T2 - Tr2) + A5 (1/T2 - 1/Tr2).
    fn at(&self, t: f64) -> f64 {
        self.a0
            + self.a1 * (1.0 / t - 1.0 / T25)
            + self.a2 * (t / T25).ln()
            + self.a3 * (t - T25)
            + self.a4 * (t * t - T25 * T25)
            + self.a5 * (1.0 / (t * t) - 1.0 / (T25 * T25))
    }
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| rows(include_str!("data/pitzer.csv")));

/// Parameters of a cation with an anion.
#[derive(Clone, Copy, Debug, Default)]
struct Pair {
    b0: f64,
    b1: f64,
    b2: f64,
    c: f64,
}

const IONS: usize = ANIONS.end;

/// All parameters at one temperature.
#[derive(Clone, Debug)]
pub(super) struct Pitzer {
    /// Debye-Hückel slope, (kg/mol)^1/2, of the osmotic coefficient.
    slope: f64,
    /// By cation and anion, the anion counted from its own first place.
    pairs: [[Pair; ANIONS.end - ANIONS.start]; CATIONS.end],
    /// By two ions of one sign.
    theta: [[f64; IONS]; IONS],
    /// Two ions of one sign and one of the other.
    psi: Vec<([usize; 3], f64)>,
}

/// What a solution does to its ions and its water.
#[derive(Clone, Debug)]
pub(super) struct Activity {
    /// ln of the activity coefficient of every species (molal).
    pub ln_gamma: [f64; COUNT],
    /// ln of the activity of water.
    pub ln_water: f64,
    /// Osmotic coefficient.
    #[cfg_attr(not(test), allow(dead_code))] // checked against published ones
    pub osmotic: f64,
    /// mol/kg.
    pub ionic_strength: f64,
}

/// The species that may be present in a solution: only these are reckoned.
#[derive(Clone, Debug, Default)]
pub(super) struct Present {
    cations: Vec<usize>,
    anions: Vec<usize>,
    neutrals: Vec<usize>,
    psi: Vec<([usize; 3], f64)>,
    triple: bool,
}

impl Present {
    /// Of these species, with the interactions among them.
    pub fn of(species: impl IntoIterator<Item = usize>, pitzer: &Pitzer) -> Self {
        let mut present = Self::default();
        for at in species {
            if CATIONS.contains(&at) {
                present.cations.push(at);
            } else if ANIONS.contains(&at) {
                present.anions.push(at);
            } else {
                present.neutrals.push(at);
            }
            present.triple |= CHARGES[at].abs() == 3;
        }
        let has = |at: &usize| present.cations.contains(at) || present.anions.contains(at);
        let among = |(three, _): &&([usize; 3], f64)| three.iter().all(has);
        present.psi = pitzer.psi.iter().filter(among).copied().collect();
        present
    }

    /// All of them.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.cations
            .iter()
            .chain(&self.anions)
            .chain(&self.neutrals)
            .copied()
    }
}

/// The electrostatic terms between ions of one sign and unlike charge, by the two charges.
#[derive(Clone, Copy, Debug, Default)]
struct Electrostatic {
    value: [[f64; 4]; 4],
    slope: [[f64; 4]; 4],
}

/// J(x) and its derivative.
fn j_of(x: f64) -> (f64, f64) {
    const C: [f64; 4] = [4.581, 0.7237, 0.0120, 0.528];
    let grown = x.powf(C[3]);
    let term = C[0] * x.powf(-C[1]) * (-C[2] * grown).exp();
    let below = 4.0 + term;
    let term_slope = term * (-C[1] - C[2] * C[3] * grown) / x;
    (
        1.0 / below * x,
        1.0 / below - x * term_slope / (below * below),
    )
}

impl Electrostatic {
    /// E = z z'/(4 I) (J(x') - J(x)/2 - J(x'')/2) and its derivative by I, x = 6 z z' A I^1/2.
    fn at(strength: f64, slope: f64, triple: bool) -> Self {
        const CHARGE: [f64; 4] = [0.0, 1.0, 2.0, 3.0];
        let mut all = Self::default();
        let x = 6.0 * slope * strength.sqrt();
        let most = if triple { 3 } else { 2 };
        let mut alike = [(0.0, 0.0); 4];
        for z in 1..=most {
            alike[z] = j_of(CHARGE[z] * CHARGE[z] * x);
        }
        for small in 1..=most {
            for large in small + 1..=most {
                let (z, other_z) = (CHARGE[small], CHARGE[large]);
                let product = z * other_z;
                let (j, j_slope) = j_of(product * x);
                let ((j1, slope1), (j2, slope2)) = (alike[small], alike[large]);
                let value = product / (4.0 * strength) * (j - 0.5 * j1 - 0.5 * j2);
                let moves = product * j_slope - 0.5 * (z * z * slope1 + other_z * other_z * slope2);
                let along = product * x / (8.0 * strength * strength) * moves;
                all.value[small][large] = value;
                all.value[large][small] = value;
                all.slope[small][large] = along - value / strength;
                all.slope[large][small] = all.slope[small][large];
            }
        }
        all
    }
}

/// g(x) = 2 (1 - (1 + x) e^-x)/x2, g'(x) = -2 (1 - (1 + x + x2/2) e^-x)/x2 and e^-x.
fn g_of(x: f64) -> [f64; 3] {
    let fallen = (-x).exp();
    let squared = x * x;
    [
        2.0 * (1.0 - (1.0 + x) * fallen) / squared,
        -2.0 * (1.0 - (1.0 + x + 0.5 * squared) * fallen) / squared,
        fallen,
    ]
}

const fn magnitude(at: usize) -> usize {
    CHARGES[at].unsigned_abs() as usize
}

impl Pitzer {
    /// At a temperature, t in °C: A = 0.3767 + 5.087e-4 t + 3.333e-6 t2.
    pub fn at(celsius: f64) -> Self {
        let mut all = Self {
            slope: 0.3767 + 5.087e-4 * celsius + 3.333e-6 * celsius * celsius,
            pairs: [[Pair::default(); ANIONS.end - ANIONS.start]; CATIONS.end],
            theta: [[0.0; IONS]; IONS],
            psi: Vec::new(),
        };
        for row in ROWS.iter() {
            let value = row.at(celsius + 273.15);
            let (Some(i), Some(j)) = (place(&row.i), place(&row.j)) else {
                continue;
            };
            match (row.kind, place(&row.k)) {
                (Kind::Theta, _) => {
                    all.theta[i][j] = value;
                    all.theta[j][i] = value;
                }
                (Kind::Psi, Some(k)) => all.psi.push(([i, j, k], value)),
                (Kind::Psi, None) => {}
                (kind, _) => {
                    let (cation, anion) = (i.min(j), i.max(j));
                    let pair = &mut all.pairs[cation][anion - ANIONS.start];
                    match kind {
                        Kind::B0 => pair.b0 = value,
                        Kind::B1 => pair.b1 = value,
                        Kind::B2 => pair.b2 = value,
                        _ => {
                            let charges = f64::from(-CHARGES[i] * CHARGES[j]);
                            pair.c = value / (2.0 * charges.sqrt());
                        }
                    }
                }
            }
        }
        all
    }

    /// Activity coefficients in a solution of these molalities.
    #[allow(clippy::too_many_lines)] // one set of equations, summed once
    pub fn activity(&self, present: &Present, molal: &[f64; COUNT]) -> Activity {
        let mut strength = 0.0;
        let mut equivalents = 0.0;
        let mut charged = 0.0;
        for at in present.cations.iter().chain(&present.anions) {
            let z = f64::from(CHARGES[*at]);
            strength += 0.5 * z * z * molal[*at];
            equivalents += z.abs() * molal[*at];
            charged += molal[*at];
        }
        // Pure water: the limit is approached, not divided by.
        let strength = strength.max(1e-12);
        let root = strength.sqrt();
        let below = 1.0 + B * root;
        let mut f = -self.slope * (root / below + 2.0 / B * below.ln());
        let mut osmotic = -self.slope * strength * root / below;
        let mut charge_times_c = 0.0;
        let mut ln_gamma = [0.0; COUNT];
        let (usual, doubly) = (g_of(ALPHA_1 * root), g_of(ALPHA_22 * root));
        let far = g_of(ALPHA_2 * root);
        for &cation in &present.cations {
            for &anion in &present.anions {
                let pair = self.pairs[cation][anion - ANIONS.start];
                let near = if CHARGES[cation] == 2 && CHARGES[anion] == -2 {
                    doubly
                } else {
                    usual
                };
                let [b, moves, phi] = [0, 1, 2].map(|at| pair.b1 * near[at] + pair.b2 * far[at]);
                let (m_cation, m_anion) = (molal[cation], molal[anion]);
                let both = m_cation * m_anion;
                let term = 2.0 * (pair.b0 + b) + equivalents * pair.c;
                ln_gamma[cation] += m_anion * term;
                ln_gamma[anion] += m_cation * term;
                f += both * moves / strength;
                charge_times_c += both * pair.c;
                osmotic += both * (pair.b0 + phi + equivalents * pair.c);
            }
        }
        let electrostatic = Electrostatic::at(strength, self.slope, present.triple);
        for ions in [&present.cations, &present.anions] {
            for (at, &one) in ions.iter().enumerate() {
                for &other in &ions[at + 1..] {
                    let (z, other_z) = (magnitude(one), magnitude(other));
                    let phi = self.theta[one][other] + electrostatic.value[z][other_z];
                    let moves = electrostatic.slope[z][other_z];
                    let both = molal[one] * molal[other];
                    ln_gamma[one] += 2.0 * molal[other] * phi;
                    ln_gamma[other] += 2.0 * molal[one] * phi;
                    f += both * moves;
                    osmotic += both * (phi + strength * moves);
                }
            }
        }
        for ([i, j, k], psi) in &present.psi {
            let [a, b, c] = [molal[*i], molal[*j], molal[*k]];
            ln_gamma[*i] += b * c * psi;
            ln_gamma[*j] += a * c * psi;
            ln_gamma[*k] += a * b * psi;
            osmotic += a * b * c * psi;
        }
        for at in present.cations.iter().chain(&present.anions) {
            let z = f64::from(CHARGES[*at]).abs();
            ln_gamma[*at] += z * z * f + z * charge_times_c;
        }
        let mut neutral = 0.0;
        for at in &present.neutrals {
            neutral += molal[*at];
            ln_gamma[*at] = if *at == UREA {
                0.0
            } else {
                NEUTRAL * LN_10 * strength
            };
        }
        let osmotic = if charged > 0.0 {
            1.0 + 2.0 * osmotic / charged
        } else {
            1.0
        };
        Activity {
            ln_gamma,
            ln_water: -WATER_KG_PER_MOL * (osmotic * charged + neutral),
            osmotic,
            ionic_strength: strength,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// J(1), J(5) and E between charges 1 and 2 at I = 1 mol/kg, 25 °C: worked out from the same
    /// formula by an independent computation in another language.
    #[test]
    fn electrostatic_terms() {
        assert!((j_of(1.0).0 - 0.117_283_4).abs() < 1e-7);
        assert!((j_of(5.0).0 - 0.927_693_1).abs() < 1e-7);
        let slope = Pitzer::at(25.0).slope;
        let found = Electrostatic::at(1.0, slope, true);
        assert!((found.value[1][2] + 0.143_103).abs() < 1e-6);
        let step = 1e-5;
        let at = |i: f64| Electrostatic::at(i, slope, true).value[1][3];
        let quotient = (at(1.0 + step) - at(1.0 - step)) / (2.0 * step);
        assert!((quotient - found.slope[1][3]).abs() < 1e-6);
    }

    #[test]
    fn the_parameter_table_is_whole() {
        assert_eq!(ROWS.len(), 165);
        for row in ROWS.iter() {
            let third = row.kind != Kind::Psi || place(&row.k).is_some();
            assert!(
                place(&row.i).is_some() && place(&row.j).is_some() && third,
                "{row:?}"
            );
        }
    }
}
