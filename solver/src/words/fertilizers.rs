//! What to heed about fertilizers: the dangers of handling them, and what each of them brings along.

use super::figure;
use saltwright_fertilizers::{Dose, Fertilizer, Hazard, Nutrient};
use std::sync::Arc;

/// The usual caution for a danger.
pub const fn hazard(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Oxidizer => {
            "Feeds fire: keep dry and away from fuel, oil, sawdust, acids and heat."
        }
        Hazard::Acid => {
            "Corrosive acid: goggles and gloves; acid into water, never water into acid; never \
             together with a base or a chelate concentrate."
        }
        Hazard::Base => {
            "Caustic base: goggles and gloves; add slowly to water, it heats; never together with \
             an acid."
        }
        Hazard::Boron => {
            "Boron: need and harm lie close together, weigh on a fine scale; may harm fertility and \
             the unborn child, do not breathe the dust."
        }
        Hazard::Copper => {
            "Copper: harmful to eyes and if swallowed, very toxic to water life; keep out of drains."
        }
        Hazard::Nickel => {
            "Nickel: may cause cancer when breathed in and harms the unborn child; leave it to those \
             equipped for it."
        }
    }
}

/// The sentence that stands behind the cautions of every sheet.
pub const DEFER: &str = "Product labels, safety sheets and your local rules come first.";

/// True for a caution that [`hazard_cautions`] made of a danger.
pub fn is_hazard(caution: &str) -> bool {
    let all = [
        Hazard::Oxidizer,
        Hazard::Acid,
        Hazard::Base,
        Hazard::Boron,
        Hazard::Copper,
        Hazard::Nickel,
    ];
    all.into_iter()
        .any(|danger| caution.ends_with(hazard(danger)))
}

/// Cautions about what is handled, one for each danger, naming the fertilizers.
pub fn hazard_cautions<'a>(
    fertilizers: impl IntoIterator<Item = &'a Arc<Fertilizer>>,
) -> Vec<String> {
    let mut by_hazard: Vec<(Hazard, Vec<&str>)> = Vec::new();
    for fertilizer in fertilizers {
        for danger in fertilizer.hazards() {
            match by_hazard.iter_mut().find(|(known, _)| *known == danger) {
                Some((_, ids)) if ids.contains(&fertilizer.id.as_str()) => {}
                Some((_, ids)) => ids.push(&fertilizer.id),
                None => by_hazard.push((danger, vec![&fertilizer.id])),
            }
        }
    }
    by_hazard.sort_by_key(|(danger, _)| *danger);
    let mut cautions: Vec<String> = by_hazard
        .into_iter()
        .map(|(danger, ids)| format!("{}: {}", ids.join(", "), hazard(danger)))
        .collect();
    if !cautions.is_empty() {
        cautions.push(DEFER.into());
    }
    cautions
}

/// What to heed about single fertilizers of a mix.
pub fn mix_cautions(mix: &[Dose]) -> Vec<String> {
    let mut cautions = Vec::new();
    for dose in mix.iter().filter(|dose| dose.amount.0 > 0.0) {
        let fertilizer = &dose.fertilizer;
        let id = &fertilizer.id;
        if !fertilizer.is_charted() {
            cautions.push(format!(
                "{id}: its acidity is not computed, no constants for it here; its nutrients count."
            ));
        }
        let held = fertilizer
            .formula
            .as_ref()
            .and_then(|f| f.chelates(Nutrient::Fe));
        if fertilizer.assay_pct[Nutrient::Fe] > 1.0
            && fertilizer.formula.is_some()
            && held.is_none()
        {
            cautions.push(format!(
                "{id}: iron without a chelate drops out of a nutrient solution within hours to days \
                 (common practice, no source)."
            ));
        }
        if fertilizer.formula.is_none() && fertilizer.acid_meq_per_g() == 0.0 {
            let (cations, anions) = fertilizer.charges_meq_per_g();
            let open = (cations - anions) * dose.amount.0;
            if open.abs() > 0.01 {
                cautions.push(format!(
                    "{id}: its label leaves {} meq/L of charge open; a nutrient or ballast is not \
                     named on it.",
                    figure(open.abs())
                ));
            }
        }
        if fertilizer.assay_pct[Nutrient::UreaN] > 1.0 {
            cautions.push(format!(
                "{id}: urea shows no EC and turns to ammonium over days; it is counted as it is \
                 poured."
            ));
        }
    }
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;
    use saltwright_fertilizers::Table;

    #[test]
    fn a_fertilizer_is_named_once_for_a_danger() {
        let shelf = Table::shipped().expect("sound");
        let acid = shelf.get("nitric-acid-60").expect("shipped");
        let cautions = hazard_cautions([acid, acid]);
        assert!(!cautions.is_empty());
        for caution in cautions {
            assert!(caution.matches(&acid.id).count() <= 1, "{caution}");
        }
    }
}
