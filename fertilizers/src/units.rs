//! Numbers that know their unit, and quantities as people write them (`120 L`, `30 gal`, `1,4`).
//!
//! Sources of the factors: National Institute of Standards and Technology, Handbook 44, Appendix C
//! (US gallon, fluid ounce, ounce and pound are exact by definition); imperial gallon 4.54609 L
//! exact (UK Units of Measurement Regulations 1995).

use crate::fault::Problem;
use serde::Serialize;

macro_rules! unit {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize)]
        pub struct $name(pub f64);
    };
}

unit! { /** Milligrams of one element per litre of solution. Growers say "ppm". */ MgPerL }
unit! { /** Millimoles per litre. */ MmolPerL }
unit! { /** Milliequivalents (millimoles of charge) per litre. */ MeqPerL }
unit! { /** Grams per litre of solution. */ GramsPerL }
unit! { /** Percent by mass. */ Percent }
unit! { /** Electrical conductivity, millisiemens per centimetre at 25 °C. */ MsPerCm }
unit! { /** Temperature in degrees Celsius. */ Celsius }
unit! { /** Litres. */ Litres }
unit! { /** Grams. */ Grams }
unit! { /** Millilitres. */ Millilitres }

impl Litres {
    /// The same in cubic metres.
    pub fn m3(self) -> f64 {
        self.0 / 1000.0
    }
}

/// Litres in a US gallon: 231 cubic inches, exact.
pub const LITRES_PER_US_GALLON: f64 = 3.785_411_784;
/// Litres in an imperial gallon, exact.
pub const LITRES_PER_IMPERIAL_GALLON: f64 = 4.546_09;
/// Millilitres in a US fluid ounce: 1/128 gallon, exact.
pub const ML_PER_US_FLUID_OUNCE: f64 = 29.573_529_562_5;
/// Grams in an avoirdupois ounce, exact.
pub const GRAMS_PER_OUNCE: f64 = 28.349_523_125;
/// Grams in an avoirdupois pound, exact.
pub const GRAMS_PER_POUND: f64 = 453.592_37;

/// Reads a number as a grower writes it: decimal point or comma, spaces around it.
///
/// Thousands separators are not guessed: `1.234,5` is refused.
pub fn parse_number(text: &str) -> Result<f64, Problem> {
    let plain = text.trim();
    let not_a_number = || Problem::NotANumber {
        found: shorten(plain),
    };
    let digits = if plain.contains(',') && !plain.contains('.') {
        plain.replacen(',', ".", 1)
    } else {
        plain.to_owned()
    };
    let number: f64 = digits.parse().map_err(|_| not_a_number())?;
    if number.is_finite() {
        Ok(number)
    } else {
        Err(not_a_number())
    }
}

/// At most forty characters of what was found, for a message.
pub fn shorten(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST {
        text.to_owned()
    } else {
        text.chars().take(MOST).chain(['…']).collect()
    }
}

/// A number and the unit behind it in small letters: `30 Gal` is (30, "gal").
pub fn parse_with_unit(text: &str) -> Result<(f64, String), Problem> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(at, c)| {
            !(c.is_ascii_digit()
                || matches!(c, '.' | ',' | '-' | '+')
                || (matches!(c, 'e' | 'E')
                    && text[at + 1..]
                        .starts_with(|next: char| next.is_ascii_digit() || next == '-')))
        })
        .map_or(text.len(), |(at, _)| at);
    let number = parse_number(&text[..end]).map_err(|_| Problem::NotANumber {
        found: shorten(text),
    })?;
    Ok((number, text[end..].trim().to_lowercase()))
}

/// A volume such as `120 L`, `30 gal` or `500 mL`; a bare number is litres.
pub fn parse_volume(text: &str) -> Result<Litres, Problem> {
    let (number, unit) = parse_with_unit(text)?;
    let litres = match unit.as_str() {
        "" | "l" | "litre" | "litres" | "liter" | "liters" => 1.0,
        "ml" => 1e-3,
        "m3" | "m³" => 1000.0,
        "gal" | "gallon" | "gallons" | "us gal" => LITRES_PER_US_GALLON,
        "imp gal" | "uk gal" => LITRES_PER_IMPERIAL_GALLON,
        "fl oz" | "floz" => ML_PER_US_FLUID_OUNCE / 1000.0,
        _ => {
            return Err(Problem::UnknownUnit {
                unit: shorten(&unit),
                known: "L, mL, m3, gal, imp gal, fl oz",
            });
        }
    };
    Ok(Litres(number * litres))
}

/// Mass or volume of one fertilizer, as typed behind `ID=`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Weighed.
    Mass(Grams),
    /// Poured.
    Volume(Millilitres),
}

/// A mass such as `12 g`, `350mg`, `2 oz`, or a volume such as `12mL`; a bare number is grams.
pub fn parse_amount(text: &str) -> Result<Amount, Problem> {
    let (number, unit) = parse_with_unit(text)?;
    let mass = |factor: f64| Ok(Amount::Mass(Grams(number * factor)));
    let volume = |factor: f64| Ok(Amount::Volume(Millilitres(number * factor)));
    match unit.as_str() {
        "" | "g" => mass(1.0),
        "mg" => mass(1e-3),
        "kg" => mass(1e3),
        "oz" => mass(GRAMS_PER_OUNCE),
        "lb" => mass(GRAMS_PER_POUND),
        "ml" => volume(1.0),
        "l" => volume(1e3),
        "fl oz" | "floz" => volume(ML_PER_US_FLUID_OUNCE),
        // NIST Handbook 44, Appendix C: a tablespoon is half a fluid ounce, a teaspoon a sixth.
        "tbsp" => volume(ML_PER_US_FLUID_OUNCE / 2.0),
        "tsp" => volume(ML_PER_US_FLUID_OUNCE / 6.0),
        _ => Err(Problem::UnknownUnit {
            unit: shorten(&unit),
            known: "g, mg, kg, oz, lb, mL, L, fl oz, tbsp, tsp",
        }),
    }
}

/// An amount in a volume, such as `5 mL/gal`, `22 oz/100 gal` or `1 g/L`, for one litre; a bare
/// number is grams per litre.
pub fn parse_dose(text: &str) -> Result<Amount, Problem> {
    let (amount, per) = match text.split_once('/').or_else(|| text.split_once(" per ")) {
        Some((amount, per)) => (amount, per.trim()),
        None => (text, "L"),
    };
    let litres = if per.starts_with(|c: char| c.is_ascii_digit()) {
        parse_volume(per)?.0
    } else {
        parse_volume(&format!("1 {per}"))?.0
    };
    if litres <= 0.0 {
        let (low, unit) = (1e-3, " L");
        return Err(Problem::TooSmall {
            value: litres,
            low,
            unit,
        });
    }
    Ok(match parse_amount(amount)? {
        Amount::Mass(grams) => Amount::Mass(Grams(grams.0 / litres)),
        Amount::Volume(ml) => Amount::Volume(Millilitres(ml.0 / litres)),
    })
}

/// A mass such as `12 g` or `2 lb`; a bare number is grams.
pub fn parse_mass(text: &str) -> Result<Grams, Problem> {
    match parse_amount(text)? {
        Amount::Mass(grams) => Ok(grams),
        Amount::Volume(_) => Err(Problem::UnknownUnit {
            unit: parse_with_unit(text)?.1,
            known: "g, mg, kg, oz, lb",
        }),
    }
}

/// A number in one of the units that have a factor, the bare number among them.
fn parse_in(text: &str, factors: &[(&str, f64)], known: &'static str) -> Result<f64, Problem> {
    let (number, unit) = parse_with_unit(text)?;
    match factors.iter().find(|(name, _)| *name == unit) {
        Some((_, factor)) => Ok(number * factor),
        None => {
            let unit = shorten(&unit);
            Err(Problem::UnknownUnit { unit, known })
        }
    }
}

/// An EC such as `1.4 mS/cm`, `1400 uS/cm` or `14 CF`; a bare number is mS/cm.
pub fn parse_ec(text: &str) -> Result<MsPerCm, Problem> {
    const FACTORS: [(&str, f64); 7] = [
        ("", 1.0),
        ("ms/cm", 1.0),
        ("ds/m", 1.0),
        ("us/cm", 1e-3),
        ("\u{b5}s/cm", 1e-3),
        ("\u{3bc}s/cm", 1e-3),
        ("cf", 0.1),
    ];
    parse_in(text, &FACTORS, "mS/cm, uS/cm, dS/m, CF").map(MsPerCm)
}

/// The strength of a solution as a meter shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// As conductivity.
    Ec(MsPerCm),
    /// On a TDS pen, with its scale where it is said.
    Ppm {
        /// The figure.
        ppm: f64,
        /// ppm that the pen shows per mS/cm.
        scale: Option<f64>,
    },
}

/// A meter's strength such as `1.4 mS/cm`, `14 CF`, `650 ppm@500` or `650 ppm`; a bare number is
/// mS/cm.
pub fn parse_shown(text: &str) -> Result<Shown, Problem> {
    let (figure, scale) = match text.split_once('@') {
        Some((figure, scale)) => (figure, Some(parse_number(scale)?)),
        None => (text, None),
    };
    let (ppm, unit) = parse_with_unit(figure)?;
    if unit == "ppm" || (unit.is_empty() && scale.is_some()) {
        return Ok(Shown::Ppm { ppm, scale });
    }
    if scale.is_some() {
        let reason = format!("\"{}\" has a scale, but is not in ppm", shorten(text));
        let mend = "Write a TDS reading like 650 ppm@500, an EC like 1.3 mS/cm.";
        return Err(Problem::Unreadable { reason, mend });
    }
    parse_ec(figure).map(Shown::Ec)
}

/// An alkalinity in meq/L, or as mg/L of CaCO3 or HCO3 (CIAAW 2021 weights).
pub fn parse_alkalinity(text: &str) -> Result<MeqPerL, Problem> {
    const FACTORS: [(&str, f64); 5] = [
        ("", 1.0),
        ("meq/l", 1.0),
        ("mg/l caco3", 1.0 / 50.043),
        ("ppm caco3", 1.0 / 50.043),
        ("mg/l hco3", 1.0 / 61.016),
    ];
    parse_in(text, &FACTORS, "meq/L, mg/L CaCO3, mg/L HCO3").map(MeqPerL)
}

/// A temperature such as `20`, `20 C` or `68 F`; a bare number is in °C.
pub fn parse_celsius(text: &str) -> Result<Celsius, Problem> {
    let (value, unit) = parse_with_unit(text)?;
    match unit.trim_start_matches('\u{b0}').to_lowercase().as_str() {
        "" | "c" => Ok(Celsius(value)),
        // To a thousandth, so that a message does not run on.
        "f" => Ok(Celsius(((value - 32.0) / 0.0018).round() / 1000.0)),
        _ => Err(Problem::Unreadable {
            reason: format!("\"{unit}\" is no unit of temperature"),
            mend: "Write it in °C or °F, like 20 C or 68 F.",
        }),
    }
}

/// A strength against a recipe as written: a factor or a percentage.
pub fn parse_strength(text: &str) -> Result<f64, Problem> {
    parse_in(text, &[("", 1.0), ("%", 0.01)], "%")
}

/// A dilution such as `1:100`, or `100` alone.
pub fn parse_ratio(text: &str) -> Result<f64, Problem> {
    let text = text.trim();
    parse_number(text.strip_prefix("1:").unwrap_or(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn volumes_as_people_write_them() {
        for (text, litres) in [
            ("120", 120.0),
            ("120L", 120.0),
            ("0,5 l", 0.5),
            ("30 gal", 113.562_353_52),
            ("1e3 L", 1000.0),
            ("10 imp gal", 45.4609),
        ] {
            let read = parse_volume(text).expect(text);
            assert!((read.0 - litres).abs() < 1e-9, "{text}: {read:?}");
        }
    }

    #[test]
    fn amounts_by_mass_or_volume() {
        assert_eq!(parse_amount("12mL"), Ok(Amount::Volume(Millilitres(12.0))));
        assert_eq!(parse_amount("2 oz"), Ok(Amount::Mass(Grams(56.699_046_25))));
        assert!(parse_amount("2 stone").is_err());
    }

    /// Source: NIST Handbook 44, Appendix C: 1 oz is 28.349523125 g, 1 US gallon 3.785411784 L.
    #[test]
    fn doses_as_labels_print_them() {
        let grams = |text: &str| match parse_dose(text) {
            Ok(Amount::Mass(grams)) => grams.0,
            other => panic!("{text}: {other:?}"),
        };
        assert!((grams("1 oz/100 gal") - 0.074_891_5).abs() < 1e-7);
        assert!((grams("2 g per L") - 2.0).abs() < 1e-12);
        assert!((grams("0.5") - 0.5).abs() < 1e-12);
        let Ok(Amount::Volume(spoon)) = parse_dose("1 tsp/gal") else {
            panic!("a volume");
        };
        assert!((spoon.0 - 4.928_922 / 3.785_412).abs() < 1e-5);
        assert!(parse_dose("5 mL/barrel").is_err() && parse_dose("5 g/0 L").is_err());
    }

    #[test]
    fn meters_and_dilutions_as_people_write_them() {
        for text in [
            "1.4",
            "1,4 mS/cm",
            "1400 µS/cm",
            "1400uS/cm",
            "1.4 dS/m",
            "14 CF",
        ] {
            let read = parse_ec(text).expect(text);
            assert!((read.0 - 1.4).abs() < 1e-12, "{text}: {read:?}");
        }
        assert!(parse_ec("650 ppm").is_err());
        assert_eq!(parse_strength("50 %"), parse_strength("0.5"));
        assert_eq!(
            (parse_ratio("1:100"), parse_ratio(" 100 ")),
            (Ok(100.0), Ok(100.0))
        );
        assert_eq!(parse_alkalinity("0.5 meq/L"), Ok(MeqPerL(0.5)));
        assert_eq!(parse_mass("1 kg"), Ok(Grams(1000.0)));
        assert!(parse_mass("1 L").is_err());
    }

    #[test]
    fn strengths_as_meters_show_them() {
        let ppm = |ppm, scale| Ok(Shown::Ppm { ppm, scale });
        assert_eq!(parse_shown("1,3"), Ok(Shown::Ec(MsPerCm(1.3))));
        assert_eq!(parse_shown("650 ppm@500"), ppm(650.0, Some(500.0)));
        assert_eq!(parse_shown("650@700"), ppm(650.0, Some(700.0)));
        assert_eq!(parse_shown("650ppm"), ppm(650.0, None));
        assert!(parse_shown("1.3 mS/cm@500").is_err() && parse_shown("650 ppm@x").is_err());
    }

    #[test]
    fn numbers_that_are_none() {
        for text in ["", "abc", "NaN", "inf", "1.234,5", "--3", "1e999"] {
            assert!(parse_number(text).is_err(), "{text}");
        }
        assert_eq!(parse_number(" 1,4 "), Ok(1.4));
    }
}
