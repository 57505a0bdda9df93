//! Does the EC of a dissolved spoonful fit the label?
//!
//! Over all mixtures that keep the label, the EC of so many grams in a litre lies in an interval.
//! Its ends are found by optimisation: at a mixture, the EC rises by a slope for each ingredient;
//! the mixture with the most (least) of that linear figure is found by the simplex of
//! [`arithmetic`](super::arithmetic), and again from there, until nothing is gained. EC is concave
//! in what is dissolved (ions hinder each other), so that for the upper end the last linear step
//! bounds what could still be gained and is added; the lower end is a corner. Acid and base take
//! each other away, so the search starts from the sourest and the most alkaline mixture, too.

mod dissolved;
mod model;
mod search;
mod sharp;
#[cfg(test)]
pub(super) mod stand_in;

pub use dissolved::Dissolved;
pub use model::{EcModel, EcOfMix, model};

use super::arithmetic::Mixtures;
use crate::ec::{COVERAGE, OF_WATER};
use crate::lp::Stuck;
use saltwright_fertilizers::Nutrient;
use saltwright_recipes::Water;
use schemars::JsonSchema;
use search::Test;
use serde::Serialize;
use sharp::{sharpest_dose, silent_pct, uncertainty};

/// Its last digit, mS/cm. Common practice, no source.
const METER_DIGIT_MS_CM: f64 = 0.01;

/// The test as reported.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MeterReport {
    /// Grams in a litre.
    pub g_per_l: f64,
    /// EC of the water alone.
    pub water_ec_ms_cm: Option<f64>,
    /// Lower end of what a true label can show, with the uncertainty of model, water and scale.
    pub low_ms_cm: Option<f64>,
    /// Upper end.
    pub high_ms_cm: Option<f64>,
    /// Lower end over all mixtures alone.
    pub mixtures_low_ms_cm: Option<f64>,
    /// Upper end over all mixtures alone.
    pub mixtures_high_ms_cm: Option<f64>,
    /// What the meter showed.
    pub reading_ms_cm: Option<f64>,
    /// The least that the meter may have meant.
    pub reading_low_ms_cm: Option<f64>,
    /// The most.
    pub reading_high_ms_cm: Option<f64>,
    /// True where the two overlap; none without a reading or without an interval.
    pub agrees: Option<bool>,
    /// The dose that tells most: beyond it a stronger solution gains nothing.
    pub sharpest_g_per_l: Option<f64>,
    /// Most of the mass that may show no EC (urea, boric acid, filler), percent.
    pub silent_pct: Option<f64>,
    /// The same in words.
    pub words: String,
}

impl MeterReport {
    /// What was dissolved and shown, not judged.
    pub(crate) fn blank(dissolved: &Dissolved) -> Self {
        let reading = dissolved.reading();
        Self {
            g_per_l: dissolved.g_per_l,
            water_ec_ms_cm: dissolved.water_ec_ms_cm,
            low_ms_cm: None,
            high_ms_cm: None,
            mixtures_low_ms_cm: None,
            mixtures_high_ms_cm: None,
            reading_ms_cm: dissolved.ec_ms_cm,
            reading_low_ms_cm: reading.map(|(_, low, _)| low),
            reading_high_ms_cm: reading.map(|(_, _, high)| high),
            agrees: None,
            sharpest_g_per_l: None,
            silent_pct: None,
            words: String::new(),
        }
    }
}

/// EC of a water with nothing in it.
fn alone(water: &Water, model: &dyn EcModel) -> Option<f64> {
    model.in_water(water)?(&[])
}

/// Waters that may stand behind an EC where no analysis is given: sodium chloride and calcium
/// bicarbonate, of which waters are made.
fn stand_ins(ec_ms_cm: f64, model: &dyn EcModel) -> Vec<Water> {
    if ec_ms_cm <= 0.0 {
        return vec![Water::pure()];
    }
    let salty = |mmol: f64| {
        let mut water = Water::pure();
        water.holds[Nutrient::Na] = mmol * Nutrient::Na.atomic_weight();
        water.holds[Nutrient::Cl] = mmol * Nutrient::Cl.atomic_weight();
        water
    };
    let hard = |mmol: f64| {
        let mut water = Water::pure();
        water.holds[Nutrient::Ca] = mmol * Nutrient::Ca.atomic_weight();
        water.alkalinity_meq_l = 2.0 * mmol;
        water.alkalinity_known = true;
        water.ph = Some(7.5);
        water
    };
    let fitted = |make: &dyn Fn(f64) -> Water| {
        let (mut low, mut high) = (0.0, 20.0 * ec_ms_cm);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            match alone(&make(middle), model) {
                Some(ec) if ec < ec_ms_cm => low = middle,
                Some(_) | None => high = middle,
            }
        }
        make(f64::midpoint(low, high))
    };
    vec![fitted(&salty), fitted(&hard)]
}

/// Runs the test.
pub(crate) fn test(
    dissolved: &Dissolved,
    mixtures: &Mixtures,
    water: Option<&Water>,
    model: Option<&dyn EcModel>,
) -> Result<MeterReport, Stuck> {
    let reading = dissolved.reading();
    let mut report = MeterReport {
        silent_pct: silent_pct(mixtures)?,
        ..MeterReport::blank(dissolved)
    };
    let Some(model) = model else {
        report.words = super::words::no_model();
        return Ok(report);
    };
    let waters = match (water, dissolved.water_ec_ms_cm) {
        (Some(water), _) => vec![water.clone()],
        (None, Some(ec)) => stand_ins(ec, model),
        (None, None) => vec![Water::pure()],
    };
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut in_range = true;
    let mut sharpest = Vec::new();
    let mut own = None;
    for water in &waters {
        let Some(ec) = model.in_water(water) else {
            continue;
        };
        let Some(alone) = ec(&[]) else { continue };
        let shown = dissolved.water_ec_ms_cm.unwrap_or(alone);
        own = Some(shown);
        let test = Test {
            mixtures,
            g_per_l: dissolved.g_per_l,
            water,
            solved: ec,
        };
        let Some(interval) = test.interval()? else {
            continue;
        };
        low = low.min(interval.low - alone + shown);
        high = high.max(interval.high - alone + shown);
        in_range &= test.in_range(&interval.high_shares, dissolved.g_per_l);
        sharpest.extend(sharpest_dose(dissolved, &test, &interval, alone));
    }
    let Some(own) = own.filter(|_| low.is_finite() && high.is_finite()) else {
        report.words = super::words::outside_model();
        return Ok(report);
    };
    let water_u = match dissolved.water_ec_ms_cm {
        Some(_) => METER_DIGIT_MS_CM / COVERAGE,
        None => OF_WATER * own,
    };
    let widen = |end: f64| COVERAGE * uncertainty(end - own, water_u, dissolved.weighing());
    report.water_ec_ms_cm = Some(own);
    report.mixtures_low_ms_cm = Some(low);
    report.mixtures_high_ms_cm = Some(high);
    report.low_ms_cm = Some((low - widen(low)).max(0.0));
    report.high_ms_cm = Some(high + widen(high));
    // Beyond the range of the model nothing is judged.
    let judged = reading.filter(|_| in_range);
    report.agrees =
        judged.map(|(_, least, most)| most >= low - widen(low) && least <= high + widen(high));
    report.sharpest_g_per_l = sharpest.into_iter().reduce(f64::min);
    report.words = super::words::meter(&report, in_range);
    Ok(report)
}

#[cfg(test)]
mod tests {
    use super::stand_in::{bent, linear};
    use super::*;
    use crate::formulate::laws::library;
    use crate::label::arithmetic::Ingredient;

    fn of(ids: &[&str], filler: bool) -> Mixtures {
        let library = library();
        let row = |id: &&str| library.fertilizers.get(id).expect(id).clone();
        Mixtures {
            ingredients: ids.iter().map(row).map(Ingredient::of).collect(),
            demands: Vec::new(),
            filler,
            most_sum: None,
        }
    }

    fn run(dissolved: Dissolved, of: &Mixtures, model: &dyn EcModel) -> MeterReport {
        test(&dissolved, of, None, Some(model)).expect("an answer")
    }

    /// A bag of one salt: 1 g/L of potassium nitrate is 9.79 meq/L of each charge, 1.37 mS/cm by
    /// the stand-in; the bag may be 2 % stronger or weaker.
    #[test]
    fn a_reading_agrees_or_is_too_low_or_too_high() {
        let salt = of(&["potassium-nitrate"], false);
        let reads = |ec| Dissolved {
            ec_ms_cm: Some(ec),
            ..Dissolved::of(1.0)
        };
        let report = run(reads(1.37), &salt, &linear);
        let (low, high) = (report.mixtures_low_ms_cm, report.mixtures_high_ms_cm);
        assert!((low.unwrap() - 1.371 * 0.98).abs() < 0.01, "{low:?}");
        assert!((high.unwrap() - 1.371 * 1.02).abs() < 0.01, "{high:?}");
        assert_eq!(report.agrees, Some(true), "{}", report.words);
        let low = run(reads(1.2), &salt, &linear);
        assert_eq!(low.agrees, Some(false));
        assert!(low.words.contains("too low"), "{}", low.words);
        let high = run(reads(1.6), &salt, &linear);
        assert_eq!(high.agrees, Some(false));
        assert!(high.words.contains("too high"), "{}", high.words);
    }

    #[test]
    fn what_shows_no_ec_is_told() {
        let half = run(
            Dissolved::of(1.0),
            &of(&["urea", "potassium-nitrate"], false),
            &linear,
        );
        assert!((half.silent_pct.unwrap() - 100.0).abs() < 1e-9);
        assert!(
            half.words.contains("Urea, boric acid and filler"),
            "{}",
            half.words
        );
        let none = run(
            Dissolved::of(1.0),
            &of(&["potassium-nitrate"], false),
            &linear,
        );
        assert!(none.silent_pct.unwrap() < 1e-9 && !none.words.contains("Urea"));
    }

    /// Where only the EC of the water is known, what it is made of stays open: the interval covers
    /// sodium chloride and calcium bicarbonate.
    #[test]
    fn a_water_known_by_its_ec_alone() {
        let salt = of(&["potassium-nitrate"], false);
        let dissolved = Dissolved {
            water_ec_ms_cm: Some(0.5),
            ..Dissolved::of(1.0)
        };
        let straight = run(dissolved, &salt, &linear);
        let pure = run(Dissolved::of(1.0), &salt, &linear);
        let above = straight.mixtures_low_ms_cm.unwrap() - pure.mixtures_low_ms_cm.unwrap();
        assert!((above - 0.5).abs() < 1e-6, "a linear EC adds up: {above}");
        let bent_low = run(dissolved, &salt, &bent).mixtures_low_ms_cm.unwrap();
        let bent_pure = run(Dissolved::of(1.0), &salt, &bent)
            .mixtures_low_ms_cm
            .unwrap();
        assert!(
            bent_low < bent_pure + 0.5,
            "ions of the water hinder those of the salt"
        );
    }

    #[test]
    fn beyond_the_range_and_without_a_model_nothing_is_judged() {
        let salt = of(&["magnesium-sulfate-heptahydrate"], false);
        let strong = Dissolved {
            ec_ms_cm: Some(5.0),
            ..Dissolved::of(10.0)
        };
        let report = run(strong, &salt, &linear);
        assert_eq!(report.agrees, None);
        assert!(report.words.contains("dissolve less"), "{}", report.words);
        let without = test(&strong, &salt, None, None).expect("an answer");
        assert_eq!((without.agrees, without.low_ms_cm), (None, None));
        assert!(without.words.contains("not judged"), "{}", without.words);
    }

    /// A stronger solution drowns the digits of meter and scale; a coarser scale asks for more.
    #[test]
    fn the_sharpest_dose_grows_with_the_scale() {
        let salt = of(&["potassium-nitrate"], false);
        let with = |scale_g| {
            let dissolved = Dissolved {
                scale_g,
                ..Dissolved::of(1.0)
            };
            run(dissolved, &salt, &linear)
                .sharpest_g_per_l
                .expect("a dose")
        };
        assert!(with(0.001) < with(0.2), "{} {}", with(0.001), with(0.2));
    }
}
