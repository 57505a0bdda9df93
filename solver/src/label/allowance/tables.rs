//! The published tables, as shipped in `data/`, looked up in their own units.

use saltwright_fertilizers::guarantee::{Printed, Stated};
use std::sync::LazyLock;

/// A limit to both sides in the unit of the label, percentage points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// How far below.
    pub below: f64,
    /// How far above; none where there is no limit.
    pub above: Option<f64>,
    /// Id of the source.
    pub(super) source: &'static str,
}

/// A row of `points.csv`.
struct Point {
    table: &'static str,
    key: &'static str,
    guarantee: f64,
    below: f64,
    above: Option<f64>,
    source: &'static str,
}

/// A row of `formulas.csv`: base + share of the figure, up to a cap.
struct Formula {
    table: &'static str,
    keys: Vec<&'static str>,
    over: f64,
    upto: f64,
    below: Option<Line>,
    above: Option<Line>,
    /// Cap below where the label prints the element.
    element_cap: Option<f64>,
    source: &'static str,
}

#[derive(Clone, Copy)]
struct Line {
    base: f64,
    share_pct: f64,
    cap: Option<f64>,
}

impl Line {
    fn at(self, pct: f64) -> f64 {
        let points = self.base + self.share_pct / 100.0 * pct;
        self.cap.map_or(points, |cap| points.min(cap))
    }
}

/// The cells of a shipped table below its head.
pub(super) fn cells(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines()
        .skip(1)
        .map(|line| line.split(',').map(str::trim).collect())
}

pub(super) fn number(cell: Option<&&str>) -> Option<f64> {
    cell?.parse().ok()
}

static POINTS: LazyLock<Vec<Point>> = LazyLock::new(|| {
    cells(include_str!("../data/points.csv"))
        .filter_map(|row| {
            Some(Point {
                table: row.first()?,
                key: row.get(1)?,
                guarantee: number(row.get(2))?,
                below: number(row.get(3))?,
                above: number(row.get(4)),
                source: row.get(5)?,
            })
        })
        .collect()
});

static FORMULAS: LazyLock<Vec<Formula>> = LazyLock::new(|| {
    let line = |row: &[&'static str], at: usize| {
        Some(Line {
            base: number(row.get(at))?,
            share_pct: number(row.get(at + 1))?,
            cap: number(row.get(at + 2)),
        })
    };
    cells(include_str!("../data/formulas.csv"))
        .filter_map(|row| {
            Some(Formula {
                table: row.first()?,
                keys: row.get(1)?.split(' ').collect(),
                over: number(row.get(2))?,
                upto: number(row.get(3))?,
                below: line(&row, 4),
                above: line(&row, 7),
                element_cap: number(row.get(10)),
                source: row.get(11)?,
            })
        })
        .collect()
});

/// The citation of a source of the tables.
pub(super) fn citation(id: &str) -> Option<&'static str> {
    include_str!("../data/sources.tsv")
        .lines()
        .filter_map(|line| line.split_once('\t'))
        .find(|(known, _)| *known == id)
        .map(|(_, citation)| citation)
}

/// Looks a figure up in a table, in the table's unit, and turns the answer into the label's.
pub(super) fn lookup(table: &str, stated: &Stated) -> Option<Allowed> {
    Printed::all()
        .filter(|key| key.counted == stated.printed.counted)
        .find_map(|key| {
            let pct = stated.element_pct() / key.factor;
            let found = points(table, key.key, pct).or_else(|| formula(table, key.key, pct))?;
            let back = key.factor / stated.printed.factor;
            let mut allowed = Allowed {
                below: found.below * back,
                above: found.above.map(|points| points * back),
                ..found
            };
            if key.is_oxide() && !stated.printed.is_oxide() {
                let cap = element_cap(table, key.key);
                allowed.below = cap.map_or(allowed.below, |cap| (0.25 * stated.pct).min(cap));
            }
            Some(allowed)
        })
}

/// A table of points, straight between them, its ends held.
fn points(table: &str, key: &str, pct: f64) -> Option<Allowed> {
    let rows: Vec<&Point> = POINTS
        .iter()
        .filter(|row| row.table == table && row.key == key)
        .collect();
    let after = rows.partition_point(|row| row.guarantee < pct);
    let (low, high) = match (
        after.checked_sub(1).and_then(|at| rows.get(at)),
        rows.get(after),
    ) {
        (Some(low), Some(high)) => (low, high),
        (None, Some(only)) | (Some(only), None) => (only, only),
        (None, None) => return None,
    };
    let width = high.guarantee - low.guarantee;
    let share = if width > 0.0 {
        (pct - low.guarantee) / width
    } else {
        0.0
    };
    let between = |a: f64, b: f64| a + share * (b - a);
    Some(Allowed {
        below: between(low.below, high.below),
        above: low.above.zip(high.above).map(|(a, b)| between(a, b)),
        source: low.source,
    })
}

fn formula(table: &str, key: &str, pct: f64) -> Option<Allowed> {
    let row = FORMULAS.iter().find(|row| {
        row.table == table && row.keys.contains(&key) && pct > row.over && pct <= row.upto
    })?;
    Some(Allowed {
        below: row.below?.at(pct),
        above: row.above.map(|line| line.at(pct)),
        source: row.source,
    })
}

fn element_cap(table: &str, key: &str) -> Option<f64> {
    let row = FORMULAS
        .iter()
        .find(|row| row.table == table && row.keys.contains(&key))?;
    row.element_cap
}
