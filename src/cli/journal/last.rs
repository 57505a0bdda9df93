//! What the journal knows of a system, for a command that would else have it typed.

use super::{MEASURE, meant, measure};
use crate::store::journal::{Entry, Kept, Kind, Settings};
use crate::view::journal::sentence;
use saltwright_fertilizers::{Fault, Faults, Problem};

/// The last reading of a system and what is told of it.
#[derive(Debug)]
pub struct Last {
    /// The system.
    pub system: String,
    /// The entry of the reading.
    pub entry: Entry,
    /// What is told of the system.
    pub settings: Settings,
    /// The reading in words.
    pub words: String,
    /// What was done since, in words.
    pub since: Vec<String>,
}

/// What a journal knows; `typed` is a system's name, or nothing for the last one.
pub fn last(kept: &Kept, typed: &str) -> Result<Last, Vec<Fault>> {
    let system = meant(kept, typed)?;
    let mut entries = kept.entries();
    entries.retain(|entry| entry.content.system == system);
    let read = entries
        .iter()
        .rposition(|entry| entry.content.kind() == Kind::Reading);
    let Some(at) = read else {
        let mut faults = Faults::default();
        let (what, mend) = (
            "this system's journal",
            "Note a reading first: journal add --ec 1.4 --ph 5.9.",
        );
        faults.add(None, "--system", Problem::Empty { what, mend });
        return Err(faults.into_list());
    };
    let measure = measure(kept.remembered(MEASURE));
    let since = entries[at + 1..].iter();
    let since = since.filter(|entry| entry.content.kind() == Kind::Correction);
    Ok(Last {
        system: system.to_owned(),
        settings: kept.settings(system),
        words: sentence(&entries[at].content, measure),
        since: since
            .map(|entry| sentence(&entry.content, measure))
            .collect(),
        entry: entries.swap_remove(at),
    })
}
