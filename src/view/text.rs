//! A sheet as plain text, at most 80 columns wide, the same in a terminal and in a pipe.

use super::{Part, Sheet};

/// Widest line.
pub const WIDTH: usize = 80;
/// The first column gives way to the others down to this width.
const FIRST_COLUMN: usize = 20;
/// Blanks between columns.
const GAP: &str = "  ";
/// Width of the label of a fact.
const LABEL: usize = 8;

/// Renders a sheet.
pub fn render(sheet: &Sheet) -> String {
    let mut out = String::new();
    let free = WIDTH.saturating_sub(sheet.verdict.chars().count() + 2);
    if sheet.title.chars().count() <= free {
        push(
            &mut out,
            &format!("{:<free$}  {}", sheet.title, sheet.verdict),
        );
    } else {
        for line in wrap(&sheet.title, WIDTH) {
            push(&mut out, &line);
        }
        push(&mut out, &sheet.verdict);
    }
    let mut after_table = true;
    for part in &sheet.parts {
        match part {
            Part::Table { heads, rows } => {
                out.push('\n');
                table(&mut out, heads, rows);
                after_table = true;
            }
            Part::Fact { label, words } => {
                if after_table {
                    out.push('\n');
                }
                after_table = false;
                hang(&mut out, &format!("{label:<LABEL$}"), words);
            }
            Part::Caution(words) => {
                if after_table {
                    out.push('\n');
                }
                after_table = false;
                hang(&mut out, "! ", words);
            }
        }
    }
    out
}

fn push(out: &mut String, line: &str) {
    out.push_str(line.trim_end());
    out.push('\n');
}

/// A first word and a paragraph that hangs beside it.
fn hang(out: &mut String, first: &str, words: &str) {
    let indent = first.chars().count();
    for (at, line) in wrap(words, WIDTH - indent).into_iter().enumerate() {
        let lead = if at == 0 {
            first.to_owned()
        } else {
            " ".repeat(indent)
        };
        push(out, &format!("{lead}{line}"));
    }
}

/// Breaks text between words; a word longer than a line is cut.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        while !word.is_empty() {
            let last = lines
                .last_mut()
                .filter(|line| line.is_empty() || line.chars().count() + 1 + word.len() <= width);
            match last {
                Some(line) => {
                    if !line.is_empty() {
                        line.push(' ');
                    }
                    let room = width - line.chars().count();
                    line.extend(word.drain(..room.min(word.len())));
                    if !word.is_empty() {
                        lines.push(String::new());
                    }
                }
                None => lines.push(String::new()),
            }
        }
    }
    lines
}

/// Columns of text; a head that starts with a blank sets its column right. Where the page is too
/// narrow the first column gives way: its names are cut with an ellipsis.
pub fn table(out: &mut String, heads: &[String], rows: &[Vec<String>]) {
    let heads: Vec<(&str, bool)> = heads
        .iter()
        .map(|head| (head.trim_start(), head.starts_with(' ')))
        .collect();
    let mut widths: Vec<usize> = heads
        .iter()
        .enumerate()
        .map(|(at, (head, _))| {
            let cells = rows.iter().filter_map(|row| row.get(at));
            let widest = cells.map(|cell| cell.chars().count()).max();
            widest.unwrap_or(0).max(head.chars().count())
        })
        .collect();
    let page = widths.iter().sum::<usize>() + GAP.len() * widths.len().saturating_sub(1);
    if let Some(first) = widths.first_mut() {
        *first = (*first).min(
            first
                .saturating_sub(page.saturating_sub(WIDTH))
                .max(FIRST_COLUMN),
        );
    }
    let mut line = |cells: &mut dyn Iterator<Item = &str>| {
        let set: Vec<String> = cells
            .zip(heads.iter().zip(&widths))
            .map(|(text, ((_, right), width))| {
                let text = cut(text, *width);
                if *right {
                    format!("{text:>width$}")
                } else {
                    format!("{text:<width$}")
                }
            })
            .collect();
        push(out, &set.join(GAP));
    };
    line(&mut heads.iter().map(|(head, _)| *head));
    for row in rows {
        line(&mut row.iter().map(String::as_str));
    }
}

/// The text, or as much of it as fits with an ellipsis.
fn cut(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        text.to_owned()
    } else {
        text.chars().take(width - 1).chain(['…']).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_wider_than_the_page() {
        let long = "word ".repeat(60) + &"x".repeat(200);
        let sheet = Sheet {
            title: long.clone(),
            verdict: "within bands".into(),
            parts: vec![
                Part::Fact {
                    label: "EC",
                    words: long.clone(),
                },
                Part::Caution(long),
                Part::Table {
                    heads: vec!["a".into(), " b".into()],
                    rows: vec![vec!["y".repeat(50), "1".into()]],
                },
            ],
        };
        for line in render(&sheet).lines() {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
    }

    #[test]
    fn figures_stand_right_and_words_left() {
        let mut out = String::new();
        let rows = [
            vec!["K".into(), "210.0".into()],
            vec!["NO3-N".into(), "7".into()],
        ];
        table(&mut out, &["nutrient".into(), " mg/L".into()], &rows);
        assert_eq!(out, "nutrient   mg/L\nK         210.0\nNO3-N         7\n");
    }
}
