//! What the journal holds: readings, corrections, batches and notes of a grower's systems.

use super::moment::Moment;
use saltwright_fertilizers::document::{Limits, MAX_ID, MAX_TEXT};
use saltwright_fertilizers::{Faults, Problem};
use serde::{Deserialize, Serialize};

/// What meters and a dipstick showed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reading {
    /// EC at 25 °C, mS/cm.
    pub ec_ms_cm: Option<f64>,
    /// pH.
    pub ph: Option<f64>,
    /// Temperature of the solution, °C.
    pub temperature_c: Option<f64>,
    /// Litres in the tank.
    pub litres: Option<f64>,
}

impl Reading {
    /// True where nothing was read.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// What was done to a tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// Something was poured or weighed in.
    Added,
    /// Solution was let out.
    Drained,
    /// The tank was emptied and filled anew.
    Filled,
}

impl Deed {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Added, Self::Drained, Self::Filled];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Drained => "drained",
            Self::Filled => "filled",
        }
    }
}

/// One thing that was done, and how much of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Done {
    /// What was done.
    #[serde(rename = "do")]
    pub deed: Deed,
    /// Of what: a water, a stock, a fertilizer, `feed`; empty for what was drained.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub what: String,
    /// Millilitres poured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<f64>,
    /// Grams weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g: Option<f64>,
}

/// A batch as it was mixed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Batch {
    /// The recipe it follows.
    #[serde(default)]
    pub recipe: String,
    /// The water it is made with.
    #[serde(default)]
    pub water: String,
    /// Litres of finished solution.
    pub litres: Option<f64>,
    /// The exact formulation.
    pub mix: Vec<Dose>,
    /// What every nutrient comes to, mg/L.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub delivered: Vec<Held>,
    /// What the EC meter should show, mS/cm at 25 °C.
    pub ec_ms_cm: Option<f64>,
}

/// A fertilizer of a batch, per litre of finished solution.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(missing_docs)] // as in a mix
pub struct Dose {
    pub id: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g_per_l: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml_per_l: Option<f64>,
}

/// A nutrient of a batch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Held {
    /// Its key.
    pub nutrient: String,
    /// Milligrams per litre.
    pub mg_l: f64,
}

/// What is told of a system once, so that it need not be typed again.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// A recipe's name or file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recipe: Option<String>,
    /// A water's name or file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub water: Option<String>,
    /// Litres that the tank holds when full.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub capacity_l: Option<f64>,
    /// Band of the EC, mS/cm at 25 °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ec_ms_cm: Option<[f64; 2]>,
    /// Band of the pH.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ph: Option<[f64; 2]>,
    /// The file of the stocks.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock: Option<String>,
    /// The acid at hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acid: Option<String>,
    /// The base at hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub base: Option<String>,
}

impl Settings {
    /// True where nothing is told.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// These, and what they leave open as it was before.
    #[must_use]
    pub fn over(self, before: Self) -> Self {
        Self {
            recipe: self.recipe.or(before.recipe),
            water: self.water.or(before.water),
            capacity_l: self.capacity_l.or(before.capacity_l),
            ec_ms_cm: self.ec_ms_cm.or(before.ec_ms_cm),
            ph: self.ph.or(before.ph),
            stock: self.stock.or(before.stock),
            acid: self.acid.or(before.acid),
            base: self.base.or(before.base),
        }
    }
}

/// The sorts of entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)] // named for what they are
pub enum Kind {
    Reading,
    Correction,
    Batch,
    System,
    Note,
}

impl Kind {
    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Correction => "correction",
            Self::Batch => "batch",
            Self::System => "system",
            Self::Note => "note",
        }
    }
}

/// What one entry says.
#[derive(Clone, Debug, PartialEq)]
pub struct Content {
    /// When it was at the tank.
    pub at: Moment,
    /// The system: a tank and what hangs on it.
    pub system: String,
    /// What meters showed.
    pub reading: Reading,
    /// What was done, what was mixed, and words.
    pub details: Details,
}

/// What does not fit a column of its own.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Details {
    /// What was done, in order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<Done>,
    /// What was mixed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batch: Option<Batch>,
    /// What is told of the system.
    #[serde(skip_serializing_if = "Settings::is_empty")]
    pub settings: Settings,
    /// Words.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl Content {
    /// Its sort; a reading and a deed never share an entry.
    pub fn kind(&self) -> Kind {
        if self.details.batch.is_some() {
            Kind::Batch
        } else if !self.details.done.is_empty() {
            Kind::Correction
        } else if !self.details.settings.is_empty() {
            Kind::System
        } else if self.reading.is_empty() {
            Kind::Note
        } else {
            Kind::Reading
        }
    }

    /// Notes everything that cannot be, or says nothing; `option` words a field for the face.
    /// `line` is that of a file.
    pub fn check(
        &self,
        line: Option<usize>,
        option: impl Fn(&'static str) -> String,
        faults: &mut Faults,
    ) {
        let Reading {
            ec_ms_cm,
            ph,
            temperature_c,
            litres,
        } = self.reading;
        for (field, value, limits) in [
            ("ec_ms_cm", ec_ms_cm, Limits::EC),
            ("ph", ph, Limits::PH),
            ("temperature_c", temperature_c, Limits::CELSIUS),
            ("litres", litres, LEVEL),
        ] {
            if let Some(Err(problem)) = value.map(|value| limits.check(value)) {
                faults.add(line, option(field), problem);
            }
        }
        let sorts = [
            !self.reading.is_empty(),
            !self.details.done.is_empty(),
            self.details.batch.is_some(),
            !self.details.settings.is_empty(),
        ];
        let sorts = sorts.iter().filter(|is_there| **is_there).count();
        if sorts > 1 {
            let what = "what was read and what was done stand in one entry".to_owned();
            let mend = "Make two entries, so that it is clear which came first.".to_owned();
            faults.add(line, "", Problem::Contradiction { what, mend });
        } else if sorts == 0 && self.details.note.is_empty() {
            let (what, mend) = ("this entry", "Give a reading, what was done, or a note.");
            faults.add(line, "", Problem::Empty { what, mend });
        }
        check_text(line, &self.system, option("system"), MAX_ID, faults);
        check_text(line, &self.details.note, option("note"), MAX_TEXT, faults);
        for done in &self.details.done {
            check_text(line, &done.what, option("done"), MAX_ID, faults);
            // A table tells one deed from the next by them.
            if done.what.contains([';', '=']) || done.what.split_whitespace().count() > 1 {
                let reason = format!("\"{}\" is more than one word", done.what);
                let mend = "Write it in one word, like larch-hollow-spring, without ; or =.";
                faults.add(line, option("done"), Problem::Unreadable { reason, mend });
            }
        }
    }
}

/// Litres left in a tank; it may be empty.
pub const LEVEL: Limits = Limits::new(0.0, 1e9, " L");

/// Text of a bearable length that does not steer a terminal.
fn check_text(line: Option<usize>, text: &str, field: String, most: usize, faults: &mut Faults) {
    if text.len() > most {
        let (things, count) = ("bytes of text", text.len());
        faults.add(
            line,
            field,
            Problem::TooMany {
                things,
                count,
                most,
            },
        );
    } else if text
        .chars()
        .any(|c| c.is_control() && c != '\n' && c != '\t')
    {
        let reason = "this text holds a control character".to_owned();
        let mend = "Write it in letters.";
        faults.add(line, field, Problem::Unreadable { reason, mend });
    }
}

/// An entry as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its number.
    pub number: i64,
    /// How often it was written: 1 where it never was amended.
    pub revisions: i64,
    /// What it says.
    pub content: Content,
}

/// An entry as it was at some time.
#[derive(Clone, Debug, PartialEq)]
pub struct Revision {
    /// Number of the entry.
    pub number: i64,
    /// What was done to it.
    pub act: String,
    /// When, Unix time in milliseconds.
    pub done_at_ms: i64,
    /// True where it was taken back.
    pub withdrawn: bool,
    /// What it said.
    pub content: Content,
}

/// Something that was done to the journal, and may be taken back.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// Its number.
    pub number: i64,
    /// `add`, `amend` or `import`.
    pub what: String,
    /// What it wrote.
    pub revisions: Vec<Revision>,
}
