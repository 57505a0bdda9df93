//! What takes part in the search, and where everything else goes: acids and bases apart,
//! micronutrients by rules of practice, because chemistry has no number for them here.

use crate::chemistry::concentrate::Dissolved;
use saltwright_fertilizers::{Dose, Fertilizer, Ion, Ligand, Nutrient};

/// Share of all charges below which a fertilizer rides along.
const RIDER_SHARE: f64 = 0.01;
/// How far the charges of a label may miss each other, relative, for its ions to be believed.
/// Common practice, no source.
const LABEL_CLOSES: f64 = 0.05;

/// Acid of a litre of finished solution, mol, above which a tank is no place for a chelate: at 1:100
/// a pH of about 3.
const MILD_MOL: f64 = 1e-5;

/// The part a fertilizer has in the division.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Its ions are known and count: it is looked for a tank by chemistry.
    Searched,
    /// Too little to matter, or without constants: placed by a rule.
    Rider,
    /// In the tank of acids.
    Acid,
    /// In the tank of hydroxides and carbonates.
    Base,
    /// In the tank of silicate.
    Silicate,
    /// Known by its label only, which does not say all that is in it: no strength can be stood
    /// for.
    Unknown,
}

/// Tanks that stand beside the divided ones, in this order.
pub const APART: [(Role, &str); 3] = [
    (Role::Acid, "acid"),
    (Role::Base, "base"),
    (Role::Silicate, "silicate"),
];

/// The role of every dose of a mix; `acid_tank` false lets acids join the search.
pub fn roles(mix: &[Dose], acid_tank: bool) -> Vec<Role> {
    let brought: Vec<Dissolved> = mix
        .iter()
        .map(|dose| Dissolved::of_gram(&dose.fertilizer) * dose.amount.0)
        .collect();
    let charge =
        |one: &Dissolved| one.covered_mol_charge() + one.other_mol_charge + one.acid_mol.abs();
    let all: f64 = brought.iter().map(charge).sum();
    let mass: f64 = mix.iter().map(|dose| dose.amount.0).sum();
    let mut roles: Vec<Role> = mix
        .iter()
        .zip(&brought)
        .map(|(dose, brought)| {
            let little = charge(brought) < RIDER_SHARE * all;
            role(
                dose,
                brought,
                (little, dose.amount.0 < RIDER_SHARE * mass),
                acid_tank,
            )
        })
        .collect();
    // Where nothing else is there, what would ride along is the load.
    if !roles.contains(&Role::Searched) {
        for ((role, dose), brought) in roles.iter_mut().zip(mix).zip(&brought) {
            if *role == Role::Rider && brought.other_g <= 0.0 && is_known(&dose.fertilizer) {
                *role = Role::Searched;
            }
        }
    }
    roles
}

/// Positions of the doses that have a role.
pub fn positions(roles: &[Role], wanted: Role) -> Vec<usize> {
    let roles = roles.iter().enumerate();
    roles
        .filter(|(_, role)| **role == wanted)
        .map(|(at, _)| at)
        .collect()
}

fn role(dose: &Dose, brought: &Dissolved, (little, light): (bool, bool), acid_tank: bool) -> Role {
    let fertilizer = &dose.fertilizer;
    if fertilizer.is_acid() && (acid_tank || !is_known(fertilizer)) {
        Role::Acid
    } else if fertilizer.assay_pct[Nutrient::Si] > 0.0 {
        Role::Silicate
    } else if fertilizer.is_base() && !(little && fertilizer.assay_pct[Nutrient::B] > 0.0) {
        // A pinch of borax is a base on paper only.
        Role::Base
    } else if brought.other_g > 0.0 && fertilizer.formula.is_some() {
        // Metals, chelates and molybdate: whatever their amount, no constants here.
        Role::Rider
    } else if !is_known(fertilizer) {
        if little && light {
            Role::Rider
        } else {
            Role::Unknown
        }
    } else if little {
        Role::Rider
    } else {
        Role::Searched
    }
}

/// True where what a fertilizer brings is known ion by ion.
fn is_known(fertilizer: &Fertilizer) -> bool {
    if fertilizer.formula.is_some() {
        return fertilizer.is_charted();
    }
    let (cations, anions) = fertilizer.charges_meq_per_g();
    let acid = fertilizer.acid_meq_per_g();
    let both = cations + anions + acid.abs();
    both > 0.0 && (cations + acid - anions).abs() <= LABEL_CLOSES * both
}

/// Where a rider goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// With the calcium.
    WithCalcium,
    /// With the sulfates, away from calcium.
    WithSulfates,
    /// Wherever the load is least.
    Anywhere,
}

/// The rule of practice for a rider. None of it has a source better than common practice: iron
/// chelates with the calcium, away from phosphate and other metals; molybdate, boron and metals
/// with the sulfates; urea anywhere.
pub fn wish(fertilizer: &Fertilizer) -> Wish {
    let holds = |nutrient: Nutrient| fertilizer.assay_pct[nutrient] > 0.0;
    let clash = holds(Nutrient::P) || holds(Nutrient::S);
    if iron_ligand(fertilizer).is_some() || (holds(Nutrient::Ca) && !clash) {
        Wish::WithCalcium
    } else if holds(Nutrient::UreaN) && !clash {
        Wish::Anywhere
    } else {
        Wish::WithSulfates
    }
}

/// What holds the iron of a fertilizer.
pub fn iron_ligand(fertilizer: &Fertilizer) -> Option<Ligand> {
    fertilizer.formula.as_ref()?.chelates(Nutrient::Fe)
}

/// Every metal a fertilizer holds by a ligand.
pub fn chelate(fertilizer: &Fertilizer) -> Option<(Nutrient, Ligand)> {
    fertilizer
        .formula
        .as_ref()?
        .ions()
        .find_map(|(ion, _)| match ion {
            Ion::Chelate(metal, ligand) => Some((metal, ligand)),
            _ => None,
        })
}

/// pH of the stock between which a chelate stays whole. From memory.
pub const fn chelate_ph(metal: Nutrient, ligand: Ligand) -> (f64, f64) {
    match (metal, ligand) {
        (Nutrient::Fe, Ligand::Edta | Ligand::Hedta) => (2.5, 6.5),
        (_, Ligand::Dtpa) => (3.0, 7.5),
        (_, Ligand::Eddha | Ligand::Hbed) => (3.5, 9.0),
        (_, Ligand::Edta | Ligand::Hedta) => (4.0, 7.0),
    }
}

/// The tank for a wish: `loads` is what each tank brings, `grams` how much that is. `None` where
/// none suits and `more` could be filled.
pub fn tank_for(wish: Wish, loads: &[Dissolved], grams: &[f64], more: bool) -> Option<usize> {
    let calcium = |at: &usize| loads[*at].mol_of("Ca+2");
    let sulfates = |at: &usize| loads[*at].mol_of("SO4-2") + loads[*at].mol_of("H2PO4-");
    let tanks = || 0..loads.len();
    let lightest = |tanks: &mut dyn Iterator<Item = usize>| {
        tanks.min_by(|a, b| grams[*a].total_cmp(&grams[*b]))
    };
    let most = |of: &dyn Fn(&usize) -> f64, tanks: &mut dyn Iterator<Item = usize>| {
        tanks
            .filter(|at| of(at) > 0.0)
            .max_by(|a, b| of(a).total_cmp(&of(b)))
    };
    // A chelate keeps away from acid.
    let mild = |at: &usize| loads[*at].acid_mol <= MILD_MOL;
    let found = match wish {
        Wish::WithCalcium => most(&calcium, &mut tanks().filter(mild))
            .or_else(|| lightest(&mut tanks().filter(|at| mild(at) && sulfates(at) == 0.0))),
        Wish::WithSulfates => most(&sulfates, &mut tanks().filter(|at| calcium(at) == 0.0))
            .or_else(|| lightest(&mut tanks().filter(|at| calcium(at) == 0.0))),
        Wish::Anywhere => lightest(&mut tanks()),
    };
    if found.is_none() && more && wish == Wish::WithSulfates {
        return None;
    }
    found
        .or_else(|| lightest(&mut tanks().filter(mild)))
        .or_else(|| lightest(&mut tanks()))
}
