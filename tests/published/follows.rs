//! What follows from what a source itself prints, by case and quantity.

use super::cases::predict;
use super::figures::{Figure, concentration, figures, g_per_l_for};
use super::salts::{Salt, molar_mass, salts};
use crate::common::{delivered, number};
use saltwright_fertilizers::units::{GRAMS_PER_OUNCE, LITRES_PER_US_GALLON};

/// What follows from what the source itself prints.
pub fn ours(case: &str, quantity: &str) -> f64 {
    if let Some(figure) = result(case, quantity) {
        return figure.ours;
    }
    match case {
        "SAPS-FE" => iron(case, quantity),
        "HOAG2-SALTS" => molar_hoagland_2(case, quantity),
        "ARSIA-T7" => tank(case, quantity),
        "ID-SAWI" | "ID-CA200" => mg_l_of_salt(quantity),
        "ID-220L" => grams_of_stock(case, quantity),
        "TR-STRAVER" => feed_or_stock(case, quantity),
        "TAMU-1" => figure(case, "factor").ours,
        "TAMU-2" | "TAMU-3" => texas(case, quantity),
        "SHINSHU" => stock_mmol_l(case, quantity),
        "VN-HOAG" => figure(case, first_word(quantity)).ours,
        "IN-BLOG" => label(quantity),
        "ARGO-5" => five_gallons(quantity),
        _ => panic!("{case} {quantity}"),
    }
}

fn first_word(text: &str) -> &str {
    text.split(' ').next().unwrap_or(text)
}

/// The printed result of that label, if the case has one.
fn result(case: &str, quantity: &str) -> Option<Figure> {
    figures(case)
        .into_iter()
        .find(|figure| figure.line.status != "COMPUTED" && figure.label() == quantity)
}

/// The result of that name, printed or recomputed.
pub fn figure(case: &str, name: &str) -> Figure {
    let found = figures(case)
        .into_iter()
        .find(|figure| figure.line.name == name);
    found.unwrap_or_else(|| panic!("{case} {name}"))
}

/// Iron of the school's stock, from the commercial and from the pure chelate.
fn iron(case: &str, quantity: &str) -> f64 {
    let basis = if quantity.contains("pure") {
        "12.83"
    } else {
        "6%"
    };
    figures(case)
        .into_iter()
        .find(|figure| figure.line.assay.starts_with(basis))
        .unwrap_or_else(|| panic!("{quantity}"))
        .ours
}

/// Solution 2 by its molar stocks: KNO3 6, Ca(NO3)2 4, MgSO4 2, NH4H2PO4 1 mmol/L. Source: Hershey
/// (1997), bionet.plants.education, 29 September 1997.
fn molar_hoagland_2(case: &str, quantity: &str) -> f64 {
    let salts = [
        ("KNO3", 6.0),
        ("Ca(NO3)2", 4.0),
        ("MgSO4", 2.0),
        ("NH4H2PO4", 1.0),
    ]
    .map(|(formula, mmol_l)| Salt::of(formula, "").weighing(mmol_l, "mmol/L"));
    delivered(&predict(case, &salts), first_word(quantity))
}

/// Kilograms (litres for the acid) in 100 L of stock at 1:100, from the feed that the case prints.
fn tank(case: &str, quantity: &str) -> f64 {
    let name = quantity.strip_prefix("tank ").expect("a tank");
    let salts = salts(case, "");
    let salt = salts
        .iter()
        .find(|salt| salt.name.starts_with(name))
        .expect("listed");
    let report = predict(case, std::slice::from_ref(salt));
    let line = &report["mix"][0];
    let per_l = if salt.formula == "HNO3" {
        "/ml_per_l"
    } else {
        "/g_per_l"
    };
    number(line, per_l) * 100.0 * 100.0 / 1000.0
}

/// `MgSO4.7H2O for Mg 62`: mg/L of the salt; `Ca(NO3)2` alone aims at Ca 200.
fn mg_l_of_salt(quantity: &str) -> f64 {
    let (formula, aim) = quantity.split_once(" for ").unwrap_or((quantity, "Ca 200"));
    let (nutrient, aim) = aim.split_once(' ').expect("a nutrient and its aim");
    1000.0
        * g_per_l_for(
            &Salt::of(formula, ""),
            nutrient,
            aim.parse().expect("a number"),
        )
}

/// Grams for 220 L that the printed millilitres of a molar stock stand for.
fn grams_of_stock(case: &str, name: &str) -> f64 {
    let stock = salts(case, "")
        .into_iter()
        .find(|salt| salt.name == name && salt.is_poured())
        .unwrap_or_else(|| panic!("{name}"));
    220.0 * number(&predict(case, &[stock])["mix"][0], "/g_per_l")
}

/// Calcium nitrate for Ca 3.7 mmol/L: mg/L of feed, g/L of stock at 1:100.
fn feed_or_stock(case: &str, quantity: &str) -> f64 {
    let salt = &salts(case, "")[0];
    let calcium = concentration(&predict(case, std::slice::from_ref(salt)), "Ca", "mg/L");
    let g_per_l = g_per_l_for(salt, "Ca", calcium);
    if quantity.contains("stock") {
        100.0 * g_per_l
    } else {
        1000.0 * g_per_l
    }
}

/// Ounces in 100 US gallons for mg/L of N.
fn ounces(assay: &str, mg_l: f64) -> f64 {
    let g_per_l = g_per_l_for(&Salt::of("", assay), "N", mg_l);
    g_per_l * 100.0 * LITRES_PER_US_GALLON / GRAMS_PER_OUNCE
}

fn texas(case: &str, quantity: &str) -> f64 {
    match quantity {
        // One ounce, counted with the source's own factor 75 for the exact one.
        "0.33 x 75" => {
            let ounce = Salt::of("NH4NO3", "N-NO3 16.5; N-NH4 16.5").weighing(1.0, "oz/100 US gal");
            delivered(&predict(case, &[ounce]), "N") * 75.0 / figure("TAMU-1", "factor").ours
        }
        "oz/100 gal" => ounces("N-NO3 15", 250.0),
        // Half of 300 mg/L from each.
        "AN oz/100 gal" => ounces("N-NO3 16.5; N-NH4 16.5", 150.0),
        "CN oz/100 gal" => ounces("N-NO3 15", 150.0),
        _ => panic!("{quantity}"),
    }
}

/// mmol/L of a 50 mL stock of which 5 mL go into a litre.
fn stock_mmol_l(case: &str, quantity: &str) -> f64 {
    let name = quantity.strip_suffix(" mM").expect("a concentration");
    let salt = salts(case, "")
        .into_iter()
        .find(|salt| salt.name == name)
        .expect("listed");
    let report = predict(case, std::slice::from_ref(&salt));
    let g_per_l = number(&report["mix"][0], "/g_per_l");
    1000.0 * g_per_l / molar_mass(&salt.formula) / 0.005
}

/// Labels in oxides: percent of the element; and the calcium nitrate of the same page.
fn label(quantity: &str) -> f64 {
    let percent = |assay: &str, nutrient: &str| {
        // 1 g/L brings ten times its percentage in mg/L.
        let salt = Salt::of("", assay).weighing(1000.0, "mg/L");
        delivered(&predict("IN-BLOG", &[salt]), nutrient) / 10.0
    };
    match quantity {
        "calcium nitrate" => {
            1000.0 * g_per_l_for(&Salt::of("", "Ca 18.8; N-NO3 15.5"), "Ca", 200.0)
        }
        "K in 13-0-45" => percent("N-NO3 13; K2O 45", "K"),
        _ if quantity.starts_with("K in 0-52-34") => percent("P2O5 52; K2O 34", "K"),
        _ => percent("P2O5 52; K2O 34", "P"),
    }
}

/// A fertilizer of 20 % N for 100 mg/L in 5 US gallons.
fn five_gallons(quantity: &str) -> f64 {
    let litres = 5.0 * LITRES_PER_US_GALLON;
    let grams = litres * g_per_l_for(&Salt::of("", "N-NO3 20"), "N", 100.0);
    if quantity == "oz" {
        grams / GRAMS_PER_OUNCE
    } else {
        grams
    }
}
