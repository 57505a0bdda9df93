//! What a form of the journal does: note, amend, take back.

use super::fields::{amended, field_of, told};
use super::{Desk, PATH, Refused, check_names, page};
use crate::cli::journal::new::New;
use crate::cli::journal::typed::option;
use crate::cli::journal::{known, usual};
use crate::store::journal::{Clock, Content};
use crate::web::Visit;
use crate::web::ask::Asking;
use crate::web::document::Document;
use saltwright_fertilizers::{Fault, Faults, Problem};

/// What may come of an act: another address to look at, or why nothing was done.
type Done = Result<Document, Refused>;

/// Does what a form asks.
pub fn answer(desk: &Desk<'_>) -> Document {
    if !desk.diary.is_writable() {
        return page::reads_only(desk);
    }
    let mut asking = Asking::new("", &desk.visit);
    check_names(&mut asking);
    let said = asking.said();
    let done = match desk.visit.fields.get("act") {
        _ if !said.is_empty() => Err(Refused { status: 422, said }),
        Some("reading") => note(desk, false),
        Some("done") => note(desk, true),
        Some("amend") => amend(desk),
        Some("undo") => undo(desk),
        _ => Err(refused(desk, 422, "act", "Use the buttons of the page.")),
    };
    match done {
        Ok(document) => document,
        Err(Refused { status, said }) => page::answer(desk, said, Some(status)),
    }
}

/// One thing that is wrong with what was sent as a whole.
fn refused(desk: &Desk<'_>, status: u16, what: &'static str, mend: &'static str) -> Refused {
    let problem = Problem::Contradiction {
        what: what.to_owned(),
        mend: mend.to_owned(),
    };
    let mut asking = Asking::new("", &desk.visit);
    asking.refuse("", problem);
    Refused {
        status,
        said: asking.said(),
    }
}

/// Faults beside their fields.
fn beside(visit: &Visit<'_>, status: u16, faults: &[Fault], is_done: bool) -> Refused {
    let mut asking = Asking::new("", visit);
    for fault in faults {
        let (field, rest) = field_of(&fault.field, is_done);
        let mut told = Fault {
            field: rest,
            ..fault.clone()
        };
        if let (Some("name"), Problem::Empty { what, mend }) = (field, &mut told.problem) {
            (*what, *mend) = ("its name", "Name the tank once, like tank 1.");
        }
        asking.say(&told, field);
    }
    Refused {
        status,
        said: asking.said(),
    }
}

/// Notes a reading, or what was done.
fn note(desk: &Desk<'_>, is_done: bool) -> Done {
    let visit = &desk.visit;
    if let Some(damage) = &desk.kept.damage {
        return Err(beside(visit, 500, &[damage.fault()], is_done));
    }
    let clock = desk.diary.clock();
    let mut faults = Faults::default();
    let new = New::of(&told(visit, is_done), &desk.kept, &clock, &mut faults);
    let new = new.checked(faults);
    let new = new.map_err(|faults| beside(visit, 422, &faults, is_done))?;
    let content = &new.content;
    if let Some(number) = sent_before(desk, content) {
        return Ok(there(
            visit,
            &[("system", &content.system), ("noted", &number.to_string())],
        ));
    }
    let number = desk
        .diary
        .write()
        .and_then(|mut journal| journal.add(content, clock.now, &new.memory()))
        .map_err(|fault| beside(visit, 500, &[fault], is_done))?;
    Ok(there(
        visit,
        &[("system", &content.system), ("noted", &number.to_string())],
    ))
}

/// The entry that the very same form made before, where its answer was lost on the way.
fn sent_before(desk: &Desk<'_>, content: &Content) -> Option<i64> {
    let seen: usize = desk.visit.fields.get("seen")?.parse().ok()?;
    let is_timed = ["at", "done-at"]
        .iter()
        .any(|name| desk.visit.fields.get(name).is_some());
    let since = desk.kept.revisions().get(seen..)?.iter();
    let mut same = since.filter(|revision| {
        let at = if is_timed {
            content.at
        } else {
            revision.content.at
        };
        let same = Content {
            at,
            ..content.clone()
        };
        !revision.withdrawn && revision.content == same
    });
    same.next().map(|revision| revision.number)
}

/// Another address of the journal.
fn there(visit: &Visit<'_>, fields: &[(&str, &str)]) -> Document {
    Document::elsewhere(visit.address(PATH, fields))
}

/// Changes an entry.
fn amend(desk: &Desk<'_>) -> Done {
    let visit = &desk.visit;
    let number = visit
        .fields
        .get("entry")
        .and_then(|number| number.parse().ok());
    let entry = desk.kept.entries();
    let entry = entry.iter().find(|entry| Some(entry.number) == number);
    let Some(entry) = entry else {
        return Err(refused(
            desk,
            404,
            "this entry is not there",
            "Look at the list.",
        ));
    };
    if visit.fields.get("revisions") != Some(entry.revisions.to_string().as_str()) {
        let mend = "Look at what it says now, then change it.";
        return Err(refused(desk, 409, "this entry was changed meanwhile", mend));
    }
    let clock = desk.diary.clock();
    let memory = Vec::new();
    let change = |before: &Content| changed(visit, before, &clock);
    let done = desk
        .diary
        .write()
        .map_err(|fault| vec![fault])
        .and_then(|mut journal| journal.amend(entry.number, clock.now, &memory, change));
    match done {
        Ok(_) => Ok(there(visit, &[("entry", &entry.number.to_string())])),
        Err(faults) => {
            let is_file = faults.iter().any(|fault| fault.file.is_some());
            let status = if is_file { 500 } else { 422 };
            Err(beside(visit, status, &faults, false))
        }
    }
}

fn changed(visit: &Visit<'_>, before: &Content, clock: &Clock) -> Result<Content, Vec<Fault>> {
    let mut faults = Faults::default();
    let (mut after, told) = amended(visit, before);
    after.at = told.moment(clock, &mut faults).unwrap_or(after.at);
    told.over(&mut after, None, &mut faults);
    if faults.is_empty() {
        after.check(None, option, &mut faults);
    }
    faults.finish(Some(after))
}

/// Takes back what was done last, if it still is the last.
fn undo(desk: &Desk<'_>) -> Done {
    let visit = &desk.visit;
    let one = visit
        .fields
        .get("one")
        .and_then(|number| number.parse().ok());
    let Some(one) = one else {
        return Err(refused(desk, 422, "act", "Use the buttons of the page."));
    };
    let now = desk.diary.clock().now;
    let undone = desk
        .diary
        .write()
        .and_then(|mut journal| journal.undo(now, Some(one)))
        .map_err(|fault| beside(visit, 500, &[fault], false))?;
    match undone.as_ref().and_then(|act| act.revisions.first()) {
        Some(first) => Ok(there(visit, &[("entry", &first.number.to_string())])),
        None => {
            let mend = "Look at the list, then take back what is last now.";
            let what = "something else was noted since; nothing was taken back";
            Err(refused(desk, 409, what, mend))
        }
    }
}

/// The system that is looked at: the one that is named, else the one that was used last.
pub fn system_of<'a>(desk: &'a Desk<'_>) -> Result<Option<&'a str>, Fault> {
    match desk.visit.fields.get("system") {
        Some(named) => known(&desk.kept, named.trim()).map(Some),
        None => Ok(usual(&desk.kept).or_else(|| desk.kept.systems().next())),
    }
}

#[cfg(test)]
mod tests {
    use super::super::fields;
    use super::*;

    #[test]
    fn every_field_of_the_forms_is_known() {
        for option in [
            "--ec",
            "--litres",
            "--added x",
            "--note",
            "--at",
            "--system",
        ] {
            for is_done in [false, true] {
                let (field, _) = field_of(option, is_done);
                assert!(fields::NAMES.contains(&field.expect(option)), "{option}");
            }
        }
    }
}
