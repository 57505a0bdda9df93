//! The species of a strong solution: their places, charges and what the formed ones are made of.

use crate::chemistry::species::Table;
use std::f64::consts::LN_10;

/// How many species there are.
pub(super) const COUNT: usize = 22;
/// Cations stand first, then anions, then what carries no charge.
pub(super) const CATIONS: std::ops::Range<usize> = 0..8;
/// Places of the anions.
pub(super) const ANIONS: std::ops::Range<usize> = 8..16;

/// Names of all species, as the data files write them.
pub(super) const NAMES: [&str; COUNT] = [
    "K+", "NH4+", "Na+", "Ca+2", "Mg+2", "H+", "MgH2PO4+", "CaH2PO4+", "Cl-", "NO3-", "SO4-2",
    "H2PO4-", "HSO4-", "HPO4-2", "OH-", "PO4-3", "H3BO3", "urea", "H3PO4", "MgHPO4", "CaHPO4",
    "NH3",
];

/// Their charges.
pub(super) const CHARGES: [i32; COUNT] = [
    1, 1, 1, 2, 2, 1, 1, 1, -1, -1, -2, -1, -1, -2, -1, -3, 0, 0, 0, 0, 0, 0,
];

pub(super) const AMMONIUM: usize = 1;
pub(super) const CALCIUM: usize = 3;
pub(super) const MAGNESIUM: usize = 4;
pub(super) const PROTON: usize = 5;
pub(super) const SULFATE: usize = 10;
pub(super) const PHOSPHATE: usize = 11;
pub(super) const HYDROGEN_PHOSPHATE: usize = 13;
pub(super) const PHOSPHATE_3: usize = 15;
pub(super) const UREA: usize = 17;
pub(super) const AMMONIA: usize = 21;

/// Place of a species by its name.
pub(super) fn place(name: &str) -> Option<usize> {
    NAMES.iter().position(|known| *known == name)
}

/// How many species others are formed of.
pub(super) const MASTERS: usize = 6;
/// What the formed species are made of, in the order of [`Formed::of`].
pub(super) const MASTER: [usize; MASTERS] =
    [CALCIUM, MAGNESIUM, SULFATE, PHOSPHATE, AMMONIUM, PROTON];

/// A species formed from others.
#[derive(Clone, Copy, Debug)]
pub(super) struct Formed {
    /// Its place.
    pub place: usize,
    /// How many of each master it takes; negative where it gives one off.
    pub of: [i8; MASTERS],
    /// Waters taken.
    pub water: i8,
    /// Constants that make up its log K, each with its sign.
    log_k: &'static [(f64, &'static str)],
    /// True where it matters above pH 7.5 only.
    pub alkaline: bool,
}

/// Every formed species. Sulfate and nitrate pairs are missing on purpose: the activity model
/// carries them.
pub(super) const FORMED: [Formed; 10] = {
    const fn formed(
        place: usize,
        of: [i8; MASTERS],
        water: i8,
        log_k: &'static [(f64, &'static str)],
    ) -> Formed {
        Formed {
            place,
            of,
            water,
            log_k,
            alkaline: place == PHOSPHATE_3 || place == AMMONIA,
        }
    }
    [
        formed(6, [0, 1, 0, 1, 0, 0], 0, &[(1.0, "MgH2PO4")]),
        formed(7, [1, 0, 0, 1, 0, 0], 0, &[(1.0, "CaH2PO4")]),
        formed(12, [0, 0, 1, 0, 0, 1], 0, &[(1.0, "HSO4")]),
        formed(13, [0, 0, 0, 1, 0, -1], 0, &[(-1.0, "H2PO4")]),
        formed(14, [0, 0, 0, 0, 0, -1], 1, &[(1.0, "Kw")]),
        formed(
            15,
            [0, 0, 0, 1, 0, -2],
            0,
            &[(-1.0, "H2PO4"), (-1.0, "HPO4")],
        ),
        formed(18, [0, 0, 0, 1, 0, 1], 0, &[(1.0, "H3PO4")]),
        formed(
            19,
            [0, 1, 0, 1, 0, -1],
            0,
            &[(-1.0, "H2PO4"), (1.0, "MgHPO4")],
        ),
        formed(
            20,
            [1, 0, 0, 1, 0, -1],
            0,
            &[(-1.0, "H2PO4"), (1.0, "CaHPO4")],
        ),
        formed(21, [0, 0, 0, 0, 1, -1], 0, &[(1.0, "NH3")]),
    ]
};

impl Formed {
    /// ln K of its formation at a temperature.
    pub fn ln_k(&self, celsius: f64) -> f64 {
        let sum: f64 = self
            .log_k
            .iter()
            .map(|(sign, id)| sign * log_k(id, celsius))
            .sum();
        LN_10 * sum
    }
}

/// log10 of an equilibrium constant at a temperature; not-a-number for an unknown id, which no
/// formed species has.
fn log_k(id: &str, celsius: f64) -> f64 {
    let constant = Table::shipped().constant(id);
    constant.map_or(f64::NAN, |constant| constant.log_k(celsius))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// pK at 25 °C: sources stand in data/constants.csv; 5 °C: Bates & Acree (1945), from memory,
    /// 7.28 to 7.29.
    #[test]
    fn constants_at_two_temperatures() {
        assert!((log_k("H2PO4", 25.0) - 7.207).abs() < 1e-12);
        assert!((log_k("H2PO4", 5.0) - 7.2887).abs() < 5e-4);
        assert!((log_k("Kw", 5.0) + 14.7298).abs() < 5e-4);
        assert!((log_k("MgHPO4", 35.0) - 2.948_51).abs() < 5e-4);
    }

    /// Every formed species carries the charge of what it is made of, and has its constants.
    #[test]
    fn formed_species_balance() {
        for formed in FORMED {
            let charge: i32 = formed
                .of
                .iter()
                .zip(MASTER)
                .map(|(count, master)| i32::from(*count) * CHARGES[master])
                .sum();
            assert_eq!(charge, CHARGES[formed.place], "{}", NAMES[formed.place]);
            assert!(formed.ln_k(25.0).is_finite(), "{}", NAMES[formed.place]);
        }
        for at in 0..COUNT {
            let sign = CHARGES[at].signum();
            let wanted = i32::from(CATIONS.contains(&at)) - i32::from(ANIONS.contains(&at));
            assert_eq!(sign, wanted, "{}", NAMES[at]);
        }
    }
}
