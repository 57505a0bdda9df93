//! A CSV file as rows of named cells, with a spreadsheet's habits forgiven.
//!
//! Read without complaint: a byte order mark, semicolons or tabs for commas, a decimal comma where
//! cells are not split by commas, blank lines, empty columns at the end, quoted cells, CRLF. The other
//! way, a text that a spreadsheet would run as a formula is written with a mark before it, which is
//! taken off again.

use crate::document::{Node, Value};
use crate::fault::{Faults, Problem, nearest};
use crate::units::{parse_number, shorten};
use std::borrow::Cow;

/// Most rows that are read.
pub const MAX_ROWS: usize = 20_000;

/// What a spreadsheet may take for a formula, and the mark itself.
const FORMULA: [char; 12] = [
    '=', '+', '-', '@', '＝', '＋', '－', '＠', '\t', '\r', '\n', MARK,
];
/// The mark that makes a cell a text.
const MARK: char = '\'';

/// A cell as it is written: a text that a spreadsheet would run as a formula (`=cmd|…`) is marked as
/// a text, a number is not. Mark and characters: OWASP Foundation, CSV Injection, from memory.
pub fn guarded(cell: &str) -> Cow<'_, str> {
    if cell.starts_with(FORMULA) && parse_number(cell).is_err() {
        format!("{MARK}{cell}").into()
    } else {
        cell.into()
    }
}

/// The cell without the mark of [`guarded`].
pub fn unguarded(cell: &str) -> &str {
    let rest = cell.strip_prefix(MARK);
    rest.filter(|rest| rest.starts_with(FORMULA))
        .unwrap_or(cell)
}

/// A table of text cells under named columns.
#[derive(Debug)]
pub struct Grid {
    columns: Vec<(String, usize)>,
    rows: Vec<Row>,
}

/// One row and the line it starts on.
#[derive(Debug)]
pub struct Row {
    /// Line in the file, counted from 1.
    pub line: usize,
    cells: Vec<String>,
}

impl Grid {
    /// Reads CSV text. Columns whose head is none of `known` are faults, as are heads that stand
    /// twice; columns without a head are ignored.
    pub fn read(text: &str, known: &[&str], faults: &mut Faults) -> Option<Self> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let delimiter = separator(text);
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut records = reader.records();
        let head = loop {
            match records.next() {
                None => {
                    let what = "this table";
                    let mend = "Give a line of column heads and a row for each entry.";
                    faults.add(None, "", Problem::Empty { what, mend });
                    return None;
                }
                Some(Err(error)) => {
                    faults.add(None, "", unreadable(&error));
                    return None;
                }
                Some(Ok(record)) if is_blank(&record) => {}
                Some(Ok(record)) => break record,
            }
        };
        let columns = read_head(&head, known, faults);
        let width = head.len();
        let mut rows = Vec::new();
        for record in records {
            let record = match record {
                Ok(record) => record,
                Err(error) => {
                    faults.add(None, "", unreadable(&error));
                    continue;
                }
            };
            if is_blank(&record) {
                continue;
            }
            let line = line_of(&record);
            if record.iter().skip(width).any(|cell| !cell.is_empty()) {
                let reason = format!("{} cells stand under {width} column heads", record.len());
                let mend = "Put cells that hold the separator in quotes.";
                faults.add(Some(line), "", Problem::Unreadable { reason, mend });
                continue;
            }
            if rows.len() >= MAX_ROWS {
                let (things, most) = ("rows", MAX_ROWS);
                let count = most + 1;
                faults.add(
                    Some(line),
                    "",
                    Problem::TooMany {
                        things,
                        count,
                        most,
                    },
                );
                break;
            }
            let cells = record.iter().map(str::to_owned).collect();
            rows.push(Row { line, cells });
        }
        Some(Self { columns, rows })
    }

    /// The rows in file order.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// True where a column of that name exists.
    pub fn has(&self, column: &str) -> bool {
        self.columns.iter().any(|(name, _)| name == column)
    }

    /// The filled cells of a row as named text nodes.
    pub fn entries<'a>(&'a self, row: &'a Row) -> impl Iterator<Item = (&'a str, Node)> {
        self.columns.iter().filter_map(|(name, position)| {
            let cell = row.cells.get(*position)?;
            (!cell.is_empty()).then(|| {
                let node = Node {
                    line: Some(row.line),
                    value: Value::Text(unguarded(cell).to_owned()),
                };
                (name.as_str(), node)
            })
        })
    }
}

/// The commonest of the three separators in the first line that is not blank, outside quotes.
pub fn separator(text: &str) -> u8 {
    let head = text
        .lines()
        .find(|line| line.chars().any(char::is_alphanumeric))
        .unwrap_or_default();
    let count = |wanted: char| {
        let mut quoted = false;
        head.chars()
            .filter(|c| {
                quoted ^= *c == '"';
                *c == wanted && !quoted
            })
            .count()
    };
    [';', '\t', ',']
        .into_iter()
        .max_by_key(|c| (count(*c), *c == ','))
        .map_or(b',', |c| u8::try_from(c).unwrap_or(b','))
}

fn is_blank(record: &csv::StringRecord) -> bool {
    record.iter().all(str::is_empty)
}

fn line_of(record: &csv::StringRecord) -> usize {
    record
        .position()
        .and_then(|position| usize::try_from(position.line()).ok())
        .unwrap_or(0)
}

fn unreadable(error: &csv::Error) -> Problem {
    let reason = match error.kind() {
        csv::ErrorKind::Utf8 { .. } => "a cell is not UTF-8 text".to_owned(),
        _ => "this row cannot be read".to_owned(),
    };
    Problem::Unreadable {
        reason,
        mend: "Save the sheet as CSV in UTF-8.",
    }
}

fn read_head(
    head: &csv::StringRecord,
    known: &[&str],
    faults: &mut Faults,
) -> Vec<(String, usize)> {
    let line = Some(line_of(head));
    let mut columns: Vec<(String, usize)> = Vec::new();
    for (position, name) in head.iter().enumerate().filter(|(_, name)| !name.is_empty()) {
        match known
            .iter()
            .find(|wanted| wanted.eq_ignore_ascii_case(name))
        {
            Some(wanted) if columns.iter().any(|(seen, _)| seen == wanted) => {
                let name = (*wanted).to_owned();
                faults.add(line, name.clone(), Problem::Twice { name });
            }
            Some(wanted) => columns.push(((*wanted).to_owned(), position)),
            None => {
                let nearest = crate::Assay::nearest_key(name)
                    .filter(|key| known.contains(&key.as_str()))
                    .or_else(|| nearest(name, known.iter().copied()));
                let name = shorten(name);
                let kind = "column";
                faults.add(
                    line,
                    name.clone(),
                    Problem::Unknown {
                        kind,
                        name,
                        nearest,
                    },
                );
            }
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<(String, String)>> {
        let mut faults = Faults::default();
        let grid = Grid::read(text, &["id", "K", "note"], &mut faults).expect("a grid");
        assert!(faults.is_empty(), "{:?}", faults.into_list());
        grid.rows()
            .iter()
            .map(|row| {
                grid.entries(row)
                    .map(|(name, node)| match node.value {
                        Value::Text(text) => (name.to_owned(), text),
                        other => panic!("{other:?}"),
                    })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn a_spreadsheets_habits_are_read() {
        let plain = cells("id,K,note\na,38.2,\"x, y\"\n");
        for odd in [
            "\u{feff}id,K,note\r\na,38.2,\"x, y\"\r\n",
            "id,K,note,,\n\n,,,,\na,38.2,\"x, y\",,\n",
            "ID;k;Note\na;38.2;x, y\n",
            "id\tK\tnote\na\t38.2\tx, y\n",
            "\n\n id , K ,note\n a , 38.2 ,\"x, y\"",
        ] {
            assert_eq!(cells(odd), plain, "{odd:?}");
        }
    }

    #[test]
    fn a_formula_is_written_as_a_text_and_read_as_it_was() {
        for (cell, written) in [
            ("=1+1", "'=1+1"),
            ("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0"),
            ("+7 drops", "'+7 drops"),
            ("-", "'-"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("＝1", "'＝1"),
            ("\tx", "'\tx"),
            ("'=x", "''=x"),
            ("'tis", "''tis"),
            ("-0.5", "-0.5"),
            ("2-0-1", "2-0-1"),
            ("", ""),
        ] {
            assert_eq!(guarded(cell), written);
            assert_eq!(unguarded(written), cell);
        }
        // What nobody marked stays.
        assert_eq!(unguarded("'tis"), "'tis");
        assert_eq!(cells("id,note\n'=a,'b\n")[0][0].1, "=a");
    }

    #[test]
    fn every_bad_head_and_row_is_named() {
        let mut faults = Faults::in_file("mine.csv");
        Grid::read("id,Kk,id\na,1,2\nb,1,2,3\n", &["id", "K"], &mut faults);
        let said: Vec<_> = faults.into_list().iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(said[0].contains("mine.csv:1, Kk"), "{said:?}");
        assert!(said[1].contains("stands here twice"), "{said:?}");
        assert!(said[2].contains("mine.csv:3"), "{said:?}");
    }
}
