//! `saltwright completions SHELL`: a script that lets a shell complete commands, options and names.
//!
//! What is completed follows the command line itself: what takes a RECIPE anywhere is offered the
//! shipped recipes. A command that is added is completed without a line here.

use super::{Ending, Stop, help};
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Arg, Command, ValueHint};
use clap_complete::{Shell, generate};
use saltwright_recipes::Library;
use std::io::Write;

/// How the ids of lists of micronutrients begin.
const MICROS: &str = "micros-";

/// Options of `completions`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// bash, zsh, fish, powershell or elvish
    #[arg(value_enum, hide_possible_values = true)]
    shell: Shell,
}

/// Runs it; `whole` is the whole command line.
pub fn run(
    args: &Args,
    whole: Command,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let names = Names::new(&whole, library);
    let mut whole = completed(whole, &names);
    let mut script = Vec::new();
    generate(args.shell, &mut whole, "saltwright", &mut script);
    out.write_all(&script)?;
    if args.shell == Shell::Fish {
        fish_positionals(&whole, out)?;
    }
    Ok(Ending::Within)
}

/// What the generated script for fish leaves out: names that stand without an option.
fn fish_positionals(whole: &Command, out: &mut dyn Write) -> std::io::Result<()> {
    for command in whole.get_subcommands() {
        let when = format!("__fish_saltwright_using_subcommand {}", command.get_name());
        for value in command.get_positionals().flat_map(Arg::get_possible_values) {
            let name = value.get_name();
            let told = value.get_help().map(ToString::to_string);
            let told = told.unwrap_or_default();
            let told = told.replace('\\', "\\\\").replace('\'', "\\'");
            writeln!(
                out,
                "complete -c saltwright -n \"{when}\" -a {name} -d '{told}'"
            )?;
        }
    }
    Ok(())
}

/// Shipped names, each with the words that a shell may show beside it.
struct Names {
    recipes: Vec<PossibleValue>,
    micros: Vec<PossibleValue>,
    waters: Vec<PossibleValue>,
    fertilizers: Vec<PossibleValue>,
    topics: Vec<PossibleValue>,
}

impl Names {
    fn new(whole: &Command, library: &Library) -> Self {
        let named = |id: &str, name: &str| PossibleValue::new(id.to_owned()).help(name.to_owned());
        let recipes = library.recipes.iter();
        let recipes = recipes.map(|it| named(&it.id, &it.name));
        let waters = library.waters.iter();
        let fertilizers = library.fertilizers.iter();
        let (micros, recipes) = recipes.partition(|it| it.get_name().starts_with(MICROS));
        Self {
            recipes,
            micros,
            waters: waters.map(|it| named(&it.id, &it.name)).collect(),
            fertilizers: fertilizers.map(|it| named(&it.id, &it.name)).collect(),
            topics: help::names(whole)
                .into_iter()
                .map(|topic| PossibleValue::new(topic.to_owned()))
                .collect(),
        }
    }

    /// What is offered for a value, by the name that usages give it.
    fn of(&self, value: &str) -> Option<&[PossibleValue]> {
        match value {
            "RECIPE" => Some(&self.recipes),
            "LIST" => Some(&self.micros),
            "WATER" => Some(&self.waters),
            "ID" | "ID,ID" => Some(&self.fertilizers),
            "TOPIC" => Some(&self.topics),
            _ => None,
        }
    }
}

/// The command line, with what may stand for each value.
fn completed(command: Command, names: &Names) -> Command {
    command
        .mut_args(|arg| offered(arg, names))
        .mut_subcommands(|command| completed(command, names))
}

fn offered(arg: Arg, names: &Names) -> Arg {
    let Some([value]) = arg.get_value_names() else {
        return arg;
    };
    if let Some(known) = names.of(value) {
        return arg.value_parser(PossibleValuesParser::new(known.to_vec()));
    }
    match value.as_str() {
        "FILE" | "LABEL" => arg.value_hint(ValueHint::FilePath),
        "FOLDER" => arg.value_hint(ValueHint::DirPath),
        _ => arg,
    }
}
