//! `saltwright stock ID=0.5 … --tanks 2 --ratio 100`: from a mix to stock tanks that stay clear.

use super::answer::{ask, keep_all, mismatch};
use super::input::{Common, optional};
use super::journal::add::Mixed;
use super::journal::batch::of_stocks;
use super::origins::Origins;
use super::ranges::Ranges;
use super::typed::{quantity, volume};
use super::{Ending, Stop, mixes};
use crate::store::folder::Folder;
use crate::view::{csv, stock, text, weigh};
use saltwright_fertilizers::units::{parse_celsius, parse_mass, parse_number, parse_ratio};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use saltwright_solver::stock::StockReport;
use std::io::Write;
use std::path::{Path, PathBuf};

/// What `--out` does here.
const OUT: &str = "Write the tanks to this CSV file, and the sheet by the scale beside it";
/// Why `--tank` is not taken here.
const NO_TANK: &str = "amounts are per litre of finished solution here, so --tank says nothing; \
    the volume of the stock tanks is --stock \"20 L\"";

/// Options of `stock`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
#[command(mut_arg("tank", |arg| arg.hide(true)), mut_arg("units", |arg| arg.hide(true)))]
#[command(mut_arg("out", |arg| arg.help(OUT)))]
pub struct Args {
    /// What goes into a litre of finished solution: urea=0.5 id=12mL
    #[arg(value_name = "ID=AMOUNT")]
    mix: Vec<String>,
    /// A mix from a file (CSV, or the JSON of formulate)
    #[arg(long = "mix", value_name = "FILE")]
    mix_file: Option<PathBuf>,
    /// Tanks beside those for acid and base, 1 to 4 (2 where left out)
    #[arg(long, value_name = "COUNT")]
    tanks: Option<String>,
    /// Dilution, like 1:100; the largest that stays clear where left out
    #[arg(long)]
    ratio: Option<String>,
    /// Coldest and hottest store, like 5..25 or "41..77 F" (10..30)
    #[arg(long, value_name = "COLD..HOT", allow_hyphen_values = true)]
    store: Option<String>,
    /// How far every index must stay below saturation (0.10)
    #[arg(long, value_name = "INDEX")]
    margin: Option<String>,
    /// Volume of each stock tank, like 20L, or one for each: 20L,10L
    #[arg(long = "stock", value_name = "VOLUME", value_delimiter = ',')]
    #[arg(allow_hyphen_values = true)]
    stock_tanks: Vec<String>,
    /// What the scale reads to, like 0.1 or 1g
    #[arg(long, value_name = "GRAMS")]
    scale: Option<String>,
    /// Let acids share a tank where that stays clear
    #[arg(long)]
    acid_joins: bool,
    /// What was weighed instead, like potassium-nitrate=250g or B:id=12g
    #[arg(long, value_name = "ID=GRAMS")]
    weighed: Vec<String>,
    #[command(flatten)]
    ranges: Ranges,
    /// Print the sheet to tick by the scale
    #[arg(long)]
    weigh: bool,
    /// Print labels for tanks and lids
    #[arg(long)]
    labels: bool,
    /// Name of the batch, for the sheet and the labels
    #[arg(
        long,
        value_name = "NAME",
        default_value = "",
        hide_default_value = true
    )]
    batch: String,
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    mixed: Mixed,
}

/// Runs it.
pub fn run(
    args: &Args,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let (common, mut faults) = (&args.common, Faults::default());
    if common.tank.is_some() {
        return Err(Stop::Usage(NO_TANK.into()));
    }
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("stock"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    common.water(&mut request, library, &mut origins, &mut faults);
    let mut lines = mixes::typed(&args.mix, "mix", None, &known, &mut faults);
    if let Some(path) = &args.mix_file {
        lines.extend(mixes::from_file(path, None, &known, &mut faults));
    }
    request.set("mix", Value::List(lines).into());
    args.fill(&mut request, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, common.json, out)?;
    let Report::Stock(report) = answer else {
        return mismatch();
    };
    if !common.json {
        args.show(&report, &|id| known.dangers(id), out)?;
    }
    if let Some(path) = &common.out {
        keep(path, &report, common.json, out)?;
    }
    let batch = || of_stocks(&report, request.get("mix"));
    args.mixed.note(folder, batch, common.json, out)?;
    let clear = report.ratio.is_some() && report.tanks.iter().all(|tank| tank.clear != Some(false));
    Ok(if clear {
        Ending::Within
    } else {
        Ending::Outside
    })
}

impl Args {
    /// Adds everything but the mix, its water and its fertilizers to a request.
    fn fill(&self, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let grams = |text: &str| parse_mass(text).map(|grams| grams.0);
        let entries = [
            (
                "tanks",
                optional(self.tanks.as_ref(), "--tanks", parse_number, faults),
            ),
            (
                "ratio",
                optional(self.ratio.as_ref(), "--ratio", parse_ratio, faults),
            ),
            (
                "margin_index",
                optional(self.margin.as_ref(), "--margin", parse_number, faults),
            ),
            (
                "scale_g",
                optional(self.scale.as_ref(), "--scale", grams, faults),
            ),
            (
                "acid_tank",
                self.acid_joins.then(|| Value::Bool(false).into()),
            ),
        ];
        for (key, node) in entries
            .into_iter()
            .filter_map(|(key, node)| Some((key, node?)))
        {
            request.set(key, node);
        }
        self.ranges.fill(request, origins, faults);
        if let Some(store) = &self.store {
            set_store(store, request, faults);
        }
        let litres: Vec<Node> = self
            .stock_tanks
            .iter()
            .filter_map(|typed| volume(typed, "--stock", faults))
            .map(|litres| Node::number(litres.0))
            .collect();
        if !litres.is_empty() {
            request.set("tank_litres", Value::List(litres).into());
        }
        let weighed = mixes::weighed(&self.weighed, "--weighed", faults);
        for (at, (name, _)) in weighed.iter().enumerate() {
            origins.option(format!("already[{at}]"), format!("--weighed {name}"));
        }
        origins.option("already", "--weighed");
        if !weighed.is_empty() {
            let entries = weighed.into_iter().map(|(_, entry)| entry).collect();
            request.set("already", Value::List(entries).into());
        }
        if (self.weigh || self.labels) && self.stock_tanks.is_empty() && faults.is_empty() {
            let what = "the volume of the stock tanks";
            let mend = "Say it: --stock \"20 L\".";
            faults.add(None, "--stock", Problem::Empty { what, mend });
        }
    }

    fn show(
        &self,
        report: &StockReport,
        dangers: &dyn Fn(&str) -> Vec<saltwright_fertilizers::Hazard>,
        out: &mut dyn Write,
    ) -> Result<(), Stop> {
        let show = self.ranges.show(self.common.show());
        let scale = self
            .scale
            .as_ref()
            .and_then(|typed| parse_mass(typed).ok())
            .map(|g| g.0);
        let mut sheets = Vec::new();
        if self.weigh {
            sheets.push(weigh::sheet(report, show, &self.batch, scale));
        }
        if self.labels {
            sheets.push(weigh::labels(report, show.measure, &self.batch, dangers));
        }
        if sheets.is_empty() {
            sheets.push(stock::sheet(report, show, dangers));
        }
        for (at, sheet) in sheets.iter().enumerate() {
            if at > 0 {
                writeln!(out)?;
            }
            write!(out, "{}", text::render(sheet))?;
        }
        Ok(())
    }
}

/// `5..25` or `41..77 F` as the coldest and hottest store.
fn set_store(store: &str, request: &mut Node, faults: &mut Faults) {
    // "41..77 F": the unit behind the second holds for both.
    let (cold, hot) = store.split_once("..").unwrap_or((store, store));
    let is_fahrenheit = hot.trim().to_lowercase().ends_with('f');
    let lacks_unit = cold.trim().ends_with(|c: char| c.is_ascii_digit());
    let cold = if is_fahrenheit && lacks_unit {
        format!("{cold} F")
    } else {
        cold.to_owned()
    };
    for (key, typed) in [("coldest_c", cold.as_str()), ("hottest_c", hot)] {
        if let Some(number) = quantity(
            typed,
            "--store",
            |text| parse_celsius(text).map(|c| c.0),
            faults,
        ) {
            request.set(key, Node::number(number));
        }
    }
}

/// Writes the tanks to a file, beside it the sheet by the scale and, with ranges, what they come to.
fn keep(path: &Path, report: &StockReport, json: bool, out: &mut dyn Write) -> Result<(), Stop> {
    let mut files = vec![("", "the tanks", csv::tanks(&report.tanks))];
    if !report.order.is_empty() {
        files.push((
            "-weigh",
            "the sheet by the scale",
            csv::order(&report.order),
        ));
    }
    if let Some(finished) = &report.finished {
        let nutrients = csv::predicted_nutrients(&finished.nutrients);
        files.push(("-nutrients", "the nutrients", nutrients));
    }
    keep_all(path, &files, json, out)
}
