//! `saltwright man FOLDER`: a manual page for every command, and one of all help topics.
//!
//! The pages come from the command line itself and from the texts of `help`; nothing is written
//! twice.

use super::{Ending, Stop, help};
use crate::store::files::{make, write_text};
use clap::Command;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};
use std::io::Write;
use std::path::PathBuf;

/// Name of the page that holds the help topics.
const TOPICS: &str = "saltwright-topics";
/// What the head of every page says.
const MANUAL: &str = "Saltwright";
/// Section of the manual for commands.
const COMMANDS_SECTION: &str = "1";
/// Section of the manual for conventions and explanations.
const TOPICS_SECTION: &str = "7";

/// Options of `man`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Where man1 and man7 go, such as ~/.local/share/man
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

/// Runs it; `whole` is the whole command line.
pub fn run(args: &Args, mut whole: Command, out: &mut dyn Write) -> Result<Ending, Stop> {
    whole.build();
    let mut pages = Vec::new();
    commands(&whole, &mut pages)?;
    pages.push((format!("{TOPICS}.{TOPICS_SECTION}"), topics(&whole)));
    for (name, page) in &pages {
        let section = name.rsplit('.').next().unwrap_or(COMMANDS_SECTION);
        let folder = args.folder.join(format!("man{section}"));
        make(&folder)?;
        write_text(&folder.join(name), page)?;
    }
    let (count, folder) = (pages.len(), args.folder.display());
    writeln!(out, "Wrote {count} manual pages to {folder}")?;
    writeln!(out, "Read one: man -M {folder} saltwright")?;
    Ok(Ending::Within)
}

/// The pages of a command and of all commands below it, by file name.
fn commands(command: &Command, pages: &mut Vec<(String, String)>) -> Result<(), Stop> {
    for below in command.get_subcommands().filter(|it| !it.is_hide_set()) {
        commands(below, pages)?;
    }
    let man = Man::new(command.clone())
        .section(COMMANDS_SECTION)
        .source(source())
        .manual(MANUAL);
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut page)?;
    }
    let mut end = Roff::new();
    end.control("SH", ["EXIT STATUS"]);
    verbatim(&mut end, help::EXIT);
    end.control("SH", ["SEE ALSO"]);
    end.text([roman(format!(
        "saltwright({COMMANDS_SECTION}), {TOPICS}({TOPICS_SECTION})"
    ))]);
    end.to_writer(&mut page)?;
    pages.push((
        man.get_filename(),
        String::from_utf8_lossy(&page).into_owned(),
    ));
    Ok(())
}

/// The page of all help topics.
fn topics(whole: &Command) -> String {
    let mut page = Roff::new();
    let title = [TOPICS, TOPICS_SECTION, "", &source(), MANUAL];
    page.control("TH", title);
    page.control("SH", ["NAME"]);
    page.text([roman(format!("{TOPICS} - what a grower wants to look up"))]);
    for (name, text) in help::topics() {
        page.control("SH", [name.to_uppercase().as_str()]);
        verbatim(&mut page, text);
    }
    page.control("SH", ["SEE ALSO"]);
    let commands = whole.get_subcommands().filter(|it| !it.is_hide_set());
    let commands: Vec<String> = commands
        .map(|it| format!("saltwright-{}({COMMANDS_SECTION})", it.get_name()))
        .collect();
    page.text([roman(commands.join(", "))]);
    page.render()
}

/// Lines as they are, not run together; from the edge, where 80 columns fit.
fn verbatim(page: &mut Roff, text: &str) {
    page.control("in", ["0"]);
    page.control("nf", []);
    for line in text.lines() {
        page.text([roman(line)]);
    }
    page.control("fi", []);
    page.control("in", []);
}

/// What the foot of a page says: program and version.
fn source() -> String {
    format!("saltwright {}", env!("CARGO_PKG_VERSION"))
}
