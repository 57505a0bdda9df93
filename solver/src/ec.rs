//! What the EC meter should show, how sure that is, and how it compares with the aim.

use crate::chemistry::meter::{Tds, cf};
use crate::spread::Cause;
use schemars::JsonSchema;
use serde::Serialize;

/// Slope of the handbook rule, mS/cm per meq/L of cations.
const HANDBOOK_SLOPE: f64 = 0.095;
/// Intercept of the handbook rule, mS/cm.
const HANDBOOK_INTERCEPT: f64 = 0.19;

/// Standard uncertainty of what fertilizers add, relative. Constants, conductivities and ion sizes
/// give 0.4 to 0.5 %, other sound models differ by 0.4 to 0.7 % on average, single salts as measured
/// by 0.2 to 1 %; no measured EC of a fully specified nutrient solution was found: judgement.
pub const OF_FERTILIZERS: f64 = 0.010;
/// Standard uncertainty of the EC of a source water, relative: two thirds of 18 analysed and
/// measured waters lay within it.
pub const OF_WATER: f64 = 0.03;
/// What a meter near zero cannot tell, µS/cm.
pub const FLOOR_US_CM: f64 = 3.0;
/// Share of what an open charge of the mix conducts that counts as uncertainty (judgement: it may
/// be an ion that the label leaves out, or none).
const OF_OPEN_CHARGE: f64 = 0.5;
/// How many standard uncertainties a stated range spans to either side.
pub const COVERAGE: f64 = 2.0;

/// EC by the handbook rule, mS/cm at 25 °C; a comparison line, useless in weak solutions.
///
/// EC = 0.095 x (sum of cations, meq/L) + 0.19
///
/// Source: Sonneveld (1999), as printed in ARSIA Quaderno 5/2004, p. 179.
pub fn handbook_ms_cm(main_cations_meq_l: f64) -> f64 {
    HANDBOOK_SLOPE * main_cations_meq_l + HANDBOOK_INTERCEPT
}

/// How the expected reading compares with the aim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The aim lies within the expected range.
    Agrees,
    /// The reading will be below the aim.
    Below,
    /// The reading will be above the aim.
    Above,
    /// Outside the range of the model, or resting on an analysis that does not balance.
    CannotTell,
    /// There is no aim.
    NoAim,
}

/// What the model makes of a solution, µS/cm at 25 °C.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Conducted {
    /// The finished solution.
    pub solution: f64,
    /// Its source water alone.
    pub water: f64,
    /// What the open charge of the mix conducts.
    pub open_charge: f64,
    /// What the open charge of a water conducts whose analysis does not balance.
    pub unbalanced: Option<f64>,
    /// Variance from what is stated about bags, scale, tank, water and meter, (µS/cm)².
    pub stated: f64,
    /// True inside the range of the model.
    pub inside: bool,
}

impl Conducted {
    /// Variances of the model and of the water's own EC, (µS/cm)².
    ///
    /// u2 = (1 % of what fertilizers add)2 + (3 µS/cm)2 + (half of what an open charge of the mix
    /// conducts)2, and (3 % of the water's own)2.
    pub fn of_model(&self) -> [(Cause, f64); 2] {
        let model = [
            OF_FERTILIZERS * (self.solution - self.water),
            FLOOR_US_CM,
            OF_OPEN_CHARGE * self.open_charge,
        ];
        let model = model.iter().map(|u| u * u).sum();
        let water = OF_WATER * self.water;
        [(Cause::Model, model), (Cause::WaterEc, water * water)]
    }

    /// Standard uncertainty of the solution's EC, µS/cm.
    fn uncertainty(&self) -> f64 {
        let of_model: f64 = self.of_model().iter().map(|(_, variance)| variance).sum();
        (of_model + self.stated).sqrt()
    }
}

/// The expected reading beside the aim, mS/cm at 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Ec {
    /// The EC asked for.
    pub aim_ms_cm: Option<f64>,
    /// What the meter should show.
    pub predicted_ms_cm: f64,
    /// Lower end of what it may show; none outside the range of the model.
    pub low_ms_cm: Option<f64>,
    /// Upper end.
    pub high_ms_cm: Option<f64>,
    /// With everything stated at the end that makes it least, the model taken as exact; where ranges
    /// are asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_low_ms_cm: Option<f64>,
    /// The most in the same way.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_high_ms_cm: Option<f64>,
    /// The handbook rule's figure.
    pub handbook_ms_cm: f64,
    /// The EC of the source water alone.
    pub water_ms_cm: Option<f64>,
    /// How it compares.
    pub verdict: Verdict,
}

impl Ec {
    /// What the meter should show for a solution that conducts so much.
    pub fn of(conducted: &Conducted, main_cations_meq_l: f64, aim_ms_cm: Option<f64>) -> Self {
        let solution = conducted.solution;
        let range = conducted.inside.then(|| {
            let reach = COVERAGE * conducted.uncertainty() + conducted.unbalanced.unwrap_or(0.0);
            ((solution - reach).max(0.0), solution + reach)
        });
        let is_sound = conducted.unbalanced.is_none();
        let to_ms = |us: f64| us / 1000.0;
        let (low, high) = (range.map(|r| to_ms(r.0)), range.map(|r| to_ms(r.1)));
        let verdict = match (aim_ms_cm, low.zip(high)) {
            (None, _) => Verdict::NoAim,
            (Some(aim), Some((_, high))) if is_sound && high < aim => Verdict::Below,
            (Some(aim), Some((low, _))) if is_sound && low > aim => Verdict::Above,
            (Some(_), Some(_)) if is_sound => Verdict::Agrees,
            (Some(_), _) => Verdict::CannotTell,
        };
        Self {
            aim_ms_cm,
            predicted_ms_cm: to_ms(solution),
            low_ms_cm: low,
            high_ms_cm: high,
            worst_low_ms_cm: None,
            worst_high_ms_cm: None,
            handbook_ms_cm: handbook_ms_cm(main_cations_meq_l),
            water_ms_cm: is_sound.then_some(to_ms(conducted.water)),
            verdict,
        }
    }

    /// With the ends of what is stated, µS/cm.
    #[must_use]
    pub fn with_ends(self, ends: Option<[f64; 2]>) -> Self {
        Self {
            worst_low_ms_cm: ends.map(|[low, _]| low / 1000.0),
            worst_high_ms_cm: ends.map(|[_, high]| high / 1000.0),
            ..self
        }
    }

    /// What TDS pens show, and CF.
    pub fn tds(&self) -> [Tds; 3] {
        Tds::of(self.predicted_ms_cm)
    }

    /// CF.
    pub fn cf(&self) -> f64 {
        cf(self.predicted_ms_cm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Sonneveld (1999) in ARSIA Quaderno 5/2004, p. 179: 20 meq/L of cations is 2.09.
    #[test]
    fn the_handbook_rule() {
        assert!((handbook_ms_cm(20.0) - 2.09).abs() < 1e-12);
    }

    fn ec(conducted: Conducted, aim: f64) -> Ec {
        Ec::of(&conducted, 15.0, Some(aim))
    }

    #[test]
    fn the_verdict_is_judged_by_the_range() {
        let sound = Conducted {
            solution: 1500.0,
            water: 300.0,
            inside: true,
            ..Conducted::default()
        };
        // u2 = 12^2 + 9^2 + 3^2, k = 2: 1.5 within 0.0306.
        let reach = 2.0 * 234.0_f64.sqrt() / 1000.0;
        let found = ec(sound, 1.5);
        assert!((found.high_ms_cm.expect("inside") - 1.5 - reach).abs() < 1e-12);
        assert_eq!(found.verdict, Verdict::Agrees);
        assert_eq!(ec(sound, 1.46).verdict, Verdict::Above);
        assert_eq!(ec(sound, 1.54).verdict, Verdict::Below);
        let outside = Conducted {
            inside: false,
            ..sound
        };
        assert_eq!(ec(outside, 1.5).verdict, Verdict::CannotTell);
        let unbalanced = Conducted {
            unbalanced: Some(200.0),
            ..sound
        };
        let found = ec(unbalanced, 9.0);
        assert_eq!(found.verdict, Verdict::CannotTell);
        assert!(found.high_ms_cm.expect("a wide range") > 1.7);
        assert_eq!(found.water_ms_cm, None);
    }
}
