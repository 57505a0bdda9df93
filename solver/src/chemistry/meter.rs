//! What meters make of a conductivity: temperature compensation, TDS scales, CF.

use super::REFERENCE_CELSIUS;
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::LazyLock;

/// How a meter carries a reading to 25 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Compensation {
    /// By so many percent per kelvin.
    Linear(f64),
    /// By the table of natural waters of ISO 7888.
    Iso7888,
}

impl Compensation {
    /// What meters are usually set to: 2.0 % per kelvin first, the commonest.
    pub const USUAL: [Self; 4] = [
        Self::Linear(2.0),
        Self::Linear(1.91),
        Self::Linear(2.2),
        Self::Iso7888,
    ];

    /// Its name in reports.
    pub fn name(self) -> String {
        match self {
            Self::Linear(percent) => format!("{percent} %/°C"),
            Self::Iso7888 => "ISO 7888".into(),
        }
    }

    /// What the meter shows for 25 °C when the solution conducts `raw` at `celsius`; none where
    /// the standard's table ends.
    ///
    /// Linear: raw/(1 + a (t - 25)); ISO 7888: raw times the table's factor, between its rows by
    /// straight lines.
    pub fn shows(self, raw: f64, celsius: f64) -> Option<f64> {
        match self {
            Self::Linear(percent) => {
                Some(raw / (1.0 + percent / 100.0 * (celsius - REFERENCE_CELSIUS)))
            }
            Self::Iso7888 => Some(raw * iso_7888_factor(celsius)?),
        }
    }
}

/// The factor f25 of ISO 7888:1985, table of natural waters, 0 to 35 °C.
fn iso_7888_factor(celsius: f64) -> Option<f64> {
    static FACTORS: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
        let rows = include_str!("data/iso7888.csv").lines().skip(1);
        let row = |line: &str| {
            let (celsius, factor) = line.split_once(',')?;
            Some((celsius.parse().ok()?, factor.parse().ok()?))
        };
        rows.filter_map(row).collect()
    });
    FACTORS.windows(2).find_map(|pair| {
        let [(low, from), (high, to)] = pair else {
            return None;
        };
        let inside = (*low..=*high).contains(&celsius);
        inside.then(|| from + (to - from) * (celsius - low) / (high - low))
    })
}

/// A TDS reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Tds {
    /// ppm that the pen shows per mS/cm.
    pub scale: u32,
    /// What it then shows.
    pub ppm: f64,
}

impl Tds {
    /// The scales there are: sodium chloride (500), 640, potassium chloride or 442 (700).
    pub const SCALES: [u32; 3] = [500, 640, 700];

    /// The reading on every scale.
    pub fn of(ec_ms_cm: f64) -> [Self; 3] {
        Self::SCALES.map(|scale| Self {
            scale,
            ppm: ec_ms_cm * f64::from(scale),
        })
    }
}

/// CF: ten times the EC in mS/cm.
pub fn cf(ec_ms_cm: f64) -> f64 {
    10.0 * ec_ms_cm
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: ISO 7888:1985, table of f25 for natural waters: 1.116 at 20 °C, 1 at 25 °C.
    #[test]
    fn a_meter_by_the_standard() {
        let shows = |celsius| Compensation::Iso7888.shows(1000.0, celsius);
        assert_eq!(shows(20.0), Some(1116.0));
        assert_eq!(shows(25.0), Some(1000.0));
        assert!((shows(20.5).expect("inside") - 1103.5).abs() < 1e-9);
        assert_eq!(shows(36.0), None);
    }

    #[test]
    fn scales_of_pens() {
        for (tds, ppm) in Tds::of(1.2).into_iter().zip([600.0, 768.0, 840.0]) {
            assert!((tds.ppm - ppm).abs() < 1e-9);
        }
        assert!((cf(1.4) - 14.0).abs() < 1e-12);
    }
}
