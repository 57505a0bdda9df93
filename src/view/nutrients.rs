//! The table of nutrients in the unit a grower asks for.

use super::bar::{self, Reading};
use super::round;
use super::{Column, Kind, Part, spread};
use saltwright_fertilizers::units::MgPerL;
use saltwright_fertilizers::{Aimed, Nutrient};
use saltwright_solver::formulate::report::{FormulateReport, NutrientRow, Outcome};
use saltwright_solver::predict::PredictNutrient;
use saltwright_solver::spread::Range;

/// Part of a bound by which a figure may miss it through computing alone.
const SLACK: f64 = 1e-9;

/// The unit of a nutrient table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Unit {
    /// Milligrams of the element per litre.
    #[default]
    Mg,
    /// Millimoles per litre; micronutrients in thousandths of it.
    Mmol,
    /// Milliequivalents per litre; micronutrients in thousandths of it. What carries no charge
    /// stays in mg/L.
    Meq,
}

impl Unit {
    /// The name on the sheet.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mg => "mg/L",
            Self::Mmol => "mmol/L",
            Self::Meq => "meq/L",
        }
    }

    /// The nutrient's name, with its unit where it is not that of the table.
    pub fn label(self, aimed: Aimed) -> String {
        let micro = matches!(aimed, Aimed::Form(nutrient) if nutrient.is_micro());
        match self {
            Self::Meq if aimed.charges() == 0 => format!("{aimed} mg/L"),
            Self::Meq if micro => format!("{aimed} µeq/L"),
            Self::Mmol if micro => format!("{aimed} µmol/L"),
            _ => aimed.key().to_owned(),
        }
    }

    /// A figure in the unit of [`Unit::label`], rounded.
    pub fn show(self, aimed: Aimed, mg_per_l: f64) -> String {
        round::concentration(self.figure(aimed, mg_per_l))
    }

    /// A figure with half of its range, where that shows beside it.
    pub fn beside(self, aimed: Aimed, mg_per_l: f64, half: Option<f64>) -> String {
        let half = half.map(|half| self.figure(aimed, half));
        round::ranged(self.figure(aimed, mg_per_l), half, round::concentration)
    }

    fn figure(self, aimed: Aimed, mg_per_l: f64) -> f64 {
        // Total nitrogen counts one charge a mole, as printed lists do.
        let nutrient = match aimed {
            Aimed::Form(nutrient) => nutrient,
            Aimed::TotalN => Nutrient::NitrateN,
        };
        let thousandths = if nutrient.is_micro() { 1000.0 } else { 1.0 };
        let amount = MgPerL(mg_per_l);
        match self {
            Self::Mg => mg_per_l,
            Self::Mmol => thousandths * nutrient.to_mmol(amount).0,
            Self::Meq => nutrient
                .to_meq(amount)
                .map_or(mg_per_l, |meq| thousandths * meq.0),
        }
    }
}

/// The table of a formulation: aim, band, water, delivered and a bar.
pub fn formulated(report: &FormulateReport, unit: Unit) -> Part {
    let mut columns = vec![Column::new(unit.name(), Kind::Name)];
    let figures = ["aim", "min", "max", "water", "delivered"];
    columns.extend(figures.map(|head| Column::new(head, Kind::Figures)));
    columns.push(Column::new(bar::HEAD, Kind::Drawing));
    let rows = report
        .nutrients
        .iter()
        .filter(|row| is_worth_showing(row, unit))
        .map(|row| {
            let shown = |value: f64| unit.show(row.nutrient, value);
            let optional = |value: Option<f64>| value.map_or_else(String::new, shown);
            let mut bar = bar::draw(Reading {
                aim: row.aim,
                min: row.min,
                max: row.max,
                delivered: row.delivered,
            });
            if miss(report, row).is_some() {
                bar = format!("{bar:<width$}<", width = bar::WIDTH);
            }
            vec![
                unit.label(row.nutrient),
                optional(row.aim),
                optional(row.min),
                optional(row.max),
                shown(row.water),
                with_range(row.nutrient, row.delivered, row.range, unit),
                bar,
            ]
        })
        .collect();
    Part::Table { columns, rows }
}

/// A figure, with how far it may be off to either side where that was asked: `150.2 ± 4.3`.
fn with_range(aimed: Aimed, mg_l: f64, range: Option<Range>, unit: Unit) -> String {
    let half = range.map(|range| spread::half_width(&range, mg_l));
    unit.beside(aimed, mg_l, half)
}

/// What nobody named and nothing brings is left out.
fn is_worth_showing(row: &NutrientRow, unit: Unit) -> bool {
    let named = (row.min.is_some() || row.max.is_some()) && !row.default_max;
    row.aim.is_some() || named || unit.show(row.nutrient, row.delivered) != "0"
}

/// The end of its band that a figure misses, and by how much, mg/L.
pub struct Miss {
    /// `minimum` or `maximum`.
    pub side: &'static str,
    /// `below` or `above`.
    pub beyond: &'static str,
    /// The bound.
    pub bound: f64,
    /// What it comes to: by the stated assays, or at its worst where every bag must do.
    pub comes_to: f64,
    /// How far beyond it.
    pub by: f64,
}

/// How a nutrient misses its band, where it does.
pub fn miss(report: &FormulateReport, row: &NutrientRow) -> Option<Miss> {
    if report.outcome == Outcome::WithinBands {
        return None;
    }
    let at_worst = report
        .sure
        .as_ref()
        .is_some_and(|sure| sure.probability.is_none());
    let (least, most) = match row.range.filter(|_| at_worst) {
        Some(range) => (range.worst_low, range.worst_high),
        None => (row.delivered, row.delivered),
    };
    let short = row.min.map(|bound| (bound, least, bound - least));
    let over = row.max.map(|bound| (bound, most, most - bound));
    let ends = [("minimum", "below", short), ("maximum", "above", over)];
    ends.into_iter().find_map(|(side, beyond, end)| {
        let (bound, comes_to, by) = end?;
        (by > SLACK * bound.abs()).then_some(Miss {
            side,
            beyond,
            bound,
            comes_to,
            by,
        })
    })
}

/// The table of a prediction.
pub fn predicted(rows: &[PredictNutrient], unit: Unit) -> Part {
    let mut columns = vec![Column::new(unit.name(), Kind::Name)];
    columns.extend(["water", "delivered"].map(|head| Column::new(head, Kind::Figures)));
    let rows = rows
        .iter()
        .map(|row| {
            let shown = |value| unit.show(row.nutrient, value);
            vec![
                unit.label(row.nutrient),
                shown(row.water),
                with_range(row.nutrient, row.delivered, row.range, unit),
            ]
        })
        .filter(|cells| cells[1..].iter().any(|cell| cell != "0"))
        .collect();
    Part::Table { columns, rows }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: by definition, one millimole of calcium (40.078 mg) is two milliequivalents; one
    /// micromole of boron weighs 10.81 µg and carries no charge.
    #[test]
    fn units_as_the_labels_say() {
        let (ca, b) = (Aimed::Form(Nutrient::Ca), Aimed::Form(Nutrient::B));
        assert_eq!(Unit::Mmol.show(ca, 40.078), "1.00");
        assert_eq!(Unit::Meq.show(ca, 40.078), "2.00");
        assert_eq!(Unit::Mg.show(ca, 40.078), "40.1");
        assert_eq!(
            (Unit::Mmol.label(b).as_str(), Unit::Mmol.show(b, 0.010_81)),
            ("B µmol/L", "1.00".into())
        );
        assert_eq!(
            (Unit::Meq.label(b).as_str(), Unit::Meq.show(b, 0.5)),
            ("B mg/L", "0.500".into())
        );
        let fe = Aimed::Form(Nutrient::Fe);
        assert_eq!(
            (Unit::Meq.label(fe).as_str(), Unit::Meq.show(fe, 0.055_845)),
            ("Fe µeq/L", "2.00".into())
        );
        assert_eq!(Unit::Meq.show(Aimed::TotalN, 140.07), "10.0");
        assert_eq!(Unit::Meq.label(Aimed::Form(Nutrient::UreaN)), "urea-N mg/L");
    }
}
