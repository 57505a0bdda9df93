//! Sentences about stocks: how clear, in which order, what to heed.

mod cautions;

use crate::stock::report::{Do, Mended, Premix};
use crate::words;
pub(crate) use cautions::cautions;
use saltwright_fertilizers::{Fertilizer, Hazard};

/// Index below which a stock is clear with room to spare; judgement.
const CLEAR: f64 = -0.3;
/// Index above which a solid surely forms; judgement.
const SURELY: f64 = 0.5;

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

/// A ratio rounded down, so that it keeps what it promises.
pub fn floor(ratio: f64) -> String {
    let step = if ratio >= 20.0 { 1.0 } else { 0.1 };
    words::figure((ratio / step + 1e-9).floor() * step)
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
            // A tenth of an ounce is no round number of grams.
            (12.34, 2.83495, "12.3"),
            (0.12, 0.02, "0.12"),
            (0.1234, 0.0001, "0.1234"),
        ] {
            assert_eq!(on_scale(grams, scale), text, "{scale}");
        }
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

    #[test]
    fn a_ratio_is_never_rounded_up() {
        assert_eq!(floor(257.9), "257");
        assert_eq!(floor(4.58), "4.5");
        assert_eq!(floor(100.0), "100");
    }
}
