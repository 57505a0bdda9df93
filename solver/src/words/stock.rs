//! Sentences about stocks: how clear, in which order, what to heed.

use crate::chemistry::concentrate::CELSIUS;
use crate::stock::report::{Do, Mended, Premix, StockReport, TankRow};
use crate::stock::request::{StockRequest, Weighed};
use crate::words;
use saltwright_fertilizers::{Dose, Fertilizer, Hazard, Nutrient};
use saltwright_recipes::Water;

/// Index below which a stock is clear with room to spare; judgement.
const CLEAR: f64 = -0.3;
/// Index above which a solid surely forms; judgement.
const SURELY: f64 = 0.5;
/// Sulfate beside ammonium, g/L of stock, from which solids without constants here may form.
const AMMONIUM_SULFATE_G_PER_L: f64 = 150.0;
/// Alkalinity, meq/L, from which lime in the calcium tank is cautioned about. Common practice, no
/// source.
const HARD_WATER_MEQ_L: f64 = 1.0;

/// Of a tank that holds a fertilizer whose ions are not known.
pub const CANNOT_TELL: &str = "cannot tell: not all that is in it is known";
/// Of a tank without constants.
pub const BY_RULE: &str = "by rule, not computed";
/// Of a stock that would hold hardly any water.
pub const NO_WATER: &str = "no solution: hardly any water would be left in it";
/// The first step of a tank of salts.
pub const START: &str = "water to start with, 20 to 30 °C (68 to 86 °F): nitrates and urea cool it as they dissolve (common practice)";
/// The first step of a tank into which acid or base is poured.
pub const START_COOL: &str = "water to start with, cool: acid or base heats it (common practice)";
/// The last step.
pub const REST: &str = "close, keep dark, let it reach the temperature of the store; next day look for haze or crystals";

/// The name of a water.
pub fn water_name(water: &Water) -> String {
    if water.name.is_empty() {
        "own water".into()
    } else {
        water.name.clone()
    }
}

/// How clear a tank stays.
pub fn verdict(index: Option<f64>, margin: f64, doubtful: bool) -> String {
    let Some(index) = index else {
        return "clear: nothing in it can drop out".into();
    };
    let words = if index <= CLEAR && index <= -margin {
        "clear"
    } else if index <= -margin {
        "clear, but close"
    } else if index <= 0.0 {
        "too close to dropping out"
    } else if index <= SURELY {
        "can drop out"
    } else {
        "will drop out"
    };
    if doubtful && index > -margin {
        format!("{words}: may form over days; uncertain")
    } else {
        words.to_owned()
    }
}

/// More of a fertilizer than dissolves in practice.
pub fn too_much(id: &str) -> String {
    format!("too strong: {id} does not dissolve at this strength (by rule, not computed)")
}

/// The step of what is too small for the scale, and cannot be weighed as a premix either.
pub const TOO_SMALL: &str = "too small for this scale: see what is said of it";

/// How one fertilizer is put in.
pub fn how(what: Do, fertilizer: &Fertilizer) -> String {
    match what {
        Do::Pour if fertilizer.is_acid() => "slowly into the water, stirring".into(),
        Do::Pour => "slowly into the water, stirring; it heats".into(),
        Do::Premix => "from the premix".into(),
        Do::Chelate => "last, below 30 °C (86 °F); stir until all is gone".into(),
        _ => "stir until all is gone".into(),
    }
}

/// Filling to the mark, with the density as a check.
pub fn fill(density_g_per_ml: Option<f64>) -> String {
    let check = density_g_per_ml.map_or_else(String::new, |density| {
        format!("; a hydrometer should read {density:.3} g/mL at 20 °C")
    });
    format!("fill to the mark at about 20 °C and stir{check}")
}

/// What to heed where a fertilizer is handled.
pub fn at_the_step(fertilizer: &Fertilizer) -> Option<String> {
    let hazards = fertilizer.hazards();
    let mut said: Vec<&str> = hazards
        .iter()
        .map(|hazard| words::hazard(*hazard))
        .collect();
    let dust = fertilizer.hazard.contains("H318") || fertilizer.hazard.contains("eye damage");
    if dust && !hazards.contains(&Hazard::Acid) && !hazards.contains(&Hazard::Base) {
        said.push("Can damage eyes: goggles; raise no dust.");
    } else if said.is_empty() && !fertilizer.hazard.is_empty() {
        said.push("Gloves; raise no dust.");
    }
    (!said.is_empty()).then(|| said.join(" "))
}

/// A premix in a sentence.
pub fn premix(premix: &Premix, scale_g: f64) -> String {
    let grams = |grams: f64| on_scale(grams, scale_g);
    let (Some(weigh), Some(into), Some(take)) = (premix.weigh_g, premix.into_ml, premix.take_ml)
    else {
        return String::new();
    };
    let first = format!(
        "{}: weigh {} g into {} mL",
        premix.id,
        grams(weigh),
        words::figure(into)
    );
    match premix.again_into_ml.zip(premix.again_take_ml) {
        Some((again, last)) => format!(
            "{first}, take {} mL of it and make that up to {} mL, of which take {} mL",
            words::figure(take),
            words::figure(again),
            words::figure(last)
        ),
        None => format!("{first}, of which take {} mL", words::figure(take)),
    }
}

/// A mass that this scale cannot weigh even as a premix.
pub fn no_premix(premix: &Premix, scale_g: f64) -> String {
    // A hundredfold premix of 100 readabilities is what a scale should manage.
    let finer = [10.0, 1.0, 0.1, 0.01, 0.001]
        .into_iter()
        .find(|finer| *finer < scale_g && premix.needed_g * 100.0 >= 50.0 * finer);
    let mend = finer.map_or_else(
        || "make a larger batch, or buy it ready dissolved".to_owned(),
        |finer| format!("weigh it on a scale that shows {finer} g"),
    );
    format!(
        "{}: {} g cannot be weighed on a scale that shows {} g; {mend}",
        premix.id,
        words::figure(premix.needed_g),
        words::figure(scale_g)
    )
}

/// A mass with the digits that a scale shows; a tenth of a step where that is no round number, as
/// on a scale in ounces.
pub fn on_scale(grams: f64, scale_g: f64) -> String {
    const STEPS: [f64; 6] = [1.0, 0.1, 0.01, 0.001, 0.0001, 0.00001];
    let is_shown = |step: f64| scale_g > step * 0.999_999 && is_whole(scale_g / step);
    let digits = STEPS
        .into_iter()
        .take_while(|step| scale_g < step * 1000.0)
        .position(is_shown)
        .or_else(|| STEPS.into_iter().position(|step| step * 10.0 <= scale_g))
        .unwrap_or(5);
    format!("{grams:.digits$}")
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6
}

/// The ways out of a wrong weighing.
pub fn mended(mended: &Mended, litres: f64) -> Vec<String> {
    let mut said = Vec::new();
    let list = |rows: &[crate::stock::report::AddRow]| {
        let rows: Vec<String> = rows
            .iter()
            .map(|row| format!("{} g of {}", words::figure(row.g), row.id))
            .collect();
        words::listing(&rows)
    };
    let add = list(&mended.add);
    if mended.fill_to_l > litres * (1.0 + 1e-12) {
        let more = words::figure(mended.fill_to_l);
        let fill = if add.is_empty() {
            "Fill".to_owned()
        } else {
            format!("Add {add} and fill")
        };
        said.push(format!(
            "{fill} to {more} L instead of {} L: then every figure is right again. If the tank \
             is too small, make the rest up in a second vessel.",
            words::figure(litres)
        ));
    } else if !add.is_empty() {
        said.push(format!("Add {add}: then every figure is right again."));
    }
    if let Some(closest) = &mended.closest
        && mended.fill_to_l > litres * (1.0 + 1e-12)
    {
        let within = match closest.outcome {
            crate::formulate::report::Outcome::WithinBands => "within the usual bands",
            crate::formulate::report::Outcome::OutsideBands => {
                "the closest there is, though outside the usual bands"
            }
        };
        said.push(format!(
            "If the volume must stay and nothing else is weighed yet: {} in all tanks together, \
             {within}.",
            list(&closest.mix)
        ));
        if let Some(share) = closest.dilute_l_per_l {
            said.push(format!(
                "Left as it is, {} L of water for each litre of finished solution brings it back \
                 below its maxima.",
                words::figure(share)
            ));
        }
    }
    said
}

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

/// A ratio rounded down, so that it keeps what it promises.
pub fn floor(ratio: f64) -> String {
    let step = if ratio >= 20.0 { 1.0 } else { 0.1 };
    words::figure((ratio / step + 1e-9).floor() * step)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_have_the_digits_of_their_scale() {
        for (grams, scale, text) in [
            (12.0, 5.0, "12"),
            (12.0, 1.0, "12"),
            (12.3, 0.1, "12.3"),
            (12.5, 0.5, "12.5"),
            (0.12, 0.02, "0.12"),
            (0.1234, 0.0001, "0.1234"),
        ] {
            assert_eq!(on_scale(grams, scale), text, "{scale}");
        }
    }

    #[test]
    fn a_ratio_is_never_rounded_up() {
        assert_eq!(floor(257.9), "257");
        assert_eq!(floor(4.58), "4.5");
        assert_eq!(floor(100.0), "100");
    }

    #[test]
    fn how_clear_in_words() {
        assert_eq!(verdict(Some(-0.5), 0.1, false), "clear");
        assert_eq!(verdict(Some(-0.2), 0.1, false), "clear, but close");
        assert_eq!(
            verdict(Some(-0.05), 0.1, false),
            "too close to dropping out"
        );
        assert!(verdict(Some(0.2), 0.1, true).contains("may form over days; uncertain"));
        assert_eq!(verdict(Some(0.7), 0.1, false), "will drop out");
        assert!(verdict(None, 0.1, false).contains("nothing in it can drop out"));
    }
}
