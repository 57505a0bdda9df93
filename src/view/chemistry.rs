//! What the chemistry found in full: ions with their share of the EC, solids with their index.

use super::{Column, Kind, Part, round};
use saltwright_solver::ions::{Detail, Phosphate};
use saltwright_solver::solids::SolidRow;

/// Ions below this share of the EC and below this amount, mmol/L, are left to the JSON report.
const SHOWN: (f64, f64) = (0.05, 0.01);

/// Everything behind EC, pH and solids.
pub fn detail(detail: Option<&Detail>, solids: &[SolidRow], ionic_strength: f64) -> Vec<Part> {
    let mut parts = Vec::new();
    if let Some(detail) = detail {
        parts.push(ions(detail));
        parts.extend(detail.phosphate.as_ref().map(phosphate));
        parts.extend(detail.buffer_mmol_l.map(|buffer| {
            let buffer = round::concentration(buffer);
            let strength = round::concentration(ionic_strength);
            let words = format!(
                "{buffer} mmol/L of strong acid or base move the pH by one; ionic strength \
                 {strength} mol/L."
            );
            Part::fact("buffer", words)
        }));
    }
    if !solids.is_empty() {
        parts.push(self::solids(solids));
    }
    parts
}

fn ions(detail: &Detail) -> Part {
    let (share, amount) = SHOWN;
    let columns = vec![
        Column::new("ion or pair", Kind::Name),
        Column::new("mmol/L", Kind::Figures),
        Column::new("% of EC", Kind::Figures),
    ];
    let rows = detail
        .ions
        .iter()
        .filter(|row| row.ec_share_pct >= share || row.mmol_l >= amount)
        .map(|row| {
            vec![
                row.ion.to_owned(),
                round::concentration(row.mmol_l),
                format!("{:.2}", row.ec_share_pct),
            ]
        });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

fn phosphate(forms: &Phosphate) -> Part {
    let words = format!(
        "{:.0} % as H2PO4-, {:.0} % as HPO4 2-, pairs with calcium and magnesium counted in.",
        forms.h2po4_pct, forms.hpo4_pct
    );
    Part::fact("P", words)
}

fn solids(rows: &[SolidRow]) -> Part {
    let columns = vec![
        Column::new("solid", Kind::Name),
        Column::new("index", Kind::Figures),
        Column::new("in air", Kind::Figures),
        Column::new("±", Kind::Figures),
        Column::new("", Kind::Words),
    ];
    let index = |value: f64| round::signed_index(value, 2);
    let rows = rows.iter().map(|row| {
        vec![
            row.solid.to_owned(),
            index(row.index_closed),
            index(row.index_open),
            format!("{:.2}", row.index_uncertainty),
            row.words.clone(),
        ]
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}
