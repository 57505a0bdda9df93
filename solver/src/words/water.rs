//! Sentences about a source water.

use super::{figure, hazard_cautions, listing};
use crate::chemistry::PH_RANGE;
use crate::water::request::AcidTo;
use crate::water::{WaterReport, WaterRequest};
use saltwright_recipes::{Balance, Water};

/// The name of a water.
pub fn name(water: &Water) -> String {
    if water.name.is_empty() {
        "own water".into()
    } else {
        water.name.clone()
    }
}

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
    let mut doubts = open_charge(water);
    if water.parts.is_empty() {
        doubts.extend(misfit(water));
    } else {
        let parts = water.parts.iter().filter(|(_, share)| *share > 0.0);
        doubts.extend(parts.filter_map(|(part, _)| misfit(part)));
    }
    doubts
}

/// An alkalinity that is missing, charges that do not close.
fn open_charge(water: &Water) -> Vec<String> {
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

/// True where the pH of a water, or of a part of a blend, is not known and matters.
pub fn lacks_ph(water: &Water) -> bool {
    if water.parts.is_empty() {
        water.ph.is_none() && water.alkalinity_meq_l > 0.0
    } else {
        water.parts.iter().any(|(part, _)| lacks_ph(part))
    }
}

/// Carbon dioxide, mmol/L, that water holds at 25 °C under a whole bar of it: 10^-1.47 mol/L
/// (Plummer and Busenberg 1982).
const MOST_CO2_MMOL_L: f64 = 34.0;

/// Where pH and alkalinity of an analysis do not go together, or the pH does not count.
fn misfit(water: &Water) -> Option<String> {
    let ph = water.ph.filter(|_| !water.is_pure())?;
    let alkalinity = water.alkalinity_meq_l;
    if alkalinity == 0.0 {
        return water.alkalinity_known.then(|| {
            format!(
                "Without alkalinity a pH says nothing of the carbon in a water: its pH of {} does \
                 not count, and it is taken to be in balance with air.",
                figure(ph)
            )
        });
    }
    let fizzes = alkalinity * 10_f64.powf(6.35 - ph) > MOST_CO2_MMOL_L;
    let hydroxide_meq_l = 10_f64.powf(ph - 14.0) * 1000.0;
    (fizzes || hydroxide_meq_l > alkalinity).then(|| {
        format!(
            "A pH of {} and an alkalinity of {} meq/L do not go together: one of the two is \
             misprinted, and what rests on them is rough.",
            figure(ph),
            figure(alkalinity)
        )
    })
}

/// Everything to heed about a water.
pub(crate) fn cautions(request: &WaterRequest, report: &WaterReport) -> Vec<String> {
    let mut cautions = doubts(&request.water);
    if request.water.balance() == Balance::Broken {
        cautions.push("So its own EC and pH are not told.".into());
    } else if lacks_ph(&request.water) {
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
        AcidTo::Residual(residual)
            if request.is_usual && report.residual_meq_l <= residual + 1e-9 =>
        {
            Some(format!(
                "It needs no acid: its alkalinity of {} meq/L is not above the {} meq/L that acid \
                 usually leaves.",
                figure(report.residual_meq_l),
                figure(residual)
            ))
        }
        AcidTo::Residual(residual) if report.residual_meq_l < residual - 1e-9 => Some(format!(
            "The water holds less alkalinity than is to stay ({} of {} meq/L): a base would raise \
             it, and none that is named does.",
            figure(report.residual_meq_l),
            figure(residual)
        )),
        AcidTo::Residual(residual) if report.residual_meq_l > residual + 1e-9 => Some(format!(
            "The water holds more alkalinity than is to stay ({} meq/L, not {}), and nothing that \
             is named takes it away.",
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
    let acid_meq_l = report.dose.as_ref()?.acid_meq_l;
    let drift = open - closed;
    if drift.abs() <= 0.3 {
        return None;
    }
    let left = figure(report.residual_meq_l);
    Some(if drift < 0.0 {
        format!(
            "The pH will not stay at {closed:.1}: carbon dioxide of the air brings it down, to \
             {open:.1} in the end."
        )
    } else if acid_meq_l > 0.0 && report.residual_meq_l > 0.0 {
        format!(
            "The pH will not stay at {closed:.1}: the acid turned {} meq/L of alkalinity into \
             carbon dioxide, and as that escapes the pH drifts up, to {open:.1} in the end, because \
             {left} meq/L of alkalinity are left.",
            figure(acid_meq_l)
        )
    } else {
        format!(
            "The pH will not stay at {closed:.1}: carbon dioxide escapes and the pH drifts up, to \
             {open:.1} in the end."
        )
    })
}

/// A raw hard water sheds lime before it comes into balance with air.
fn lime(report: &WaterReport) -> Option<String> {
    let calcite = report.solids.iter().find(|row| row.solid == "calcite")?;
    (calcite.index_open > 0.0).then(|| {
        let ends = report.ph_before.open.map_or_else(String::new, |open| {
            format!(", and its pH ends lower than {open:.1}")
        });
        format!(
            "Untreated and standing in air, this water sheds lime (saturation index of calcite \
             {:+.1}){ends}.",
            calcite.index_open
        )
    })
}
