//! What `water` is asked, resolved.

use super::limits;
use crate::request::{ENVELOPE, Shelf, named_entries, water};
use crate::words::figure;
use saltwright_fertilizers::document::{self, Limits, Node, Reader, Value};
use saltwright_fertilizers::{Faults, Fertilizer, Nutrient, Problem, Tank};
use saltwright_recipes::{Library, Water};
use std::sync::Arc;

/// What the acid is to reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AcidTo {
    /// This alkalinity, meq/L.
    Residual(f64),
    /// This pH, right after dosing.
    Ph(f64),
}

/// A water to blend with.
#[derive(Clone, Debug)]
pub struct BlendWith {
    /// The water poured in.
    pub water: Water,
    /// Share of the source water; found from the limits where it is not given.
    pub share: Option<f64>,
    /// Limits that the blend is to keep, by name of the figure.
    pub limits: Vec<(String, f64)>,
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct WaterRequest {
    /// The water.
    pub water: Water,
    /// Acids (or bases) to dose; all of the shelf's table where none is named.
    pub acids: Vec<Arc<Fertilizer>>,
    /// True where the request names them; false where all of the table are shown.
    pub named: bool,
    /// What to reach.
    pub to: AcidTo,
    /// A water to blend with.
    pub blend_with: Option<BlendWith>,
    /// Temperature that pH is told at.
    pub celsius: Option<f64>,
}

/// A blend as it was found.
#[derive(Clone, Debug)]
pub(super) struct Blended {
    pub water: Water,
    pub with: Water,
    pub share: f64,
    pub because: Option<String>,
}

impl WaterRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        let shelf = Shelf::read(&mut reader, library, faults);
        let water = match reader.get("water") {
            Some(node) => water(node, "water", library, faults),
            None => {
                let (what, mend) = ("the water", "Name a water, or give its analysis.");
                faults.add(reader.line(), "water", Problem::Empty { what, mend });
                None
            }
        };
        let off = reader
            .get_or_null("acid")
            .is_some_and(|node| node.value == Value::Null);
        let named = reader.get("acid");
        let mut acids = match named {
            Some(node) => shelf.find_all(node, "acid", faults),
            None if off => Vec::new(),
            None => shelf
                .everything()
                .filter(|row| matches!(row.tank, Some(Tank::Acid | Tank::Base)))
                .cloned()
                .collect(),
        };
        if named.is_none() {
            // What growers have at hand comes first.
            acids.sort_by_key(|acid| !acid.common);
        }
        for acid in &acids {
            if acid.is_charted() && acid.acid_meq_per_g() == 0.0 {
                let what = format!("{} is neither an acid nor a base", acid.id);
                let mend = "Name an acid like nitric-acid-38, or a base.".to_owned();
                let line = named.and_then(|node| node.line);
                faults.add(line, "acid", Problem::Contradiction { what, mend });
            }
        }
        let to = read_aim(&mut reader, faults);
        let blend_with = reader
            .get("blend_with")
            .and_then(|node| BlendWith::read(node, library, faults));
        let celsius = reader.number("temperature_c", Limits::CELSIUS, faults);
        reader.close(faults);
        let water = water?;
        faults.is_empty().then(|| Self {
            celsius: celsius.or(water.temperature_c),
            water,
            acids,
            named: named.is_some(),
            to,
            blend_with,
        })
    }

    /// The blend that is asked for.
    pub(super) fn blended(&self) -> Option<Blended> {
        let with = self.blend_with.as_ref()?;
        let (share, because) = match with.share {
            Some(share) => (share, None),
            None => with.largest_share(&self.water),
        };
        let parts = [
            (self.water.clone(), share),
            (with.water.clone(), 1.0 - share),
        ];
        Some(Blended {
            water: Water::blend(&parts),
            with: with.water.clone(),
            share,
            because,
        })
    }
}

fn read_aim(reader: &mut Reader<'_>, faults: &mut Faults) -> AcidTo {
    let residual = reader.number("residual_alkalinity_meq_l", Limits::ALKALINITY, faults);
    let ph = reader.number("ph", Limits::PH, faults);
    if residual.is_some() && ph.is_some() {
        let what = "acid is asked for to a residual alkalinity and to a pH".to_owned();
        let mend = "Keep one of the two.".to_owned();
        faults.add(
            reader.line(),
            "residual_alkalinity_meq_l",
            Problem::Contradiction { what, mend },
        );
    }
    match ph {
        Some(ph) => AcidTo::Ph(ph),
        None => AcidTo::Residual(residual.unwrap_or(crate::formulate::request::RESIDUAL_MEQ_L)),
    }
}

impl BlendWith {
    /// A water by name or in full; or `{"water": …, "share": 0.6}` with the share of the source
    /// water, or `{"water": …, "limits": {"Cl": 70, "alkalinity": 1.0}}`.
    fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        const AT: &str = "blend_with";
        let usual = || limits::for_blending().map(|(name, limit)| (name.to_owned(), limit));
        let is_plain = node.get("water").is_none();
        if is_plain {
            return Some(Self {
                water: water(node, AT, library, faults)?,
                share: None,
                limits: usual().collect(),
            });
        }
        let mut reader = Reader::open(node, AT, faults)?;
        let poured = reader.get("water");
        let poured = poured.and_then(|node| water(node, &reader.at("water"), library, faults));
        let share = reader.number("share", Limits::SHARE, faults);
        let named = reader.get("limits").map(|node| (node, reader.at("limits")));
        reader.close(faults);
        let limits = match named {
            Some((node, at)) => named_entries(node, &at, faults)
                .into_iter()
                .filter_map(|(name, node, at)| {
                    let known = limits::figure(&Water::pure(), name).is_some();
                    if !known {
                        let (kind, name) = ("figure of a water", name.to_owned());
                        let nearest = saltwright_fertilizers::fault::nearest(
                            &name,
                            Nutrient::ALL.map(Nutrient::key).into_iter().chain([
                                "alkalinity",
                                "hardness",
                                "SO4",
                            ]),
                        );
                        let problem = Problem::Unknown {
                            kind,
                            name,
                            nearest,
                        };
                        faults.add(node.line, at, problem);
                        return None;
                    }
                    let limit = document::number(node, &at, Limits::MG_PER_L, faults)?;
                    Some((name.to_owned(), limit))
                })
                .collect(),
            None => usual().collect(),
        };
        Some(Self {
            water: poured?,
            share,
            limits,
        })
    }

    /// The largest share of a source water at which the blend keeps every limit, and the limit that
    /// decides: v_s x + v_b (1 - x) <= limit for every figure.
    fn largest_share(&self, source: &Water) -> (f64, Option<String>) {
        let mut largest = (1.0, None);
        for (name, limit) in &self.limits {
            let of = |water: &Water| limits::figure(water, name).unwrap_or(0.0);
            let (own, other) = (of(source), of(&self.water));
            if own <= *limit {
                continue;
            }
            let share = ((limit - other) / (own - other)).clamp(0.0, 1.0);
            if share < largest.0 || other > *limit {
                let words = if other > *limit {
                    format!("{name} is above {} in both waters", figure(*limit))
                } else {
                    format!("{name} comes to its limit of {}", figure(*limit))
                };
                largest = (if other > *limit { 0.0 } else { share }, Some(words));
            }
        }
        largest
    }
}
