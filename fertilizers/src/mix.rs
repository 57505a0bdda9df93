//! A mix: what goes into the water, by mass or by volume.

use crate::document::{self, Limits, Node, Reader, Value};
use crate::fault::{Fault, Faults, Problem};
use crate::fertilizer::Fertilizer;
use crate::grid::Grid;
use crate::units::{GramsPerL, Litres};
use std::sync::Arc;

/// Most fertilizers in a mix or a request.
pub const MAX_LINES: usize = 200;
/// How far a mass and a volume of one line may disagree, relative.
const AGREEMENT: f64 = 1e-6;
/// Keys of a report's mix that have no say when it is read back.
pub const REPORT_KEYS: [&str; 8] = [
    "name",
    "g",
    "g_per_l_stock",
    "cost_per_m3",
    "cost_share_pct",
    "tank",
    "ml",
    "note",
];

/// One line of a mix as asked for, before its fertilizer is looked up.
#[derive(Clone, Debug, PartialEq)]
pub struct MixLine {
    /// Where it stands, for messages.
    pub at: String,
    /// Line in its file.
    pub line: Option<usize>,
    /// The fertilizer.
    pub id: String,
    /// Grams per litre of finished solution.
    pub g_per_l: Option<f64>,
    /// Millilitres per litre of finished solution.
    pub ml_per_l: Option<f64>,
}

/// A fertilizer and its mass per litre of finished solution.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// What.
    pub fertilizer: Arc<Fertilizer>,
    /// How much.
    pub amount: GramsPerL,
}

impl MixLine {
    /// Reads a mix: a list of `{"id": …, "g_per_l": …}`. Lines of a report are read as they are.
    pub fn read_list(node: &Node, path: &str, faults: &mut Faults) -> Vec<Self> {
        let Some(items) = document::list_of(node, path, ("fertilizers", MAX_LINES), faults) else {
            return Vec::new();
        };
        let mut lines: Vec<Self> = Vec::new();
        for (position, item) in items.iter().enumerate() {
            let at = format!("{path}[{position}]");
            if let Some(line) = Self::read(item, &at, faults) {
                if lines.iter().any(|seen| seen.id == line.id) {
                    faults.add(item.line, at, Problem::Twice { name: line.id });
                } else {
                    lines.push(line);
                }
            }
        }
        lines
    }

    fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, path, faults)?;
        let id = reader.id("Name the fertilizer.", faults);
        let before = faults.len();
        let g_per_l = reader.number("g_per_l", Limits::G_PER_L, faults);
        let ml_per_l = reader.number("ml_per_l", Limits::G_PER_L, faults);
        reader.accept(&REPORT_KEYS);
        reader.close(faults);
        if g_per_l.is_none() && ml_per_l.is_none() && faults.len() == before {
            let what = "the amount";
            let mend = "Give g_per_l, or ml_per_l for what is poured.";
            faults.add(node.line, path, Problem::Empty { what, mend });
            return None;
        }
        Some(Self {
            at: path.to_owned(),
            line: node.line,
            id: id?.to_owned(),
            g_per_l,
            ml_per_l,
        })
    }

    /// Reads a mix file (CSV): `id` with `g_per_l`, `ml_per_l`, or `g` for a stated volume.
    pub fn read_csv(
        file: &str,
        text: &str,
        volume: Option<Litres>,
    ) -> Result<Vec<Self>, Vec<Fault>> {
        const COLUMNS: [&str; 10] = [
            "id",
            "name",
            "g_per_l",
            "ml_per_l",
            "g",
            "g_per_l_stock",
            "cost_per_m3",
            "cost_share_pct",
            "tank",
            "note",
        ];
        let mut faults = Faults::in_file(file);
        let Some(grid) = Grid::read(text, &COLUMNS, &mut faults) else {
            return faults.finish(None);
        };
        let by_batch = !grid.has("g_per_l") && !grid.has("ml_per_l");
        let mut items = Vec::new();
        for row in grid.rows() {
            let line = Some(row.line);
            let mut entries: Vec<(String, Node)> = Vec::new();
            for (key, cell) in grid.entries(row) {
                if key != "g" || !by_batch {
                    entries.push((key.to_owned(), cell));
                    continue;
                }
                let Some(litres) = volume else {
                    let what = "the volume that these grams are for";
                    let mend = "Name the volume of the tank, or give g_per_l.";
                    faults.add(line, "g", Problem::Empty { what, mend });
                    continue;
                };
                if let Some(grams) = document::number(&cell, "g", Limits::GRAMS, &mut faults) {
                    entries.push(("g_per_l".into(), Node::number(grams / litres.0)));
                }
            }
            let value = Value::Table(entries);
            items.push(Node { line, value });
        }
        let lines = Self::read_list(&Value::List(items).into(), "mix", &mut faults);
        faults.finish(Some(lines))
    }

    /// The mass per litre, once the fertilizer and so its density is known.
    pub fn dose(&self, fertilizer: &Arc<Fertilizer>, faults: &mut Faults) -> Option<Dose> {
        let by_volume = match (self.ml_per_l, fertilizer.density_g_per_ml) {
            (Some(ml), Some(density)) => Some((ml, density)),
            (Some(_), None) => {
                let id = self.id.clone();
                faults.add(self.line, &self.at, Problem::NeedsDensity { id });
                return None;
            }
            (None, _) => None,
        };
        let grams = match (self.g_per_l, by_volume) {
            (Some(g), Some((ml, density))) if (g - ml * density).abs() > AGREEMENT * g => {
                faults.add(
                    self.line,
                    &self.at,
                    Problem::MassAndVolume {
                        g_per_l: g,
                        ml_per_l: ml,
                        density,
                    },
                );
                return None;
            }
            (Some(g), _) => g,
            (None, Some((ml, density))) => ml * density,
            (None, None) => return None,
        };
        Some(Dose {
            fertilizer: Arc::clone(fertilizer),
            amount: GramsPerL(grams),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grams_of_a_batch_need_its_volume() {
        let text = "id,g\nurea,120\n";
        let lines = MixLine::read_csv("m.csv", text, Some(Litres(60.0))).expect("sound");
        assert_eq!(lines[0].g_per_l, Some(2.0));
        let faults = MixLine::read_csv("m.csv", text, None).expect_err("no volume");
        assert!(
            faults[0].to_string().contains("the volume"),
            "{}",
            faults[0]
        );
    }

    #[test]
    fn a_mix_of_too_many_is_refused_by_number() {
        let lines = |count: usize| {
            let line = |at: usize| {
                let id = Node::text(format!("f{at}"));
                Node::table([("id", id), ("g_per_l", Node::number(1.0))])
            };
            let list = Value::List((0..count).map(line).collect()).into();
            let mut faults = Faults::default();
            let lines = MixLine::read_list(&list, "mix", &mut faults);
            (lines.len(), faults.into_list())
        };
        assert_eq!(lines(MAX_LINES), (MAX_LINES, Vec::new()));
        let (read, faults) = lines(MAX_LINES + 1);
        assert_eq!((read, faults.len()), (0, 1));
        assert!(
            faults[0].to_string().contains("201 fertilizers are more"),
            "{}",
            faults[0]
        );
    }

    #[test]
    fn mass_and_volume_must_agree() {
        let read = |json: &str| {
            let node = Node::from_json(json).expect("json");
            let mut faults = Faults::default();
            let acid = r#"{"id": "a", "formula": "HNO3", "density_g_per_ml": 1.5}"#;
            let acid = Node::from_json(acid).expect("json");
            let acid = Fertilizer::read(&acid, "", &mut faults).expect("sound");
            let acid = Arc::new(acid);
            let lines = MixLine::read_list(&node, "mix", &mut faults);
            let dose = lines.first().and_then(|line| line.dose(&acid, &mut faults));
            (dose.map(|dose| dose.amount.0), faults.into_list())
        };
        assert_eq!(read(r#"[{"id": "a", "ml_per_l": 2}]"#).0, Some(3.0));
        assert_eq!(
            read(r#"[{"id": "a", "ml_per_l": 2, "g_per_l": 3}]"#).0,
            Some(3.0)
        );
        let (dose, faults) = read(r#"[{"id": "a", "ml_per_l": 2, "g_per_l": 3.1}]"#);
        assert_eq!(dose, None);
        assert!(faults[0].to_string().contains("disagree"));
        assert!(!read(r#"[{"id": "a"}]"#).1.is_empty());
        assert!(
            !read(r#"[{"id": "a", "g_per_l": 1}, {"id": "a", "g_per_l": 1}]"#)
                .1
                .is_empty()
        );
    }
}
