//! Sheets: a report rounded and worded once, for every face.
//!
//! In: a report of the solver.  Out: a [`Sheet`], which each face renders in its own way. Knows no
//! chemistry, no files and no arguments.
//!
//! ```text
//! report -> Sheet -> text (the terminal)
//!                 -> html and svg (the page, and what it prints)
//! ```

pub mod amounts;
pub mod bar;
pub mod chart;
pub mod chemistry;
pub mod columns;
pub mod correct;
pub mod csv;
pub mod deeds;
pub mod facts;
pub mod formulate;
pub mod html;
pub mod journal;
pub mod label;
pub mod lists;
pub mod meter;
pub mod nutrients;
pub mod predict;
pub mod purchase;
pub mod refill;
pub mod round;
pub mod spread;
pub mod stock;
pub mod substitute;
pub mod svg;
pub mod text;
pub mod toml;
pub mod water;
pub mod weigh;

/// One page of results.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// What it is about.
    pub title: String,
    /// The answer in a word or two.
    pub verdict: String,
    /// What belongs to the title but need not stand in it.
    pub detail: String,
    /// Parts in reading order.
    pub parts: Vec<Part>,
}

/// A part of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Figures in columns.
    Table {
        /// The columns.
        columns: Vec<Column>,
        /// Cells, already rounded.
        rows: Vec<Vec<String>>,
    },
    /// A word and what it says: `EC`, `cost`, `proof`.
    Fact {
        /// The word.
        label: &'static str,
        /// What it says.
        words: String,
    },
    /// Something to heed.
    Caution(String),
    /// A remark on what stands above.
    Note(String),
}

impl Part {
    /// A fact in words.
    pub fn fact(label: &'static str, words: impl Into<String>) -> Self {
        let words = words.into();
        Self::Fact { label, words }
    }
}

/// One column of a table.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// How its cells are set.
    pub kind: Kind,
}

/// How the cells of a column are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Figures with or without a unit, aligned on the decimal point.
    Figures,
    /// A name, which is only broken into lines where nothing else gives way.
    Name,
    /// Words, which may be broken into lines.
    Words,
    /// A drawing made of characters, which is never broken.
    Drawing,
}

impl Column {
    /// A column.
    pub fn new(head: impl Into<String>, kind: Kind) -> Self {
        let head = head.into();
        Self { head, kind }
    }
}
