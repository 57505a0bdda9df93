//! Source water: what comes out of the tap, well or rain tank.

use crate::unit::ListUnit;
use saltwright_fertilizers::document::{Limits, Node, Reader};
use saltwright_fertilizers::{Aimed, Composition, Faults, Nutrient, Problem, refuse_plain_n};

/// mg/L of CaCO3 that make 1 meq/L of alkalinity: half a mole of 100.086 g (exact factor from
/// CIAAW 2021 weights).
pub const MG_CACO3_PER_MEQ: f64 = 50.043;
/// mg/L of HCO3- that make 1 meq/L (CIAAW 2021 weights).
pub const MG_HCO3_PER_MEQ: f64 = 61.016;

/// Charge error of an analysis from which it is doubted, percent. Common practice, no source.
const DOUBTED_PCT: f64 = 5.0;
/// Charge error from which it says too little to reckon the water's own EC and pH, percent. Common
/// practice, no source.
const BROKEN_PCT: f64 = 10.0;
/// Charge that the last digits of an analysis may leave open, meq/L. Common practice, no source.
const ROUNDED_MEQ_L: f64 = 0.05;

/// How well the charges of an analysis close.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Balance {
    /// Within 5 % of all charges, or within what rounding leaves.
    Closes,
    /// Beyond: something is missing or misprinted.
    Doubtful,
    /// Beyond 10 %.
    Broken,
}

/// A water and its analysis.
#[derive(Clone, Debug, PartialEq)]
pub struct Water {
    /// Short unique name; empty for one that came inside a request.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// mg/L of each nutrient.
    pub holds: Composition,
    /// Acid needed to bring it to the carbonic end point, meq/L.
    pub alkalinity_meq_l: f64,
    /// False where the analysis names no alkalinity.
    pub alkalinity_known: bool,
    /// pH as it comes.
    pub ph: Option<f64>,
    /// Temperature as it comes.
    pub temperature_c: Option<f64>,
    /// Where the analysis comes from.
    pub source: String,
    /// Anything else worth knowing.
    pub note: String,
    /// The waters of a blend with their shares of the volume, which add up to one; empty for a
    /// water of one kind. Each keeps its own pH, and so its own carbon.
    pub parts: Vec<(Self, f64)>,
}

impl Water {
    /// Pure water: nothing in it.
    pub fn pure() -> Self {
        Self {
            id: "pure-water".into(),
            name: "pure water".into(),
            holds: Composition::ZERO,
            alkalinity_meq_l: 0.0,
            alkalinity_known: true,
            ph: None,
            temperature_c: None,
            source: String::new(),
            note: String::new(),
            parts: Vec::new(),
        }
    }

    /// True where nothing is dissolved in it as far as the analysis says.
    pub fn is_pure(&self) -> bool {
        self.alkalinity_meq_l == 0.0 && self.holds.iter().all(|(_, mg_l)| mg_l == 0.0)
    }

    /// Reads an analysis from a request or a TOML file.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let before = faults.len();
        let mut reader = Reader::open(node, path, faults)?;
        let unit = ListUnit::read(&mut reader, faults);
        let mut water = Self {
            id: String::new(),
            name: String::new(),
            alkalinity_known: false,
            ..Self::pure()
        };
        water.id = reader.name("id", faults).unwrap_or_default().to_owned();
        water.name = reader.kept("name", faults);
        water.source = reader.kept("source", faults);
        water.note = reader.kept("note", faults);
        water.ph = reader.number("ph", Limits::PH, faults);
        water.temperature_c = reader.number("temperature_c", Limits::CELSIUS, faults);
        water.read_alkalinity(&mut reader, faults);
        let holds = reader.get("holds");
        let holds_at = reader.at("holds");
        reader.close(faults);
        if let Some(node) = holds
            && let Some(mut reader) = Reader::open(node, &holds_at, faults)
        {
            for nutrient in Nutrient::ALL {
                if let Some(node) = reader.get(nutrient.key()) {
                    let at = reader.at(nutrient.key());
                    let amount = unit.mg_per_l(node, &at, Aimed::Form(nutrient), faults);
                    water.holds[nutrient] = amount.unwrap_or(0.0);
                }
            }
            refuse_plain_n(&mut reader, "in which form the nitrogen is", faults);
            reader.close(faults);
        }
        (faults.len() == before).then_some(water)
    }

    fn read_alkalinity(&mut self, reader: &mut Reader<'_>, faults: &mut Faults) {
        const SPELLINGS: [(&str, f64); 3] = [
            ("alkalinity_meq_l", 1.0),
            ("alkalinity_mg_l_caco3", MG_CACO3_PER_MEQ),
            ("hco3_mg_l", MG_HCO3_PER_MEQ),
        ];
        for (key, per_meq) in SPELLINGS {
            let limits = Limits {
                high: Limits::ALKALINITY.high * per_meq,
                unit: if key == "alkalinity_meq_l" {
                    " meq/L"
                } else {
                    " mg/L"
                },
                ..Limits::ALKALINITY
            };
            let Some(value) = reader.number(key, limits, faults) else {
                continue;
            };
            if self.alkalinity_known {
                let what = "the alkalinity stands here in two units".to_owned();
                let mend = "Keep one of them.".to_owned();
                faults.add(
                    reader.line(),
                    reader.at(key),
                    Problem::Contradiction { what, mend },
                );
            }
            self.alkalinity_known = true;
            self.alkalinity_meq_l = value / per_meq;
        }
    }

    /// Waters poured together, each with its share of the volume.
    pub fn blend(parts: &[(Self, f64)]) -> Self {
        let total: f64 = parts.iter().map(|(_, share)| share).sum();
        let mut blend = Self::pure();
        blend.id = String::new();
        let named = |(water, share): &(Self, f64)| {
            let name = if water.name.is_empty() {
                &water.id
            } else {
                &water.name
            };
            format!("{:.0} % {name}", 100.0 * share / total)
        };
        blend.name = parts.iter().map(named).collect::<Vec<_>>().join(", ");
        blend.alkalinity_known = parts.iter().all(|(water, _)| water.alkalinity_known);
        for (water, share) in parts {
            blend.holds += water.holds * (share / total);
            blend.alkalinity_meq_l += water.alkalinity_meq_l * share / total;
            blend.parts.push((water.clone(), share / total));
        }
        blend
    }

    /// Cation and anion charges of the analysis, alkalinity included, meq/L, both positive.
    pub fn charges_meq_l(&self) -> (f64, f64) {
        let mut sums = (0.0, self.alkalinity_meq_l);
        for (nutrient, mg_per_l) in self.holds.iter() {
            let charge = f64::from(nutrient.charge()) * mg_per_l / nutrient.atomic_weight();
            if charge > 0.0 {
                sums.0 += charge;
            } else {
                sums.1 -= charge;
            }
        }
        sums
    }

    /// How far the charges of the analysis miss each other: 100 (cations - anions)/(cations +
    /// anions), percent; `None` where there are none.
    pub fn charge_error_pct(&self) -> Option<f64> {
        let (cations, anions) = self.charges_meq_l();
        let both = cations + anions;
        (both > 0.0).then(|| 100.0 * (cations - anions) / both)
    }

    /// How well the charges close.
    pub fn balance(&self) -> Balance {
        let (cations, anions) = self.charges_meq_l();
        let open = (cations - anions).abs();
        let of_both = |percent: f64| percent / 100.0 * (cations + anions);
        if open <= ROUNDED_MEQ_L || open <= of_both(DOUBTED_PCT) {
            Balance::Closes
        } else if open <= of_both(BROKEN_PCT) {
            Balance::Doubtful
        } else {
            Balance::Broken
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Result<Water, Vec<saltwright_fertilizers::Fault>> {
        let node = Node::from_json(json).expect("json");
        let mut faults = Faults::default();
        let water = Water::read(&node, "water", &mut faults);
        faults.finish(water)
    }

    /// Source: ARSIA Quaderno 5/2004, table 7a: 150 mg/L HCO3 is 2.459 meq/L.
    #[test]
    fn alkalinity_in_the_units_of_laboratories() {
        let hco3 = read(r#"{"hco3_mg_l": 150}"#).expect("sound");
        assert!((hco3.alkalinity_meq_l - 2.459).abs() < 0.001);
        let caco3 = read(r#"{"alkalinity_mg_l_caco3": 100.086}"#).expect("sound");
        assert!((caco3.alkalinity_meq_l - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_blend_lies_between_its_waters() {
        let rain = Water::pure();
        let well = read(r#"{"holds": {"Ca": 96}, "alkalinity_meq_l": 4.8}"#).expect("sound");
        let blend = Water::blend(&[(rain, 0.6), (well, 0.4)]);
        assert!((blend.holds[Nutrient::Ca] - 38.4).abs() < 1e-9);
        assert!((blend.alkalinity_meq_l - 1.92).abs() < 1e-9);
    }

    #[test]
    fn refusals_name_the_field() {
        for (json, field) in [
            (r#"{"alkalinity_meq_l": -1}"#, "water.alkalinity_meq_l"),
            (r#"{"ph": 15}"#, "water.ph"),
            (r#"{"temperature_c": 61}"#, "water.temperature_c"),
            (r#"{"holds": {"N": 3}}"#, "water.holds.N"),
            (r#"{"holds": {"Ca": 2e5}}"#, "water.holds.Ca"),
            (
                r#"{"hco3_mg_l": 1, "alkalinity_meq_l": 1}"#,
                "water.hco3_mg_l",
            ),
            (r#"{"hold": {}}"#, "water.hold"),
        ] {
            assert_eq!(read(json).expect_err(json)[0].field, field, "{json}");
        }
    }
}
