//! Sentences about meters and dosing.

use super::super::{figure, listing};
use crate::reservoir::meter::report::{DoserReport, Health, MeterReport, ReadingRow};
use crate::reservoir::meter::request::{MeterRequest, Shows};
use saltwright_fertilizers::Problem;

/// Days after which a calibration is old. Common practice, no source.
const OLD_DAYS: f64 = 30.0;
/// Percent by which a doser may be off. Common practice, no source.
const DOSER_GOOD_PCT: f64 = 5.0;

/// A check in ppm that fits no scale.
pub fn no_scale_fits() -> Problem {
    Problem::Contradiction {
        what: "this pen's ppm fits none of the scales 500, 640 and 700 beside its check".into(),
        mend: "Say the scale of the pen, or check it again in a fresh solution.".into(),
    }
}

/// The whole answer in sentences, a finding a line.
pub(crate) fn told(request: &MeterRequest, report: &MeterReport) -> String {
    let mut words: Vec<String> = Vec::new();
    words.extend(scale(report));
    words.extend(line(report));
    words.extend(
        report
            .reading
            .as_ref()
            .map(|row| reading(row, request.reading)),
    );
    words.extend(ph(report));
    words.extend(report.doser.as_ref().map(doser));
    if words.is_empty() {
        words.push(
            "Weigh the salt dry, make it up to a litre with pure water, and note what the meter \
             shows in it."
                .into(),
        );
    }
    words.join("\n")
}

fn scale(report: &MeterReport) -> Option<String> {
    let nearest = report
        .scales
        .iter()
        .min_by(|a, b| a.off_pct.abs().total_cmp(&b.off_pct.abs()))?;
    Some(match report.scale {
        Some(scale) => format!("The pen shows {scale} ppm for each mS/cm."),
        None => format!(
            "No scale fits all pairs: {} is nearest, and off by {:+.0} %. Meter or pen is off, or \
             the pairs are not of one solution.",
            nearest.scale, nearest.off_pct
        ),
    })
}

fn line(report: &MeterReport) -> Option<String> {
    let (offset, slope) = report.offset_ms_cm.zip(report.slope)?;
    let at = report.at_aim?;
    let health = match report.verdict? {
        Health::Good => "The EC meter is good",
        Health::Calibrate => "The EC meter wants calibrating",
        Health::Doubtful => {
            "The EC meter is off by more than a calibration should mend: clean the cell, try a \
             fresh solution, else replace it"
        }
    };
    let side = if at.off_pct < 0.0 { "weak" } else { "strong" };
    let does = if at.off_pct.abs() < 0.05 {
        String::new()
    } else {
        format!(
            " Where it shows {:.2} the solution is {:.2} mS/cm, {:.1} % too {side}; until it is \
             mended, {:.2} on it is right.",
            at.shows_ms_cm,
            at.true_ms_cm,
            at.off_pct.abs(),
            at.show_instead_ms_cm
        )
    };
    if report.compensates == Some(false) {
        return Some(format!(
            "The EC meter shows the checks as they conduct at their own temperature, {:.1} % of it: \
             it does not compensate, or that is switched off. Switch it on, or check near 25 °C; \
             calibrated in the cold it would be off ever after.",
            100.0 * slope
        ));
    }
    let zero = if offset.abs() < 5e-4 {
        String::new()
    } else {
        format!(" and {offset:+.3} mS/cm at zero")
    };
    Some(format!(
        "{health}: it shows {:.1} % of what is there{zero}.{does}",
        100.0 * slope
    ))
}

fn reading(row: &ReadingRow, shows: Option<Shows>) -> String {
    let told = match (shows, row.ec_ms_cm) {
        (Some(Shows::Ppm(ppm)), None) => {
            let scales = row
                .on_scales
                .iter()
                .map(|on| format!("{:.2} mS/cm on the {} scale", on.ec_ms_cm, on.scale));
            let scales: Vec<String> = scales.collect();
            format!(
                "{} ppm is {}; which one, only the scale of the pen tells.",
                figure(ppm),
                listing(&scales)
            )
        }
        (_, Some(ec)) => {
            let pens: Vec<String> = row
                .tds
                .iter()
                .map(|tds| format!("{:.0} ppm on the {} scale", tds.ppm, tds.scale))
                .collect();
            format!("The reading is {ec:.2} mS/cm: {}.", listing(&pens))
        }
        _ => String::new(),
    };
    match row.true_ms_cm {
        Some(truth) => format!("{told} By the check it is really {truth:.2} mS/cm."),
        None => told,
    }
}

fn ph(report: &MeterReport) -> Option<String> {
    let ph = report.ph?;
    let health = match ph.verdict {
        Health::Good => "is good",
        Health::Calibrate => "wants calibrating",
        Health::Doubtful => "is worn or dirty: clean and soak the probe, else replace it",
    };
    Some(format!(
        "The pH meter {health}: {:+.2} at pH 7, slope {:.0} %.",
        ph.offset_at_7, ph.slope_pct
    ))
}

fn doser(doser: &DoserReport) -> String {
    let (expected, found) = (doser.expected_ms_cm, doser.found_ms_cm);
    let Some((off, ratio)) = doser.off_pct.zip(doser.delivers_ratio) else {
        return format!(
            "At 1:{} the feed should read {expected:.2} mS/cm; {found:.2} is less than the water \
             alone: no stock arrives, or the water is not the one named.",
            figure(doser.ratio)
        );
    };
    let verdict = if off.abs() <= DOSER_GOOD_PCT {
        "the doser is good"
    } else if off < 0.0 {
        "it delivers too little stock: look for air, a clogged suction filter, or low pressure"
    } else {
        "it delivers too much stock: look for a worn seal, or a wrong setting"
    };
    format!(
        "At 1:{} the feed should read {expected:.2} mS/cm and reads {found:.2}, as at 1:{}: {off:+.0} \
         % of stock, {verdict}. Meter and stock have their share in that; both tanks are judged \
         together.",
        figure(doser.ratio),
        figure(ratio)
    )
}

/// What to heed.
pub(crate) fn cautions(request: &MeterRequest, report: &MeterReport) -> Vec<String> {
    let mut cautions = Vec::new();
    match request.calibrated_days_ago {
        Some(days) if days > OLD_DAYS => cautions.push(format!(
            "The calibration is {} days old: a month is usual for EC, a week for pH (common \
             practice, no source).",
            figure(days)
        )),
        _ => {}
    }
    if let ([_], Some(_)) = (report.points.as_slice(), report.slope) {
        cautions.push(
            "One check tells no offset from slope: a second one, weaker or stronger, does.".into(),
        );
    }
    if request.ph_points.len() == 1 {
        cautions.push("One buffer tells no slope: check in a second one.".into());
    }
    if !report.points.is_empty() && request.temperature_c.is_none() {
        cautions.push(
            "Check near 25 °C: a meter that compensates is off by 1 to 2 % in the cold, and check \
             solutions have temperatures of their own."
                .into(),
        );
    }
    cautions
}
