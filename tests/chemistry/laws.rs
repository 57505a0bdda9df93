//! Laws that every solution keeps, on random compositions.

use super::tables::{closed, of_salt, us_cm};
use proptest::collection::vec;
use proptest::prelude::*;
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::solids::indices;
use saltwright_solver::chemistry::species::Table;
use saltwright_solver::chemistry::{
    Carbon, Component, Conditions, MOST_IONIC_STRENGTH, Protons, Speciation, Totals, speciate,
};

/// Absolute tolerance of a pH that is the same but for the last steps of a solve.
const SAME_PH: f64 = 1e-9;

/// Salts, acids and bases that solutions are made of, and mmol/L of each at most.
const MADE_OF: [(&str, f64); 23] = [
    ("Ca(NO3)2.4H2O", 4.0),
    ("KNO3", 6.0),
    ("KH2PO4", 2.0),
    ("MgSO4.7H2O", 2.0),
    ("K2SO4", 1.5),
    ("NH4NO3", 2.0),
    ("NH4H2PO4", 1.0),
    ("K2HPO4", 1.0),
    ("CaCl2.2H2O", 1.0),
    ("NaCl", 3.0),
    ("KHCO3", 3.0),
    ("NaHCO3", 3.0),
    ("HNO3", 2.0),
    ("H3PO4", 1.0),
    ("KOH", 1.0),
    ("K2SiO3", 0.5),
    ("H3BO3", 0.1),
    ("MnSO4.H2O", 0.05),
    ("ZnSO4.7H2O", 0.02),
    ("CuSO4.5H2O", 0.01),
    ("FeSO4.7H2O", 0.05),
    ("Na2MoO4.2H2O", 0.01),
    ("NaFeEDTA.3H2O", 0.1),
];

/// Solutions within the range of the model: some of the salts, from traces to full strength.
fn solution() -> impl Strategy<Value = Totals> {
    let made = vec((prop::bool::ANY, 0.0_f64..1.0), MADE_OF.len());
    (made, -2.0_f64..0.0)
        .prop_map(|(made, strength)| {
            let mut totals = Totals::default();
            for ((salt, most), (is_there, share)) in MADE_OF.iter().zip(made) {
                if is_there {
                    totals += of_salt(salt, most * share);
                }
            }
            totals * 10_f64.powf(strength)
        })
        .prop_filter("pure water", |totals| {
            totals.iter().any(|(_, mmol)| mmol > 0.0)
        })
        .prop_filter("out of range", |totals| {
            let solved = closed(Conditions::reference(), totals);
            solved.ionic_strength_mol_kg < MOST_IONIC_STRENGTH
        })
}

/// Any totals from nothing to 1e3 mmol/L with any acid, whether charges close or not.
fn anything() -> impl Strategy<Value = Totals> {
    let amounts = vec(
        prop_oneof![Just(None), (-9.0_f64..3.0).prop_map(Some)],
        Component::COUNT,
    );
    (amounts, -1e3_f64..1e3, prop::bool::ANY).prop_map(|(amounts, acid_meq_l, is_neutral)| {
        let mut totals = Totals::default();
        for ((component, _), exponent) in Component::NAMED.iter().zip(amounts) {
            totals[*component] = exponent.map_or(0.0, |exponent| 10_f64.powf(exponent));
        }
        totals.acid_meq_l = acid_meq_l;
        if is_neutral {
            Totals::neutral(totals.iter())
        } else {
            totals
        }
    })
}

fn at_25() -> &'static Conditions {
    Conditions::reference()
}

fn solve(at: &Conditions, totals: &Totals, carbon: Carbon, protons: Protons) -> Speciation {
    speciate(at, totals, carbon, protons, None).expect("it converges")
}

fn position(name: &str) -> usize {
    Table::shipped().position(name).expect("a species")
}

/// Largest miss of a mass balance and of the charge balance, each relative to its terms.
fn misses(totals: &Totals, solved: &Speciation) -> (f64, f64) {
    let species = || {
        let table = Table::shipped().species.iter().enumerate();
        table.map(|(position, species)| (species, solved.mmol_l(position)))
    };
    let mass = totals
        .iter()
        .filter(|(_, total)| *total > 0.0)
        .map(|(component, total)| {
            let holding = species().filter(|(species, _)| species.holds.contains(&component));
            (holding.map(|(_, mmol_l)| mmol_l).sum::<f64>() / total - 1.0).abs()
        });
    let charges = species().map(|(species, mmol_l)| f64::from(species.charge) * mmol_l);
    let size = species().map(|(species, mmol_l)| f64::from(species.charge.abs()) * mmol_l);
    let open = charges.sum::<f64>() + solved.rest_meq_l;
    let size = size.sum::<f64>() + solved.rest_meq_l.abs();
    (mass.fold(0.0, f64::max), open.abs() / size)
}

/// Saturation indices by id.
fn indices_of(solved: &Speciation) -> Vec<(&'static str, f64)> {
    indices(at_25(), solved)
        .map(|(solid, index)| (solid.id, index))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// What goes in is there, in one species or another, and charges cancel.
    #[test]
    fn mass_and_charge_balance(totals in anything(), celsius in 0.0_f64..60.0) {
        let at = Conditions::at(celsius);
        let (mass, charge) = misses(&totals, &closed(&at, &totals));
        prop_assert!(mass < 1e-10 && charge < 1e-10, "mass {mass:e}, charge {charge:e}");
    }

    /// In balance with air all but carbon is kept.
    #[test]
    fn mass_and_charge_balance_in_air(mut totals in anything(), log_pco2 in -8.0_f64..0.0) {
        totals[Component::Carbon] = 0.0;
        let solved = solve(at_25(), &totals, Carbon::Open(log_pco2), Protons::Balance);
        let (mass, charge) = misses(&totals, &solved);
        prop_assert!(mass < 1e-10 && charge < 1e-10, "mass {mass:e}, charge {charge:e}");
    }

    /// Mixing adds totals and acid; order, and mixing with itself, change nothing.
    #[test]
    fn mixing_adds(a in solution(), b in solution(), share in 0.0_f64..1.0) {
        let mix = |one: Totals, two: Totals| { let mut sum = one; sum += two; sum };
        let ours = closed(at_25(), &mix(a * share, b * (1.0 - share)));
        let theirs = closed(at_25(), &mix(b * (1.0 - share), a * share));
        prop_assert!((ours.ph - theirs.ph).abs() < SAME_PH);
        let itself = mix(a * share, a * (1.0 - share));
        prop_assert!((closed(at_25(), &itself).ph - closed(at_25(), &a).ph).abs() < SAME_PH);
        let acid = share * a.acid_meq_l + (1.0 - share) * b.acid_meq_l;
        prop_assert!((ours.acid_meq_l - acid).abs() < 1e-10);
    }

    /// Pure water poured in lowers EC, ionic strength and what could drop out. Carbonates,
    /// hydroxyapatite and vivianite are left out where the water is acid: there dilution raises the
    /// pH by as much as it thins their ions.
    #[test]
    fn dilution_lowers_ec_and_indices(totals in solution(), share in 0.05_f64..0.98) {
        let (strong, weak) = (closed(at_25(), &totals), closed(at_25(), &(totals * share)));
        let ec = |solved: &Speciation| conductivity(at_25(), solved).us_cm;
        prop_assert!(ec(&weak) < ec(&strong));
        prop_assert!(weak.ionic_strength_mol_kg < strong.ionic_strength_mol_kg);
        let both = indices_of(&strong).into_iter().zip(indices_of(&weak));
        for ((id, before), (_, after)) in both {
            if strong.ph > 6.0 || !["calcite", "siderite", "HAP", "vivianite"].contains(&id) {
                prop_assert!(after < before, "{id}: {before} -> {after}");
            }
        }
    }

    /// More acid, lower pH; more base, higher pH.
    #[test]
    fn acid_and_base_move_the_ph(totals in solution(), meq_l in 0.001_f64..2.0) {
        let ph = |salt| { let mut sum = totals; sum += of_salt(salt, meq_l); closed(at_25(), &sum).ph };
        let before = closed(at_25(), &totals).ph;
        prop_assert!(ph("HCl") < before && before < ph("KOH"));
    }

    /// Air of the solution's own carbon dioxide pressure changes nothing.
    #[test]
    fn open_is_closed_at_its_own_pressure(mut totals in solution(), dic in 0.001_f64..5.0) {
        totals[Component::Carbon] += dic;
        let kept = closed(at_25(), &totals);
        let own = kept.log_activity(position("CO2")) - at_25().log_k_henry;
        let aired = solve(at_25(), &totals, Carbon::Open(own), Protons::Balance);
        prop_assert!((kept.ph - aired.ph).abs() < SAME_PH);
        let bicarbonate = position("HCO3-");
        let off = aired.mmol_l(bicarbonate) / kept.mmol_l(bicarbonate) - 1.0;
        prop_assert!(off.abs() < 1e-8, "{off:e}");
    }

    /// Without carbon in the solution or the air there is nothing to open.
    #[test]
    fn open_is_closed_without_carbon(mut totals in solution()) {
        totals[Component::Carbon] = 0.0;
        let aired = solve(at_25(), &totals, Carbon::Open(-30.0), Protons::Balance);
        prop_assert!((closed(at_25(), &totals).ph - aired.ph).abs() < SAME_PH);
    }

    /// A warmer solution conducts better.
    #[test]
    fn ec_rises_with_temperature(totals in solution(), celsius in 5.0_f64..34.5) {
        let [cold, warm] = [celsius, celsius + 0.5].map(|t| us_cm(&Conditions::at(t), &totals));
        prop_assert!(cold < warm, "{cold} {warm}");
    }

    /// Ions that pair with nothing act by their ionic strength alone: three NiCl2 and four NiMoO4
    /// have the same (and, with six urea, the same number of particles).
    #[test]
    fn inert_salts_act_by_ionic_strength(totals in solution(), mmol_l in 0.0_f64..1.0) {
        use Component::{Chloride, Molybdenum, Nickel, Urea};
        let with = |parts: [(Component, f64); 3]| {
            let mut sum = totals;
            for (component, times) in parts { sum[component] += times * mmol_l; }
            closed(at_25(), &sum)
        };
        let chloride = with([(Nickel, 4.0), (Chloride, 8.0), (Urea, 0.0)]);
        let molybdate = with([(Nickel, 3.0), (Molybdenum, 3.0), (Urea, 6.0)]);
        prop_assert!((chloride.ph - molybdate.ph).abs() < SAME_PH);
        let off = chloride.ionic_strength_mol_kg / molybdate.ionic_strength_mol_kg - 1.0;
        prop_assert!(off.abs() < 1e-9);
    }

    /// Names change nothing: the EDTA chelates of manganese, zinc and copper have equal data, and
    /// a list of totals may come in any order.
    #[test]
    fn names_and_order_change_nothing(totals in solution(), chelated in 0.0_f64..0.2) {
        let mut figures = Vec::new();
        for chelate in [Component::MnEdta, Component::ZnEdta, Component::CuEdta] {
            let mut sum = totals;
            sum[chelate] += chelated;
            sum[Component::Sodium] += 2.0 * chelated;
            let solved = closed(at_25(), &sum);
            figures.push((solved.ph, conductivity(at_25(), &solved).us_cm));
        }
        for (ph, ec) in &figures[1..] {
            prop_assert!((ph - figures[0].0).abs() < 1e-12);
            prop_assert!((ec / figures[0].1 - 1.0).abs() < 1e-12);
        }
        let mut backwards: Vec<_> = totals.iter().collect();
        backwards.reverse();
        prop_assert_eq!(Totals::neutral(backwards), Totals::neutral(totals.iter()));
    }

    /// The pH of a solution, given, asks for the acid it holds.
    #[test]
    fn a_given_ph_gives_back_the_acid(totals in solution(), log_pco2 in -6.0_f64..-1.0) {
        for carbon in [Carbon::Closed, Carbon::Open(log_pco2)] {
            let solved = solve(at_25(), &totals, carbon, Protons::Balance);
            let given = solve(at_25(), &totals, carbon, Protons::Ph(solved.ph));
            let charges: f64 = 2000.0 * solved.ionic_strength_mol_kg;
            let off = given.acid_meq_l - totals.acid_meq_l;
            prop_assert!(off.abs() < 1e-9 * charges, "{off:e} of {charges}");
        }
    }

    /// The buffer capacity is the slope of acid against pH.
    #[test]
    fn buffer_capacity_is_a_slope(totals in solution()) {
        let solved = closed(at_25(), &totals);
        let acid = |ph| solve(at_25(), &totals, Carbon::Closed, Protons::Ph(ph)).acid_meq_l;
        let per_litre = (acid(solved.ph - 0.005) - acid(solved.ph + 0.005)) / 0.01;
        let buffer = solved.buffer_mol_kg.expect("the pH was not given");
        // The slope moves the ionic strength too, which the capacity holds: some percent.
        let ratio = per_litre / (1000.0 * solved.kg_water_l * buffer);
        prop_assert!((0.9..1.1).contains(&ratio), "{ratio}");
    }

    /// Where a solve begins changes nothing.
    #[test]
    fn every_start_ends_alike(totals in solution(), other in solution()) {
        let cold = closed(at_25(), &totals);
        let elsewhere = closed(at_25(), &other);
        for start in [&cold, &elsewhere] {
            let warm = speciate(at_25(), &totals, Carbon::Closed, Protons::Balance, Some(start));
            let warm = warm.expect("it converges");
            prop_assert!((warm.ph - cold.ph).abs() < SAME_PH);
            let off = warm.ionic_strength_mol_kg / cold.ionic_strength_mol_kg - 1.0;
            prop_assert!(off.abs() < 1e-9);
        }
    }
}

/// Formulas and mmol/L.
type Salts<'a> = &'a [(&'a str, f64)];

/// At 1e-5 mol/L the ions conduct nearly what they do alone; the electrolyte with pairs of
/// divalent ions least so. What is missing grows with the root of ionic strength (Kohlrausch
/// 1900): four times the salt, twice the loss.
#[test]
fn infinite_dilution() {
    let loss = |salts: Salts, strength: f64| {
        let mut totals = Totals::default();
        for (salt, mmol_l) in salts {
            totals += of_salt(salt, mmol_l * strength);
        }
        let solved = closed(at_25(), &totals);
        let ec = conductivity(at_25(), &solved);
        // Without water's own ions.
        let own = ["H+", "OH-"].map(|name| ec.of_species(position(name)));
        let limit: f64 = totals
            .iter()
            .map(|(component, mmol_l)| {
                let master = Table::shipped().forms[component.index()][0];
                f64::from(component.charge().abs()) * mmol_l * at_25().lambda[master]
            })
            .sum();
        100.0 * (1.0 - (ec.us_cm - own.iter().sum::<f64>()) / limit)
    };
    let cases: [(&str, Salts, f64); 4] = [
        ("KCl", &[("KCl", 0.01)], 0.21),
        ("CaCl2", &[("CaCl2", 0.01)], 0.6),
        ("KCl + CaCl2", &[("KCl", 0.005), ("CaCl2", 0.005)], 0.6),
        ("MgSO4", &[("MgSO4", 0.01)], 1.35),
    ];
    for (what, salts, most_pct) in cases {
        let (once, four) = (loss(salts, 1.0), loss(salts, 4.0));
        println!("{what}: {once:.3} % lost at 1e-5 mol/L, {four:.3} % at 4e-5");
        assert!((0.0..most_pct).contains(&once), "{what}: {once} %");
        if what != "MgSO4" {
            assert!(
                (1.9..2.1).contains(&(four / once)),
                "{what}: {four} / {once}"
            );
        }
    }
    // Onsager (1927) for KCl at 25 °C: Lambda = 149.8 - (0.229 x 149.8 + 60.2) c^1/2, c in mol/L
    // (from memory).
    let onsager = 100.0 * (0.229 * 149.8 + 60.2) / 149.8 * 1e-5_f64.sqrt();
    let ours = loss(&[("KCl", 0.01)], 1.0);
    assert!(
        (ours / onsager - 1.0).abs() < 0.01,
        "{ours} against {onsager}"
    );
}
