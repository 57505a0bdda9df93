//! What the ions of a solution conduct.
//!
//! The Onsager equation in the form of Robinson and Stokes, on speciated ions, with the mixture's
//! own term for how ions of unlike mobility hold each other back. Sources: Robinson and Stokes,
//! Electrolyte Solutions, 2nd ed. 1959, ch. 7 (from memory); limiting conductivities in
//! `data/ions.csv`.

use super::equilibrium::Speciation;
use super::species::{Conditions, Conducts, MOST, Table};

/// Debye-Hückel reach in molar units, (L/mol)^1/2 (K)^1/2 per angstrom.
const REACH: f64 = 50.2905;
/// Relaxation term of Onsager, (L/mol)^1/2 K^3/2.
const RELAXATION: f64 = 2.801e6;
/// Electrophoretic term of Onsager, S cm2/equiv (L/mol)^1/2 P K^1/2.
const ELECTROPHORESIS: f64 = 41.25;
/// How the inert rest charge conducts: as sodium (positive) or chloride (negative).
const REST: [&str; 2] = ["Na+", "Cl-"];

/// What a solution conducts.
#[derive(Clone, Debug)]
pub struct Conductivity {
    /// In all, µS/cm at the temperature of the conditions.
    pub us_cm: f64,
    /// What the inert rest charge conducts of it, µS/cm.
    pub rest_us_cm: f64,
    species: [f64; MOST],
}

impl Conductivity {
    /// What a species conducts, µS/cm, by its position in the table.
    pub fn of_species(&self, species: usize) -> f64 {
        self.species[species]
    }
}

/// One ion that conducts.
#[derive(Clone, Copy)]
struct Mover {
    position: Option<usize>,
    /// mmol/L times |z|.
    meq_l: f64,
    charge: f64,
    lambda: f64,
    size: f64,
}

/// Charge-weighted means over the ions of one sign.
#[derive(Clone, Copy, Default)]
struct Side {
    meq_l: f64,
    charge: f64,
    lambda: f64,
}

impl Side {
    fn of(movers: &[Mover], positive: bool) -> Self {
        let mut side = Self::default();
        for mover in movers.iter().filter(|m| (m.charge > 0.0) == positive) {
            side.meq_l += mover.meq_l;
            side.charge += mover.meq_l * mover.charge.abs();
            side.lambda += mover.meq_l * mover.lambda;
        }
        side.charge /= side.meq_l;
        side.lambda /= side.meq_l;
        side
    }
}

/// Conductivity of a speciated solution.
///
/// kappa = sum |z| c lambda,   I = 1/2 sum z2 c / 1000,
///
/// lambda = L - (b1 |z| z' L + B2 |z|) I^1/2/(1 + Ba a I^1/2), not below zero, with z' the mean
/// charge of the ions of the other sign,
/// b1 = B1 q/(1 + q^1/2), q = z+ z- (l+ + l-)/((z+ + z-)(z+ l- + z- l+)),
/// B1 = 2.801e6/(eps T)^3/2, B2 = 41.25/(0.01 eta (eps T)^1/2), Ba = 50.2905/(eps T)^1/2.
///
/// c in mmol per litre of solution, lambda in S cm2 per equivalent, eta in mPa s; z+, l+ and z-,
/// l- are means weighted by |z| c.
pub fn conductivity(at: &Conditions, solution: &Speciation) -> Conductivity {
    let table = Table::shipped();
    let mut movers: Vec<Mover> = Vec::with_capacity(MOST);
    for (position, species) in table.species.iter().enumerate() {
        let mmol_l = solution.mmol_l(position);
        if let (Some(conducts), true) = (species.conducts, mmol_l > 0.0) {
            let charge = f64::from(species.charge);
            movers.push(Mover {
                position: Some(position),
                meq_l: mmol_l * charge.abs(),
                charge,
                lambda: at.lambda[position],
                size: conducts.size_angstrom,
            });
        }
    }
    movers.extend(rest(at, table, solution.rest_meq_l));
    let strength: f64 = movers.iter().map(|m| m.meq_l * m.charge.abs()).sum::<f64>() / 2000.0;
    let (cations, anions) = (Side::of(&movers, true), Side::of(&movers, false));
    let q = cations.charge * anions.charge * (cations.lambda + anions.lambda)
        / ((cations.charge + anions.charge)
            * (cations.charge * anions.lambda + anions.charge * cations.lambda));
    let eps_t = at.solvent.eps_t;
    let relaxation = RELAXATION / eps_t.powf(1.5) * q / (1.0 + q.sqrt());
    let electrophoresis = ELECTROPHORESIS / (0.01 * at.solvent.viscosity_mpa_s * eps_t.sqrt());
    let (reach, root) = (REACH / eps_t.sqrt(), strength.sqrt());
    let mut result = Conductivity {
        us_cm: 0.0,
        rest_us_cm: 0.0,
        species: [0.0; MOST],
    };
    for mover in &movers {
        let other = if mover.charge > 0.0 { anions } else { cations };
        let z = mover.charge.abs();
        let held = (relaxation * z * other.charge * mover.lambda + electrophoresis * z) * root
            / (1.0 + reach * mover.size * root);
        let conducted = mover.meq_l * (mover.lambda - held).max(0.0);
        result.us_cm += conducted;
        match mover.position {
            Some(position) => result.species[position] = conducted,
            None => result.rest_us_cm = conducted,
        }
    }
    result
}

/// What an inert charge of this size conducts in a dilute solution, µS/cm.
pub fn inert_us_cm(at: &Conditions, meq_l: f64) -> f64 {
    let ion = rest(at, Table::shipped(), meq_l);
    ion.map_or(0.0, |ion| ion.meq_l * ion.lambda)
}

/// The rest charge as an ion.
fn rest(at: &Conditions, table: &Table, meq_l: f64) -> Option<Mover> {
    let position = table.position(if meq_l > 0.0 { REST[0] } else { REST[1] })?;
    let Conducts { size_angstrom, .. } = table.species[position].conducts?;
    (meq_l != 0.0).then(|| Mover {
        position: None,
        meq_l: meq_l.abs(),
        charge: meq_l.signum(),
        lambda: at.lambda[position],
        size: size_angstrom,
    })
}
