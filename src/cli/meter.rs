//! `saltwright meter --check 1.413=1.38`: which scale a pen has, how far a meter is off.

use super::answer::{ask, mismatch};
use super::input::{Common, Waters, optional};
use super::origins::Origins;
use super::typed::{pair, quantity};
use super::{Ending, Stop, stocks};
use crate::view::{meter, text};
use saltwright_fertilizers::units::{
    Amount, Shown, parse_celsius, parse_dose, parse_ec, parse_number, parse_ratio, parse_shown,
};
use saltwright_fertilizers::{Faults, Node, Problem, Value};
use saltwright_recipes::Library;
use saltwright_solver::job::Report;
use saltwright_solver::reservoir::meter::report::Health;
use std::io::Write;
use std::path::PathBuf;

/// Options of `meter`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// A check and what the meter shows: 1.413=1.38, KCl:0.745g=705ppm
    #[arg(long, value_name = "TRUE=SHOWN")]
    check: Vec<String>,
    /// A TDS pen and an EC meter in one solution, like 745ppm=1.49
    #[arg(long, value_name = "PPM=EC")]
    pair: Vec<String>,
    /// A reading to tell on every scale, like 650ppm or 1.3
    #[arg(long, value_name = "SHOWN", allow_hyphen_values = true)]
    reading: Option<String>,
    /// The EC to tell the error at (1.4)
    #[arg(long, value_name = "EC")]
    aim: Option<String>,
    /// Check solution to weigh salt for, like 1.413; repeat as needed
    #[arg(long, value_name = "EC")]
    make: Vec<String>,
    /// A buffer and what the pH meter shows in it, like 7=7.1
    #[arg(long, value_name = "BUFFER=SHOWN")]
    buffer: Vec<String>,
    /// Days since the meter was calibrated
    #[arg(long, value_name = "DAYS")]
    calibrated: Option<String>,
    /// Temperature of the checks, like 18 or "65 F"
    #[arg(long)]
    temperature: Option<String>,
    /// Stocks that a proportioner draws from (what `stock` wrote)
    #[arg(long, value_name = "FILE", requires = "dosed")]
    stock: Option<PathBuf>,
    /// What it is set to, like 1:100, where the file does not say it
    #[arg(long, requires = "stock")]
    ratio: Option<String>,
    /// What the EC meter shows behind it
    #[arg(long, value_name = "EC", requires = "stock")]
    dosed: Option<String>,
    /// Water that the proportioner runs on; pure water where left out
    #[arg(long, value_name = "WATER")]
    water: Option<String>,
    /// Your own fertilizer table (CSV) in place of the shipped shelf
    #[arg(long, value_name = "FILE")]
    fertilizers: Option<PathBuf>,
    /// Print the report as JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (args.common(), Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("meter"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    common.water(&mut request, library, &mut origins, &mut faults);
    if let Some(path) = &args.stock
        && let Some(stocks) = stocks::from_file(path, &known, &mut faults)
    {
        origins.file("doser.stock", &path.display().to_string());
        args.doser(stocks, &mut request, &mut origins, &mut faults);
    }
    args.fill(&mut request, &mut origins, &mut faults);
    let answer = ask((&request, faults), &origins, library, args.json, out)?;
    let Report::Meter(report) = answer else {
        return mismatch();
    };
    if !args.json {
        write!(out, "{}", text::render(&meter::sheet(&report)))?;
    }
    let is_off = |health: Option<Health>| health.is_some_and(|health| health != Health::Good);
    let ph = report.ph.map(|ph| ph.verdict);
    Ok(if is_off(report.verdict) || is_off(ph) {
        Ending::Outside
    } else {
        Ending::Within
    })
}

impl Args {
    /// The options that this command shares with others.
    fn common(&self) -> Common {
        Common {
            waters: Waters::default().or(self.water.clone()),
            fertilizers: self.fertilizers.clone(),
            json: self.json,
            ..Common::default()
        }
    }

    /// A proportioner that draws from these stocks.
    fn doser(&self, stocks: Node, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let mut doser = Node::table([("stock", stocks)]);
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let figures = [
            (
                "ratio",
                optional(self.ratio.as_ref(), "--ratio", parse_ratio, faults),
            ),
            (
                "shows_ms_cm",
                optional(self.dosed.as_ref(), "--dosed", ec, faults),
            ),
        ];
        doser.fill(figures);
        origins.option("doser.ratio", "--ratio");
        origins.option("doser.shows_ms_cm", "--dosed");
        request.set("doser", doser);
    }

    fn fill(&self, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let lists: [(&'static str, &'static str, Vec<Node>); 3] = [
            (
                "points",
                "--check",
                all(&self.check, "--check", check, faults),
            ),
            (
                "pairs",
                "--pair",
                all(&self.pair, "--pair", both_meters, faults),
            ),
            (
                "ph_points",
                "--buffer",
                all(&self.buffer, "--buffer", buffer, faults),
            ),
        ];
        for (key, option, list) in lists {
            origins.option(key, option);
            if !list.is_empty() {
                request.set(key, Value::List(list).into());
            }
        }
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let make: Vec<Node> = self
            .make
            .iter()
            .filter_map(|typed| quantity(typed, "--make", ec, faults))
            .map(Node::number)
            .collect();
        origins.option("make_ms_cm", "--make");
        if !make.is_empty() {
            request.set("make_ms_cm", Value::List(make).into());
        }
        self.figures(request, origins, faults);
        if let Some(typed) = &self.reading
            && let Some(shown) = quantity(typed, "--reading", parse_shown, faults)
        {
            request.set("reading", strength(shown));
        }
    }

    fn figures(&self, request: &mut Node, origins: &mut Origins, faults: &mut Faults) {
        let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
        let celsius = |text: &str| parse_celsius(text).map(|celsius| celsius.0);
        let figures = [
            (
                "temperature_c",
                "--temperature",
                optional(self.temperature.as_ref(), "--temperature", celsius, faults),
            ),
            (
                "aim_ms_cm",
                "--aim",
                optional(self.aim.as_ref(), "--aim", ec, faults),
            ),
            (
                "calibrated_days_ago",
                "--calibrated",
                optional(
                    self.calibrated.as_ref(),
                    "--calibrated",
                    parse_number,
                    faults,
                ),
            ),
        ];
        for (key, option, node) in figures {
            origins.option(key, option);
            request.fill([(key, node)]);
        }
    }
}

/// What a meter shows, as it stands in a request.
pub fn strength(shown: Shown) -> Node {
    match shown {
        Shown::Ec(ec) => Node::table([("ec_ms_cm", Node::number(ec.0))]),
        Shown::Ppm { ppm, scale } => {
            let entries = [Some(("ppm", ppm)), scale.map(|scale| ("scale", scale))];
            let entries = entries.into_iter().flatten();
            Node::table(entries.map(|(key, figure)| (key, Node::number(figure))))
        }
    }
}

/// Reads both sides of a `LEFT=RIGHT` that was typed there: behind an option, or in a field.
pub type Listed = fn(&str, &str, &str, &mut Faults) -> Option<Node>;

/// Every `LEFT=RIGHT` of an option.
fn all(typed: &[String], option: &'static str, read: Listed, faults: &mut Faults) -> Vec<Node> {
    let each = typed.iter().filter_map(|typed| {
        let (left, right) = pair(typed, option, faults)?;
        read(left, right, option, faults)
    });
    each.collect()
}

/// `1.413=1.38`, `KCl:0.745g=1.40`, `1.413=705ppm`.
pub fn check(truth: &str, shows: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let (key, truth) = match truth.split_once(':') {
        Some((salt, grams_text)) => {
            let key = match salt.trim().to_lowercase().as_str() {
                "kcl" => "kcl_g_per_l",
                "nacl" => "nacl_g_per_l",
                _ => {
                    let (kind, name) = ("salt of a check solution", salt.to_owned());
                    let known = "KCl, NaCl".to_owned();
                    faults.add(None, at, Problem::NotOneOf { kind, name, known });
                    return None;
                }
            };
            let grams = |text: &str| match parse_dose(text)? {
                Amount::Mass(grams) => Ok(grams.0),
                Amount::Volume(_) => Err(Problem::UnknownUnit {
                    unit: "mL".into(),
                    known: "g, mg, oz in a litre",
                }),
            };
            (key, quantity(grams_text, at, grams, faults))
        }
        None => {
            let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
            ("true_ms_cm", quantity(truth, at, ec, faults))
        }
    };
    let mut point = Node::table([(key, Node::number(truth?))]);
    match quantity(shows, at, parse_shown, faults)? {
        Shown::Ec(ec) => point.set("shows", Node::number(ec.0)),
        Shown::Ppm { ppm, scale } => {
            point.set("shows", Node::number(ppm));
            point.set("unit", Node::text("ppm"));
            if let Some(scale) = scale {
                point.set("scale", Node::number(scale));
            }
        }
    }
    Some(point)
}

/// `745ppm=1.49`.
pub fn both_meters(ppm: &str, ec: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let ppm = ppm.trim_end_matches("ppm").trim();
    let ppm = quantity(ppm, at, parse_number, faults);
    let ec = quantity(ec, at, |text| parse_ec(text).map(|ec| ec.0), faults);
    Some(Node::table([
        ("ppm", Node::number(ppm?)),
        ("ec_ms_cm", Node::number(ec?)),
    ]))
}

/// `7=7.1`.
pub fn buffer(truth: &str, shows: &str, at: &str, faults: &mut Faults) -> Option<Node> {
    let truth = quantity(truth, at, parse_number, faults);
    let shows = quantity(shows, at, parse_number, faults);
    Some(Node::table([
        ("true_ph", Node::number(truth?)),
        ("shows", Node::number(shows?)),
    ]))
}
