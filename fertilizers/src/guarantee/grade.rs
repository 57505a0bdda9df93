//! A label in one line, such as `15-5-15 + 4Ca + 2Mg`.

use super::{Printed, Stated, add};
use crate::document::Limits;
use crate::fault::{Faults, Problem, nearest};
use crate::units::{parse_number, shorten};

/// How a grade such as `20-20-20` is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// N, P2O5, K2O.
    Oxides,
    /// N, P, K.
    Elements,
}

impl Basis {
    const fn keys(self) -> [&'static str; 3] {
        match self {
            Self::Oxides => ["N", "P2O5", "K2O"],
            Self::Elements => ["N", "P", "K"],
        }
    }
}

/// `15-5-15 + 4Ca + 2Mg`, `20-20-20 (+ 2 MgO)`, `4,9-10,8-30,5`.
pub(super) fn read_grade(
    grade: &str,
    line: Option<usize>,
    path: &str,
    basis: Basis,
    faults: &mut Faults,
) -> Option<Vec<Stated>> {
    let unreadable = || Problem::Unreadable {
        reason: format!("\"{}\" is no grade", shorten(grade)),
        mend: "Write it like 15-5-15, or 15-5-15 + 4Ca + 2Mg.",
    };
    let plain = grade.replace(['(', ')'], " ");
    let mut parts = plain.split('+').map(str::trim);
    let numbers: Vec<&str> = parts.next()?.split(['-', '–']).map(str::trim).collect();
    if numbers.len() != 3 || numbers.iter().any(|number| number.is_empty()) {
        faults.add(line, path, unreadable());
        return None;
    }
    let mut stated = Vec::new();
    for (key, number) in basis.keys().into_iter().zip(numbers) {
        let read = parse_number(number).and_then(|pct| Limits::PERCENT.check(pct));
        match (read, Printed::from_key(key)) {
            (Ok(pct), Some(printed)) => stated.push(Stated { printed, pct, line }),
            (Err(problem), _) => faults.add(line, path, problem),
            (Ok(_), None) => {}
        }
    }
    for part in parts.filter(|part| !part.is_empty()) {
        // "with trace elements", none of them named.
        if ["TE", "ME"].contains(&part) {
            continue;
        }
        match read_extra(part) {
            Ok((printed, pct)) => add(&mut stated, Stated { printed, pct, line }, path, faults),
            Err(Some(problem)) => faults.add(line, path, problem),
            Err(None) => faults.add(line, path, unreadable()),
        }
    }
    stated.sort_by_key(|one| Printed::all().position(|printed| printed.key == one.printed.key));
    Some(stated)
}

/// `4Ca`, `2 % MgO` or `Ca 4`.
fn read_extra(part: &str) -> Result<(Printed, f64), Option<Problem>> {
    let squeezed: String = part.chars().filter(|c| *c != '%').collect();
    let squeezed = squeezed.trim();
    let is_figure = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
    let (number, key) = if squeezed.starts_with(is_figure) {
        let end = squeezed.find(|c| !is_figure(c)).ok_or(None)?;
        squeezed.split_at(end)
    } else {
        let (key, number) = squeezed.split_once(char::is_whitespace).ok_or(None)?;
        (number, key)
    };
    let key = key.trim();
    let Some(printed) = Printed::from_key(key) else {
        return Err(Some(Problem::Unknown {
            kind: "nutrient",
            name: shorten(key),
            nearest: nearest(key, Printed::all().map(|printed| printed.key)),
        }));
    };
    let pct = parse_number(number).and_then(|pct| Limits::PERCENT.check(pct));
    pct.map(|pct| (printed, pct)).map_err(Some)
}
