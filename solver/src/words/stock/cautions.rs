//! What to heed about stocks: how strong and why not stronger, what is left out, what may drop out.

use super::floor;
use crate::chemistry::concentrate::CELSIUS;
use crate::stock::report::{Premix, StockReport, TankRow};
use crate::stock::request::{StockRequest, Weighed};
use crate::words;
use saltwright_fertilizers::{Dose, Fertilizer, Nutrient};

/// Sulfate beside ammonium, g/L of stock, from which solids without constants here may form.
const AMMONIUM_SULFATE_G_PER_L: f64 = 150.0;
/// Alkalinity, meq/L, from which lime in the calcium tank is cautioned about. Common practice, no
/// source.
const HARD_WATER_MEQ_L: f64 = 1.0;

/// Everything to heed about stocks.
pub(crate) fn cautions(
    request: &StockRequest,
    report: &StockReport,
    mix: &[Dose],
    unknown: &[String],
) -> Vec<String> {
    let mut said = strength(request, report, unknown);
    said.extend(
        report
            .tanks
            .iter()
            .flat_map(|tank| tank_cautions(request, tank, mix)),
    );
    if !report.not_computed.is_empty() {
        said.push(format!(
            "Not computed, for want of constants: {}. They are placed by common practice (no \
             source).",
            words::listing(&report.not_computed)
        ));
    }
    if request.water.alkalinity_meq_l > HARD_WATER_MEQ_L {
        said.push(
            "Alkaline water: it raises the pH of a weak stock until phosphates drop out, and lime, \
             which is not computed, may drop out beside calcium. Make stocks with soft water, or \
             acidify it first."
                .into(),
        );
    }
    if !CELSIUS.contains(&request.hottest_c) {
        said.push(format!(
            "{} °C is outside the range of the model, which ends at 40 °C.",
            words::figure(request.hottest_c)
        ));
    }
    said.extend(too_coarse(request, report));
    said.extend(left_out(request, report));
    let acid = report.tanks.iter().any(|tank| tank.name == "acid");
    let base = report
        .tanks
        .iter()
        .any(|tank| tank.name == "base" || tank.name == "silicate");
    if acid && base {
        said.push("Acid and base never meet undiluted: separate vessels, lines and spoons.".into());
    }
    said.extend(words::hazard_cautions(
        mix.iter().map(|dose| &dose.fertilizer),
    ));
    said.extend(words::water::doubts(&request.water));
    said.extend(words::mix_cautions(mix));
    said
}

/// Wrong weighings that no tank has a place for.
fn left_out(request: &StockRequest, report: &StockReport) -> Vec<String> {
    let is_counted = |weighed: &Weighed| {
        report.mended.iter().any(|row| {
            let here = |name: &String| name.eq_ignore_ascii_case(&row.tank);
            weighed.tank.as_ref().is_none_or(here)
                && row
                    .weighed
                    .iter()
                    .any(|row| row.id == weighed.fertilizer.id)
        })
    };
    let missed = request.already.iter().filter(|one| !is_counted(one));
    missed
        .map(|weighed| {
            let id = &weighed.fertilizer.id;
            let into = weighed
                .tank
                .as_ref()
                .map_or_else(String::new, |tank| format!(" into tank {tank}"));
            let holders: Vec<&str> = report
                .tanks
                .iter()
                .filter(|tank| tank.mix.iter().any(|dose| dose.id == *id))
                .map(|tank| tank.name.as_str())
                .collect();
            let why = if report.ratio.is_none() {
                "no mass is meant while no ratio can be stood for".to_owned()
            } else {
                format!("it belongs into {}", words::listing(&holders))
            };
            format!("What was weighed of {id}{into} is not judged: {why}.")
        })
        .collect()
}

/// What this scale cannot weigh, one by one or, where it is most of the mix, all together.
fn too_coarse(request: &StockRequest, report: &StockReport) -> Vec<String> {
    const FEW: usize = 2;
    let not: Vec<&Premix> = report
        .premixes
        .iter()
        .filter(|p| p.weigh_g.is_none())
        .collect();
    if not.len() <= FEW {
        return not
            .iter()
            .map(|premix| format!("{}.", premix.words))
            .collect();
    }
    let ids: Vec<&str> = not.iter().map(|premix| premix.id.as_str()).collect();
    vec![format!(
        "A scale that shows {} g is too coarse for {}: use a finer one.",
        words::figure(request.scale_g.unwrap_or(0.0)),
        words::listing(&ids)
    )]
}

/// How strong, and why not stronger.
fn strength(request: &StockRequest, report: &StockReport, unknown: &[String]) -> Vec<String> {
    let mut said = Vec::new();
    if !unknown.is_empty() {
        said.push(format!(
            "{}: known by its label only, which does not name all that is in it. How strong this \
             stock may be cannot be told; ask the maker, or test a jar of it in the cold.",
            words::listing(unknown)
        ));
        return said;
    }
    let Some(largest) = report.largest_ratio else {
        let why = if request.water.alkalinity_meq_l > 0.0 {
            "No strength stays clear with this water, whose alkalinity counts in every stock: \
             acidify it first, use softer water, or give the mix more tanks."
        } else {
            "This mix does not even stay clear unconcentrated: give it more tanks, or change the \
             fertilizers."
        };
        said.push(why.into());
        return said;
    };
    if let Some(ratio) = report.ratio.filter(|ratio| *ratio > largest) {
        said.push(format!(
            "1:{} is too strong for {}: 1:{} is the most.",
            words::figure(ratio),
            if request.tanks == 1 {
                "one tank"
            } else {
                "these tanks"
            },
            floor(largest)
        ));
    }
    if report.ratio.is_some_and(|ratio| ratio <= largest)
        && report
            .division_ratio
            .is_some_and(|most| report.ratio.is_some_and(|r| r <= most))
        && report.tanks.iter().any(|tank| tank.clear == Some(false))
    {
        said.push(
            "Too weak to stay clear with this alkaline water: a stronger stock holds its own pH \
             down. Acidify the water first, or ask for the largest ratio."
                .into(),
        );
    }
    if request.tanks == 1
        && let Some(limit) = &report.limited_by
        && (limit.name.starts_with("CaSO4") || limit.name.starts_with("brushite"))
    {
        said.push(format!(
            "All in one tank: calcium meets sulfate and phosphate in it, so it can be 1:{} at \
             most. Two tanks keep them apart and bear much more.",
            floor(largest)
        ));
    }
    if !report.proven {
        said.push(
            "More salts than are divided exactly: small ones were taken together, and the division \
             is the best found, not proven best."
                .into(),
        );
    }
    said
}

fn tank_cautions(request: &StockRequest, tank: &TankRow, mix: &[Dose]) -> Vec<String> {
    let mut said = Vec::new();
    let name = &tank.name;
    if tank.within_model == Some(false) && request.hottest_c <= *CELSIUS.end() {
        said.push(format!(
            "Tank {name}: outside the range of the model (about 6 mol/kg, pH 7.5); its figures are \
             a guess."
        ));
    }
    let fertilizers: Vec<(&Fertilizer, f64)> = tank
        .mix
        .iter()
        .filter_map(|row| {
            let dose = mix.iter().find(|dose| dose.fertilizer.id == row.id)?;
            Some((&*dose.fertilizer, row.g_per_l_stock.unwrap_or(0.0)))
        })
        .collect();
    let grams = |nutrient: Nutrient| -> f64 {
        fertilizers
            .iter()
            .map(|(row, grams)| row.assay_pct[nutrient] / 100.0 * grams)
            .sum()
    };
    // Sulfur counted as sulfate: 96.06/32.06.
    let sulfate = grams(Nutrient::S) * 96.06 / 32.06;
    if grams(Nutrient::AmmoniumN) > 0.0 && sulfate > AMMONIUM_SULFATE_G_PER_L {
        said.push(format!(
            "Tank {name}: ammonium beside much sulfate can form double salts that are not counted \
             here; stay weaker, or test a jar of it in the cold."
        ));
    }
    let free = |nutrient: Nutrient| {
        fertilizers
            .iter()
            .any(|(row, _)| row.assay_pct[nutrient] > 0.0 && crate::stock::chelate(row).is_none())
    };
    if free(Nutrient::Mn) && free(Nutrient::P) {
        said.push(format!(
            "Tank {name}: whether manganese drops out with phosphate cannot be told, databases \
             disagree by thousands; in practice such stocks stay clear (common practice, no \
             source)."
        ));
    }
    if free(Nutrient::Mo) && free(Nutrient::Ca) {
        said.push(format!(
            "Tank {name}: molybdate beside calcium can drop out (not computed here; about 50 times \
             saturated at 1:100 and 0.05 mg/L of Mo by a public database). Keep it with the \
             sulfates, or apart."
        ));
    }
    for (fertilizer, _) in &fertilizers {
        let Some((metal, ligand)) = crate::stock::chelate(fertilizer) else {
            continue;
        };
        let (low, high) = crate::stock::chelate_ph(metal, ligand);
        if let Some(ph) = tank.ph.filter(|ph| *ph < low || *ph > high) {
            said.push(format!(
                "Tank {name} has a pH of about {ph:.1}: {} stays whole between {low} and {high} \
                 only (from memory). Keep it in a tank of its own.",
                fertilizer.id
            ));
        }
    }
    said
}
