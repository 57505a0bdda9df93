//! From what is typed to a new entry, and what to remember of it: for the command and the page.

use super::typed::{Told, option};
use super::{SYSTEM, memory, pen, usual};
use crate::store::journal::{Clock, Content, Details, Kept, Reading};
use saltwright_fertilizers::{Fault, Faults, Problem};

/// An entry that may be noted.
#[derive(Debug)]
pub struct New {
    /// What it says.
    pub content: Content,
    /// True where its system has no entries yet.
    pub is_new_system: bool,
    pen: String,
    scale: Option<String>,
    measure: Option<(&'static str, &'static str)>,
}

impl New {
    /// What is typed, for the system that is typed or was used last.
    pub fn of(told: &Told, kept: &Kept, clock: &Clock, faults: &mut Faults) -> Self {
        let at = told.moment(clock, faults);
        let mut content = Content {
            at: at.unwrap_or_else(|| clock.moment()),
            system: usual(kept).unwrap_or_default().to_owned(),
            reading: Reading::default(),
            details: Details::default(),
        };
        // Whose pen it is depends on the system, which is typed, too.
        let system = told.system.as_deref().unwrap_or(&content.system);
        let pen = pen(kept.system(system).unwrap_or(system));
        let scale = kept.remembered(&pen).and_then(|scale| scale.parse().ok());
        told.over(&mut content, scale, faults);
        let known = kept.system(&content.system);
        let is_new_system = known.is_none();
        if let Some(known) = known {
            content.system = known.to_owned();
        }
        if content.system.is_empty() {
            let (what, mend) = ("the system", "Name it once, like --system \"tank 1\".");
            faults.add(None, "--system", Problem::Empty { what, mend });
        }
        Self {
            content,
            is_new_system,
            pen,
            scale: told.scale().map(|scale| scale.to_string()),
            measure: memory(told.measure()),
        }
    }

    /// The entry, unless something was wrong with it.
    pub fn checked(self, mut faults: Faults) -> Result<Self, Vec<Fault>> {
        if faults.is_empty() {
            self.content.check(None, option, &mut faults);
        }
        faults.finish(Some(self))
    }

    /// What to remember: the system, the units, the scale of the pen.
    pub fn memory(&self) -> Vec<(&str, &str)> {
        let mut remembered = vec![(SYSTEM, self.content.system.as_str())];
        remembered.extend(self.measure);
        let scale = self.scale.as_deref();
        remembered.extend(scale.map(|scale| (self.pen.as_str(), scale)));
        remembered
    }
}
