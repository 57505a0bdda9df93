//! `saltwright refill RECIPE --readings FILE`: what the plants took, what to fill up with, when to
//! change.

use super::answer::{ask, mismatch};
use super::input::{Common, Waters};
use super::journal::account::{Account, account};
use super::journal::say;
use super::named::Named;
use super::origins::Origins;
use super::typed::{pairs, quantity};
use super::{Ending, Stop, stocks};
use crate::store::files::read_text;
use crate::store::folder::Folder;
use crate::store::journal::{Clock, Kept};
use crate::view::{refill, text};
use saltwright_fertilizers::grid::Grid;
use saltwright_fertilizers::units::{Amount, parse_amount, parse_number};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Columns of a file of readings; a row that names what was added is no reading.
const COLUMNS: [&str; 12] = [
    "at",
    "litres",
    "ec_ms_cm",
    "ppm",
    "scale",
    "cf",
    "ph",
    "temperature_c",
    "added",
    "amount",
    "water",
    "note",
];

/// Options of `refill`.
#[derive(Clone, Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A shipped name (see `saltwright list recipes`) or a file (.toml)
    recipe: Option<String>,
    /// Readings and what was added between them (CSV; see help refills)
    #[arg(long, value_name = "FILE")]
    readings: Option<PathBuf>,
    /// Take readings, recipe and water from the journal
    #[arg(long, value_name = "NAME", num_args = 0..=1, default_missing_value = "")]
    #[arg(conflicts_with = "readings")]
    system: Option<String>,
    /// Of the journal only from this time on, like "2026-03-02 08:00"
    #[arg(long, value_name = "WHEN", requires = "system")]
    since: Option<String>,
    /// Stocks that were added: a file as `correct --stock` takes it
    #[arg(long, value_name = "FILE")]
    stock: Option<PathBuf>,
    /// A laboratory's figures at the last reading (.toml, like a water)
    #[arg(long, value_name = "FILE")]
    analysis: Option<String>,
    /// A limit in place of a published one, mg/L, like Na=115
    #[arg(long, value_name = "NUTRIENT=MG_L")]
    limit: Vec<String>,
    /// List that fills in micronutrients the recipe lacks
    #[arg(long, value_name = "RECIPE")]
    micros: Option<String>,
    #[command(flatten)]
    waters: Waters,
    /// Volume of top-up to weigh for, like "20 L"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    fertilizers: Option<PathBuf>,
    /// Ounces, fluid ounces, gallons
    #[arg(long)]
    gallons: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(
    args: &Args,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let Some(system) = &args.system else {
        return answer(args, None, library, out);
    };
    let kept = Kept::sound(&folder.journal())?;
    let clock = Clock::system();
    let mut faults = Faults::default();
    let since = args.since.as_deref();
    let since = since.and_then(|text| quantity(text, "--since", |t| clock.read(t), &mut faults));
    faults.finish(Some(()))?;
    let account = account(&kept, system, since, library)?;
    if !args.json {
        for words in &account.words {
            say(out, words)?;
        }
        writeln!(out)?;
    }
    answer(&args.filled(&account), Some(&account), library, out)
}

/// Asks, and shows the answer; the readings of a file, or those of the journal.
fn answer(
    args: &Args,
    account: Option<&Account>,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let (common, mut faults) = (args.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("refill"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    if let Some(recipe) = &args.recipe {
        Named::recipe(library).fill(&mut request, "recipe", recipe, &mut origins, &mut faults);
    }
    common.water(&mut request, library, &mut origins, &mut faults);
    if let Some(path) = &args.readings {
        let name = path.display().to_string();
        if let Some([readings, added]) = read(path, &name, &mut faults) {
            request.set("readings", readings);
            request.set("added", added);
        }
        origins.file("readings", &name);
        origins.file("added", &name);
    }
    if let Some(account) = account {
        request.set("readings", Value::List(account.readings.clone()).into());
        request.set("added", Value::List(account.added.clone()).into());
        for (part, entry) in &account.entries {
            origins.option(part, format!("entry {entry} of the journal"));
        }
    }
    if let Some(path) = &args.stock {
        stocks::fill(&mut request, path, &known, &mut origins, &mut faults);
    }
    if let Some(typed) = &args.analysis {
        Named::water(library).fill(&mut request, "analysis", typed, &mut origins, &mut faults);
    }
    if let Some(micros) = &args.micros {
        request.set("micros", Node::text(micros));
    }
    let limits = pairs(&args.limit, "--limit", parse_number, &mut faults);
    origins.option("limits", "--limit");
    if !limits.is_empty() {
        request.set("limits", Node::table(limits));
    }
    let litres = common.litres(&mut faults).map(|litres| litres.0);
    let answer = ask((&request, faults), &origins, library, args.json, out)?;
    let Report::Refill(report) = answer else {
        return mismatch();
    };
    if !args.json {
        let sheet = refill::sheet(&report, common.show(), litres, &|id| known.dangers(id));
        write!(out, "{}", text::render(&sheet))?;
    }
    Ok(if report.change_out.in_days == Some(0.0) {
        Ending::Outside
    } else {
        Ending::Within
    })
}

impl Args {
    /// What is not typed, from the journal.
    fn filled(&self, account: &Account) -> Self {
        let or = |typed: &Option<String>, known: &Option<String>| typed.clone().or(known.clone());
        let told = &account.settings;
        let stock = || told.stock.as_ref().map(PathBuf::from);
        Self {
            recipe: or(&self.recipe, &told.recipe),
            waters: self.waters.or(told.water.clone()),
            // A file that is gone matters only where something of it was added.
            stock: self
                .stock
                .clone()
                .or_else(|| stock().filter(|_| account.has_stock)),
            ..self.clone()
        }
    }

    /// The options that this command shares with others.
    fn common(&self) -> Common {
        Common {
            waters: self.waters.clone(),
            tank: self.tank.clone(),
            fertilizers: self.fertilizers.clone(),
            gallons: self.gallons,
            json: self.json,
            ..Common::default()
        }
    }
}

/// The readings and the additions of a file.
fn read(path: &Path, name: &str, faults: &mut Faults) -> Option<[Node; 2]> {
    let text = read_text(path)
        .map_err(|fault| faults.extend([fault]))
        .ok()?;
    from_text(name, &text, faults)
}

/// The readings and the additions of a text.
pub fn from_text(name: &str, text: &str, faults: &mut Faults) -> Option<[Node; 2]> {
    let mut in_file = Faults::in_file(name);
    let grid = Grid::read(text, &COLUMNS, &mut in_file);
    let (mut readings, mut added) = (Vec::new(), Vec::new());
    for row in grid.iter().flat_map(Grid::rows) {
        let grid = grid.as_ref()?;
        let line = Some(row.line);
        let mut entries: Vec<(String, Node)> = Vec::new();
        for (key, cell) in grid.entries(row) {
            match (key, &cell.value) {
                ("note", _) => {}
                ("added", Value::Text(what)) => {
                    entries.push(("what".into(), Node::text(what.trim())));
                }
                ("amount", Value::Text(typed)) => match parse_amount(typed) {
                    Ok(Amount::Volume(ml)) => {
                        entries.push(("litres".into(), Node::number(ml.0 / 1000.0)));
                    }
                    Ok(Amount::Mass(grams)) => {
                        entries.push(("g".into(), Node::number(grams.0)));
                    }
                    Err(problem) => in_file.add(line, "amount", problem),
                },
                ("amount", _) => {
                    let reason = "an amount without its unit".to_owned();
                    let mend = "Write it like 5 L, 9 mL or 12 g.";
                    in_file.add(line, "amount", Problem::Unreadable { reason, mend });
                }
                _ => entries.push((key.to_owned(), cell)),
            }
        }
        let is_added = entries.iter().any(|(key, _)| key == "what");
        let value = Value::Table(entries);
        let list = if is_added { &mut added } else { &mut readings };
        list.push(Node { line, value });
    }
    let sound = in_file.is_empty();
    faults.extend(in_file.into_list());
    sound.then(|| [Value::List(readings).into(), Value::List(added).into()])
}
