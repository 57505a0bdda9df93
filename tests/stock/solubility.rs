//! The model against measured solubilities and densities.

use super::{cell, table};
use saltwright_fertilizers::{Faults, Fertilizer, Node};
use saltwright_solver::chemistry::concentrate::{Conditions, Dissolved, EXACT, Solid, State};

fn of_gram(formula: &str) -> Dissolved {
    let text = format!(r#"{{"id": "x", "formula": "{formula}"}}"#);
    let mut faults = Faults::default();
    let node = Node::from_json(&text).expect("JSON");
    Dissolved::of_gram(&Fertilizer::read(&node, "", &mut faults).expect(formula))
}

/// mol of a formula in a gram, by the ion that stands for it.
fn mol_per_g(formula: &str, ion: &str, count: f64) -> f64 {
    of_gram(formula).mol_of(ion) / count
}

/// A litre that holds these, each in mol per kg of water: formula, ion that counts it, how many of
/// that ion, molality.
fn at_molality(parts: &[(&str, &str, f64, f64)], celsius: f64) -> State {
    let conditions = Conditions::at(celsius);
    // From below: the strongest of the handbook leave little room for water.
    let mut water = 0.3;
    for _ in 0..200 {
        let litre = parts
            .iter()
            .fold(Dissolved::default(), |sum, (formula, ion, count, molal)| {
                let grams = molal * water / mol_per_g(formula, ion, *count);
                sum + of_gram(formula) * grams
            });
        let state = conditions.state(&litre, EXACT).expect("a solution");
        if (state.water_kg_l - water).abs() < 1e-10 {
            return state;
        }
        water = 0.5 * (water + state.water_kg_l);
    }
    panic!("{parts:?} at {celsius} °C");
}

fn index(state: &State, solid: &str) -> f64 {
    let position = Solid::all()
        .iter()
        .position(|known| known.name == solid)
        .expect(solid);
    state.indices[position].expect("its ions are there")
}

/// The formula, the ion that counts it and how many of it, for the salts of the handbook table.
fn counted(salt: &str) -> (&'static str, &'static str, f64) {
    match salt {
        "KNO3" => ("KNO3", "K+", 1.0),
        "K2SO4" => ("K2SO4", "K+", 2.0),
        "KCl" => ("KCl", "K+", 1.0),
        "KH2PO4" => ("KH2PO4", "K+", 1.0),
        "NH4H2PO4" => ("NH4H2PO4", "NH4+", 1.0),
        "NH4NO3" => ("NH4NO3", "NH4+", 1.0),
        "(NH4)2SO4" => ("(NH4)2SO4", "NH4+", 2.0),
        "MgSO4" => ("MgSO4", "Mg+2", 1.0),
        "Ca(NO3)2" => ("Ca(NO3)2", "Ca+2", 1.0),
        "Mg(NO3)2" => ("Mg(NO3)2", "Mg+2", 1.0),
        "CaSO4" => ("CaSO4", "Ca+2", 1.0),
        "NH4Cl" => ("NH4Cl", "NH4+", 1.0),
        other => panic!("{other}"),
    }
}

/// Molality at which an index becomes 0, by bisection around the measured one.
fn saturated(measured: f64, at: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.7 * measured, 1.3 * measured);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if at(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

/// Source: CRC Handbook of Chemistry and Physics, 98th ed. (2017), Aqueous Solubility of Inorganic
/// Compounds at Various Temperatures. The constants of these solids were fitted to this very table
/// with this activity model: what is printed is the residual of a fit, not a proof of the model.
#[test]
fn single_salts_against_the_handbook() {
    println!("salt          °C   CRC mol/kg   ours   error (residual of the fit)");
    let rows = table("pure_salts");
    assert_eq!(rows.len(), 60);
    for row in &rows {
        let (formula, ion, count) = counted(&row["salt"]);
        let (t, measured) = (cell(row, "t_c"), cell(row, "mol_per_kg_water"));
        let ours = saturated(measured, |molal| {
            index(
                &at_molality(&[(formula, ion, count, molal)], t),
                &row["solid"],
            )
        });
        let off = 100.0 * (ours / measured - 1.0);
        println!(
            "{:<12}{t:>4}{measured:>12.4}{ours:>10.4}  {off:+.2} %",
            row["salt"]
        );
        let most = match row["salt"].as_str() {
            "NH4NO3" => 7.0,
            "Ca(NO3)2" => 2.0,
            "KNO3" | "MgSO4" => 1.3,
            _ => 0.7,
        };
        assert!(off.abs() < most, "{} at {t} °C: {off:+.2} %", row["salt"]);
    }
}

/// Source: Journal of Chemistry 2018, 8749345, Table 2: saturated mixtures of KNO3 and KH2PO4. The
/// series at 25 °C was used to fit two parameters; 10 and 40 °C were not.
#[test]
fn saturated_mixtures_of_two_salts() {
    let molar = |formula, ion| 1.0 / mol_per_g(formula, ion, 1.0);
    let (nitrate, phosphate) = (molar("KNO3", "K+"), molar("KH2PO4", "K+"));
    let mut worst = 0.0_f64;
    for row in &table("mixed_kno3_kh2po4") {
        let (t, a, b) = (
            cell(row, "t_c"),
            cell(row, "KNO3_mass_pct"),
            cell(row, "KH2PO4_mass_pct"),
        );
        let water = (100.0 - a - b) / 1000.0;
        let parts = [
            ("KNO3", "K+", 1.0, a / nitrate / water),
            ("KH2PO4", "K+", 1.0, b / phosphate / water),
        ];
        let parts: Vec<_> = parts.into_iter().filter(|part| part.3 > 0.0).collect();
        let state = at_molality(&parts, t);
        let (solid, found) = state.first_solid().expect("a solid");
        println!(
            "{t} °C, KNO3 {a} %, KH2PO4 {b} %: index of {} {found:+.3}",
            solid.name
        );
        worst = worst.max(found.abs());
        assert!(found.abs() < 0.05, "{t} °C, {a} %, {b} %: {found:+.3}");
    }
    println!("worst index {worst:.3}; 0 is exact");
}

/// Gypsum in other salts at 25 °C. Measured values from memory (Seidell and Smith 1904 and others).
#[test]
fn gypsum_in_other_salts() {
    for row in &table("gypsum_background") {
        let Ok(measured) = row["measured_mol_per_kg"].parse::<f64>() else {
            continue;
        };
        let words = &row["background_mol_per_kg_25C"];
        let mut parts = words.split(' ');
        let (salt, molal) = (
            parts.next().expect("a salt"),
            parts.next().expect("a molality"),
        );
        let background = match salt {
            "KNO3" => ("KNO3", "K+", 1.0),
            "Ca(NO3)2" => ("Ca(NO3)2", "Ca+2", 1.0),
            "Mg(NO3)2" => ("Mg(NO3)2", "Mg+2", 1.0),
            "NaCl" => ("NaCl", "Na+", 1.0),
            "KCl" => ("KCl", "K+", 1.0),
            other => panic!("{other}"),
        };
        let molal: f64 = molal.parse().expect("a molality");
        let ours = saturated(measured, |gypsum| {
            let (formula, ion, count) = background;
            let both = [
                (formula, ion, count, molal),
                ("CaSO4", "SO4-2", 1.0, gypsum),
            ];
            index(&at_molality(&both, 25.0), "CaSO4.2H2O")
        });
        let off = 100.0 * (ours / measured - 1.0);
        println!("gypsum in {words}: {ours:.4} against {measured} mol/kg, {off:+.1} %");
        assert!(off.abs() < 22.0, "{words}: {off:+.1} %");
    }
}

/// Source: densities by the model of Laliberte (2009, J. Chem. Eng. Data 54, 1725), 20 °C; made up
/// to one litre.
#[test]
fn a_litre_is_made_up_to_the_mark() {
    let conditions = Conditions::at(20.0);
    for row in &table("density") {
        let words = &row["stock_made_up_to_1_L"];
        // "MgSO4.7H2O 98.6 + KH2PO4 40.8": formula and grams; a remark in brackets, a unit.
        let plain = words
            .split(" (")
            .next()
            .expect("something")
            .replace(" g/L", "");
        let mut litre = Dissolved::default();
        let mut grams = 0.0;
        for part in plain.split(" + ") {
            let mut part = part.split(' ');
            let formula = part.next().expect("a formula");
            let mass: f64 = part.next().expect("a mass").parse().expect("a number");
            litre += of_gram(formula) * mass;
            grams += mass;
        }
        let state = conditions.state(&litre, EXACT).expect("a solution");
        let measured = cell(row, "density_20C_kg_per_l");
        let off = 100.0 * (state.density_kg_l / measured - 1.0);
        let water = 1000.0 * state.density_kg_l - grams;
        let water_off = 100.0 * (water / cell(row, "water_to_add_g_for_1.000_L") - 1.0);
        println!(
            "{words}: {:.4} kg/L, {off:+.2} %; water {water:.0} g, {water_off:+.2} %",
            state.density_kg_l
        );
        let (most, most_water) = if words.contains("500") {
            (1.1, 1.8)
        } else {
            (0.65, 1.7)
        };
        assert!(off.abs() < most && water_off.abs() < most_water, "{words}");
    }
}
