//! Sentences about a source water.

use super::{figure, hazard_cautions, listing};
use crate::chemistry::PH_RANGE;
use crate::water::request::AcidTo;
use crate::water::{WaterReport, WaterRequest};
use saltwright_recipes::{Balance, Water};

/// How the charges of an analysis close, and what usually is behind it when they do not.
pub fn balance(water: &Water) -> String {
    let (cations, anions) = water.charges_meq_l();
    let open = figure((cations - anions).abs());
    match water.balance() {
        Balance::Closes if cations + anions == 0.0 => "nothing is dissolved in it".into(),
        Balance::Closes => "cations and anions balance".into(),
        _ if !water.alkalinity_known && cations > anions => format!(
            "{open} meq/L of cations stand without an anion: the alkalinity is missing, and is \
             likely about that"
        ),
        _ if cations > anions => format!(
            "{open} meq/L of cations stand without an anion: look for a missing or misprinted \
             alkalinity, sulfate, chloride or nitrate"
        ),
        _ => format!(
            "{open} meq/L of anions stand without a cation: look for a missing or misprinted \
             sodium, potassium, calcium or magnesium, or for CaCO3 read as HCO3"
        ),
    }
}

/// What is doubtful about a water analysis.
pub fn doubts(water: &Water) -> Vec<String> {
    let (cations, anions) = water.charges_meq_l();
    if cations + anions == 0.0 {
        return Vec::new();
    }
    if !water.alkalinity_known {
        let likely = if water.balance() == Balance::Closes {
            String::new()
        } else {
            format!(" ({})", balance(water))
        };
        return vec![format!(
            "The water analysis names no alkalinity; none is counted{likely}. Ask the laboratory \
             for it: it decides how much acid is needed."
        )];
    }
    if water.balance() == Balance::Closes {
        return Vec::new();
    }
    let error = water.charge_error_pct().unwrap_or(0.0);
    vec![format!(
        "The water analysis does not balance ({error:+.0} %): {}.",
        balance(water)
    )]
}

/// Everything to heed about a water.
pub(crate) fn cautions(request: &WaterRequest, report: &WaterReport) -> Vec<String> {
    let mut cautions = doubts(&request.water);
    if request.water.balance() == Balance::Broken {
        cautions.push("So its own EC and pH are not told.".into());
    } else if request.water.ph.is_none() && request.water.alkalinity_meq_l > 0.0 {
        cautions.push(
            "Its pH is not known: it is taken to be in balance with air, so the pH right after \
             dosing is rough."
                .into(),
        );
    }
    cautions.extend(unreached(request, report));
    cautions.extend(drift(report));
    cautions.extend(lime(report));
    if !report.not_computed.is_empty() {
        cautions.push(format!(
            "Not computed, no constants here: {}.",
            listing(&report.not_computed)
        ));
    }
    let dosed = request
        .acids
        .iter()
        .filter(|acid| request.named && report.doses.iter().any(|row| row.id == acid.id));
    cautions.extend(hazard_cautions(dosed));
    if !request.named && !report.doses.is_empty() {
        cautions.push(
            "Acids and bases burn: goggles and gloves; acid into water, never water into acid. \
             Product labels, safety sheets and your local rules come first."
                .into(),
        );
    }
    if !report.limits.is_empty() {
        cautions.push(
            "Limits are for irrigation. Whether a water may be drunk or drained is for your local \
             authority to say."
                .into(),
        );
    }
    cautions
}

/// Where nothing reaches what was asked.
fn unreached(request: &WaterRequest, report: &WaterReport) -> Option<String> {
    if report.dose.is_some() || request.acids.is_empty() {
        return None;
    }
    match request.to {
        AcidTo::Residual(residual) if report.residual_meq_l < residual - 1e-9 => Some(format!(
            "The water holds less alkalinity than is to stay ({} of {} meq/L): a base would raise \
             it, and none that is named does.",
            figure(report.residual_meq_l),
            figure(residual)
        )),
        AcidTo::Residual(_) => None,
        AcidTo::Ph(ph) => {
            let closed = report.ph.closed?;
            ((closed - ph).abs() > 0.005).then(|| {
                format!(
                    "Nothing that is named brings this water to pH {ph}; it stands at {closed:.2}."
                )
            })
        }
    }
}

/// Why a pH does not stay.
fn drift(report: &WaterReport) -> Option<String> {
    let (closed, open) = (report.ph.closed?, report.ph.open?);
    report.dose.as_ref()?;
    if !PH_RANGE.contains(&closed) {
        return Some(format!(
            "pH {closed:.1} lies outside the range of the model ({} to {}).",
            PH_RANGE.start(),
            PH_RANGE.end()
        ));
    }
    (open - closed > 0.3).then(|| {
        format!(
            "The pH will not stay at {closed:.1}: the acid turned {} meq/L of alkalinity into \
             carbon dioxide, and as that escapes the pH drifts up, to {open:.1} in the end, because \
             {} meq/L of alkalinity are left.",
            figure(report.dose.as_ref().map_or(0.0, |dose| dose.acid_meq_l)),
            figure(report.residual_meq_l)
        )
    })
}

/// A raw hard water sheds lime before it comes into balance with air.
fn lime(report: &WaterReport) -> Option<String> {
    let calcite = report.solids.iter().find(|row| row.solid == "calcite")?;
    (calcite.index_open > 0.0).then(|| {
        format!(
            "Untreated and standing in air this water sheds lime (saturation index of calcite \
             {:+.1}) before it reaches that pH.",
            calcite.index_open
        )
    })
}
