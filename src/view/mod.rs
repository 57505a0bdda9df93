//! Sheets: a report rounded and worded once, for every face.
//!
//! ```text
//! report -> Sheet -> terminal text (and later a page)
//! ```

pub mod bar;
pub mod csv;
pub mod formulate;
pub mod predict;
pub mod round;
pub mod text;

/// One page of results.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// What it is about.
    pub title: String,
    /// The answer in a word or two.
    pub verdict: String,
    /// Parts in reading order.
    pub parts: Vec<Part>,
}

/// A part of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Figures in columns.
    Table {
        /// Heads; a head that starts with a blank stands over a column of figures, set right.
        heads: Vec<String>,
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
}
