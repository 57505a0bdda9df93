//! Columns of text: figures on their decimal point, words from the left, nothing wider than the
//! page.
//!
//! Where a table is too wide, columns of words are broken into lines first, then names, then the
//! blanks between columns become fewer. Nothing is ever left out.

use super::text::{WIDTH, wrap};
use super::{Column, Kind};

/// Blanks between columns, and where the page is narrow.
const GAPS: [usize; 2] = [2, 1];
/// A column of words or names is not made narrower than this.
const NARROWEST: usize = 18;
/// Indent of the lines that a broken cell goes on with.
const HANG: &str = "  ";

/// A figure taken apart: what stands before its point, and the rest with its unit.
pub(super) fn apart(cell: &str) -> (&str, &str) {
    let number = cell.find(' ').unwrap_or(cell.len());
    let point = cell.find('.').unwrap_or(number).min(number);
    cell.split_at(point)
}

fn chars(text: &str) -> usize {
    text.chars().count()
}

/// How the cells of one column are laid out.
struct Layout {
    kind: Kind,
    width: usize,
    /// Widths of the two parts of a figure.
    figure: [usize; 2],
}

impl Layout {
    fn of(column: &Column, cells: &[&str]) -> Self {
        let widest = |part: fn(&str) -> usize| cells.iter().map(|c| part(c)).max().unwrap_or(0);
        let figure = [
            widest(|cell| chars(apart(cell).0)),
            widest(|cell| chars(apart(cell).1)),
        ];
        let content = match column.kind {
            Kind::Figures => figure.iter().sum(),
            _ => widest(chars),
        };
        Self {
            kind: column.kind,
            width: content.max(chars(&column.head)),
            figure,
        }
    }

    /// The head, set like its cells.
    fn head(&self, text: &str) -> String {
        let width = self.width;
        if self.kind == Kind::Figures {
            format!("{text:>width$}")
        } else {
            format!("{text:<width$}")
        }
    }

    /// A cell as one line or more, each as wide as the column.
    fn cell(&self, text: &str) -> Vec<String> {
        let width = self.width;
        if self.kind != Kind::Figures {
            let lines = broken(text, width).into_iter();
            return lines.map(|line| format!("{line:<width$}")).collect();
        }
        let [before, after] = self.figure;
        let (whole, rest) = apart(text);
        let set = format!("{whole:>before$}{rest:<after$}");
        vec![format!("{set:>width$}")]
    }
}

/// Breaks a cell after blanks and hyphens; lines after the first hang.
fn broken(text: &str, width: usize) -> Vec<String> {
    if chars(text) <= width {
        return vec![text.to_owned()];
    }
    let mut lines = vec![String::new()];
    for piece in text.split_inclusive([' ', '-']) {
        let line = lines.last().map_or(0, |line| chars(line));
        if line + chars(piece.trim_end()) > width && line > HANG.len() {
            lines.push(HANG.to_owned());
        }
        if let Some(line) = lines.last_mut() {
            line.push_str(piece);
        }
    }
    // A piece without blank or hyphen may still be too long: it is cut.
    let cut = lines.iter().map(|line| line.trim_end());
    cut.flat_map(|line| {
        if chars(line) <= width {
            vec![line.to_owned()]
        } else {
            wrap(line, width)
        }
    })
    .collect()
}

/// Writes a table.
pub fn table(out: &mut String, columns: &[Column], rows: &[Vec<String>]) {
    let mut layouts: Vec<Layout> = columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let cells: Vec<&str> = rows
                .iter()
                .filter_map(|row| Some(row.get(at)?.as_str()))
                .collect();
            Layout::of(column, &cells)
        })
        .collect();
    let gap = " ".repeat(fit(&mut layouts));
    let mut push = |cells: Vec<String>| {
        out.push_str(cells.join(&gap).trim_end());
        out.push('\n');
    };
    if columns.iter().any(|column| !column.head.is_empty()) {
        let heads = columns.iter().zip(&layouts);
        push(
            heads
                .map(|(column, layout)| layout.head(&column.head))
                .collect(),
        );
    }
    for row in rows {
        let cells: Vec<Vec<String>> = layouts
            .iter()
            .zip(row)
            .map(|(layout, text)| layout.cell(text))
            .collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            let line = cells.iter().zip(&layouts).map(|(lines, layout)| {
                lines
                    .get(at)
                    .cloned()
                    .unwrap_or_else(|| " ".repeat(layout.width))
            });
            push(line.collect());
        }
    }
}

/// Makes the columns fit the page; the blanks between them come back.
fn fit(layouts: &mut [Layout]) -> usize {
    let [wide, narrow] = GAPS;
    for (gap, kind) in [
        (wide, Kind::Words),
        (wide, Kind::Name),
        (narrow, Kind::Words),
    ] {
        let too_wide = |layouts: &[Layout]| {
            layouts
                .iter()
                .map(|layout| layout.width + gap)
                .sum::<usize>()
                > WIDTH + gap
        };
        while too_wide(layouts) {
            let givers = layouts.iter_mut().filter(|layout| layout.kind == kind);
            let widest = givers.max_by_key(|layout| layout.width);
            match widest.filter(|layout| layout.width > NARROWEST) {
                Some(widest) => widest.width -= 1,
                None => break,
            }
        }
        if !too_wide(layouts) {
            return gap;
        }
    }
    narrow
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(columns: &[Column], rows: &[&[&str]]) -> String {
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|row| row.iter().map(|cell| (*cell).to_owned()).collect())
            .collect();
        let mut out = String::new();
        table(&mut out, columns, &rows);
        out
    }

    #[test]
    fn figures_stand_on_their_point_and_words_left() {
        let columns = [
            Column::new("mg/L", Kind::Name),
            Column::new("aim", Kind::Figures),
        ];
        let out = set(
            &columns,
            &[&["K", "210.0"], &["Cu", "0.0230"], &["Mo", "0"], &["S", ""]],
        );
        assert_eq!(
            out,
            "mg/L       aim\nK     210.0\nCu      0.0230\nMo      0\nS\n"
        );
    }

    #[test]
    fn units_follow_their_figures() {
        let columns = [
            Column::new("", Kind::Name),
            Column::new("1 gal", Kind::Figures),
        ];
        let out = set(&columns, &[&["a", "1.45 fl oz"], &["b", "33.7 mg"]]);
        assert_eq!(out, "         1 gal\na   1.45 fl oz\nb  33.7 mg\n");
    }

    #[test]
    fn what_is_too_wide_is_broken_and_nothing_is_left_out() {
        let columns = [
            Column::new("weigh", Kind::Name),
            Column::new("1 L", Kind::Figures),
            Column::new("note", Kind::Words),
        ];
        let id = "magnesium-nitrate-hexahydrate-of-a-very-long-kind";
        let note = "one two three four five six seven eight nine ten";
        let out = set(
            &columns,
            &[&[id, "1.00 g", note], &["x", "2.00 g", &"y".repeat(90)]],
        );
        for line in out.lines() {
            assert!(chars(line) <= WIDTH, "{line}");
        }
        let letters = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).count();
        let rest = letters("weigh1Lnotex1.00g2.00g") + 90;
        assert_eq!(letters(&out), letters(id) + letters(note) + rest);
    }
}
