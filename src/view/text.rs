//! A sheet as plain text, at most 80 columns wide, the same in a terminal and in a pipe.

use super::columns::table;
use super::{Part, Sheet};

/// Widest line.
pub const WIDTH: usize = 80;
/// Width of the label of a fact.
const LABEL: usize = 8;

/// Renders a sheet.
pub fn render(sheet: &Sheet) -> String {
    let mut out = String::new();
    heading(&mut out, sheet);
    let mut apart = true;
    for part in &sheet.parts {
        let is_table = matches!(part, Part::Table { .. });
        if (is_table || apart) && !out.is_empty() {
            out.push('\n');
        }
        apart = is_table;
        match part {
            Part::Table { columns, rows } => table(&mut out, columns, rows),
            Part::Fact { label, words } => hang(&mut out, &format!("{label:<LABEL$}"), words),
            Part::Caution(words) => hang(&mut out, "! ", words),
            Part::Note(words) => hang(&mut out, "", words),
        }
    }
    out
}

/// Title left and verdict right on the first line.
fn heading(out: &mut String, sheet: &Sheet) {
    if sheet.title.is_empty() {
        return;
    }
    let verdict = sheet.verdict.as_str();
    let room = WIDTH - verdict.chars().count().min(WIDTH / 2);
    let room = if verdict.is_empty() { room } else { room - 2 };
    for (at, line) in wrap(&sheet.title, room).iter().enumerate() {
        let said = if at == 0 { verdict } else { "" };
        push(out, &format!("{line:<room$}  {said}"));
    }
    if !sheet.detail.is_empty() {
        hang(out, "", &sheet.detail);
    }
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

#[cfg(test)]
mod tests {
    use super::super::{Column, Kind};
    use super::*;

    #[test]
    fn nothing_is_wider_than_the_page() {
        let long = "word ".repeat(60) + &"x".repeat(200);
        let sheet = Sheet {
            title: long.clone(),
            verdict: "closest answer, OUTSIDE the bands".into(),
            detail: long.clone(),
            parts: vec![
                Part::fact("EC", long.clone()),
                Part::Caution(long.clone()),
                Part::Note(long.clone()),
                Part::Table {
                    columns: vec![
                        Column::new("a", Kind::Name),
                        Column::new("b", Kind::Figures),
                        Column::new("c", Kind::Words),
                    ],
                    rows: vec![vec!["y".repeat(50), "1".into(), long]],
                },
            ],
        };
        for line in render(&sheet).lines() {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
    }

    #[test]
    fn the_verdict_stands_beside_the_title() {
        let sheet = Sheet {
            title: "Lettuce in rain".into(),
            verdict: "within bands".into(),
            ..Sheet::default()
        };
        let line = render(&sheet);
        assert!(line.starts_with("Lettuce in rain  ") && line.ends_with("  within bands\n"));
        assert_eq!(line.trim_end().len(), WIDTH);
    }
}
