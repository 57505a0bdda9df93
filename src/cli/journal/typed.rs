//! What is typed for an entry, turned into what the entry says.

use crate::cli::typed::{pair, quantity};
use crate::store::journal::{Clock, Content, Deed, Done, Moment, Reading};
use crate::view::round::Measure;
use saltwright_fertilizers::units::{
    Amount, Shown, parse_amount, parse_celsius, parse_number, parse_shown, parse_volume,
    parse_with_unit,
};
use saltwright_fertilizers::{Faults, Node, Problem};
use saltwright_solver::reservoir::reading::Reading as Meters;

/// Options that say what an entry holds.
#[derive(Debug, Default, clap::Args)]
pub struct Told {
    /// The system: a tank and what hangs on it; the last one where left out
    #[arg(long, value_name = "NAME")]
    pub system: Option<String>,
    /// EC at 25 °C, like 1.4, "14 CF" or, of a TDS pen, "650 ppm@500"
    #[arg(long, allow_hyphen_values = true)]
    pub ec: Option<String>,
    /// pH
    #[arg(long, allow_hyphen_values = true)]
    pub ph: Option<String>,
    /// Temperature of the solution, like 19.5 or "67 F"
    #[arg(long, allow_hyphen_values = true)]
    pub temperature: Option<String>,
    /// What the tank holds, like 110 or "29 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub litres: Option<String>,
    /// Poured or weighed in, like larch-hollow-spring=5L; repeat as needed
    #[arg(long, value_name = "WHAT=AMOUNT")]
    pub added: Vec<String>,
    /// Let out, like 20L
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    pub drained: Vec<String>,
    /// Emptied and filled anew, like feed=115L
    #[arg(long, value_name = "WHAT=AMOUNT")]
    pub filled: Option<String>,
    /// Words
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    pub note: Option<String>,
    /// When, like 08:00 or "2026-03-02 08:00"; now where left out
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
}

/// The option of a field, for a fault.
pub fn option(field: &'static str) -> String {
    let option = match field {
        "ec_ms_cm" => "--ec",
        "ph" => "--ph",
        "temperature_c" => "--temperature",
        "litres" => "--litres",
        "system" => "--system",
        "note" => "--note",
        "done" => "--added",
        other => other,
    };
    option.to_owned()
}

impl Told {
    /// True where nothing is typed.
    pub fn is_empty(&self) -> bool {
        let one = [
            &self.system,
            &self.ec,
            &self.ph,
            &self.temperature,
            &self.litres,
            &self.filled,
            &self.note,
            &self.at,
        ];
        one.iter().all(|typed| typed.is_none()) && self.added.is_empty() && self.drained.is_empty()
    }

    /// The moment that is typed.
    pub fn moment(&self, clock: &Clock, faults: &mut Faults) -> Option<Moment> {
        let moment = quantity(self.at.as_deref()?, "--at", |text| clock.read(text), faults)?;
        if clock.is_ahead(moment) {
            let what = format!("{} lies more than a day ahead", moment.wall());
            let mend = "Check the date, and the clock of this machine.".to_owned();
            faults.add(None, "--at", Problem::Contradiction { what, mend });
        }
        Some(moment)
    }

    /// Writes what is typed over a content; what is not typed stays. `scale` is that of a pen whose
    /// scale is not typed.
    pub fn over(&self, content: &mut Content, scale: Option<f64>, faults: &mut Faults) {
        if let Some(system) = &self.system {
            content.system = system.split_whitespace().collect::<Vec<_>>().join(" ");
        }
        let typed = self.reading(scale, faults);
        let before = content.reading;
        content.reading = Reading {
            ec_ms_cm: typed.ec_ms_cm.or(before.ec_ms_cm),
            ph: typed.ph.or(before.ph),
            temperature_c: typed.temperature_c.or(before.temperature_c),
            litres: typed.litres.or(before.litres),
        };
        let done = self.done(faults);
        if !done.is_empty() {
            content.details.done = done;
        }
        if let Some(note) = &self.note {
            content.details.note = note.trim().to_owned();
        }
    }

    /// What meters showed; a figure that no reservoir can give names its meter. `scale` is that of
    /// the pen that was read last, ppm per mS/cm.
    fn reading(&self, scale: Option<f64>, faults: &mut Faults) -> Reading {
        let mut read = |typed: &Option<String>, option, parse: fn(&str) -> _| {
            quantity(typed.as_deref()?, option, parse, faults)
        };
        let shown = self.shown();
        let (ec, ppm) = match shown {
            Some(Ok(Shown::Ec(ec))) => (Some(ec.0), None),
            Some(Ok(Shown::Ppm { ppm, .. })) => (None, Some(ppm)),
            _ => (None, None),
        };
        let figures = [
            ("ec_ms_cm", ec),
            ("ppm", ppm),
            ("scale", ppm.and_then(|_| self.scale().or(scale))),
            ("ph", read(&self.ph, "--ph", parse_number)),
            (
                "temperature_c",
                read(&self.temperature, "--temperature", |t| {
                    Ok(parse_celsius(t)?.0)
                }),
            ),
        ];
        let litres = read(&self.litres, "--litres", |text| Ok(parse_volume(text)?.0));
        if let Some(Err(problem)) = shown {
            faults.add(None, "--ec", problem);
        }
        let figures = figures.into_iter();
        let figures = figures.filter_map(|(key, figure)| Some((key, Node::number(figure?))));
        let mut impossible = Faults::default();
        let meters = Meters::read(&Node::table(figures), "", &mut impossible).unwrap_or_default();
        for mut fault in impossible.into_list() {
            fault.field = match fault.field.as_str() {
                "ph" => "--ph",
                "temperature_c" => "--temperature",
                _ => "--ec",
            }
            .into();
            faults.extend([fault]);
        }
        Reading {
            ec_ms_cm: meters.ec_ms_cm,
            ph: meters.ph,
            temperature_c: meters.temperature_c,
            litres,
        }
    }

    fn shown(&self) -> Option<Result<Shown, Problem>> {
        self.ec.as_deref().map(parse_shown)
    }

    /// The scale of the pen, where one was typed.
    pub fn scale(&self) -> Option<f64> {
        match self.shown() {
            Some(Ok(Shown::Ppm { scale, .. })) => scale,
            _ => None,
        }
    }

    /// What was done, in the order in which it is done: drained or filled first, then added.
    fn done(&self, faults: &mut Faults) -> Vec<Done> {
        let mut done = Vec::new();
        for typed in &self.drained {
            let ml = quantity(typed, "--drained", poured, faults);
            done.extend(ml.map(|ml| Done {
                deed: Deed::Drained,
                what: String::new(),
                ml: Some(ml),
                g: None,
            }));
        }
        let filled = self
            .filled
            .iter()
            .map(|typed| (Deed::Filled, "--filled", typed));
        let added = self
            .added
            .iter()
            .map(|typed| (Deed::Added, "--added", typed));
        for (deed, option, typed) in filled.chain(added) {
            let Some((what, amount)) = pair(typed, option, faults) else {
                continue;
            };
            let parse = |text: &str| match deed {
                Deed::Filled => poured(text).map(|ml| (Some(ml), None)),
                _ => with_unit(text),
            };
            let Some((ml, g)) = quantity(amount, &format!("{option} {what}"), parse, faults) else {
                continue;
            };
            let what = what.to_owned();
            done.push(Done { deed, what, ml, g });
        }
        done
    }

    /// The units that were typed: US ones, metric ones, or none that tells.
    pub fn measure(&self) -> Option<Measure> {
        let typed = [&self.temperature, &self.litres];
        let amounts = self.filled.iter().chain(&self.added);
        let amounts = amounts.filter_map(|typed| Some(typed.split_once('=')?.1));
        let typed = typed.into_iter().flatten().chain(&self.drained);
        let typed = typed.map(String::as_str);
        typed.chain(amounts).find_map(|text| {
            match parse_with_unit(text).ok()?.1.trim_start_matches('°') {
                "f" | "gal" | "gallon" | "gallons" | "us gal" | "oz" | "lb" | "fl oz" | "floz" => {
                    Some(Measure::Us)
                }
                "" => None,
                _ => Some(Measure::Metric),
            }
        })
    }
}

/// Millilitres of a volume; a bare number is litres.
fn poured(text: &str) -> Result<f64, Problem> {
    positive(parse_volume(text)?.0 * 1000.0)
}

/// Millilitres or grams; the unit must stand there, because 5 may be litres of water or grams of a
/// salt.
fn with_unit(text: &str) -> Result<(Option<f64>, Option<f64>), Problem> {
    if parse_with_unit(text)?.1.is_empty() {
        return Err(Problem::Unreadable {
            reason: format!("\"{text}\" has no unit"),
            mend: "Write it like 5L, 9mL or 12g.",
        });
    }
    match parse_amount(text) {
        Ok(Amount::Mass(grams)) => Ok((None, Some(positive(grams.0)?))),
        Ok(Amount::Volume(ml)) => Ok((Some(positive(ml.0)?), None)),
        // Gallons are no amount of a fertilizer, but of water.
        Err(problem) => match parse_volume(text) {
            Ok(litres) => Ok((Some(positive(litres.0 * 1000.0)?), None)),
            Err(_) => Err(problem),
        },
    }
}

fn positive(value: f64) -> Result<f64, Problem> {
    /// A large tank in millilitres; the limit of a level.
    const MOST: f64 = 1e12;
    saltwright_fertilizers::document::Limits::new(0.0, MOST, "").check(value)
}
