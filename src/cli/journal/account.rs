//! What the journal knows of a system since its last change-out: the readings and additions of a
//! refill, and in words what was chosen of it.

use super::meant;
use crate::store::journal::{Content, Deed, Done, Entry, Kept, Moment, Settings};
use saltwright_fertilizers::{Fault, Faults, Node, Problem};
use saltwright_recipes::Library;
use std::path::Path;

/// Readings and additions of one filling of a tank.
#[derive(Debug, Default)]
pub struct Account {
    /// The system.
    pub system: String,
    /// Readings with EC and level, as `refill` takes them.
    pub readings: Vec<Node>,
    /// Additions between them.
    pub added: Vec<Node>,
    /// Parts of the request with the number of the entry they came from.
    pub entries: Vec<(String, i64)>,
    /// What is told of the system.
    pub settings: Settings,
    /// True where stock was added.
    pub has_stock: bool,
    /// What was chosen, in words.
    pub words: Vec<String>,
}

/// Reads it; `typed` is a system's name, or nothing for the last one. `since` narrows it further.
pub fn account(
    kept: &Kept,
    typed: &str,
    since: Option<Moment>,
    library: &Library,
) -> Result<Account, Vec<Fault>> {
    let system = meant(kept, typed)?;
    let settings = kept.settings(system);
    let mut entries = kept.entries();
    entries.retain(|entry| entry.content.system == system);
    let filled = entries.iter().rposition(|entry| is_filled(&entry.content));
    let begun = filled.map(|at| (entries[at].number, entries[at].content.at));
    entries.drain(..filled.map_or(0, |at| at + 1));
    entries.retain(|entry| since.is_none_or(|since| entry.content.at >= since));
    let (whole, others): (Vec<&Entry>, Vec<&Entry>) = entries.iter().partition(|entry| {
        let reading = entry.content.reading;
        reading.ec_ms_cm.is_some() && reading.litres.is_some()
    });
    let [first, .., last] = whole.as_slice() else {
        return Err(too_few(begun));
    };
    let begin = first.content.at;
    let mut account = Account {
        system: system.to_owned(),
        words: words(system, (first, last), whole.len(), begun),
        settings,
        ..Account::default()
    };
    for entry in &whole {
        let part = format!("readings[{}]", account.readings.len());
        account.entries.push((part, entry.number));
        account.readings.push(reading(&entry.content, begin));
    }
    for entry in others.iter().filter(|entry| entry.content.at >= begin) {
        account.add(entry, begin, library);
    }
    let partial = others
        .iter()
        .filter(|entry| !entry.content.reading.is_empty());
    let partial: Vec<String> = partial.map(|entry| entry.number.to_string()).collect();
    if !partial.is_empty() {
        let list = partial.join(", ");
        account
            .words
            .push(format!("Left out, without EC or level: entry {list}."));
    }
    Ok(account)
}

impl Account {
    /// Takes over what an entry says was done.
    fn add(&mut self, entry: &Entry, begin: Moment, library: &Library) {
        for done in &entry.content.details.done {
            let part = format!("added[{}]", self.added.len());
            self.entries.push((part, entry.number));
            self.has_stock |= done.what.starts_with("stock-");
            let at = on_one_clock(entry.content.at, begin);
            let own_water = self.settings.water.as_deref();
            self.added.push(addition(done, &at, own_water, library));
        }
    }
}

/// True where a tank was emptied and filled anew.
fn is_filled(content: &Content) -> bool {
    let mut done = content.details.done.iter();
    done.any(|done| done.deed == Deed::Filled)
}

fn too_few(begun: Option<(i64, Moment)>) -> Vec<Fault> {
    let mut faults = Faults::default();
    let what = match begun {
        Some((number, at)) => format!(
            "fewer than two readings with EC and level stand in the journal since the change-out \
             of {} (entry {number})",
            at.minute()
        ),
        None => "fewer than two readings with EC and level stand in the journal".to_owned(),
    };
    let mend = "Note one more: journal add --ec 1.4 --litres 110.".to_owned();
    faults.add(None, "--system", Problem::NoAnswer { what, mend });
    faults.into_list()
}

fn words(
    system: &str,
    (first, last): (&Entry, &Entry),
    count: usize,
    begun: Option<(i64, Moment)>,
) -> Vec<String> {
    let begun = match begun {
        Some((number, at)) => format!(
            "since it was filled anew on {} (entry {number})",
            at.minute()
        ),
        None => "all there are, since no change-out stands in the journal".to_owned(),
    };
    vec![format!(
        "From the journal of {system}: {count} readings from entry {} ({}) to entry {} ({}), {begun}.",
        first.number,
        first.content.at.minute(),
        last.number,
        last.content.at.minute()
    )]
}

/// A moment on the wall clock of the first reading, so that spans are true where clocks were put
/// forward between.
fn on_one_clock(at: Moment, first: Moment) -> String {
    let offset_s = first.offset_s;
    Moment { offset_s, ..at }.iso()
}

fn reading(content: &Content, first: Moment) -> Node {
    let reading = content.reading;
    let figures = [
        ("litres", reading.litres),
        ("ec_ms_cm", reading.ec_ms_cm),
        ("ph", reading.ph),
        ("temperature_c", reading.temperature_c),
    ];
    let figures = figures.into_iter();
    let figures = figures.filter_map(|(key, figure)| Some((key, Node::number(figure?))));
    let at = Node::text(on_one_clock(content.at, first));
    Node::table([("at", at)].into_iter().chain(figures))
}

fn addition(done: &Done, at: &str, own_water: Option<&str>, library: &Library) -> Node {
    let mut node = Node::table([("at", Node::text(at))]);
    let what = done.what.as_str();
    // A file is told by its name; an entry has one word for what was poured.
    let is_own = own_water.is_some_and(|water| {
        let stem = Path::new(water).file_stem().unwrap_or_default();
        what == water || what == stem.to_string_lossy().replace(' ', "-")
    });
    match done.deed {
        Deed::Drained => node.set("what", Node::text("drained")),
        _ if is_own => node.set("what", Node::text("water")),
        _ if library.water(what).is_some() => {
            node.set("what", Node::text("water"));
            node.set("water", Node::text(what));
        }
        _ => node.set("what", Node::text(what)),
    }
    match (done.ml, done.g) {
        (Some(ml), _) if ml < 1000.0 => node.set("ml", Node::number(ml)),
        (Some(ml), _) => node.set("litres", Node::number(ml / 1000.0)),
        (None, Some(g)) => node.set("g", Node::number(g)),
        (None, None) => {}
    }
    node
}
