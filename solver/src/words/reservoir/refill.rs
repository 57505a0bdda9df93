//! Sentences about what was taken, what builds up, and when to change the solution.

use super::super::figure;
use crate::reservoir::refill::report::{LimitRow, RefillReport};
use crate::reservoir::refill::request::RefillRequest;
use saltwright_fertilizers::{Aimed, Nutrient};

/// Deviation of the account's EC from the reading, relative, from which it is doubted. Common
/// practice, no source.
const MISFIT: f64 = 0.05;
/// Level that a dipstick may be off by, relative. Common practice, no source.
const DIPSTICK: f64 = 0.02;

/// What the account rests on.
pub fn assumed(thinned: bool, analysed: bool) -> String {
    let start = if thinned {
        "At the first reading the tank is taken to have held the water alone, thinned"
    } else {
        "At the first reading the tank is taken to have held this recipe in this water, at the \
         strength that reads its EC"
    };
    let how = if analysed {
        "What left with each litre comes from the laboratory's figures where it has them, else \
         from the readings and published uptake."
    } else {
        "What left with each litre comes from published uptake, moved by the EC and by the acid \
         that the plants gave off. EC cannot tell one nutrient from another, so the ranges are wide."
    };
    format!("{start}. {how}")
}

/// A limit decides.
pub fn by_limit(row: &LimitRow) -> String {
    let word = match row.nutrient {
        Aimed::Form(nutrient) => nutrient.word(),
        Aimed::TotalN => "nitrogen",
    };
    if row.now >= row.limit {
        format!(
            "{word} stands at {} mg/L, above {} ({})",
            figure(row.now),
            row.words,
            row.source
        )
    } else {
        format!("{word} comes to {} ({})", row.words, row.source)
    }
}

/// Nobody knows any more.
pub fn by_doubt(nutrient: Nutrient) -> String {
    format!(
        "from then on {} can be off by half of a fresh fill without the meters showing it; a \
         laboratory's analysis puts that off",
        nutrient.word()
    )
}

/// A nutrient is far off.
pub fn by_imbalance(nutrient: Nutrient, off_pct: f64) -> String {
    let side = if off_pct < 0.0 { "below" } else { "above" };
    format!(
        "{} stands {:.0} % {side} a fresh fill",
        nutrient.word(),
        off_pct.abs()
    )
}

/// Nothing asks for it.
pub fn no_reason() -> String {
    "nothing that is reckoned with builds up or runs out".into()
}

/// What to heed.
pub(crate) fn cautions(
    request: &RefillRequest,
    report: &RefillReport,
    unexplained_l: f64,
) -> Vec<String> {
    let mut cautions = Vec::new();
    if unexplained_l > DIPSTICK * report.litres {
        cautions.push(format!(
            "Once the level rose by {} L with nothing said to have been added: name it, or the \
             account is off by what it brought.",
            figure(unexplained_l)
        ));
    }
    let off = report.ec_by_account_ms_cm / report.ec_read_ms_cm - 1.0;
    if off.abs() > MISFIT {
        cautions.push(format!(
            "The account comes to {:.2} mS/cm, the meter showed {:.2}: something went in or out \
             that is not in the list, or the meter is off.",
            report.ec_by_account_ms_cm, report.ec_read_ms_cm
        ));
    }
    if request.analysis.is_none() {
        cautions.push(
            "Published uptake is that of lettuce, from memory; herbs differ. An analysis every few \
             weeks shows what the meters cannot."
                .into(),
        );
    }
    cautions.push(format!(
        "A change-out lets go about {} g of nitrate nitrogen ({} g of nitrate): a fertilizer for \
         other plants where that is allowed, never for a stream or a storm drain; local rules \
         decide.",
        figure(report.change_out.nitrate_n_g),
        figure(report.change_out.nitrate_n_g * NO3_PER_N)
    ));
    super::heed_feed(&mut cautions, &report.top_up.cautions);
    cautions
}

/// g of nitrate with a gram of its nitrogen: 62.004 over 14.007 (CIAAW 2021 weights).
const NO3_PER_N: f64 = 62.004 / 14.007;
