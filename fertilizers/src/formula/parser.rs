//! From text to the parts of a formula.

use super::{FormulaError, FormulaFault, MAX_COUNT, MAX_LENGTH, MAX_NESTING};
use crate::elements::Element;
use crate::ion::Ligand;

/// `times` copies of a run of units: the `10H2O` behind a dot.
pub(super) struct Part {
    pub times: f64,
    pub units: Vec<Unit>,
}

/// An element, ligand or bracket with its count and where it stands.
pub(super) struct Unit {
    pub what: What,
    pub count: f64,
    pub position: usize,
}

pub(super) enum What {
    Element(Element),
    Ligand(Ligand),
    Group(Vec<Unit>),
}

pub(super) struct Parser {
    text: Vec<char>,
    at: usize,
    depth: usize,
}

impl Parser {
    pub fn new(text: &str) -> Self {
        // At most one character beyond the limit is looked at, however long the text is.
        let text = text.chars().take(MAX_LENGTH + 1).map(plain).collect();
        Self {
            text,
            at: 0,
            depth: 0,
        }
    }

    pub fn fault(&self, at: usize, what: FormulaFault) -> FormulaError {
        let formula: String = self.text.iter().collect();
        FormulaError {
            formula: crate::units::shorten(&formula),
            position: at + 1,
            what,
        }
    }

    fn peek(&self) -> Option<char> {
        self.text.get(self.at).copied()
    }

    fn ahead(&self, steps: usize) -> Option<char> {
        self.text.get(self.at + steps).copied()
    }

    pub fn formula(&mut self) -> Result<Vec<Part>, FormulaError> {
        let mut parts = Vec::new();
        loop {
            self.blanks();
            let times = self.times()?;
            self.blanks();
            let units = self.units()?;
            if units.is_empty() {
                let what = match self.peek() {
                    Some(')' | ']') => FormulaFault::Bracket,
                    Some(c) if !is_dot(c) => FormulaFault::Stray(c),
                    _ => FormulaFault::Missing,
                };
                return Err(self.fault(self.at, what));
            }
            parts.push(Part { times, units });
            self.blanks();
            match self.peek() {
                None => return Ok(parts),
                Some(c) if is_dot(c) => self.at += 1,
                Some(')' | ']') => return Err(self.fault(self.at, FormulaFault::Bracket)),
                Some(c) => return Err(self.fault(self.at, FormulaFault::Stray(c))),
            }
        }
    }

    fn blanks(&mut self) {
        while self.peek() == Some(' ') {
            self.at += 1;
        }
    }

    fn digits(&mut self) -> String {
        let start = self.at;
        while self.peek().is_some_and(|c| c.is_ascii_digit()) {
            self.at += 1;
        }
        self.text[start..self.at].iter().collect()
    }

    /// A multiplier in front of a part; a dot between digits is a decimal point here.
    fn times(&mut self) -> Result<f64, FormulaError> {
        let start = self.at;
        let mut written = self.digits();
        if written.is_empty() {
            return Ok(1.0);
        }
        if self.peek() == Some('.') && self.ahead(1).is_some_and(|c| c.is_ascii_digit()) {
            self.at += 1;
            written.push('.');
            written.push_str(&self.digits());
        }
        self.count_of(&written, start)
    }

    /// The count behind a unit: whole, 1 where none is written.
    fn count(&mut self) -> Result<f64, FormulaError> {
        let start = self.at;
        let written = self.digits();
        if written.is_empty() {
            return Ok(1.0);
        }
        self.count_of(&written, start)
    }

    fn count_of(&self, written: &str, start: usize) -> Result<f64, FormulaError> {
        match written.parse::<f64>() {
            Ok(count) if count > 0.0 && count <= MAX_COUNT => Ok(count),
            _ => Err(self.fault(start, FormulaFault::Count)),
        }
    }

    fn units(&mut self) -> Result<Vec<Unit>, FormulaError> {
        let mut units = Vec::new();
        while let Some(c) = self.peek() {
            let position = self.at;
            let what = match c {
                '(' | '[' => self.group(if c == '(' { ')' } else { ']' })?,
                c if c.is_ascii_uppercase() => match self.ligand() {
                    Some(ligand) => What::Ligand(ligand),
                    None => What::Element(self.element()?),
                },
                _ => break,
            };
            let count = self.count()?;
            units.push(Unit {
                what,
                count,
                position,
            });
        }
        Ok(units)
    }

    fn group(&mut self, closing: char) -> Result<What, FormulaError> {
        let start = self.at;
        self.depth += 1;
        if self.depth > MAX_NESTING {
            return Err(self.fault(start, FormulaFault::Bracket));
        }
        self.at += 1;
        let mut inner = self.units()?;
        // A hydrate inside square brackets, as in 5[Ca(NO3)2.2H2O].NH4NO3.
        while self.peek().is_some_and(is_dot) {
            self.at += 1;
            let position = self.at;
            let count = self.times()?;
            let more = self.units()?;
            if more.is_empty() {
                return Err(self.fault(self.at, FormulaFault::Missing));
            }
            inner.push(Unit {
                what: What::Group(more),
                count,
                position,
            });
        }
        match self.peek() {
            Some(c) if c == closing => {}
            Some(c) if c != ')' && c != ']' => {
                return Err(self.fault(self.at, FormulaFault::Stray(c)));
            }
            _ => return Err(self.fault(start, FormulaFault::Bracket)),
        }
        if inner.is_empty() {
            return Err(self.fault(self.at, FormulaFault::Missing));
        }
        self.at += 1;
        self.depth -= 1;
        Ok(What::Group(inner))
    }

    /// A ligand by name, where its letters stand here and no lower-case letter follows.
    fn ligand(&mut self) -> Option<Ligand> {
        let rest = &self.text[self.at..];
        let ligand = Ligand::ALL.into_iter().find(|ligand| {
            let name = ligand.name();
            rest.len() >= name.len() && rest.iter().zip(name.chars()).all(|(a, b)| *a == b)
        })?;
        self.at += ligand.name().len();
        Some(ligand)
    }

    fn element(&mut self) -> Result<Element, FormulaError> {
        let start = self.at;
        self.at += 1;
        while self.peek().is_some_and(|c| c.is_ascii_lowercase()) {
            self.at += 1;
        }
        let symbol: String = self.text[start..self.at].iter().collect();
        Element::from_symbol(&symbol)
            .ok_or_else(|| self.fault(start, FormulaFault::NoElement(symbol)))
    }
}

/// Subscript digits and the dots of print become plain ones.
const fn plain(c: char) -> char {
    match c {
        '₀' => '0',
        '₁' => '1',
        '₂' => '2',
        '₃' => '3',
        '₄' => '4',
        '₅' => '5',
        '₆' => '6',
        '₇' => '7',
        '₈' => '8',
        '₉' => '9',
        other => other,
    }
}

const fn is_dot(c: char) -> bool {
    matches!(c, '.' | '·' | '*' | '•' | '⋅')
}
