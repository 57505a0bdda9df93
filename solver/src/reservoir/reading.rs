//! What the meters of a reservoir show, and whether it can be.

use crate::chemistry::meter::Tds;
use crate::words::reservoir as words;
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::{Faults, Kind, Problem};

/// Strongest reading that a reservoir can give, mS/cm at 25 °C. Tomato was grown up to a discharge
/// at 10 mS/cm (Signore and others 2016); above 15 it is the meter or its unit: judgement.
pub const MOST_EC_MS_CM: f64 = 15.0;
/// pH readings that a reservoir with anything living in it can give: judgement.
pub const POSSIBLE_PH: std::ops::RangeInclusive<f64> = 2.5..=11.0;
/// A TDS reading: up to the strongest EC on the largest scale, and far enough beyond to be told
/// from it.
const PPM: Limits = Limits::new(0.0, 1e5, " ppm");
/// An EC: so far up that what was read in µS/cm is told apart.
const EC: Limits = Limits::new(0.0, 1e5, " mS/cm");
/// CF.
const CF: Limits = Limits::new(0.0, 1e4, " CF");

/// A reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reading {
    /// EC, mS/cm at 25 °C, as the meter compensates it.
    pub ec_ms_cm: Option<f64>,
    /// pH.
    pub ph: Option<f64>,
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
}

impl Reading {
    /// Reads `{ec_ms_cm | ppm and scale | cf, ph, temperature_c}`.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        let before = faults.len();
        let reading = Self::take(&mut reader, faults);
        reader.close(faults);
        (faults.len() == before).then_some(reading)
    }

    /// Takes its keys out of a table that holds more.
    pub fn take(reader: &mut Reader<'_>, faults: &mut Faults) -> Self {
        let ec = reader.number("ec_ms_cm", EC, faults);
        let ppm = reader.number("ppm", PPM, faults);
        let cf = reader.number("cf", CF, faults);
        let scale = read_scale(reader, faults);
        let line = reader.line();
        let given = [("ec_ms_cm", ec), ("ppm", ppm), ("cf", cf)];
        let named: Vec<&str> = given
            .iter()
            .filter_map(|(key, value)| value.map(|_| *key))
            .collect();
        if let [first, second, ..] = named.as_slice() {
            let what = format!("the strength stands here twice, as {first} and as {second}");
            let mend = "Keep one of them.".to_owned();
            let problem = Problem::Contradiction { what, mend };
            faults.add(line, reader.at(second), problem);
        }
        let says_scale = reader.get("scale").is_some();
        if let (Some(ppm), false) = (ppm, says_scale) {
            let problem = Problem::Unreadable {
                reason: words::no_scale(ppm),
                mend: words::FIND_THE_SCALE,
            };
            faults.add(line, reader.at("scale"), problem);
        }
        let by_scale = ppm.zip(scale).map(|(ppm, scale)| ppm / scale);
        let ec_ms_cm = ec.or(by_scale).or(cf.map(|cf| cf / 10.0));
        if let Some(ec) = ec_ms_cm.filter(|ec| *ec > MOST_EC_MS_CM) {
            let field = reader.at(named.first().copied().unwrap_or("ec_ms_cm"));
            faults.add(line, field, words::impossible_ec(ec, MOST_EC_MS_CM));
        }
        let ph = reader.number("ph", Limits::PH, faults);
        if let Some(ph) = ph.filter(|ph| !POSSIBLE_PH.contains(ph)) {
            let kind = if ph > *POSSIBLE_PH.end() {
                Kind::TooLarge
            } else {
                Kind::TooSmall
            };
            faults.add(line, reader.at("ph"), words::impossible_ph(ph, kind));
        }
        Self {
            ec_ms_cm,
            ph,
            temperature_c: reader.number("temperature_c", Limits::CELSIUS, faults),
        }
    }
}

/// The scale of a TDS pen, ppm per mS/cm.
pub fn read_scale(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<f64> {
    let scale = reader.number("scale", Limits::new(0.0, 1e4, ""), faults)?;
    let known = Tds::SCALES.map(f64::from);
    if known.iter().any(|known| (known - scale).abs() < 1e-9) {
        return Some(scale);
    }
    let problem = Problem::NotOneOf {
        kind: "scale of a TDS pen",
        name: scale.to_string(),
        known: "500, 640, 700".into(),
    };
    faults.add(reader.line(), reader.at("scale"), problem);
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Result<Reading, (String, Kind, String)> {
        let mut faults = Faults::default();
        let node = Node::from_json(json).expect("json");
        let found = Reading::read(&node, "reading", &mut faults);
        faults.finish(found).map_err(|list| {
            let first = &list[0];
            let words = format!("{} {}", first.problem, first.problem.mend());
            (first.field.clone(), first.problem.kind(), words)
        })
    }

    /// 1.2 mS/cm is 600 ppm on the 500 scale, 768 on the 640 and 840 on the 700. Common practice,
    /// no source: lettuce at about 1.2 mS/cm, which the first two scales put between 540 and 800.
    #[test]
    fn one_strength_in_four_units() {
        for json in [
            r#"{"ec_ms_cm": 1.2}"#,
            r#"{"cf": 12}"#,
            r#"{"ppm": 600, "scale": 500}"#,
            r#"{"ppm": 768, "scale": 640}"#,
            r#"{"ppm": 840, "scale": 700}"#,
        ] {
            let ec = read(json).expect(json).ec_ms_cm.expect("an EC");
            assert!((ec - 1.2).abs() < 1e-12, "{json}: {ec}");
        }
    }

    #[test]
    fn a_reading_that_cannot_be_names_its_meter() {
        for (json, field, kind, says) in [
            (
                r#"{"ec_ms_cm": 25}"#,
                "ec_ms_cm",
                Kind::TooLarge,
                "EC meter",
            ),
            (
                r#"{"ec_ms_cm": 1400}"#,
                "ec_ms_cm",
                Kind::TooLarge,
                "1400 µS/cm is 1.4 mS/cm",
            ),
            (
                r#"{"ppm": 20000, "scale": 500}"#,
                "ppm",
                Kind::TooLarge,
                "EC meter",
            ),
            (r#"{"ec_ms_cm": -1}"#, "ec_ms_cm", Kind::Negative, ""),
            (r#"{"ph": 0.5}"#, "ph", Kind::TooSmall, "pH meter"),
            (r#"{"ph": 13}"#, "ph", Kind::TooLarge, "pH meter"),
            (
                r#"{"ppm": 650}"#,
                "scale",
                Kind::Unreadable,
                "1.30 mS/cm on the 500",
            ),
            (
                r#"{"ppm": 650, "scale": 600}"#,
                "scale",
                Kind::UnknownName,
                "500, 640, 700",
            ),
            (
                r#"{"ec_ms_cm": 1, "cf": 10}"#,
                "cf",
                Kind::Contradiction,
                "twice",
            ),
        ] {
            let (found_field, found, words) = read(json).expect_err(json);
            assert_eq!(found_field, format!("reading.{field}"), "{json}");
            assert_eq!(found, kind, "{json}");
            assert!(words.contains(says), "{json}: {words}");
        }
    }
}
