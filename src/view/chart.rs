//! What meters showed over time: for the terminal a line a reading with a mark on a scale, for paper
//! and page a drawing.
//!
//! In: entries of one system and its bands.  Out: a [`Sheet`] or panels to draw. Knows no chemistry;
//! scales run from the least to the most that was read, the band included.

use super::round::{self, Measure};
use super::{Column, Kind, Part, Sheet};
use crate::store::journal::{Entry, Kind as Sort, Moment, Reading, Settings};

/// Cells of a scale in the terminal.
const CELLS: usize = 13;
/// The last of them, as a figure.
const LAST_CELL: f64 = 12.0;

/// A reading on its scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// When.
    pub at: Moment,
    /// What was read.
    pub value: f64,
    /// The same with its unit, rounded.
    pub shown: String,
}

/// One quantity over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// Its name and unit.
    pub name: &'static str,
    /// What was read, in order of time.
    pub points: Vec<Point>,
    /// Its band.
    pub band: Option<[f64; 2]>,
}

/// Something that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// When.
    pub at: Moment,
    /// Number of the entry.
    pub number: i64,
    /// What.
    pub words: String,
}

/// Everything that is drawn of a system.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// The system.
    pub system: String,
    /// EC, pH, temperature, level; none without readings.
    pub panels: Vec<Panel>,
    /// What was done between the readings.
    pub marks: Vec<Mark>,
}

/// A quantity: its name, its figure, and how it is shown.
type Quantity = (
    &'static str,
    fn(&Reading) -> Option<f64>,
    fn(f64, Measure) -> String,
);

const QUANTITIES: [Quantity; 4] = [
    ("EC, mS/cm at 25 °C", |r| r.ec_ms_cm, |ec, _| round::ec(ec)),
    ("pH", |r| r.ph, |ph, _| round::ph(ph)),
    ("temperature", |r| r.temperature_c, round::temperature),
    ("level", |r| r.litres, round::volume),
];

/// What is drawn of these entries, which belong to one system and stand in order of time.
pub fn chart(system: &str, entries: &[&Entry], told: &Settings, measure: Measure) -> Chart {
    let bands = [told.ec_ms_cm, told.ph, None, None];
    let panels = QUANTITIES
        .iter()
        .zip(bands)
        .map(|((name, figure, show), band)| {
            let points = entries.iter().filter_map(|entry| {
                let value = figure(&entry.content.reading)?;
                Some(Point {
                    at: entry.content.at,
                    value,
                    shown: show(value, measure),
                })
            });
            Panel {
                name,
                points: points.collect(),
                band,
            }
        });
    let done = entries
        .iter()
        .filter(|entry| matches!(entry.content.kind(), Sort::Correction | Sort::Batch));
    Chart {
        system: system.to_owned(),
        panels: panels.filter(|panel| !panel.points.is_empty()).collect(),
        marks: done
            .map(|entry| Mark {
                at: entry.content.at,
                number: entry.number,
                words: super::journal::said(&entry.content, measure).join("; "),
            })
            .collect(),
    }
}

impl Panel {
    /// The ends of its scale: everything that was read, and the band.
    pub fn ends(&self) -> [f64; 2] {
        let read = self.points.iter().map(|point| point.value);
        let all = read.chain(self.band.into_iter().flatten());
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        // Where all is the same it stands in the middle.
        if high > low {
            [low, high]
        } else {
            [low - 1.0, high + 1.0]
        }
    }

    /// Where a value stands on the scale, 0 to 1.
    pub fn share(&self, value: f64) -> f64 {
        let [low, high] = self.ends();
        (value - low) / (high - low)
    }

    /// A scale with the band's ends and a mark.
    fn scale(&self, value: f64) -> String {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 to CELLS - 1
        let cell = |value: f64| (self.share(value) * LAST_CELL).round() as usize;
        let mut cells = vec![' '; CELLS];
        if let Some([low, high]) = self.band {
            let (low, high) = (cell(low), cell(high));
            cells[low..=high].fill('-');
            cells[low] = '|';
            cells[high] = '|';
        }
        cells[cell(value)] = '#';
        cells.into_iter().collect()
    }
}

/// The terminal's chart: EC and pH on their scales, a line a reading.
pub fn sheet(chart: &Chart) -> Sheet {
    let is_scaled = |panel: &Panel| panel.name == "pH" || panel.name.starts_with("EC");
    let on_scale: Vec<&Panel> = chart.panels.iter().filter(|p| is_scaled(p)).collect();
    let mut moments: Vec<Moment> = chart
        .panels
        .iter()
        .flat_map(|panel| panel.points.iter().map(|point| point.at))
        .collect();
    moments.sort_unstable();
    moments.dedup();
    let mut columns = vec![Column::new("when", Kind::Drawing)];
    for panel in &chart.panels {
        let head = match panel.name.split(',').next() {
            Some("temperature") => "temp.",
            head => head.unwrap_or_default(),
        };
        columns.push(Column::new(head, Kind::Figures));
        if on_scale.contains(&panel) {
            columns.push(Column::new(span(panel), Kind::Drawing));
        }
    }
    columns.push(Column::new("done", Kind::Drawing));
    let mut before = None;
    let rows = moments.iter().map(|at| {
        let mut cells = vec![at.minute()];
        for panel in &chart.panels {
            let point = panel.points.iter().find(|point| point.at == *at);
            cells.push(point.map_or_else(String::new, |point| point.shown.clone()));
            if on_scale.contains(&panel) {
                cells.push(point.map_or_else(String::new, |point| panel.scale(point.value)));
            }
        }
        let since = chart
            .marks
            .iter()
            .filter(|mark| mark.at <= *at && before.is_none_or(|b| mark.at > b));
        cells.push(if since.count() > 0 { "*" } else { "" }.to_owned());
        before = Some(*at);
        cells
    });
    let rows = rows.collect();
    let mut parts = Vec::new();
    if moments.is_empty() {
        parts.push(Part::Note("Nothing was read yet.".into()));
    } else {
        parts.push(Part::Table { columns, rows });
        parts.push(Part::Note(
            "# is the reading, | - | the band; * something was done before it, see journal list."
                .into(),
        ));
    }
    Sheet {
        title: format!("{} over time", chart.system),
        parts,
        ..Sheet::default()
    }
}

/// The ends of a scale as a head.
fn span(panel: &Panel) -> String {
    let [low, high] = panel.ends().map(|end| {
        let two = if panel.name == "pH" {
            round::ph
        } else {
            round::ec
        };
        two(end)
    });
    let blanks = CELLS.saturating_sub(low.len() + high.len());
    format!("{low}{}{high}", " ".repeat(blanks))
}
