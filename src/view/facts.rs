//! Lines of a word and what it says: EC, ratios, charges, alkalinity.

use super::Part;
use super::round::{self, Measure};
use saltwright_solver::chemistry::meter::Tds;
use saltwright_solver::chemistry::solids::Nearness;
use saltwright_solver::ec::{Ec, Verdict};
use saltwright_solver::formulate::report::AcidityReport;
use saltwright_solver::ph::Ph;
use saltwright_solver::readings::RawEc;
use saltwright_solver::solids::SolidRow;
use saltwright_solver::solution::Ratios;
use saltwright_solver::words::listing;

/// Charge error up to which charges are said to balance, percent. Common practice, no source.
const BALANCED_PCT: f64 = 5.0;

/// What the EC meter should show.
pub fn ec(ec: &Ec) -> Part {
    let aim = ec.aim_ms_cm.map(|aim| format!("aim {}, ", round::ec(aim)));
    let predicted = round::ec(ec.predicted_ms_cm);
    let expected = match ec.low_ms_cm.zip(ec.high_ms_cm) {
        Some((low, high)) => format!(
            "expect {predicted} mS/cm at 25 °C ({} to {})",
            round::ec(low),
            round::ec(high)
        ),
        None => format!("roughly {predicted} mS/cm at 25 °C, outside the range of the model"),
    };
    let verdict = match ec.verdict {
        Verdict::Agrees => ": agrees",
        Verdict::Below => ": it will read below the aim",
        Verdict::Above => ": it will read above the aim",
        Verdict::CannotTell => ": whether that agrees cannot be told",
        Verdict::NoAim => "",
    };
    let aim = aim.unwrap_or_default();
    Part::fact("EC", format!("{aim}{expected}{verdict}."))
}

/// The same on other scales.
pub fn pens(tds: &[Tds], cf: f64) -> Option<Part> {
    let ppm: Vec<String> = tds
        .iter()
        .map(|tds| format!("{:.0} ppm on the {} scale", tds.ppm, tds.scale))
        .collect();
    (!ppm.is_empty()).then(|| {
        let words = format!("{}; CF {cf:.1}.", listing(&ppm));
        Part::fact("TDS pen", words)
    })
}

/// EC at another temperature, and what meters make of it.
pub fn raw_ec(raw: &RawEc, celsius: f64, measure: Measure) -> Part {
    let shown: Vec<String> = raw
        .shown
        .iter()
        .map(|shown| format!("{} ({})", round::ec(shown.ms_cm), shown.compensation))
        .collect();
    let at = round::temperature(celsius, measure);
    let found = match raw.low_ms_cm.zip(raw.high_ms_cm) {
        Some((low, high)) => format!(
            "{} mS/cm uncompensated at {at} ({} to {})",
            round::ec(raw.ms_cm),
            round::ec(low),
            round::ec(high)
        ),
        None => format!(
            "roughly {} mS/cm uncompensated at {at}",
            round::ec(raw.ms_cm)
        ),
    };
    let words = format!(
        "{found}; a meter that compensates shows {}.",
        listing(&shown)
    );
    Part::fact("raw EC", words)
}

/// What the pH meter should show, beside the recipe's band.
pub fn ph(ph: &Ph, band: Option<[f64; 2]>, celsius: f64, measure: Measure) -> Option<Part> {
    let band = band.map(|[low, high]| {
        let (low, high) = (round::ph(low), round::ph(high));
        format!("the recipe asks for {low} to {high}")
    });
    let Some((closed, open)) = ph.closed.zip(ph.open) else {
        return band.map(|band| Part::fact("pH", format!("not computed; {band}.")));
    };
    let at = if (celsius - 25.0).abs() > 1e-9 {
        format!(" at {}", round::temperature(celsius, measure))
    } else {
        String::new()
    };
    let words = if ph.unbuffered {
        // Nobody can promise a decimal here.
        format!(
            "unbuffered, about {closed:.0} right after mixing and about {open:.0} in air{at}: a \
             trace of acid or base moves it"
        )
    } else {
        let end = |value, low: Option<f64>, high: Option<f64>| match low.zip(high) {
            Some((low, high)) => format!(
                "{} ({} to {})",
                round::ph(value),
                round::ph(low),
                round::ph(high)
            ),
            None => format!("roughly {}", round::ph(value)),
        };
        format!(
            "{} right after mixing, {} after standing in air{at}",
            end(closed, ph.closed_low, ph.closed_high),
            end(open, ph.open_low, ph.open_high)
        )
    };
    let band = band.map_or_else(String::new, |band| format!("; {band}"));
    Some(Part::fact("pH", format!("{words}{band}.")))
}

/// What could drop out, the nearest first.
pub fn solids(solids: &[SolidRow]) -> Option<Part> {
    let quick = || solids.iter().filter(|row| !row.slow);
    let near: Vec<String> = quick()
        .filter(|row| row.nearness() >= Nearness::CanForm)
        .map(|row| format!("{} {}", row.solid, row.words.trim_end_matches('.')))
        .collect();
    if !near.is_empty() {
        return Some(Part::fact("solids", format!("{}.", near.join("; "))));
    }
    let nearest = quick().next()?;
    let words = format!(
        "none is expected to drop out; {} is nearest, with a saturation index of {}.",
        nearest.solid,
        round::signed_index(nearest.index(), 1)
    );
    Some(Part::fact("solids", words))
}

/// Ratios growers ask about.
pub fn ratios(ratios: &Ratios) -> Option<Part> {
    let main = ratios
        .k_ca_mg
        .map(|[k, ca, mg]| format!("K : Ca : Mg is {k:.1} : {ca:.1} : {mg:.1} by mass"));
    let share = ratios
        .nh4_share_pct
        .map(|share| format!("ammonium is {share:.0} % of all nitrogen"));
    let words: Vec<String> = [main, share].into_iter().flatten().collect();
    (!words.is_empty()).then(|| Part::fact("ratios", format!("{}.", words.join("; "))))
}

/// How well the charges balance.
pub fn charge(error_pct: Option<f64>) -> Option<Part> {
    let error = error_pct?;
    let size = error.abs();
    let words = if size <= BALANCED_PCT {
        format!("cations and anions balance within {:.1} %.", size.max(0.1))
    } else if error > 0.0 {
        format!("cations outweigh anions by {size:.1} % of both.")
    } else {
        format!("anions outweigh cations by {size:.1} % of both.")
    };
    Some(Part::fact("charge", words))
}

/// The acid asked for and reached.
pub fn acid(acidity: Option<AcidityReport>) -> Option<Part> {
    let acid = acidity?;
    let words = format!(
        "{} meq/L asked for, {} reached; {}.",
        round::concentration(acid.target_meq_l.max(0.0)),
        round::concentration(acid.reached_meq_l),
        alkalinity(acid.residual_meq_l)
    );
    let is_none = acid.target_meq_l <= 0.0 && round::concentration(acid.reached_meq_l) == "0";
    (!is_none).then(|| Part::fact("acid", words))
}

/// The alkalinity that is left.
pub fn alkalinity(meq_l: f64) -> String {
    let shown = round::concentration(meq_l.abs());
    if meq_l < 0.0 && shown != "0" {
        format!("no alkalinity left, {shown} meq/L of free acid")
    } else {
        format!("{shown} meq/L of alkalinity left")
    }
}
