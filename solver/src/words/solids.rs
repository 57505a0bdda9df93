//! Sentences about solids that could drop out.

use crate::chemistry::solids::{Nearness, Reported};

/// What the indices of a solid mean, and what would change them.
pub fn tell(solid: Reported, closed: f64, open: f64) -> String {
    if solid.is_slow {
        return slow(solid.id, closed.max(open));
    }
    let when = |class: Nearness| match class {
        Nearness::Clear => "clear",
        Nearness::Near => "near",
        Nearness::CanForm => "can form",
        Nearness::WillForm => "will form",
    };
    let (now, later) = (Nearness::of(closed), Nearness::of(open));
    let found = if now == later {
        when(now).to_owned()
    } else {
        format!("{} right after mixing, {} in air", when(now), when(later))
    };
    if now.max(later) < Nearness::CanForm {
        return format!("{found}.");
    }
    format!("{found}: {}.", change(solid.id))
}

fn slow(id: &str, index: f64) -> String {
    if index <= 0.0 {
        "clear.".into()
    } else if id == "MnHPO4" {
        "supersaturated by its constant, as nearly every nutrient solution is that stays clear \
         (common practice, no source); the constant is doubtful."
            .into()
    } else {
        "supersaturated, as most nutrient solutions with calcium and phosphate are; it forms over \
         days to months, and databases differ by four units."
            .into()
    }
}

/// What keeps a solid dissolved.
fn change(id: &str) -> &'static str {
    match id {
        "gypsum" => "less calcium or sulfate keeps it dissolved; nitrates or chlorides bring none",
        "calcite" => {
            "acid for more of the alkalinity, or water with less of it, keeps it dissolved"
        }
        "brushite" => "a lower pH or less phosphorus keeps it dissolved",
        "struvite" => "a lower pH, or less ammonium or phosphorus, keeps it dissolved",
        _ => {
            "only iron without a chelate forms it (iron sulfate, or what the water brings), and air \
             turns that to rust"
        }
    }
}
