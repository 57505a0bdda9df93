//! The answer of `meter`, as every face shows it. Figures are exact; faces round.

use crate::chemistry::meter::Tds;
use schemars::JsonSchema;
use serde::Serialize;

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MeterReport {
    /// ppm that the pen shows per mS/cm; none where nothing tells it.
    pub scale: Option<u32>,
    /// How well every scale fits the pairs.
    pub scales: Vec<ScaleRow>,
    /// What the meter shows at zero, mS/cm; none without a point.
    pub offset_ms_cm: Option<f64>,
    /// What it shows more for each mS/cm more.
    pub slope: Option<f64>,
    /// How the meter does; none without a point.
    pub verdict: Option<Health>,
    /// False where it shows the checks as they conduct at their temperature: it does not compensate,
    /// and its line is drawn against that. None where that cannot be told.
    pub compensates: Option<bool>,
    /// The points, as they were reckoned.
    pub points: Vec<PointRow>,
    /// What the error does where the meter is trusted to show an aim.
    pub at_aim: Option<AtAim>,
    /// A reading on every scale.
    pub reading: Option<ReadingRow>,
    /// The pH meter.
    pub ph: Option<PhMeter>,
    /// Check solutions and what to weigh for them.
    pub solutions: Vec<CheckSolution>,
    /// A proportioner or dosing pump.
    pub doser: Option<DoserReport>,
    /// The same in words, a finding a line.
    pub words: String,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// How well a scale fits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScaleRow {
    /// ppm per mS/cm.
    pub scale: u32,
    /// How far the pairs lie above it, percent, on the average of them.
    pub off_pct: f64,
    /// True where it is the nearest and near enough.
    pub fits: bool,
}

/// How a meter does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Health {
    /// Within what a good meter can do.
    Good,
    /// To be calibrated.
    Calibrate,
    /// To be cleaned or replaced.
    Doubtful,
}

/// A point.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PointRow {
    /// EC of the check solution, mS/cm at 25 °C.
    pub true_ms_cm: f64,
    /// What the meter showed, mS/cm.
    pub shows_ms_cm: f64,
    /// Off by so many percent of the true value; none at zero.
    pub off_pct: Option<f64>,
    /// What the check solution conducts at the temperature of the check, mS/cm, where one is named.
    pub raw_ms_cm: Option<f64>,
}

/// What the error does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AtAim {
    /// What the meter shows.
    pub shows_ms_cm: f64,
    /// What the solution then is.
    pub true_ms_cm: f64,
    /// Off by so many percent of what it shows.
    pub off_pct: f64,
    /// What the meter should show for the solution to be right.
    pub show_instead_ms_cm: f64,
}

/// A reading on every scale.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadingRow {
    /// EC, where it is known, mS/cm.
    pub ec_ms_cm: Option<f64>,
    /// EC if the scale is this one.
    pub on_scales: Vec<OnScale>,
    /// What pens of every scale show, where the EC is known.
    pub tds: Vec<Tds>,
    /// What the solution really is after the check, mS/cm.
    pub true_ms_cm: Option<f64>,
}

/// A reading if the scale is this one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OnScale {
    /// ppm per mS/cm.
    pub scale: u32,
    /// EC, mS/cm.
    pub ec_ms_cm: f64,
}

/// The pH meter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PhMeter {
    /// What it shows above the truth at pH 7.
    pub offset_at_7: f64,
    /// What it shows more for each pH more, percent.
    pub slope_pct: f64,
    /// How it does.
    pub verdict: Health,
}

/// What to weigh for a check solution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckSolution {
    /// `KCl` or `NaCl`, pure and dry.
    pub salt: &'static str,
    /// mS/cm at 25 °C.
    pub ec_ms_cm: f64,
    /// Grams made up to a litre with pure water.
    pub g_per_l: f64,
}

/// A proportioner or dosing pump.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DoserReport {
    /// What it is set to.
    pub ratio: f64,
    /// EC that this gives, mS/cm.
    pub expected_ms_cm: f64,
    /// EC that was read, corrected by the check of the meter.
    pub found_ms_cm: f64,
    /// The ratio that reads this.
    pub delivers_ratio: Option<f64>,
    /// How much more stock than it should, percent (negative: less).
    pub off_pct: Option<f64>,
}
