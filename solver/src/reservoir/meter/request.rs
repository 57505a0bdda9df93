//! What `meter` is asked, resolved.

use super::super::reading::{MOST_EC_MS_CM, read_scale};
use super::super::supply::Stocks;
use crate::request::{ENVELOPE, Shelf, items, water_or_pure};
use saltwright_fertilizers::document::{self, Limits, MAX_ID, Node, Reader};
use saltwright_fertilizers::{Faults, Problem};
use saltwright_recipes::{Library, Water};

/// Most points, pairs or solutions.
pub const MOST: usize = 50;
/// EC of a check solution, mS/cm: up to seawater and beyond.
pub const CHECK_EC: Limits = Limits::new(0.0, 100.0, " mS/cm");
/// Salt of a check solution.
pub const CHECK_SALT: Limits = Limits::new(0.0, 20.0, " g/L");
/// A figure that a meter shows, whatever its unit.
pub const SHOWN: Limits = Limits::new(0.0, 2e5, "");
/// EC of a solution that is held into both meters.
pub const PAIR_EC: Limits = Limits::new(1e-3, 100.0, " mS/cm");
/// EC of a check solution that is weighed; beyond it the salts are too strong for the model.
pub const MAKE: Limits = Limits::new(0.05, 15.0, " mS/cm");
/// EC that an error is told at.
pub const AIM: Limits = Limits::new(0.01, MOST_EC_MS_CM, " mS/cm");
/// Days since a calibration.
pub const DAYS: Limits = Limits::new(0.0, 36_500.0, " days");
/// Units that a meter may show, and mS/cm in one of them; ppm goes by its scale.
pub const UNITS: [(&str, f64); 5] = [
    ("mS/cm", 1.0),
    ("dS/m", 1.0),
    ("uS/cm", 1e-3),
    ("µS/cm", 1e-3),
    ("CF", 0.1),
];
/// The check solution that is sold most: 0.01 mol/L of potassium chloride.
pub const USUAL_CHECK_MS_CM: f64 = 1.413;
/// The EC that the error is told at, where nothing else is asked. Common practice, no source.
const USUAL_AIM_MS_CM: f64 = 1.4;

/// The salts of check solutions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckSalt {
    /// Potassium chloride.
    Kcl,
    /// Sodium chloride.
    Nacl,
}

impl CheckSalt {
    /// Its formula.
    pub const fn formula(self) -> &'static str {
        match self {
            Self::Kcl => "KCl",
            Self::Nacl => "NaCl",
        }
    }
}

/// What a check solution is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Truth {
    /// Of this EC, mS/cm at 25 °C.
    Ec(f64),
    /// So many grams of a salt in a litre.
    Salt(CheckSalt, f64),
}

/// A figure as shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shows {
    /// mS/cm.
    Ec(f64),
    /// ppm, its scale to be found.
    Ppm(f64),
}

/// A check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// What it is.
    pub truth: Truth,
    /// What the meter shows.
    pub shows: Shows,
}

/// A proportioner or dosing pump.
#[derive(Clone, Debug)]
pub struct Doser {
    /// The stocks, at the ratio it is set to.
    pub stocks: Stocks,
    /// The ratio.
    pub ratio: f64,
    /// The water.
    pub water: Water,
    /// What the meter shows behind it, mS/cm.
    pub shows_ms_cm: f64,
}

/// A resolved request.
#[derive(Clone, Debug)]
pub struct MeterRequest {
    /// Checks.
    pub points: Vec<Point>,
    /// ppm and mS/cm of one solution.
    pub pairs: Vec<(f64, f64)>,
    /// A reading to be told on every scale.
    pub reading: Option<Shows>,
    /// Checks of the pH meter: buffer and shown.
    pub ph_points: Vec<(f64, f64)>,
    /// Check solutions to be made, mS/cm.
    pub make_ms_cm: Vec<f64>,
    /// The EC that the error is told at.
    pub aim_ms_cm: f64,
    /// Days since the EC meter and the pH meter were calibrated.
    pub calibrated_days_ago: Option<f64>,
    /// Temperature of the checks, °C; 25 where nobody says.
    pub temperature_c: Option<f64>,
    /// A proportioner or dosing pump.
    pub doser: Option<Doser>,
}

impl MeterRequest {
    /// Reads a request; `None` and faults where something is wrong.
    pub fn read(node: &Node, library: &Library, faults: &mut Faults) -> Option<Self> {
        let mut reader = Reader::open(node, "", faults)?;
        reader.accept(&ENVELOPE);
        let points = items(&mut reader, ("points", MOST), faults, Point::read);
        let pairs = items(&mut reader, ("pairs", MOST), faults, read_pair);
        let ph_points = items(&mut reader, ("ph_points", MOST), faults, read_ph_point);
        let reading = reader
            .get("reading")
            .and_then(|node| read_reading(node, faults));
        let make_ms_cm = match reader.get("make_ms_cm") {
            Some(node) => read_make(node, faults),
            None => vec![USUAL_CHECK_MS_CM],
        };
        let aim = reader.number("aim_ms_cm", AIM, faults);
        let days = reader.number("calibrated_days_ago", DAYS, faults);
        let temperature_c = reader.number("temperature_c", Limits::CELSIUS, faults);
        let doser = Doser::read(&mut reader, library, faults);
        reader.close(faults);
        faults.is_empty().then(|| Self {
            points,
            pairs,
            reading,
            ph_points,
            make_ms_cm,
            aim_ms_cm: aim.unwrap_or(USUAL_AIM_MS_CM),
            calibrated_days_ago: days,
            temperature_c,
            doser,
        })
    }
}

/// A number that may not be left out.
fn wanted(
    reader: &mut Reader<'_>,
    key: &'static str,
    limits: Limits,
    faults: &mut Faults,
) -> Option<f64> {
    if reader.get(key).is_none() {
        let (what, mend) = ("this figure", "Give what the meter shows, or what is true.");
        faults.add(reader.line(), reader.at(key), Problem::Empty { what, mend });
        return None;
    }
    reader.number(key, limits, faults)
}

impl Point {
    /// `{true_ms_cm | kcl_g_per_l | nacl_g_per_l, shows, unit}`.
    fn read(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<Self> {
        let truths = [
            reader.number("true_ms_cm", CHECK_EC, faults).map(Truth::Ec),
            reader
                .number("kcl_g_per_l", CHECK_SALT, faults)
                .map(|grams| Truth::Salt(CheckSalt::Kcl, grams)),
            reader
                .number("nacl_g_per_l", CHECK_SALT, faults)
                .map(|grams| Truth::Salt(CheckSalt::Nacl, grams)),
        ];
        let mut given = truths.into_iter().flatten();
        let truth = given.next();
        if given.next().is_some() {
            let what = "the check solution stands here twice".to_owned();
            let mend = "Keep its EC or what was weighed.".to_owned();
            let problem = Problem::Contradiction { what, mend };
            faults.add(reader.line(), reader.at("true_ms_cm"), problem);
        }
        if truth.is_none() {
            let what = "the check solution";
            let mend = "Give true_ms_cm, kcl_g_per_l or nacl_g_per_l.";
            faults.add(
                reader.line(),
                reader.at("true_ms_cm"),
                Problem::Empty { what, mend },
            );
        }
        let shows = wanted(reader, "shows", SHOWN, faults);
        let unit = reader.get("unit");
        let at = reader.at("unit");
        let scale = read_scale(reader, faults);
        let unit = match unit {
            Some(node) => document::text(node, &at, MAX_ID, faults)?.trim().to_owned(),
            None => "mS/cm".to_owned(),
        };
        let (truth, shows) = (truth?, shows?);
        let shows = shown(shows, &unit, scale).or_else(|| {
            let (kind, name) = ("unit of a meter", unit.clone());
            let known = "mS/cm, uS/cm, dS/m, CF, ppm".to_owned();
            faults.add(reader.line(), at, Problem::NotOneOf { kind, name, known });
            None
        });
        Some(Self {
            truth,
            shows: shows?,
        })
    }
}

/// A figure in a unit; `ppm`, or `ppm@500` with its scale.
fn shown(figure: f64, unit: &str, scale: Option<f64>) -> Option<Shows> {
    let plain = unit.to_lowercase();
    if let Some(rest) = plain.strip_prefix("ppm") {
        let named = rest.trim_start_matches('@').trim();
        let named = match named {
            "" => scale,
            _ => Some(named.parse().ok()?),
        };
        return Some(named.map_or(Shows::Ppm(figure), |scale| Shows::Ec(figure / scale)));
    }
    let known = UNITS.iter().find(|(name, _)| name.to_lowercase() == plain);
    known.map(|(_, ms_cm)| Shows::Ec(figure * ms_cm))
}

/// `{ppm, ec_ms_cm}` of one solution.
fn read_pair(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<(f64, f64)> {
    let ppm = wanted(reader, "ppm", SHOWN, faults);
    let ec = wanted(reader, "ec_ms_cm", PAIR_EC, faults);
    ppm.zip(ec)
}

/// `{true_ph, shows}`.
fn read_ph_point(reader: &mut Reader<'_>, faults: &mut Faults) -> Option<(f64, f64)> {
    let truth = wanted(reader, "true_ph", Limits::PH, faults);
    let shows = wanted(reader, "shows", Limits::PH, faults);
    truth.zip(shows)
}

/// `{ec_ms_cm}`, `{cf}` or `{ppm, scale}`, the scale left out where nobody knows it.
fn read_reading(node: &Node, faults: &mut Faults) -> Option<Shows> {
    let mut reader = Reader::open(node, "reading", faults)?;
    let before = faults.len();
    let ec = reader.number("ec_ms_cm", Limits::EC, faults);
    let cf = reader.number("cf", SHOWN, faults);
    let ppm = reader.number("ppm", SHOWN, faults);
    let scale = read_scale(&mut reader, faults);
    reader.accept(&["ph", "temperature_c"]);
    reader.close(faults);
    let by_scale = ppm.map(|ppm| scale.map_or(Shows::Ppm(ppm), |scale| Shows::Ec(ppm / scale)));
    let found = ec.or(cf.map(|cf| cf / 10.0)).map(Shows::Ec).or(by_scale);
    if found.is_none() && faults.len() == before {
        let (what, mend) = ("the reading", "Give ec_ms_cm, cf, or ppm.");
        faults.add(node.line, "reading", Problem::Empty { what, mend });
    }
    found
}

/// One EC or a list.
fn read_make(node: &Node, faults: &mut Faults) -> Vec<f64> {
    let at = "make_ms_cm";
    let saltwright_fertilizers::Value::List(_) = &node.value else {
        let one = document::number(node, at, MAKE, faults);
        return one.into_iter().collect();
    };
    let items = document::list_of(node, at, ("check solutions", MOST), faults);
    let numbers = items.unwrap_or_default().iter().enumerate();
    numbers
        .filter_map(|(position, item)| {
            document::number(item, &format!("{at}[{position}]"), MAKE, faults)
        })
        .collect()
}

impl Doser {
    /// `doser: {stock, ratio, shows_ms_cm}` with `water` and `fertilizers` beside it.
    fn read(reader: &mut Reader<'_>, library: &Library, faults: &mut Faults) -> Option<Self> {
        let shelf = Shelf::read(reader, library, faults);
        let water = water_or_pure(reader, library, faults);
        let node = reader.get("doser")?;
        let mut reader = Reader::open(node, "doser", faults)?;
        let stocks = match reader.get("stock") {
            Some(node) => Stocks::read(node, "doser.stock", &shelf, faults),
            None => {
                let (what, mend) = ("the stock", "Give the tanks that it draws from.");
                faults.add(node.line, "doser.stock", Problem::Empty { what, mend });
                None
            }
        };
        let ratio = reader.number("ratio", Limits::RATIO, faults);
        let shows = wanted(&mut reader, "shows_ms_cm", Limits::EC, faults);
        reader.close(faults);
        let stocks = stocks?;
        let Some(ratio) = ratio.or(stocks.ratio) else {
            let (what, mend) = (
                "the ratio that it is set to",
                "Give it, like 100 for 1:100.",
            );
            faults.add(node.line, "doser.ratio", Problem::Empty { what, mend });
            return None;
        };
        Some(Self {
            stocks,
            ratio,
            water: water?,
            shows_ms_cm: shows?,
        })
    }
}
