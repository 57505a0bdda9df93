//! Water, and how far an ion in it counts for less than its concentration.

use std::f64::consts::LN_10;

/// Ionic strength, mol/kg, above which activity coefficients are held where they are: the
/// equations are not made for it, and held they keep every solve convergent.
const HELD_ABOVE: f64 = 0.6;

/// Water at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solvent {
    /// Density, kg/L.
    pub density_kg_l: f64,
    /// Relative permittivity.
    pub permittivity: f64,
    /// Viscosity, mPa s.
    pub viscosity_mpa_s: f64,
    /// Debye-Hückel slope, (kg/mol)^1/2, of log10 of an activity coefficient.
    pub debye_a: f64,
    /// Debye-Hückel reach, (kg/mol)^1/2 per angstrom.
    pub debye_b: f64,
    /// Permittivity times absolute temperature, K: what the Onsager equation needs.
    pub eps_t: f64,
}

impl Solvent {
    /// At a temperature, t in °C and T in K.
    ///
    /// Density 1 - (t-3.9863)^2 (t+288.9414)/(508929.2 (t+68.12963));
    /// permittivity 2727.586 + 0.6224107 T - 466.9151 ln T - 52000.87/T;
    /// A = 1.824829e6 rho^1/2/(eps T)^3/2; B = 50.2905 rho^1/2/(eps T)^1/2;
    /// viscosity 1.002 x 10^((1.1709 (20-t) - 0.001827 (t-20)^2)/(t+89.93)).
    ///
    /// Sources: density and the Debye-Hückel terms as in the public WATEQ4F and PHREEQC documents
    /// (USGS); viscosity after the CRC Handbook.
    pub fn at(celsius: f64) -> Self {
        let (t, kelvin) = (celsius, celsius + 273.15);
        let density = 1.0 - (t - 3.9863).powi(2) * (t + 288.9414) / (508_929.2 * (t + 68.129_63));
        let permittivity =
            2727.586 + 0.622_410_7 * kelvin - 466.9151 * kelvin.ln() - 52_000.87 / kelvin;
        let eps_t = permittivity * kelvin;
        let exponent = (1.1709 * (20.0 - t) - 0.001_827 * (t - 20.0).powi(2)) / (t + 89.93);
        Self {
            density_kg_l: density,
            permittivity,
            viscosity_mpa_s: 1.002 * 10_f64.powf(exponent),
            debye_a: 1.824_829e6 * density.sqrt() / eps_t.powf(1.5),
            debye_b: 50.2905 * density.sqrt() / eps_t.sqrt(),
            eps_t,
        }
    }
}

/// How an activity coefficient is reckoned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gamma {
    /// log g = -A z2 I^1/2/(1 + B a I^1/2) + b I (Truesdell and Jones 1974, WATEQ).
    TruesdellJones {
        /// Ion size, angstrom.
        size_angstrom: f64,
        /// Linear term, kg/mol.
        b: f64,
    },
    /// log g = -A z2 (I^1/2/(1 + I^1/2) - 0.3 I) (Davies 1962).
    Davies,
    /// log g = b I.
    Neutral {
        /// Linear term, kg/mol.
        b: f64,
    },
}

/// An ionic strength prepared for many activity coefficients.
#[derive(Clone, Copy, Debug)]
pub struct Strength {
    held: f64,
    root: f64,
    /// 1 below the strength where coefficients are held, else 0.
    moves: f64,
    solvent: Solvent,
}

impl Strength {
    /// An ionic strength, mol/kg, in a solvent.
    pub fn new(mol_kg: f64, solvent: &Solvent) -> Self {
        let held = mol_kg.clamp(0.0, HELD_ABOVE);
        Self {
            held,
            root: held.sqrt(),
            moves: if mol_kg < HELD_ABOVE { 1.0 } else { 0.0 },
            solvent: *solvent,
        }
    }

    /// ln of the activity coefficient of an ion of this charge, and its slope against ionic
    /// strength, kg/mol.
    pub fn ln_gamma(&self, gamma: Gamma, charge: i32) -> (f64, f64) {
        let z2 = f64::from(charge * charge);
        let (root, held, a) = (self.root, self.held, self.solvent.debye_a);
        // The slope of a root has no value at zero; strength never is zero in water.
        let root_slope = 0.5 / root.max(1e-9);
        let (log, slope) = match gamma {
            Gamma::TruesdellJones { size_angstrom, b } => {
                let below = 1.0 / (1.0 + self.solvent.debye_b * size_angstrom * root);
                (
                    -a * z2 * root * below + b * held,
                    -a * z2 * root_slope * below * below + b,
                )
            }
            Gamma::Davies => {
                let below = 1.0 / (1.0 + root);
                (
                    -a * z2 * (root * below - 0.3 * held),
                    -a * z2 * (root_slope * below * below - 0.3),
                )
            }
            Gamma::Neutral { b } => (b * held, b),
        };
        (LN_10 * log, LN_10 * slope * self.moves)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sources: density, permittivity and viscosity of water: CRC Handbook of Chemistry and
    /// Physics, tables of water (25 °C: 0.99705 kg/L, 78.4, 0.890 mPa s; 5 °C: 0.99997, 85.8 to
    /// 85.9, 1.519; from memory). Debye-Hückel A at 25 °C: 0.509 to 0.5115 in textbooks.
    #[test]
    fn water_as_the_handbook_has_it() {
        let water = Solvent::at(25.0);
        assert!((water.density_kg_l - 0.997_05).abs() < 5e-5);
        assert!((water.permittivity - 78.4).abs() < 0.1);
        assert!((water.viscosity_mpa_s - 0.890).abs() < 0.001);
        assert!((0.509..0.5115).contains(&water.debye_a));
        let cold = Solvent::at(5.0);
        assert!((cold.density_kg_l - 0.999_97).abs() < 5e-5);
        assert!((cold.permittivity - 85.85).abs() < 0.1);
        assert!((cold.viscosity_mpa_s - 1.519).abs() < 0.003);
    }

    /// The slope is the derivative: a difference quotient agrees.
    #[test]
    fn slopes_are_derivatives() {
        let water = Solvent::at(15.0);
        let kinds = [
            Gamma::TruesdellJones {
                size_angstrom: 5.0,
                b: 0.165,
            },
            Gamma::Davies,
            Gamma::Neutral { b: 0.1 },
        ];
        for gamma in kinds {
            for strength in [1e-4, 0.01, 0.3] {
                let at = |i: f64| Strength::new(i, &water).ln_gamma(gamma, 2).0;
                let step = 1e-6 * strength;
                let quotient = (at(strength + step) - at(strength - step)) / (2.0 * step);
                let slope = Strength::new(strength, &water).ln_gamma(gamma, 2).1;
                assert!((quotient - slope).abs() < 1e-5 * slope.abs().max(1.0));
            }
        }
    }
}
