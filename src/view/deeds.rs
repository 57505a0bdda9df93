//! What a correction pours, as a journal notes it.

use super::round;
use saltwright_solver::reservoir::correct::report::{Do, Step};
use saltwright_solver::words::listing;

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

/// What is poured and drained, in order, but for what is [`unnamed`]; `water` is what the source water
/// is called.
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
            (None, None) => return None,
        }),
    };
    let (amount, unit) = amount(step)?;
    Some(Deed {
        what: what.map(|what| what.replace(' ', "-")),
        amount,
        unit,
    })
}

fn amount(step: &Step) -> Option<(String, &'static str)> {
    let amounts = [(step.litres, "L"), (step.ml, "mL"), (step.g, "g")];
    let mut amounts = amounts.into_iter();
    amounts.find_map(|(amount, unit)| Some((round::plain(amount?), unit)))
}

/// What is poured from a bottle without a label, in words: it has no name under which it could be
/// added up later. Nothing where every step has its name.
pub fn unnamed(steps: &[Step]) -> Option<String> {
    let told = steps.iter().filter_map(|step| {
        let kind = match step.what {
            Do::AddAcid => "acid",
            Do::AddBase => "base",
            _ => return None,
        };
        let is_named = step.id.is_some() || step.tank.is_some();
        let (amount, unit) = amount(step).filter(|_| !is_named)?;
        Some(format!("{amount} {unit} of {kind}"))
    });
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("{} from a bottle without a label", listing(&told)))
}
