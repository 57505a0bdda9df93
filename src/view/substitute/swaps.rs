//! Single swaps on the sheet of cheaper salts: one out, one in, what that moves.

use super::{MOST, SWAPS};
use crate::view::round::{self, Measure};
use crate::view::{Column, Kind, Part};
use saltwright_solver::substitute::report::{SubstituteReport, Swap};
use saltwright_solver::words;

/// Single swaps, and what to heed about each.
pub(super) fn swaps(report: &SubstituteReport, detail: bool) -> Vec<Part> {
    if report.swaps.is_empty() {
        let words = "No single swap saves more than weighing today's fertilizers anew.";
        return vec![Part::Note(words.into())];
    }
    let columns = vec![
        Column::new(SWAPS, Kind::Name),
        Column::new("put in", Kind::Name),
        Column::new("saves", Kind::Figures),
        Column::new("EC", Kind::Figures),
        Column::new("pH", Kind::Figures),
        Column::new("stock", Kind::Words),
    ];
    let most = if detail { usize::MAX } else { MOST };
    let shown = || report.swaps.iter().take(most);
    let rows = shown().map(|swap| {
        let changes = &swap.changes;
        vec![
            swap.out.clone(),
            swap.into.clone(),
            words::price(swap.saving_per_m3),
            changes.ec_ms_cm.then.map_or_else(String::new, round::ec),
            changes.ph_closed.then.map_or_else(String::new, round::ph),
            tank(swap),
        ]
    });
    let mut parts = vec![Part::Table {
        rows: rows.collect(),
        columns,
    }];
    let rest = report.swaps.len().saturating_sub(most);
    let now = (report.now.ec.predicted_ms_cm, report.now.ph.closed);
    let more = if rest > 0 {
        format!(" {rest} more that save less: --detail.")
    } else {
        String::new()
    };
    let note = format!(
        "Each saves so much per 1000 L against today's mix, the rest weighed anew; EC is {} and pH {} \
         now.{more}",
        round::ec(now.0),
        now.1.map_or_else(|| "not told".into(), round::ph)
    );
    parts.push(Part::Note(note));
    for swap in shown().filter(|_| detail) {
        parts.push(Part::Note(changed(swap)));
    }
    let mut told: Vec<String> = Vec::new();
    for swap in shown() {
        for words in &swap.changes.words {
            let words = format!("{} for {}: {words}", swap.into, swap.out);
            if !told.contains(&words) {
                told.push(words);
            }
        }
    }
    parts.extend(told.into_iter().map(Part::Caution));
    parts
}

/// The stock tank of what is put in, or what goes wrong there.
fn tank(swap: &Swap) -> String {
    let changes = &swap.changes;
    let tank = changes.tank.as_deref().unwrap_or_default();
    match (changes.clear, &changes.first_solid) {
        (Some(false), Some(solid)) => format!("CLOUDY: {solid}"),
        (Some(false), None) => "CLOUDY".into(),
        (None, _) => "cannot be told".into(),
        _ => tank.to_owned(),
    }
}

/// All that a swap moves, in a line.
fn changed(swap: &Swap) -> String {
    let figure = |value: Option<f64>| value.map_or_else(|| "none".into(), round::concentration);
    let changes = &swap.changes;
    let mut moved: Vec<String> = changes
        .nutrients
        .iter()
        .filter_map(|row| {
            let (now, then) = (
                round::concentration(row.now),
                round::concentration(row.then),
            );
            (now != then).then(|| format!("{} {now} to {then}", row.nutrient))
        })
        .collect();
    let share = changes.nh4_share_pct;
    moved.push(format!(
        "ammonium {} to {} % of nitrogen",
        figure(share.now),
        figure(share.then)
    ));
    let solubility = changes.solubility_g_per_l_20c;
    if let (Some(now), Some(then)) = (solubility.now, solubility.then) {
        let (now, then) = (round::three(now), round::three(then));
        moved.push(format!("solubility {now} to {then} g/L"));
    }
    format!(
        "{} for {}, {}: {}.",
        swap.into,
        swap.out,
        round::mass(swap.g_per_l, Measure::Metric) + "/L",
        moved.join(", ")
    )
}
