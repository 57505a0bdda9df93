//! `saltwright correct RECIPE --reading 1.6 --ph 6.8 …`: from what the meters show to what to do.

use super::answer::{ask, keep_all, mismatched};
use super::input::{Common, optional};
use super::journal::last::{Last, last};
use super::journal::say;
use super::meter::strength;
use super::named::Named;
use super::origins::Origins;
use super::ranges::Ranges;
use super::typed::{pair, quantity, volume};
use super::{Ending, Stop, stocks};
use crate::store::folder::Folder;
use crate::store::journal::Kept;
use crate::view::{correct, csv, round, text};
use saltwright_fertilizers::units::{
    Amount, parse_amount, parse_celsius, parse_ec, parse_number, parse_ratio, parse_shown,
};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use saltwright_solver::reservoir::CorrectReport;
use saltwright_solver::reservoir::correct::report::Do;
use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `correct`.
#[derive(Clone, Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A shipped name (see `saltwright list recipes`) or a file (.toml)
    recipe: Option<String>,
    /// Take what is not typed from the journal: last reading, recipe, tank
    #[arg(long, value_name = "NAME", num_args = 0..=1, default_missing_value = "")]
    system: Option<String>,
    /// What the EC meter or TDS pen shows, like 1.6, "16 CF", "650 ppm@500"
    #[arg(long, value_name = "SHOWN", allow_hyphen_values = true)]
    reading: Option<String>,
    /// What the pH meter shows
    #[arg(long)]
    ph: Option<String>,
    /// Temperature of the solution, like 19 or "66 F"
    #[arg(long)]
    temperature: Option<String>,
    /// What is in the tank, like 95L or "25 gal"; full where left out
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    level: Option<String>,
    /// What the tank takes, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Level to fill it to; as little as will do where left out
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    fill: Option<String>,
    /// Stocks: what `stock` printed with --json or wrote with --out
    #[arg(long, value_name = "FILE")]
    stock: Option<PathBuf>,
    /// Dilution of the stocks, like 1:100, where the file does not say it
    #[arg(long)]
    ratio: Option<String>,
    /// Acid at hand, an id; or none
    #[arg(long, value_name = "ID")]
    acid: Option<String>,
    /// Base at hand, an id; or none
    #[arg(long, value_name = "ID")]
    base: Option<String>,
    /// A bottle of unknown strength: what it did, like 5mL/100L=7.0..6.6
    #[arg(long, value_name = "ML/VOLUME=PH..PH")]
    bottle: Vec<String>,
    /// A laboratory's figures of the tank (.toml, like a water)
    #[arg(long, value_name = "FILE")]
    analysis: Option<String>,
    /// EC to come to, instead of the recipe's
    #[arg(long, value_name = "EC")]
    ec: Option<String>,
    /// pH to come to, instead of the recipe's, like 5.6..6.2
    #[arg(long, value_name = "LOW..HIGH")]
    ph_band: Option<String>,
    /// List that fills in micronutrients the recipe lacks
    #[arg(long, value_name = "RECIPE")]
    micros: Option<String>,
    /// Water: a shipped name or a file (.toml); pure water where left out
    #[arg(long, value_name = "WATER")]
    water: Option<String>,
    /// Part of a blend, like rain-barrel=0.6; repeat for each water
    #[arg(long, value_name = "WATER=SHARE", conflicts_with = "water")]
    blend: Vec<String>,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    fertilizers: Option<PathBuf>,
    /// Ounces, fluid ounces, gallons, °F
    #[arg(long)]
    gallons: bool,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
    /// What the tank holds of each nutrient, now and after
    #[arg(long)]
    detail: bool,
    #[command(flatten)]
    ranges: Ranges,
    /// Write the steps to a CSV file and what the tank holds beside it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Runs it.
pub fn run(
    args: &Args,
    folder: &Folder,
    library: &Library,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let Some(system) = &args.system else {
        return answer(args, library, out).map(|(ending, _)| ending);
    };
    let last = last(&Kept::sound(&folder.journal())?, system)?;
    if !args.json {
        say(
            out,
            &format!(
                "From entry {} of the journal: {}",
                last.entry.number, last.words
            ),
        )?;
        for done in &last.since {
            say(
                out,
                &format!("! Since then, {done}. Read the meters again first."),
            )?;
        }
        writeln!(out)?;
    }
    let (ending, report) = answer(&args.filled(&last), library, out)?;
    if !args.json && !report.steps.is_empty() {
        writeln!(
            out,
            "\nOnce it is done, note it:\n  {}",
            to_note(&last, &report)
        )?;
    }
    Ok(ending)
}

/// Asks, and shows the answer.
fn answer(
    args: &Args,
    library: &Library,
    out: &mut dyn Write,
) -> Result<(Ending, Box<CorrectReport>), Stop> {
    let (common, mut faults) = (args.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("correct"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    if let Some(recipe) = &args.recipe {
        let recipe = Named::recipe(library).node(recipe, "recipe", &mut origins, &mut faults);
        request.set("recipe", recipe.unwrap_or_else(|| Value::Null.into()));
    }
    common.water(&mut request, library, &mut origins, &mut faults);
    if let Some(path) = &args.stock
        && let Some(stocks) = stocks::from_file(path, &known, &mut faults)
    {
        origins.file("stock", &path.display().to_string());
        request.set("stock", stocks);
    }
    args.fill(&mut request, library, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, args.json, out)?;
    let Report::Correct(report) = answer else {
        return Err(mismatched());
    };
    if !args.json {
        let sheet = correct::sheet(&report, args.ranges.show(common.show()), &|id| {
            known.dangers(id)
        });
        write!(out, "{}", text::render(&sheet))?;
    }
    if let Some(path) = &args.out {
        let files = [
            ("", "the steps", csv::correction(&report.steps)),
            (
                "-nutrients",
                "the nutrients",
                csv::corrected_nutrients(&report.nutrients),
            ),
        ];
        keep_all(path, &files, args.json, out)?;
    }
    let ending = if report.in_band {
        Ending::Within
    } else {
        Ending::Outside
    };
    Ok((ending, report))
}

/// The command that notes the steps of a correction.
fn to_note(last: &Last, report: &CorrectReport) -> String {
    let water = last.settings.water.as_deref();
    // A file is told by its name; an entry has one word for what was poured.
    let water = water.and_then(|water| Path::new(water).file_stem()?.to_str());
    let mut line = format!("saltwright journal add --system \"{}\"", last.system);
    let mut note = |option: &str, of: &str, amount: f64, unit: &str| {
        let amount = round::plain(amount);
        // Writing to a text does not fail.
        let _ = write!(line, " \\\n      {option} {of}{amount}{unit}");
    };
    for step in &report.steps {
        let what = match step.what {
            Do::Drain => String::new(),
            Do::Wait => continue,
            Do::AddWater => water.unwrap_or("water").to_owned(),
            Do::AddStock => format!("stock-{}", step.tank.as_deref().unwrap_or_default()),
            Do::AddAcid | Do::AddBase => step.id.clone().unwrap_or_default(),
        };
        let amount = [(step.litres, "L"), (step.ml, "mL"), (step.g, "g")];
        let amount = amount
            .into_iter()
            .find_map(|(amount, unit)| Some((amount?, unit)));
        let Some((amount, unit)) = amount else {
            continue;
        };
        if what.is_empty() {
            note("--drained", "", amount, unit);
        } else {
            note(
                "--added",
                &format!("{}=", what.replace(' ', "-")),
                amount,
                unit,
            );
        }
    }
    line
}

impl Args {
    /// What is not typed, from the journal.
    fn filled(&self, last: &Last) -> Self {
        let or = |typed: &Option<String>, known: Option<String>| typed.clone().or(known);
        let told = &last.settings;
        let read = last.entry.content.reading;
        let text = |value: Option<f64>| value.map(|value| value.to_string());
        let litres = |value: Option<f64>| value.map(|value| format!("{value} L"));
        let band = told.ph.map(|[low, high]| format!("{low}..{high}"));
        let blended = !self.blend.is_empty();
        Self {
            recipe: or(&self.recipe, told.recipe.clone()),
            reading: or(&self.reading, text(read.ec_ms_cm)),
            ph: or(&self.ph, text(read.ph)),
            temperature: or(&self.temperature, text(read.temperature_c)),
            level: or(&self.level, litres(read.litres)),
            tank: or(&self.tank, litres(told.capacity_l)),
            stock: self
                .stock
                .clone()
                .or_else(|| told.stock.as_ref().map(PathBuf::from)),
            acid: or(&self.acid, told.acid.clone()),
            base: or(&self.base, told.base.clone()),
            ph_band: or(&self.ph_band, band),
            water: or(&self.water, told.water.clone().filter(|_| !blended)),
            ..self.clone()
        }
    }

    /// The options that this command shares with others.
    fn common(&self) -> Common {
        Common {
            water: self.water.clone(),
            blend: self.blend.clone(),
            fertilizers: self.fertilizers.clone(),
            gallons: self.gallons,
            json: self.json,
            detail: self.detail,
            ..Common::default()
        }
    }

    /// Adds the reading, the level and what is at hand.
    fn fill(
        &self,
        request: &mut Node,
        library: &Library,
        origins: &mut Origins,
        faults: &mut Faults,
    ) {
        let litres = |typed: Option<&String>, option, faults: &mut Faults| {
            volume(typed?, option, faults).map(|litres| Node::number(litres.0))
        };
        let capacity = litres(self.tank.as_ref(), "--tank", faults);
        let level = litres(self.level.as_ref(), "--level", faults).or_else(|| capacity.clone());
        let fill = litres(self.fill.as_ref(), "--fill", faults);
        origins.option("litres", "--level");
        origins.option("ph", "--ph-band");
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let aim = optional(self.ec.as_ref(), "--ec", ec, faults);
        let entries = [
            ("capacity_l", capacity),
            ("litres", level),
            ("fill_to_l", fill),
            ("ec_ms_cm", aim),
            ("micros", self.micros.as_ref().map(Node::text)),
        ];
        for (key, node) in entries {
            if let Some(node) = node {
                request.set(key, node);
            }
        }
        request.set("reading", self.read_meters(faults));
        self.ranges.fill(request, origins, faults);
        if let Some(band) = self
            .ph_band
            .as_ref()
            .and_then(|typed| band(typed, "--ph-band", faults))
        {
            request.set("ph", band);
        }
        self.remedies(request, faults);
        if let Some(typed) = &self.ratio
            && let Some(ratio) = quantity(typed, "--ratio", parse_ratio, faults)
            && let Some(mut stock) = request.get("stock").cloned()
        {
            stock.set("ratio", Node::number(ratio));
            request.set("stock", stock);
        }
        if let Some(typed) = &self.analysis {
            let analysis = Named::water(library).node(typed, "analysis", origins, faults);
            request.set("analysis", analysis.unwrap_or_else(|| Value::Null.into()));
        }
    }

    /// What the meters show.
    fn read_meters(&self, faults: &mut Faults) -> Node {
        let celsius = |text: &str| parse_celsius(text).map(|celsius| celsius.0);
        let shown = self
            .reading
            .as_ref()
            .and_then(|typed| quantity(typed, "--reading", parse_shown, faults));
        let mut reading = shown.map_or_else(|| Node::table::<&str>([]), strength);
        let others = [
            (
                "ph",
                optional(self.ph.as_ref(), "--ph", parse_number, faults),
            ),
            (
                "temperature_c",
                optional(self.temperature.as_ref(), "--temperature", celsius, faults),
            ),
        ];
        for (key, node) in others {
            if let Some(node) = node {
                reading.set(key, node);
            }
        }
        reading
    }

    /// Acid and base, by name or by what a bottle did.
    fn remedies(&self, request: &mut Node, faults: &mut Faults) {
        for (key, typed) in [("acid", &self.acid), ("base", &self.base)] {
            match typed.as_deref().map(str::trim) {
                Some("none") => request.set(key, Value::Null.into()),
                Some(id) => request.set(key, Node::text(id)),
                None => {}
            }
        }
        for typed in &self.bottle {
            let Some((key, bottle)) = bottle(typed, faults) else {
                continue;
            };
            if request.get(key).is_some() {
                let what = format!("the {key} stands here twice");
                let mend = "Name it, or say what its bottle did.".to_owned();
                let problem = Problem::Contradiction { what, mend };
                faults.add(None, "--bottle", problem);
            }
            request.set(key, bottle);
        }
    }
}

/// `5.6..6.2` as a pH band, or one pH; a fault belongs where it was typed.
pub fn band(typed: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let (low, high) = typed.split_once("..").unwrap_or((typed, typed));
    let mut read = |text| quantity(text, at, parse_number, faults).map(Node::number);
    let ends = (read(low), read(high));
    Some(Value::List(vec![ends.0?, ends.1?]).into())
}

/// `5mL/100L=7.0..6.6`: what a bottle did, and whether it is an acid or a base.
fn bottle(typed: &str, faults: &mut Faults) -> Option<(&'static str, Node)> {
    const OPTION: &str = "--bottle";
    let unreadable = |faults: &mut Faults| {
        let reason = format!("\"{typed}\" does not say what the bottle did");
        let mend = "Write it like 5mL/100L=7.0..6.6: poured, into how much, pH before and after.";
        faults.add(None, OPTION, Problem::Unreadable { reason, mend });
    };
    let (poured, ph) = pair(typed, OPTION, faults)?;
    let (Some((ml, litres)), Some((before, after))) = (poured.split_once('/'), ph.split_once(".."))
    else {
        unreadable(faults);
        return None;
    };
    let Ok(Amount::Volume(ml)) = parse_amount(ml) else {
        unreadable(faults);
        return None;
    };
    let litres = volume(litres, OPTION, faults)?;
    let before = quantity(before, OPTION, parse_number, faults)?;
    let after = quantity(after, OPTION, parse_number, faults)?;
    Some(trial(ml.0, litres.0, [before, after]))
}

/// What a bottle did to so many litres, as it stands in a request, and whether it is acid or base.
pub fn trial(ml: f64, litres: f64, [before, after]: [f64; 2]) -> (&'static str, Node) {
    let key = if after < before { "acid" } else { "base" };
    let trial = Node::table([
        ("ml", Node::number(ml)),
        ("litres", Node::number(litres)),
        ("ph_before", Node::number(before)),
        ("ph_after", Node::number(after)),
    ]);
    (key, trial)
}
