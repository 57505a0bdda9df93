//! Sentences about what the meters show, and where the model ends.

use super::figure;
use crate::chemistry::{EC_CELSIUS, MOST_IONIC_STRENGTH, PH_RANGE};
use crate::ph::Ph;
use crate::readings::{Outside, Readings};
use saltwright_fertilizers::{Dose, Ion, Ligand, Nutrient};
use saltwright_recipes::{Balance, Water};

/// pH up to which a chelate holds iron. Common practice, no source.
const HOLDS_IRON_TO: [(Ligand, f64); 3] = [
    (Ligand::Edta, 6.5),
    (Ligand::Dtpa, 7.0),
    (Ligand::Eddha, 9.0),
];

/// Everything to heed about the readings of a solution.
pub fn cautions(readings: &Readings, water: &Water, mix: &[Dose]) -> Vec<String> {
    let mut cautions: Vec<String> = readings.outside.iter().map(outside).collect();
    cautions.extend(rests_on_water(water));
    cautions.extend(iron(&readings.ph, mix));
    cautions
}

fn outside(reason: &Outside) -> String {
    let rough = "EC, pH and solids are rough here, without a range.";
    match reason {
        Outside::Strength(mol_kg) => format!(
            "Outside the range of the model: an ionic strength of {} mol/kg, checked up to {}. \
             {rough}",
            figure(*mol_kg),
            figure(MOST_IONIC_STRENGTH)
        ),
        Outside::Acidity(ph) => format!(
            "Outside the range of the model: pH {ph:.1}, checked from {} to {}. {rough}",
            PH_RANGE.start(),
            PH_RANGE.end()
        ),
        Outside::Temperature(celsius) => format!(
            "Outside the range of the conductivity model: {} °C, checked from {} to {} °C. No EC \
             at that temperature.",
            figure(*celsius),
            EC_CELSIUS.start(),
            EC_CELSIUS.end()
        ),
        Outside::Uncharted => "An acid is in it for which there are no constants here: no pH, and \
                               the EC is rough."
            .into(),
    }
}

/// Where a reading rests on a water analysis that says too little.
fn rests_on_water(water: &Water) -> Option<String> {
    if water.balance() == Balance::Broken {
        return Some(
            "EC and pH rest on a water analysis that does not balance: the EC range is wide, and \
             no verdict is given."
                .into(),
        );
    }
    super::water::lacks_ph(water).then(|| {
        "The pH of the water is not known: it is taken to be in balance with air, so the pH right \
         after mixing is rough."
            .into()
    })
}

/// Iron that its chelate does not hold at this pH.
fn iron(ph: &Ph, mix: &[Dose]) -> Vec<String> {
    let Some(highest) = ph.open.into_iter().chain(ph.closed).reduce(f64::max) else {
        return Vec::new();
    };
    let lost = |dose: &Dose| {
        let (ligand, to) = HOLDS_IRON_TO.into_iter().find(|(ligand, _)| {
            let ion = Ion::Chelate(Nutrient::Fe, *ligand);
            let ions = dose.fertilizer.ions_mmol_per_g();
            ions.iter().any(|(held, _)| *held == ion)
        })?;
        (highest > to).then(|| {
            format!(
                "{}: Fe-{ligand} holds iron to about pH {to} (common practice, no source); this \
                 solution comes to {highest:.1}.",
                dose.fertilizer.id
            )
        })
    };
    mix.iter()
        .filter(|dose| dose.amount.0 > 0.0)
        .filter_map(lost)
        .collect()
}

/// pH up to which the iron chelates of a mix hold their iron, in a sentence.
pub fn chelates(ids: &[Ligand]) -> Option<String> {
    let told: Vec<String> = HOLDS_IRON_TO
        .iter()
        .filter(|(ligand, _)| ids.contains(ligand))
        .map(|(ligand, to)| format!("Fe-{ligand} to about pH {to}"))
        .collect();
    (!told.is_empty()).then(|| {
        format!(
            "iron stays dissolved with {} (common practice, no source)",
            super::listing(&told)
        )
    })
}
