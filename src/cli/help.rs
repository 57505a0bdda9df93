//! `saltwright help TOPIC`: what a grower wants to look up without leaving the terminal.

use super::{Ending, Stop, trade};
use crate::view::text::{WIDTH, wrap};
use saltwright_fertilizers::fault::nearest;
use std::io::Write;

/// Options of `help`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A topic or a command; what there is where left out
    topic: Option<String>,
}

/// Topics about this program and its files.
const TOPICS: &[(&str, &str)] = &[
    ("recipes", include_str!("help/recipes.txt")),
    ("waters", include_str!("help/waters.txt")),
    ("fertilizers", include_str!("help/fertilizers.txt")),
    ("prices", include_str!("help/prices.txt")),
    ("swaps", include_str!("help/swaps.txt")),
    ("purchases", include_str!("help/purchases.txt")),
    ("mixes", include_str!("help/mixes.txt")),
    ("labels", include_str!("help/labels.txt")),
    ("units", include_str!("help/units.txt")),
    ("ec", include_str!("help/ec.txt")),
    ("ph", include_str!("help/ph.txt")),
    ("ranges", include_str!("help/ranges.txt")),
    ("stocks", include_str!("help/stocks.txt")),
    ("reservoir", include_str!("help/reservoir.txt")),
    ("refills", include_str!("help/refills.txt")),
    ("meters", include_str!("help/meters.txt")),
    ("journal", include_str!("help/journal.txt")),
    ("folder", include_str!("help/folder.txt")),
    ("proof", include_str!("help/proof.txt")),
    ("json", include_str!("help/json.txt")),
    ("page", include_str!("help/page.txt")),
    ("shell", include_str!("help/shell.txt")),
    ("exit", EXIT),
];

/// Every topic and its text: the program first, then the trade.
pub fn topics() -> impl Iterator<Item = (&'static str, &'static str)> {
    TOPICS.iter().chain(trade::TOPICS).copied()
}

const SHORT: &str = include_str!("help/short.txt");

/// Exit codes.
pub const EXIT: &str = include_str!("help/exit.txt");

/// What there is, in a few lines.
pub fn short(out: &mut dyn Write) -> Result<Ending, Stop> {
    let topics: Vec<&str> = topics().map(|(name, _)| name).collect();
    let explains = format!("saltwright help TOPIC explains: {}", topics.join(" "));
    write!(out, "{SHORT}")?;
    for line in wrap(&explains, WIDTH) {
        writeln!(out, "{line}")?;
    }
    Ok(Ending::Within)
}

/// Every topic and every command, by name.
pub fn names(whole: &clap::Command) -> Vec<&str> {
    let commands = whole.get_subcommands().map(clap::Command::get_name);
    let topics = topics().map(|(name, _)| name);
    topics.chain(commands).collect()
}

/// Runs it; `whole` is the whole command line.
pub fn run(args: &Args, whole: &mut clap::Command, out: &mut dyn Write) -> Result<Ending, Stop> {
    let Some(topic) = args.topic.as_deref() else {
        return short(out);
    };
    if let Some((_, text)) = topics().find(|(name, _)| *name == topic) {
        write!(out, "{text}")?;
        return Ok(Ending::Within);
    }
    // Built, so that usages name the whole command.
    whole.build();
    if let Some(command) = whole.find_subcommand_mut(topic) {
        write!(out, "{}", command.render_help())?;
        return Ok(Ending::Within);
    }
    let names = names(whole);
    let mend = match nearest(topic, names.iter().copied()) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None => format!("Topics: {}.", names.join(" ")),
    };
    Err(Stop::Usage(format!(
        "there is no topic called \"{topic}\". {mend}"
    )))
}
