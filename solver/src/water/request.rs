//! What `water` is asked, resolved.

use super::limits;
use crate::request::{ENVELOPE, Shelf, named_entries, water};
use crate::words::{figure, listing};
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
    /// True where the request names no aim and the usual buffer is left.
    pub is_usual: bool,
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
            None => {
                let is_poured = |row: &&Arc<Fertilizer>| is_acid_or_base(row);
                // A given list takes the place of the shipped table.
                if reader.get("fertilizers").is_some() {
                    shelf.listed.iter().filter(is_poured).cloned().collect()
                } else {
                    shelf.everything().filter(is_poured).cloned().collect()
                }
            }
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
        let (to, is_usual) = read_aim(&mut reader, faults);
        if is_usual && named.is_none() {
            // The usual buffer is what acid leaves; nobody asked to add it to a soft water.
            acids.retain(|acid| !acid.is_charted() || acid.is_acid());
        }
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
            is_usual,
            blend_with,
        })
    }

    /// The blend that is asked for.
    pub(super) fn blended(&self) -> Option<Blended> {
        let with = self.blend_with.as_ref()?;
        let (share, because) = match with.share {
            Some(share) => (share, with.crossed_at(&self.water, share)),
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

/// True for what is kept in a vessel of its own for its acid or base.
fn is_acid_or_base(row: &Fertilizer) -> bool {
    matches!(row.tank, Some(Tank::Acid | Tank::Base)) || row.tank.is_none() && row.is_acid()
}

/// What the acid is to reach, and whether that is only the usual buffer.
fn read_aim(reader: &mut Reader<'_>, faults: &mut Faults) -> (AcidTo, bool) {
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
    let to = match (ph, residual) {
        (Some(ph), _) => AcidTo::Ph(ph),
        (None, Some(residual)) => AcidTo::Residual(residual),
        (None, None) => AcidTo::Residual(crate::formulate::request::RESIDUAL_MEQ_L),
    };
    (to, ph.is_none() && residual.is_none())
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
        let poured = match reader.get("water") {
            Some(node) => water(node, &reader.at("water"), library, faults),
            None => {
                let (what, mend) = ("the water to blend with", "Name a water.");
                faults.add(node.line, reader.at("water"), Problem::Empty { what, mend });
                None
            }
        };
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
            // A share that is given is taken as it is; only limits beside it are looked at.
            None if share.is_some() => Vec::new(),
            None => usual().collect(),
        };
        Some(Self {
            water: poured?,
            share,
            limits,
        })
    }

    /// The largest share of a source water at which the blend keeps every limit, and what decides
    /// it: v_s x + v_b (1 - x) <= limit for every figure. A limit that the water poured in breaks
    /// by itself asks for a least share instead; where both cannot be had, that is said.
    fn largest_share(&self, source: &Water) -> (f64, Option<String>) {
        let mut largest: (f64, Option<&str>) = (1.0, None);
        for (name, limit) in &self.limits {
            let (own, other) = self.both(source, name);
            if own <= *limit {
                continue;
            }
            let share = ((limit - other) / (own - other)).clamp(0.0, 1.0);
            if other > *limit {
                let limit = limits::told(name, *limit);
                let words = format!("{} is above {limit} in both waters", limits::word(name));
                return (0.0, Some(words));
            }
            if share < largest.0 {
                largest = (share, Some(name));
            }
        }
        let (share, decides) = largest;
        let crossed = self.crossed_at(source, share);
        let because = decides.map(|name| {
            let limit = self.limits.iter().find(|(other, _)| other == name);
            let limit = limits::told(name, limit.map_or(0.0, |(_, limit)| *limit));
            let word = limits::word(name);
            match &crossed {
                Some(crossed) => format!("{word} comes to its limit of {limit}, but {crossed}"),
                None => format!("{word} comes to its limit of {limit}"),
            }
        });
        (share, because.or(crossed))
    }

    /// The limits that the blend at a share crosses, in words; none where all are kept.
    fn crossed_at(&self, source: &Water, share: f64) -> Option<String> {
        let crossed: Vec<String> = self
            .limits
            .iter()
            .filter_map(|(name, limit)| {
                let (own, other) = self.both(source, name);
                let comes_to = own * share + other * (1.0 - share);
                (comes_to > limit * (1.0 + 1e-9)).then(|| {
                    format!(
                        "{} comes to {}, above {}",
                        limits::word(name),
                        figure(comes_to),
                        limits::told(name, *limit)
                    )
                })
            })
            .collect();
        (!crossed.is_empty()).then(|| listing(&crossed))
    }

    /// A figure of both waters.
    fn both(&self, source: &Water, name: &str) -> (f64, f64) {
        let of = |water: &Water| limits::figure(water, name).unwrap_or(0.0);
        (of(source), of(&self.water))
    }
}
