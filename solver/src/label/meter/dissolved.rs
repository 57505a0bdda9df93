//! What was dissolved for a test with the meter, and what the meter showed.

use super::METER_DIGIT_MS_CM;
use crate::ec::COVERAGE;
use crate::label::request::grams_per_l;
use saltwright_fertilizers::Faults;
use saltwright_fertilizers::document::{Limits, Node, Reader};

/// What a handheld meter may be off, percent of its reading. Common practice, no source.
const METER_PCT: f64 = 2.0;
/// What a kitchen scale may be off, g. Common practice, no source.
const SCALE_G: f64 = 0.01;
/// Litres that are made up for the test where nothing is said.
const LITRES: f64 = 1.0;

/// What was dissolved, and what the meter showed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dissolved {
    /// Grams in a litre.
    pub g_per_l: f64,
    /// What the meter showed.
    pub ec_ms_cm: Option<f64>,
    /// What it showed in the water alone.
    pub water_ec_ms_cm: Option<f64>,
    /// What the meter may be off, percent of its reading.
    pub meter_pct: f64,
    /// What the scale may be off, g.
    pub scale_g: f64,
    /// Litres that were made up.
    pub litres: f64,
}

impl Dissolved {
    /// Reads the test; `None` and faults where something is wrong.
    pub fn read(
        node: &Node,
        path: &str,
        density: Option<f64>,
        faults: &mut Faults,
    ) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        let g_per_l = grams_per_l(&mut reader, density, faults);
        let ec_ms_cm = reader.number("ec_ms_cm", Limits::EC, faults);
        let water_ec_ms_cm = reader.number("water_ec_ms_cm", Limits::EC, faults);
        let percent = Limits::PERCENT;
        let meter_pct = reader
            .number("meter_pct", percent, faults)
            .unwrap_or(METER_PCT);
        let scale_g = reader
            .number("scale_g", Limits::GRAMS, faults)
            .unwrap_or(SCALE_G);
        let litres = reader
            .number("litres", Limits::LITRES, faults)
            .unwrap_or(LITRES);
        reader.close(faults);
        Some(Self {
            g_per_l: g_per_l?,
            ec_ms_cm,
            water_ec_ms_cm,
            meter_pct,
            scale_g,
            litres,
        })
    }

    /// A dose that no meter was held into.
    pub(crate) const fn of(g_per_l: f64) -> Self {
        Self {
            g_per_l,
            ec_ms_cm: None,
            water_ec_ms_cm: None,
            meter_pct: METER_PCT,
            scale_g: SCALE_G,
            litres: LITRES,
        }
    }

    /// Standard uncertainty of what was weighed, relative.
    pub(super) fn weighing(&self) -> f64 {
        self.scale_g / (self.g_per_l * self.litres) / COVERAGE
    }

    /// What the meter may have meant.
    pub(super) fn reading(&self) -> Option<(f64, f64, f64)> {
        let shown = self.ec_ms_cm?;
        let off = self.meter_pct / 100.0 * shown + METER_DIGIT_MS_CM;
        Some((shown, (shown - off).max(0.0), shown + off))
    }
}
