//! Rounding, in one place: to what a scale, cylinder or laboratory shows, never to nothing.
//!
//! The rule: three significant digits, and one decimal from 100 up, so that rounding costs at most
//! 0.5 % and something is never shown as nothing. Grams below 0.1 are shown as milligrams, from
//! 1,000 as kilograms; millilitres from 1,000 as litres. In US units: ounces from a tenth of an
//! ounce, pounds from one pound, fluid ounces from a tenth; what is smaller stays in grams and
//! millilitres, because an ounce scale does not show it.
//!
//! A figure and half of its range end at the same digit: the range has two significant digits at
//! most and none behind the last one of the figure, the figure none behind the last one of the
//! range (`pH 6.4 ± 0.1`, `192 ± 27`; JCGM 100:2008, 7.2.6).

use saltwright_fertilizers::units::{
    GRAMS_PER_OUNCE, GRAMS_PER_POUND, LITRES_PER_US_GALLON, ML_PER_US_FLUID_OUNCE,
};

/// The units that a grower reads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Measure {
    /// Grams, millilitres, litres.
    #[default]
    Metric,
    /// Ounces, fluid ounces, gallons.
    Us,
}

/// Ounces and fluid ounces below which a gram scale or a syringe serves better.
const SMALLEST_OUNCES: f64 = 0.1;
/// Concentrations below this are dust of the computing, not matter, in mg/L and its kin.
const DUST: f64 = 1e-9;

/// A positive number with three significant digits, one decimal from 100 up; zero as `0`.
pub fn three(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let size = value.abs();
    let digits = if size >= 99.95 {
        1
    } else {
        // Digits behind the point that leave three significant ones after rounding.
        let exponent = format!("{size:.2e}");
        let power: i32 = exponent
            .split_once('e')
            .and_then(|(_, power)| power.parse().ok())
            .unwrap_or(0);
        usize::try_from(2 - power).unwrap_or(0)
    };
    format!("{value:.digits$}")
}

/// What an amount is told in: its name, and how many of it are one of the unit that is reckoned in.
pub type Unit = (f64, &'static str);

/// What a mass in grams is told in.
pub fn mass_unit(grams: f64, measure: Measure) -> Unit {
    let ounces = grams / GRAMS_PER_OUNCE;
    match measure {
        Measure::Us if grams >= GRAMS_PER_POUND => (1.0 / GRAMS_PER_POUND, "lb"),
        Measure::Us if ounces >= SMALLEST_OUNCES => (1.0 / GRAMS_PER_OUNCE, "oz"),
        _ if grams == 0.0 => (1.0, "g"),
        _ if grams < 0.1 => (1000.0, "mg"),
        _ if grams < 1000.0 => (1.0, "g"),
        _ => (1.0 / 1000.0, "kg"),
    }
}

/// A mass.
pub fn mass(grams: f64, measure: Measure) -> String {
    let (times, unit) = mass_unit(grams, measure);
    format!("{} {unit}", three(grams * times))
}

/// The size of a bag.
pub fn bag(kg: f64, measure: Measure) -> String {
    match measure {
        Measure::Us => mass(1000.0 * kg, measure),
        Measure::Metric => format!("{} kg", plain(kg)),
    }
}

/// What a poured volume in millilitres is told in.
pub fn poured_unit(millilitres: f64, measure: Measure) -> Unit {
    let fluid_ounces = millilitres / ML_PER_US_FLUID_OUNCE;
    match measure {
        Measure::Us if fluid_ounces >= SMALLEST_OUNCES => (1.0 / ML_PER_US_FLUID_OUNCE, "fl oz"),
        _ if millilitres >= 1000.0 => (1.0 / 1000.0, "L"),
        _ => (1.0, "mL"),
    }
}

/// A poured volume.
pub fn poured(millilitres: f64, measure: Measure) -> String {
    let (times, unit) = poured_unit(millilitres, measure);
    format!("{} {unit}", three(millilitres * times))
}

/// A figure that one answer hands on to the next question: six digits, so that the sheet by the scale
/// has more of them than any scale shows.
pub fn handed_on(value: f64) -> String {
    let six = format!("{value:.5e}");
    six.parse::<f64>().unwrap_or(value).to_string()
}

/// What a volume of solution in litres is told in.
pub const fn volume_unit(_: f64, measure: Measure) -> Unit {
    match measure {
        Measure::Metric => (1.0, "L"),
        Measure::Us => (1.0 / LITRES_PER_US_GALLON, "gal"),
    }
}

/// A volume of solution.
pub fn volume(litres: f64, measure: Measure) -> String {
    let (times, unit) = volume_unit(litres, measure);
    format!("{} {unit}", plain(litres * times))
}

/// An amount with half of its range, both in this unit: `24.5 ± 2.4 L`.
pub fn amount(amount: f64, half: f64, (times, unit): Unit) -> String {
    format!(
        "{} {unit}",
        ranged(amount * times, Some(half * times), three)
    )
}

/// Half of an amount's range, in this unit.
pub fn half_amount(half: f64, (times, unit): Unit) -> String {
    format!("{} {unit}", half_width(half * times))
}

/// A number without digits that say nothing: `120`, `0.5`.
pub fn plain(value: f64) -> String {
    let text = three(value);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A concentration by the same rule; what is below a millionth of a microgram is `0`.
pub fn concentration(value: f64) -> String {
    if value.abs() < DUST {
        "0".into()
    } else {
        three(value)
    }
}

/// A temperature.
pub fn temperature(celsius: f64, measure: Measure) -> String {
    match measure {
        Measure::Metric => format!("{} °C", plain(celsius)),
        Measure::Us => format!("{} °F", plain(celsius * 1.8 + 32.0)),
    }
}

/// A saturation index with its sign and so many decimals; what rounds to nothing has no sign.
pub fn signed_index(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    if is_nothing(&text) {
        text.trim_start_matches(['+', '-']).to_owned()
    } else {
        text
    }
}

/// EC, as a meter shows it.
pub fn ec(value: f64) -> String {
    format!("{value:.2}")
}

/// EC of a check solution, as its bottle prints it.
pub fn check_ec(value: f64) -> String {
    format!("{value:.3}")
}

/// A saturation index or its uncertainty.
pub fn index(value: f64) -> String {
    format!("{value:.2}")
}

/// Density, as a hydrometer shows it, g/mL.
pub fn density(value: f64) -> String {
    format!("{value:.3}")
}

/// A share of a whole, percent.
pub fn share(percent: f64) -> String {
    if percent >= 1.0 {
        format!("{percent:.0}")
    } else {
        format!("{percent:.1}")
    }
}

/// A time to wait: seconds, from two minutes on minutes, from two hours on hours.
pub fn wait(seconds: f64) -> String {
    match seconds {
        _ if seconds < 120.0 => format!("{seconds:.0} s"),
        _ if seconds < 7200.0 => format!("{:.0} min", seconds / 60.0),
        _ => format!("{:.0} h", seconds / 3600.0),
    }
}

/// A figure with how far it may be off to either side, `150.2 ± 4.3`, both to the same digit; the
/// figure as it is `alone` where its range is lost in its last digit.
pub fn ranged(value: f64, half: Option<f64>, alone: fn(f64) -> String) -> String {
    let figure = alone(value);
    let Some(half) = half else {
        return figure;
    };
    let two = half_width(half);
    let behind = decimals(&figure).min(decimals(&two));
    let half = if behind < decimals(&two) {
        format!("{half:.behind$}")
    } else {
        two
    };
    if is_nothing(&half) {
        return figure;
    }
    let shorter = format!("{value:.behind$}");
    let figure = if is_nothing(&shorter) {
        figure
    } else {
        shorter
    };
    format!("{figure} ± {half}")
}

/// Digits behind the point.
fn decimals(figure: &str) -> usize {
    figure.split_once('.').map_or(0, |(_, behind)| behind.len())
}

/// True where only zeros are left.
fn is_nothing(figure: &str) -> bool {
    !figure.contains(|c: char| ('1'..='9').contains(&c))
}

/// Half of a range that stands alone: two significant digits.
pub fn half_width(value: f64) -> String {
    if value.abs() < DUST {
        return "0".into();
    }
    let two: f64 = format!("{value:.1e}").parse().unwrap_or(value);
    let size = two.abs();
    let mut digits = 0;
    let mut least = 10.0;
    while size < least * (1.0 - 1e-12) && digits < 12 {
        least /= 10.0;
        digits += 1;
    }
    format!("{two:.digits$}")
}

/// A deviation in percent, with its sign.
pub fn percent(value: f64) -> String {
    if value.abs() >= 0.995 {
        format!("{value:+.1} %")
    } else {
        format!("{value:+.2} %")
    }
}

/// A mass as a scale of this readability shows it.
pub fn on_scale(grams: f64, scale_g: f64) -> String {
    format!(
        "{} g",
        saltwright_solver::words::stock::on_scale(grams, scale_g)
    )
}

/// pH, as a meter shows it.
pub fn ph(value: f64) -> String {
    format!("{value:.1}")
}

/// pH where it hardly holds: nobody can promise a decimal.
pub fn whole_ph(value: f64) -> String {
    format!("{value:.0}")
}

/// Half of a range of pH that stands alone: two decimals at most, as the finest meters show.
pub fn half_of_ph(value: f64) -> String {
    let two = half_width(value);
    if decimals(&two) > 2 {
        format!("{value:.2}")
    } else {
        two
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_is_handed_on_keeps_six_digits() {
        for (value, text) in [
            (0.380_912_345_6, "0.380912"),
            (0.000_061_123_456, "0.0000611235"),
            (12.5, "12.5"),
        ] {
            assert_eq!(handed_on(value), text);
        }
    }

    #[test]
    fn masses_as_a_scale_shows_them() {
        for (grams, text) in [
            (0.000_089_5, "0.0895 mg"),
            (0.0107, "10.7 mg"),
            (0.107, "0.107 g"),
            (52.13, "52.1 g"),
            (411.234, "411.2 g"),
            (1204.0, "1.20 kg"),
            (0.0, "0 g"),
            (9.999, "10.0 g"),
        ] {
            assert_eq!(mass(grams, Measure::Metric), text);
        }
        assert_eq!(mass(56.7, Measure::Us), "2.00 oz");
        assert_eq!(mass(1.0, Measure::Us), "1.00 g");
        assert_eq!(mass(907.2, Measure::Us), "2.00 lb");
        assert_eq!(volume(120.0, Measure::Metric), "120 L");
        assert_eq!(plain(0.5), "0.5");
        assert_eq!(
            [123.4, 5.97, 0.996, 0.0234, 0.0].map(half_width),
            ["120", "6.0", "1.0", "0.023", "0"]
        );
        assert_eq!(
            [0.4, 119.0, 120.0, 7000.0, 90_000.0].map(wait),
            ["0 s", "119 s", "2 min", "117 min", "25 h"]
        );
        assert_eq!(
            [1.43, 0.078, 0.123, 0.004].map(half_of_ph),
            ["1.4", "0.08", "0.12", "0.00"]
        );
        let index = |value| signed_index(value, 1);
        assert_eq!([-0.04, 0.26, -1.0].map(index), ["0.0", "+0.3", "-1.0"]);
    }

    /// Rule: JCGM 100:2008, 7.2.6, a figure is rounded to be consistent with its uncertainty, which
    /// needs two significant digits at most.
    #[test]
    fn a_figure_and_its_range_end_at_the_same_digit() {
        let shown = |value, half, alone| ranged(value, Some(half), alone);
        assert_eq!(shown(6.41, 0.078, ph), "6.4 ± 0.1");
        assert_eq!(shown(6.41, 0.04, ph), "6.4");
        assert_eq!(shown(6.41, 1.43, whole_ph), "6 ± 1");
        assert_eq!(shown(1.523, 0.0312, ec), "1.52 ± 0.03");
        assert_eq!(shown(150.23, 4.31, concentration), "150.2 ± 4.3");
        assert_eq!(shown(192.03, 26.8, concentration), "192 ± 27");
        assert_eq!(shown(1333.7, 123.4, concentration), "1334 ± 120");
        assert_eq!(shown(12.52, 0.2345, concentration), "12.5 ± 0.2");
        assert_eq!(shown(0.004, 12.0, concentration), "0.00400 ± 12");
        assert_eq!(ranged(12.52, None, concentration), "12.5");
        let litres = volume_unit(24.0, Measure::Metric);
        assert_eq!(amount(24.01, 2.389, litres), "24.0 ± 2.4 L");
        assert_eq!(half_amount(2.389, litres), "2.4 L");
        // Both in the unit of the amount.
        let millilitres = poured_unit(1240.0, Measure::Metric);
        assert_eq!(amount(1240.0, 85.0, millilitres), "1.24 ± 0.09 L");
        let ounces = mass_unit(56.7, Measure::Us);
        assert_eq!(amount(56.7, 5.67, ounces), "2.00 ± 0.20 oz");
    }

    proptest! {
        /// What is shown is never nothing for something, and at most 0.5 % away.
        #[test]
        fn rounding_costs_at_most_half_a_percent(exponent in -9.0_f64..6.0) {
            let value = 10_f64.powf(exponent);
            let shown: f64 = three(value).parse().unwrap_or(f64::NAN);
            prop_assert!((shown - value).abs() <= 0.005_001 * value, "{value} as {shown}");
        }
    }
}
