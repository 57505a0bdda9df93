//! Lines of a word and what it says: EC, ratios, charges, alkalinity.

use super::Part;
use super::round;
use saltwright_solver::ec::{Ec, Verdict};
use saltwright_solver::formulate::report::AcidityReport;
use saltwright_solver::solution::Ratios;

/// Charge error up to which charges are said to balance, percent. Common practice, no source.
const BALANCED_PCT: f64 = 5.0;

/// What the EC meter should show, with the rule it rests on.
pub fn ec(ec: &Ec) -> Part {
    let aim = ec
        .aim_ms_cm
        .map(|aim| format!("aim {} mS/cm", round::ec(aim)));
    let expected = match ec.low_ms_cm.zip(ec.high_ms_cm) {
        Some((low, high)) => format!(
            "expect {} mS/cm at 25 °C ({} to {}) by the handbook rule of Sonneveld",
            round::ec(ec.predicted_ms_cm),
            round::ec(low),
            round::ec(high)
        ),
        None => "cannot tell: this solution is outside the range of the handbook rule".to_owned(),
    };
    let verdict = match ec.verdict {
        Verdict::Agrees => ": agrees",
        Verdict::Below => ": it will read below the aim",
        Verdict::Above => ": it will read above the aim",
        Verdict::CannotTell | Verdict::NoAim => "",
    };
    let aim = aim.map_or_else(String::new, |aim| format!("{aim}, "));
    Part::fact("EC", format!("{aim}{expected}{verdict}."))
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
