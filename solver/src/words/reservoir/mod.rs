//! Sentences about the reservoir: readings, steps, what to heed.

pub mod meter;
pub mod refill;

use super::{DEFER, figure, hazard_cautions, opened};
use crate::chemistry::MOST_IONIC_STRENGTH;
use crate::chemistry::meter::Tds;
use crate::reservoir::correct::report::{After, Do, Step};
use crate::reservoir::correct::{Found, Grounds};
use crate::reservoir::supply::Way;
use crate::spread::{self, Stated};
use saltwright_fertilizers::{Dose, Kind, Problem};
use saltwright_recipes::Recipe;

pub use super::water::name as water_name;

/// Where a TDS reading came without its scale.
pub const FIND_THE_SCALE: &str = "Say which scale it is: the pen or its leaflet names it, and \
    `meter` finds it from one reading of ppm and EC together.";
/// EC of a reading, relative, from which a laboratory's figures are said to disagree with it.
/// Common practice, no source.
const DISAGREES: f64 = 0.10;

/// Above this a figure taken for mS/cm is no CF either, but µS/cm or ppm.
const CF_UP_TO: f64 = 150.0;

/// A TDS reading on every scale.
pub fn no_scale(ppm: f64) -> String {
    let scales = Tds::SCALES.map(|scale| {
        let ec = ppm / f64::from(scale);
        format!("{ec:.2} mS/cm on the {scale} scale")
    });
    format!(
        "{} ppm says no EC without its scale: {}",
        figure(ppm),
        super::listing(&scales)
    )
}

/// An EC that no reservoir has.
pub fn impossible_ec(ec: f64, most: f64) -> Problem {
    Problem::Unlikely {
        kind: Kind::TooLarge,
        what: format!(
            "{} mS/cm is more than any reservoir holds ({} at most)",
            figure(ec),
            figure(most)
        ),
        mend: if ec <= CF_UP_TO {
            format!(
                "Check the EC meter: does it show CF ({} CF is {} mS/cm), is it clean, and what \
                 does it show in a check solution?",
                figure(ec),
                figure(ec / 10.0)
            )
        } else {
            format!(
                "Check the unit on the EC meter: {} µS/cm is {} mS/cm, and ppm goes with the scale \
                 of the pen.",
                figure(ec),
                figure(ec / 1000.0)
            )
        },
    }
}

/// A pH that no reservoir has.
pub fn impossible_ph(ph: f64, kind: Kind) -> Problem {
    Problem::Unlikely {
        kind,
        what: format!("pH {} is not that of a reservoir", figure(ph)),
        mend: "Check the pH meter in fresh buffers of pH 7 and 4. If it is right, change the \
               solution: no small correction mends this."
            .into(),
    }
}

/// A recipe's name.
pub fn recipe_name(recipe: &Recipe) -> String {
    if recipe.name.is_empty() {
        "own recipe".into()
    } else {
        recipe.name.clone()
    }
}

/// What the tank is taken to hold.
pub(crate) fn assumed(found: &Found<'_>) -> String {
    let holds = match found.grounds {
        Grounds::Stocks => {
            "The tank is taken to hold this water and these stocks, at the strength that reads \
             this EC"
        }
        Grounds::Formulation => {
            "The tank is taken to hold this water and this recipe, at the strength that reads this \
             EC"
        }
        Grounds::Thinned => {
            "The reading is below the EC of the water alone: the tank is taken to hold this water, \
             thinned by rain or purer water"
        }
        Grounds::Analysis => return "The tank holds what the laboratory found.".into(),
    };
    format!(
        "{holds}, and to stand in air. What the plants took and left of each nutrient the meters do \
         not show; a laboratory's analysis does."
    )
}

/// The way out of a step that drains.
pub fn drain() -> String {
    "Let it out first, so that nothing overflows.".into()
}

/// Source water.
pub fn add_water() -> String {
    "Fill in source water with the pump running.".into()
}

/// Stock.
pub fn add_stock(name: &str) -> String {
    format!("Pour stock {name} slowly where the water moves; never stock into stock.")
}

/// Between two stocks.
pub fn between_stocks() -> String {
    "Let it mix in before the next stock, or solids can drop out where they meet.".into()
}

/// After filling.
pub fn mixing() -> String {
    "Let it circulate, then read EC and pH again; go on only if they are near what is told here."
        .into()
}

/// A portion of acid or base.
pub fn portion(way: Way, is_poured: bool, number: u32, count: u32) -> String {
    let which = if count > 1 {
        format!("Portion {number} of {count}: ")
    } else {
        String::new()
    };
    let how = match (way, is_poured) {
        (Way::Acid, true) => {
            "stir it into a bucket of water from the tank, then pour that where the water moves"
        }
        (_, false) => {
            "dissolve it in a bucket of water from the tank, then pour that where the water moves"
        }
        (Way::Base, true) => {
            "stir it into a bucket of water from the tank, then pour that slowly where the water \
             moves"
        }
    };
    let words = format!("{which}{how}.");
    if count == 1 { opened(&words) } else { words }
}

/// After a portion.
pub fn standing(band: [f64; 2], goes_on: bool) -> String {
    let [low, high] = band.map(|ph| format!("{ph:.1}"));
    let then = if goes_on {
        format!("Stop when it reads {low} to {high}.")
    } else {
        format!("It should read {low} to {high}; if not, correct from the new reading.")
    };
    format!(
        "Let it circulate and breathe, then read the pH again: it drifts up as carbon dioxide leaves. {then}"
    )
}

/// The aim lies below what the water reads.
pub fn water_too_strong(ec: f64) -> String {
    format!(
        "This water alone, its pH corrected, reads {ec:.2} mS/cm: no lower EC can be reached with \
         it. Blend it with a purer water."
    )
}

/// Nothing to make it stronger.
pub fn no_stock() -> String {
    "The tank is too weak and no stock is named; what to weigh instead is told below.".into()
}

/// Adds what a formulation says of handling what is weighed for it; what it says of a recipe's aims
/// means nothing for a tank. The last word is left to labels and local rules.
pub fn heed_feed(cautions: &mut Vec<String>, of_formulation: &[String]) {
    let handling = |caution: &&String| *caution == DEFER || super::is_hazard(caution);
    for caution in of_formulation.iter().filter(handling) {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
    if let Some(at) = cautions.iter().position(|caution| caution == DEFER) {
        let last = cautions.remove(at);
        cautions.push(last);
    }
}

/// The stock itself is too weak.
pub fn stock_too_weak(ec: f64) -> String {
    format!("The stocks by themselves read {ec:.2} mS/cm: the aim is above that.")
}

/// The EC is off for no single reason.
pub fn ec_missed() -> String {
    "With the pH corrected the EC does not come to its aim.".into()
}

/// The pH stays outside.
pub fn ph_missed(way: Way, dosed: bool) -> String {
    let (word, does) = match way {
        Way::Acid => ("acid", "lowers"),
        Way::Base => ("base", "raises"),
    };
    if dosed {
        format!("The {word} does not hold the pH in its band.")
    } else {
        format!("No {word} is named that {does} the pH into its band.")
    }
}

/// Everything to heed about a correction.
pub(crate) fn correct_cautions(
    found: &Found<'_>,
    steps: &[Step],
    after: &After,
    has_ranges: bool,
) -> Vec<String> {
    let mut cautions = hazard_cautions(found.handled());
    cautions.extend(bottle(found));
    cautions.extend(chosen(found));
    cautions.extend(capacity(found, steps));
    cautions.extend(doubtful_readings(found));
    if let Some(ph) = found.extreme_ph {
        let [low, high] = found.request.ph_band();
        if ph < low - 0.5 || ph > high + 0.5 {
            cautions.push(format!(
                "Right after a portion the pH can stand at {ph:.1} for a while: pour slowly, and \
                 keep the air moving."
            ));
        }
    }
    if after.unbuffered && found.moved().is_some() {
        cautions.push(
            "Hardly anything holds the pH of this tank: a trace of acid or base moves it, so pour \
             less than is told and read often."
                .into(),
        );
    }
    cautions.extend(drained(found));
    if let Some(stated) = &found.request.ranges {
        cautions.extend(of_ranges(found, stated, has_ranges));
    }
    if cautions.iter().all(|caution| caution != DEFER) && !steps.is_empty() {
        cautions.push(DEFER.into());
    }
    cautions
}

/// What the ranges do not count.
fn of_ranges(found: &Found<'_>, stated: &Stated, has_ranges: bool) -> Option<String> {
    if !has_ranges {
        return Some(
            "No ranges are told: this tank lies outside the range of the model, or so near its end \
             that what may be off leads beyond it."
                .into(),
        );
    }
    let stocks = found.request.stocks.tanks.iter();
    let doses: Vec<Dose> = stocks.flat_map(|tank| tank.mix.iter().cloned()).collect();
    spread::caution(&doses, stated)
}

/// A bottle of unknown strength.
fn bottle(found: &Found<'_>) -> Option<String> {
    let (way, judged) = found.moved()?;
    judged.then(|| {
        let (word, danger) = match way {
            Way::Acid => ("acid", super::hazard(saltwright_fertilizers::Hazard::Acid)),
            Way::Base => ("base", super::hazard(saltwright_fertilizers::Hazard::Base)),
        };
        format!(
            "The bottle is judged by what it did once: with phosphoric acid or carbonate in it the \
             next portion does less or more. {danger} Treat an unlabelled {word} as the strongest \
             there is."
        )
    })
}

/// An acid or base that nobody named.
fn chosen(found: &Found<'_>) -> Option<String> {
    let (way, judged) = found.moved()?;
    let [acid, base] = found.request.named;
    let named = match way {
        Way::Acid => acid,
        Way::Base => base,
    };
    let first = found.handled().next()?;
    (!named && !judged).then(|| {
        format!(
            "No {} was named: {} is reckoned with. Its strength decides the volume; name your own.",
            way.key(),
            first.name
        )
    })
}

/// A capacity that nobody named.
fn capacity(found: &Found<'_>, steps: &[Step]) -> Option<String> {
    let drains = steps.iter().any(|step| step.what == Do::Drain);
    (drains && !found.request.capacity_known).then(|| {
        "No capacity was named, so the tank is taken to be full: tell how much it takes, and less \
         may have to be drained."
            .into()
    })
}

/// Readings that do not fit each other or the model.
fn doubtful_readings(found: &Found<'_>) -> Vec<String> {
    let mut cautions = Vec::new();
    let read = found.request.reading.ec_ms_cm;
    match (found.grounds, read) {
        (Grounds::Thinned, Some(read)) => cautions.push(format!(
            "{read:.2} mS/cm is less than this water reads by itself: check the meter, and which \
             water went in."
        )),
        (Grounds::Analysis, Some(read)) if (found.ec_ms_cm / read - 1.0).abs() > DISAGREES => {
            cautions.push(format!(
                "The laboratory's ions conduct {:.2} mS/cm, the meter showed {read:.2}: sample or \
                 meter is off, or the sample is old.",
                found.ec_ms_cm
            ));
        }
        _ => {}
    }
    if found.ionic_strength_mol_kg > MOST_IONIC_STRENGTH {
        cautions.push(format!(
            "This tank is stronger than the model is checked for (ionic strength {} mol/kg): \
             correct in two rounds, and read between.",
            figure(found.ionic_strength_mol_kg)
        ));
    }
    if found.request.ph_read().is_none() {
        cautions.push("No pH was read, so none is corrected.".into());
    }
    cautions
}

/// What goes down the drain.
fn drained(found: &Found<'_>) -> Option<String> {
    let (litres, nitrogen) = found.drained?;
    Some(format!(
        "What is let out is a fertilizer with about {} g of nitrogen: water other plants with it \
         where that is allowed, never a stream or a storm drain; local rules decide.",
        figure(litres * nitrogen / 1000.0)
    ))
}
