//! Sentences about a formulation: its proof, its prices, what cannot be met, what to heed.

use super::{figure, hazard_cautions, listing, mix_cautions, water};
use crate::formulate::conflict::{Clash, Conflict, Side};
use crate::formulate::problem::{Figure, Judged, Problem};
use crate::formulate::report::{FormulateReport, Kept, Outcome};
use crate::formulate::request::{AcidityAsk, FormulateRequest};
use saltwright_fertilizers::{Aimed, Dose, Nutrient};
use saltwright_recipes::Recipe;

/// Charge error of a list of aims from which the list is explained, percent.
const AIMS_IMBALANCE_PCT: f64 = 3.0;

/// What a proof means, in one sentence.
pub fn proof(report: &FormulateReport) -> String {
    let gap = report
        .proof
        .iter()
        .map(|row| row.gap.abs())
        .fold(0.0, f64::max);
    let has_aims = report.nutrients.iter().any(|row| row.aim.is_some());
    let (reached, kept) = match report.keeps {
        Kept::Aims if has_aims => ("comes closer to the aims", "as close"),
        Kept::Aims | Kept::Bands => ("keeps the bands better", "that keeps them as well"),
        Kept::Closeness => (
            "keeps bands and closeness better",
            "that keeps them as well",
        ),
    };
    let cheaper = if report.cost_per_m3.is_some() {
        format!(", and none {kept} is cheaper")
    } else {
        String::new()
    };
    format!("No other choice of these fertilizers {reached}{cheaper} (proof gap {gap:.0e}).")
}

/// The nutrient whose next milligram costs most, in one sentence.
pub fn dearest(report: &FormulateReport) -> Option<String> {
    let dearest = report
        .nutrients
        .iter()
        .filter_map(|row| Some((row, row.price_high?)))
        .filter(|(row, price)| *price > 0.0 && row.aim.is_some())
        .max_by(|a, b| {
            let weight = |row: &crate::formulate::report::NutrientRow, price: f64| {
                price * row.aim.unwrap_or(0.0)
            };
            weight(a.0, a.1).total_cmp(&weight(b.0, b.1))
        })?;
    Some(format!(
        "one more mg/L of {} would cost {} per 1000 L",
        dearest.0.nutrient,
        price(dearest.1)
    ))
}

/// A price with three telling digits.
pub fn price(value: f64) -> String {
    let size = value.abs();
    let digits = if size >= 1.0 || size == 0.0 {
        2
    } else if size >= 0.01 {
        4
    } else {
        6
    };
    format!("{value:.digits$}")
}

/// A band end that cannot be kept, in a sentence.
pub fn clash(problem: &Problem, conflict: &Conflict, clash: &Clash) -> String {
    let row = &problem.rows[clash.row];
    let unit = row.figure.unit();
    let name = match row.figure {
        Figure::Nutrient(aimed) => format!("{}{}", aimed.word(), judged(row.judged)),
        Figure::Acidity => "the acid".to_owned(),
        Figure::SodiumChloride => row.figure.key().to_owned(),
    };
    let (bound, reachable) = (figure(clash.bound), figure(clash.reachable));
    let alone = conflict.clashes.len() == 1;
    let brings = |column: &crate::formulate::problem::Column| column.brings(row.figure) > 0.0;
    match clash.side {
        Side::Max if alone && row.present > clash.bound => format!(
            "Water and what is in it already bring {reachable} {unit} of {name}, above the maximum \
             of {bound}. Use a purer water, or blend it."
        ),
        Side::Min if alone && !problem.columns.iter().any(brings) => format!(
            "No fertilizer in the choice brings {name}; {bound} {unit} are asked for and \
             {reachable} reached."
        ),
        Side::Min if alone => format!(
            "With these fertilizers {name} comes to {reachable} {unit} at most, not to {bound}."
        ),
        Side::Max if alone => format!(
            "With these fertilizers {name} comes to {reachable} {unit} at least, not to {bound}."
        ),
        side => {
            let others: Vec<String> = conflict
                .clashes
                .iter()
                .filter(|other| other != &clash)
                .map(|other| band_end(problem, other))
                .collect();
            let (asked, reached) = match side {
                Side::Min => ("at least", "at most"),
                Side::Max => ("at most", "at least"),
            };
            format!(
                "{asked} {bound} {unit} of {name} is asked for, but it comes to {reached} \
                 {reachable} as long as {} {}.",
                listing(&others),
                if others.len() == 1 { "holds" } else { "hold" }
            )
        }
    }
}

/// By which assays a band is judged, where not by those that are stated.
const fn judged(judged: Judged) -> &'static str {
    match judged {
        Judged::AsStated => "",
        Judged::AtLeast(_) => " with low assays",
        Judged::AtMost(_) => " with high assays",
    }
}

fn band_end(problem: &Problem, clash: &Clash) -> String {
    let row = &problem.rows[clash.row];
    let figure_of = row.figure;
    let end = match clash.side {
        Side::Min => "at least",
        Side::Max => "at most",
    };
    format!(
        "{}{} {end} {} {}",
        figure_of.key(),
        judged(row.judged),
        figure(clash.bound),
        figure_of.unit()
    )
}

/// What would mend a conflict, in a sentence.
pub fn mend(report: &FormulateReport) -> Option<String> {
    if report.outcome == Outcome::WithinBands {
        return None;
    }
    if !report.mended_by.is_empty() {
        return Some(format!(
            "Allowing {} would make it possible.",
            either(&report.mended_by)
        ));
    }
    if !report.helped_by.is_empty() {
        return Some(format!(
            "Allowing {} would solve this, though not everything.",
            either(&report.helped_by)
        ));
    }
    // Too much from the water is told with its own way out.
    if let [only] = report.conflict.as_slice()
        && only.side == "max"
    {
        return None;
    }
    Some(
        "No single fertilizer of the table would mend it; drop or widen one of these bands.".into(),
    )
}

fn either(ids: &[String]) -> String {
    listing(ids).replace(" and ", " or ")
}

/// Where two mixes are equally close and only their blend has the EC or pH asked for.
pub(crate) const POURED_TOGETHER: &str = "Two mixes are equally close to the recipe here; this is \
    the blend of both that meets the EC or pH asked for, so it may hold more fertilizers than \
    either.";

/// Everything to heed about a formulation.
pub(crate) fn formulate_cautions(
    request: &FormulateRequest,
    problem: &Problem,
    report: &FormulateReport,
    in_tank: &[Dose],
    told: Vec<String>,
) -> Vec<String> {
    let mut cautions = hazard_cautions(in_tank.iter().map(|dose| &dose.fertilizer));
    cautions.extend(lacking(&request.recipe));
    if let Some(micros) = &report.micros
        && !micros.filled.is_empty()
    {
        cautions.push(format!(
            "{} come from the list {}; the recipe itself does not name them.",
            listing(&micros.filled),
            micros.from
        ));
    }
    cautions.extend(aims_balance(&request.recipe));
    cautions.extend(water::doubts(&request.water));
    for row in &problem.figures {
        let (Figure::Nutrient(aimed), Some(max), true) = (row.figure, row.max, row.default_max)
        else {
            continue;
        };
        let usual = request
            .bands
            .of(aimed)
            .default_max_mg_l
            .unwrap_or(f64::INFINITY);
        if row.present > usual {
            cautions.push(format!(
                "The recipe does not name {}; {} mg/L of it are there already, above the usual \
                 {} mg/L. None is added.",
                aimed.word(),
                figure(max),
                figure(usual)
            ));
        }
    }
    if let Some(share) = report.dilute_l_per_l {
        let litres = request.litres.map_or_else(
            || format!("{} L for each litre", figure(share)),
            |litres| format!("{} L", figure(share * litres)),
        );
        cautions.push(format!(
            "What is in the tank is too strong already: {litres} of this water brings it back \
             below its maxima."
        ));
    }
    cautions.extend(acid_cautions(request, report));
    if !request.unpriced.is_empty() {
        cautions.push(format!(
            "Left out, because it has no price: {}.",
            request.unpriced.join(", ")
        ));
    }
    cautions.extend(mix_cautions(in_tank));
    cautions.extend(told);
    cautions
}

fn acid_cautions(request: &FormulateRequest, report: &FormulateReport) -> Option<String> {
    if let Some(ph) = request.ph_not_sought {
        return Some(format!(
            "No acid is to be reckoned with (acid: none), so pH {} was not sought.",
            figure(ph)
        ));
    }
    let has_acid = request.choice.iter().any(|c| c.fertilizer.is_acid());
    let asked = match request.acidity {
        AcidityAsk::Residual(residual) => residual.0,
        AcidityAsk::Ph { .. } | AcidityAsk::Off => return None,
    };
    let left = report.acidity?.residual_meq_l;
    (!has_acid && left > asked + 1e-9).then(|| {
        format!(
            "No acid is allowed: {} meq/L of alkalinity stay in the solution and will hold the pH \
             up.",
            figure(left)
        )
    })
}

/// What a recipe lacks.
fn lacking(recipe: &Recipe) -> Option<String> {
    let lacks: Vec<&str> = recipe.lacks().into_iter().map(Nutrient::word).collect();
    (!lacks.is_empty()).then(|| {
        format!(
            "This list brings no {}. Name a list of micronutrients (micros), such as micros-leafy, \
             if the water does not bring them.",
            listing(&lacks).replace(" and ", " and no ")
        )
    })
}

/// Aims whose charges cannot balance as written.
fn aims_balance(recipe: &Recipe) -> Option<String> {
    use Nutrient::{AmmoniumN, Ca, Cl, K, Mg, Na, NitrateN, P, S};
    let aim = |aimed: Aimed| recipe.aim(aimed).and_then(|aim| aim.aim);
    let meq = |nutrient: Nutrient| {
        aim(Aimed::Form(nutrient))
            .map(|mg| mg / nutrient.atomic_weight() * f64::from(nutrient.charge().abs()))
    };
    // Only a list that names all macronutrients can be judged.
    let named = [P, K, Ca, Mg, S].map(meq);
    if named.iter().any(Option::is_none) {
        return None;
    }
    let total_n = aim(Aimed::TotalN).map(|mg| mg / NitrateN.atomic_weight());
    let ammonium = meq(AmmoniumN);
    let nitrate = meq(NitrateN).or_else(|| Some(total_n? - ammonium.unwrap_or(0.0)))?;
    let sum = |nutrients: &[Nutrient]| nutrients.iter().filter_map(|n| meq(*n)).sum::<f64>();
    let cations = sum(&[K, Ca, Mg, Na]) + ammonium.unwrap_or(0.0);
    let anions = sum(&[P, S, Cl]) + nitrate;
    let error = 100.0 * (cations - anions) / (cations + anions);
    if error.abs() <= AIMS_IMBALANCE_PCT {
        return None;
    }
    let found = format!(
        "The aims do not balance as written: cations {} and anions {} meq/L",
        figure(cations),
        figure(anions)
    );
    // Moving a mole of N from nitrate to ammonium closes two charges.
    let to_ammonium = (anions - cations) / 2.0 * NitrateN.atomic_weight();
    Some(if error < 0.0 && ammonium.is_none() {
        format!(
            "{found} with all nitrogen as nitrate. About {} mg/L of it as ammonium would close the \
             gap.",
            figure(to_ammonium)
        )
    } else {
        format!("{found}. Salts are neutral, so some figure must end off its aim.")
    })
}
