//! What a correction pours, as a journal notes it.

use super::round;
use saltwright_solver::reservoir::correct::report::{Do, Step};

/// One thing that is done to a tank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deed {
    /// What is added, in one word; nothing where the tank is drained.
    pub what: Option<String>,
    /// How much.
    pub amount: String,
    /// Its unit.
    pub unit: &'static str,
}

/// What is poured and drained, in order, but for bottles without a label; `water` is what the source
/// water is called.
pub fn deeds(steps: &[Step], water: Option<&str>) -> Vec<Deed> {
    steps.iter().filter_map(|step| deed(step, water)).collect()
}

fn deed(step: &Step, water: Option<&str>) -> Option<Deed> {
    let what = match step.what {
        Do::Drain => None,
        Do::Wait => return None,
        Do::AddWater => Some(water.unwrap_or("water").to_owned()),
        Do::AddStock | Do::AddAcid | Do::AddBase => Some(match (&step.id, &step.tank) {
            (Some(id), _) => id.clone(),
            (None, Some(tank)) => format!("stock-{tank}"),
            // What is in a bottle without a label nobody can add up later.
            (None, None) => return None,
        }),
    };
    let amounts = [(step.litres, "L"), (step.ml, "mL"), (step.g, "g")];
    let mut amounts = amounts.into_iter();
    let (amount, unit) = amounts.find_map(|(amount, unit)| Some((amount?, unit)))?;
    Some(Deed {
        what: what.map(|what| what.replace(' ', "-")),
        amount: round::plain(amount),
        unit,
    })
}
