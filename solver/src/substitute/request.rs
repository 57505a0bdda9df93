//! What `substitute` is asked, resolved: a formulation, today's mix, and what must stay.

use crate::formulate::FormulateRequest;
use crate::formulate::request::Candidate;
use crate::request::Shelf;
use saltwright_fertilizers::document::{self, MAX_ID, Node, Reader};
use saltwright_fertilizers::{Dose, Faults, Fertilizer, Problem};
use saltwright_recipes::Library;
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// Longest name of a currency, bytes.
pub const MAX_CURRENCY: usize = 16;

/// What a cheaper mix must keep.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Keep {
    /// The bands: within them a nutrient may move.
    #[default]
    Bands,
    /// The bands, and every nutrient as close to its aim as today's mix brings it.
    Deviation,
}

impl Keep {
    /// The names in requests.
    pub const NAMES: [(&'static str, Self); 2] =
        [("bands", Self::Bands), ("deviation", Self::Deviation)];
}

/// Where today's mix comes from.
#[derive(Clone, Debug)]
pub enum Now {
    /// It is given: what goes in, and each of its fertilizers with its price.
    Given(Vec<Dose>, Vec<Candidate>),
    /// It is formulated as closely as can be from some fertilizers.
    FromHand(Vec<Candidate>),
    /// It is formulated as closely as can be from all that is allowed.
    Formulated,
}

/// A resolved request; every fertilizer in it has a price.
#[derive(Clone, Debug)]
pub struct SubstituteRequest {
    /// The recipe, the water and what may be used.
    pub formulate: FormulateRequest,
    /// Today's mix.
    pub now: Now,
    /// What must stay.
    pub keep: Keep,
    /// What prices are in: a label, nothing more.
    pub currency: Option<String>,
}

impl SubstituteRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let (formulate, (now, keep, currency)) =
            FormulateRequest::read_with(node, library, faults, |reader, shelf, faults| {
                let given = reader.get("prices").is_some();
                if !shelf.has_prices() && (!given || faults.is_empty()) {
                    let (what, mend) = ("the price list", "Give the price of each fertilizer.");
                    faults.add(reader.line(), "prices", Problem::Empty { what, mend });
                }
                let now = read_now(reader, shelf, faults);
                let keep = read_keep(reader, faults);
                (now, keep, read_currency(reader, faults))
            })?;
        if formulate.sure.is_some() {
            let what = "swaps are not worked out for bands that must hold for any bag".to_owned();
            let mend = "Leave \"sure\" out, or ask formulate.".to_owned();
            faults.add(None, "sure", Problem::NoAnswer { what, mend });
        }
        for candidate in &formulate.choice {
            if candidate.price_per_kg.is_none() {
                unpriced(&candidate.fertilizer.id, None, faults);
            }
        }
        faults.is_empty().then_some(Self {
            formulate,
            now,
            keep,
            currency,
        })
    }
}

/// What prices are in: a label, nothing more.
pub(crate) fn read_currency(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<String> {
    let node = reader.get("currency")?;
    let name = document::text(node, "currency", MAX_CURRENCY, faults)?.trim();
    (!name.is_empty()).then(|| name.to_owned())
}

fn unpriced(id: &str, line: Option<usize>, faults: &mut Faults) {
    let what = "the price of this fertilizer";
    let mend = "Give it, or leave the fertilizer out.";
    faults.add(line, format!("prices.{id}"), Problem::Empty { what, mend });
}

fn read_keep(reader: &mut Reader<'_>, faults: &mut Faults) -> Keep {
    let Some(node) = reader.get("keep") else {
        return Keep::default();
    };
    let Some(name) = document::text(node, "keep", MAX_ID, faults) else {
        return Keep::default();
    };
    let found = Keep::NAMES.iter().find(|(known, _)| *known == name.trim());
    if found.is_none() {
        let (kind, name) = ("thing to keep", name.to_owned());
        let known = Keep::NAMES.map(|(known, _)| known).join(", ");
        faults.add(node.line, "keep", Problem::NotOneOf { kind, name, known });
    }
    found.map_or_else(Keep::default, |(_, keep)| *keep)
}

fn read_now(reader: &mut Reader<'_>, shelf: &Shelf<'_>, faults: &mut Faults) -> Now {
    let (now, at_hand) = (reader.get("now"), reader.get("at_hand"));
    let priced = |fertilizer: Arc<Fertilizer>, node: &Node, faults: &mut Faults| {
        let price_per_kg = shelf.price(&fertilizer);
        if price_per_kg.is_none() && shelf.has_prices() {
            unpriced(&fertilizer.id, node.line, faults);
        }
        Candidate {
            fertilizer,
            price_per_kg,
            at_most: None,
        }
    };
    let before = faults.len();
    match (now, at_hand) {
        (Some(_), Some(hand)) => {
            let what = "today's mix is given and also asked to be formulated".to_owned();
            let mend = "Keep \"now\" or \"at_hand\", not both.".to_owned();
            faults.add(hand.line, "at_hand", Problem::Contradiction { what, mend });
            Now::Formulated
        }
        (Some(node), None) => {
            let mut mix = shelf.mix(node, "now", faults);
            mix.retain(|dose| dose.amount.0 > 0.0);
            if mix.is_empty() && faults.len() == before {
                let what = "today's mix";
                let mend = "Give what goes in now, or leave \"now\" out to have it formulated.";
                faults.add(node.line, "now", Problem::Empty { what, mend });
            }
            let candidates = mix.iter().map(|dose| dose.fertilizer.clone());
            let candidates = candidates.map(|one| priced(one, node, faults)).collect();
            Now::Given(mix, candidates)
        }
        (None, Some(node)) => {
            let named = shelf.find_all(node, "at_hand", faults);
            if named.is_empty() && faults.len() == before {
                let what = "the list of what is at hand";
                let mend = "Name at least one fertilizer, or leave \"at_hand\" out.";
                faults.add(node.line, "at_hand", Problem::Empty { what, mend });
            }
            let candidates = named.into_iter().map(|one| priced(one, node, faults));
            Now::FromHand(candidates.collect())
        }
        (None, None) => Now::Formulated,
    }
}
