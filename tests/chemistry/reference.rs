//! Solutions of other programs, compared figure by figure.
//!
//! `anchors.csv` (named nutrient solutions, waters with acid) and `worked_solutions.csv` (random
//! mixes in random waters): totals, and the answers of a reference model written apart from this
//! program (suffix `r`) and of PHREEQC (USGS, public domain) 3.7.3 and 3.8.6, each with its own
//! constants (`373`, `386`) and with those of this program laid over them (`373r`, `386r`).

use super::tables::{
    ANCHORS, PH_CASES, Row, Spread, WORKED, closed, dose, number, open, percent_off, rows,
    totals_in_columns, totals_in_list, us_cm, value,
};
use saltwright_solver::chemistry::conductivity::conductivity;
use saltwright_solver::chemistry::solids::indices;
use saltwright_solver::chemistry::{Component, Conditions, LOG_PCO2_AIR, Totals};
use std::collections::BTreeMap;

/// Our answer to a solution of the tables, by the name of the column without its suffix.
fn answers(totals: &Totals) -> BTreeMap<String, f64> {
    let at = Conditions::reference();
    let (kept, aired) = (closed(at, totals), open(at, totals));
    let buffer = kept.buffer_mol_kg.expect("the pH was not given");
    let mut answers = BTreeMap::from(
        [
            ("ph_closed", kept.ph),
            ("ph_open", aired.ph),
            ("ec25_ms_cm", conductivity(at, &kept).us_cm / 1000.0),
            ("ec25_open_ms_cm", conductivity(at, &aired).us_cm / 1000.0),
            ("ionic_strength", kept.ionic_strength_mol_kg),
            ("buffer_mol_kg_ph", buffer),
        ]
        .map(|(name, answer)| (name.to_owned(), answer)),
    );
    answers.extend(indices(at, &kept).map(|(solid, index)| (format!("si_{}", solid.id), index)));
    let aired = indices(at, &aired).map(|(solid, index)| (format!("si_{}_open", solid.id), index));
    answers.extend(aired);
    answers
}

/// The solutions of both tables with our answers.
fn solutions() -> impl Iterator<Item = (Row, BTreeMap<String, f64>)> {
    let anchors = rows(ANCHORS).into_iter().map(|row| {
        let answers = answers(&totals_in_columns(&row));
        (row, answers)
    });
    let worked = rows(WORKED).into_iter().map(|row| {
        let mut totals = totals_in_list(&row["totals_mmol_l"]);
        totals.push((Component::Carbon, value(&row, "dic_mmol_l_r")));
        let answers = answers(&Totals::neutral(totals));
        (row, answers)
    });
    anchors.chain(worked)
}

/// How far our `name` is from the column `name` + `suffix`: relative in percent, or plain.
pub fn against(name: &str, suffix: &str) -> Spread {
    let relative = !name.starts_with("ph_") && !name.starts_with("si_");
    Spread::of(solutions().filter_map(|(row, answers)| {
        let (ours, theirs) = (
            *answers.get(name)?,
            number(&row, &format!("{name}{suffix}"))?,
        );
        let off = if relative {
            percent_off(ours, theirs)
        } else {
            ours - theirs
        };
        Some((row["case_id"].clone(), off))
    }))
}

/// pH closed and open together.
pub fn ph_against(suffix: &str) -> Spread {
    let mut both = Spread::default();
    for (row, answers) in solutions() {
        for name in ["ph_closed", "ph_open"] {
            if let Some(theirs) = number(&row, &format!("{name}{suffix}")) {
                both.add(&row["case_id"], answers[name] - theirs);
            }
        }
    }
    both
}

/// Our EC against another model of conductivity on the speciation of the reference model.
pub fn ec_against(column: &str) -> Spread {
    Spread::of(solutions().filter_map(|(row, answers)| {
        let off = percent_off(answers["ec25_ms_cm"], number(&row, column)?);
        Some((row["case_id"].clone(), off))
    }))
}

/// Tolerances: what the digits of the tables leave open. Asked for are 0.1 % of EC, 0.001 of pH.
/// Totals have six digits, which is 0.0005 of pH where nothing buffers; hydroxyapatite multiplies
/// that by eight.
#[test]
fn the_reference_model() {
    against("ph_closed", "_r").assert_within("pH closed", 0.0002, 0.001);
    against("ph_open", "_r").assert_within("pH open", 0.0002, 0.001);
    against("ec25_ms_cm", "_r").assert_within("EC closed, %", 0.003, 0.01);
    against("ec25_open_ms_cm", "_r").assert_within("EC open, %", 0.003, 0.01);
    against("ionic_strength", "_r").assert_within("ionic strength, %", 0.003, 0.02);
    against("buffer_mol_kg_ph", "").assert_within("buffer capacity, %", 0.02, 0.06);
    for solid in [
        "gypsum",
        "calcite",
        "brushite",
        "struvite",
        "calcite_open",
        "brushite_open",
    ] {
        let name = format!("si_{solid}");
        against(&name, "_r").assert_within(&name, 0.001, 0.002);
    }
    against("si_HAP", "_r").assert_within("si_HAP", 0.001, 0.008);
}

/// The geochemical code. With our constants in it only methods differ: its own water activity,
/// its solution's density. With its own constants the pairs differ as well.
#[test]
fn the_geochemical_code() {
    for name in ["ph_closed", "ph_open"] {
        against(name, "_386r").assert_within(&format!("{name}, our constants"), 0.001, 0.01);
        against(name, "_386").assert_within(&format!("{name}, its constants"), 0.003, 0.01);
    }
    against("ionic_strength", "_386r").assert_within("ionic strength, %", 0.02, 0.05);
    for solid in ["gypsum", "calcite", "brushite", "struvite"] {
        let name = format!("si_{solid}");
        against(&name, "_386r").assert_within(&name, 0.003, 0.006);
        against(&name, "_386").assert_within(&format!("{name}, its constants"), 0.015, 0.05);
    }
    against("ec25_ms_cm", "_373").assert_within("EC of 3.7.3, %", 0.7, 2.0);
    against("ec25_ms_cm", "_373r").assert_within("EC of 3.7.3, our constants, %", 0.7, 2.0);
    ec_against("ec25_ms_cm_mccleskey2012").assert_within("McCleskey 2012, %", 1.0, 2.0);
    ec_against("ec25_ms_cm_gamma_alpha").assert_within("gamma-alpha model, %", 1.0, 2.5);
}

/// Known to be wrong: conductance of mixed valences in version 3.8.6 is several percent off all
/// other models, so its column is no reference. Fails should our model ever follow it.
#[test]
fn the_newer_conductance_of_that_code_stands_apart() {
    let apart = against("ec25_ms_cm", "_386");
    println!(
        "EC of 3.8.6: mean {:.2} %, max {:.2} %",
        apart.mean(),
        apart.max
    );
    assert!(apart.max > 5.0 && apart.mean() > 2.0 * against("ec25_ms_cm", "_373").mean());
}

/// Waters, acid doses and recipes in tap water: pH of the reference model and of PHREEQC 3.8.6.
#[test]
fn waters_with_acid() {
    let (mut reference, mut code) = (Spread::default(), Spread::default());
    for row in rows(PH_CASES)
        .iter()
        .filter(|row| row["status"] == "COMPUTED")
    {
        let at = Conditions::at(value(row, "temp_c"));
        let totals = totals_in_columns(row);
        let ours = if row["co2"] == "open" {
            assert_eq!(number(row, "log10_pco2_atm"), Some(LOG_PCO2_AIR));
            open(&at, &totals).ph
        } else {
            closed(&at, &totals).ph
        };
        reference.add(&row["case_id"], ours - value(row, "model_ph"));
        code.add(&row["case_id"], ours - value(row, "phreeqc_386"));
    }
    reference.assert_within("waters with acid, reference model", 0.0002, 0.001);
    code.assert_within("waters with acid, PHREEQC 3.8.6", 0.003, 0.01);
}

/// From grams of salts, an analysed water and poured acid to totals, through the formulas.
#[test]
fn totals_come_from_grams() {
    for row in rows(WORKED) {
        let case = &row["case_id"];
        let mut totals = Totals::default();
        for part in row["salts_g_per_l"].split_terminator(';') {
            let (formula, grams) = part.split_once('=').expect("formula=grams");
            totals.add_dose(&dose(formula, grams.parse().expect("grams"), 100.0));
        }
        if let Some(ml) = number(&row, "acid_ml_per_l") {
            let grams = ml * value(&row, "acid_density_g_ml");
            totals.add_dose(&dose(&row["acid"], grams, value(&row, "acid_mass_pct")));
        }
        // mg/L of the ion over its molar mass (IUPAC abridged atomic weights).
        let water = [
            ("water_ca_mg_l", Component::Calcium, 40.078),
            ("water_mg_mg_l", Component::Magnesium, 24.305),
            ("water_na_mg_l", Component::Sodium, 22.990),
            ("water_cl_mg_l", Component::Chloride, 35.45),
            ("water_so4_mg_l", Component::Sulfate, 96.06),
        ];
        for (column, component, molar_mass) in water {
            totals[component] += number(&row, column).unwrap_or(0.0) / molar_mass;
        }
        totals.acid_meq_l -= number(&row, "water_alkalinity_meq_l").unwrap_or(0.0);

        let expected = Totals::neutral(totals_in_list(&row["totals_mmol_l"]));
        for ((component, ours), (_, theirs)) in totals.iter().zip(expected.iter()) {
            let close = (ours - theirs).abs() <= 1e-4 * theirs;
            assert!(close, "{case}: {component:?} {ours} against {theirs}");
        }
        // What the masters leave open is the acid: 1e-4 of all charges.
        let off = totals.acid_meq_l - expected.acid_meq_l;
        assert!(off.abs() < 5e-3, "{case}: acid off by {off} meq/L");
    }
}

/// The example that the design works out by hand-sized numbers: Ca 5, Mg 2, K 6, NO3 15, SO4 2,
/// P 1 mmol/L at 25 °C.
#[test]
fn one_solution_species_by_species() {
    use Component::{Calcium, Magnesium, Nitrate, Phosphate, Potassium, Sulfate};
    let at = Conditions::reference();
    let totals = Totals::neutral([
        (Calcium, 5.0),
        (Magnesium, 2.0),
        (Potassium, 6.0),
        (Nitrate, 15.0),
        (Sulfate, 2.0),
        (Phosphate, 1.0),
    ]);
    let solved = closed(at, &totals);
    let ec = conductivity(at, &solved);
    let table = saltwright_solver::chemistry::species::Table::shipped();
    let position = |name: &str| table.position(name).expect("a species");
    let near = |ours: f64, theirs: f64, digit: f64| {
        assert!(
            (ours - theirs).abs() <= 0.6 * digit,
            "{ours} against {theirs}"
        );
    };
    near(solved.ph, 4.9233, 1e-4);
    near(solved.ionic_strength_mol_kg, 0.026_668, 1e-6);
    near(us_cm(at, &totals), 2159.9, 0.1);
    near(solved.mmol_l(position("Ca+2")), 4.5239, 1e-4);
    near(solved.mmol_l(position("CaSO4")), 0.3544, 1e-4);
    near(1e5 * solved.buffer_mol_kg.expect("a buffer"), 7.3, 0.1);
    let shares = [
        ("NO3-", 43.97),
        ("Ca+2", 20.21),
        ("K+", 18.35),
        ("SO4-2", 8.86),
        ("Mg+2", 7.06),
        ("H2PO4-", 1.13),
    ];
    for (ion, percent) in shares {
        near(
            100.0 * ec.of_species(position(ion)) / ec.us_cm,
            percent,
            0.01,
        );
    }
    let found: BTreeMap<_, _> = indices(at, &solved)
        .map(|(s, index)| (s.id, index))
        .collect();
    near(found["gypsum"], -1.116, 1e-3);
    near(found["brushite"], -1.375, 1e-3);
}
