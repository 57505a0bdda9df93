//! `saltwright journal system`: what is told of a system once, so that it need not be typed again.

use super::{SYSTEM, say, usual};
use crate::cli::named::Named;
use crate::cli::origins::Origins;
use crate::cli::typed::{quantity, volume};
use crate::cli::{Ending, Stop};
use crate::store::folder::Folder;
use crate::store::journal::{Clock, Content, Details, Journal, Kept, Reading, Settings};
use crate::view::journal::settings;
use crate::view::round::Measure;
use saltwright_fertilizers::units::{parse_ec, parse_number};
use saltwright_fertilizers::{Faults, Problem};
use saltwright_recipes::Library;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Options of `journal system`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    /// The system: a tank and what hangs on it; the last one where left out
    name: Option<String>,
    /// The recipe it follows: a name or a file
    #[arg(long)]
    recipe: Option<String>,
    /// The water it is filled with: a name or a file
    #[arg(long)]
    water: Option<String>,
    /// What the tank takes, like "120 L" or "30 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    tank: Option<String>,
    /// Band of the EC, like 1.3..1.6
    #[arg(long, value_name = "LOW..HIGH", allow_hyphen_values = true)]
    ec_band: Option<String>,
    /// Band of the pH, like 5.6..6.2
    #[arg(long, value_name = "LOW..HIGH", allow_hyphen_values = true)]
    ph_band: Option<String>,
    /// Stocks: a file as `correct --stock` takes it
    #[arg(long, value_name = "FILE")]
    stock: Option<PathBuf>,
    /// Acid at hand, an id
    #[arg(long, value_name = "ID")]
    acid: Option<String>,
    /// Base at hand, an id
    #[arg(long, value_name = "ID")]
    base: Option<String>,
}

/// Runs it: notes what is told, then shows what is known.
pub fn run(
    args: &Args,
    folder: &Folder,
    clock: &Clock,
    out: &mut dyn Write,
) -> Result<Ending, Stop> {
    let path = &folder.journal();
    let kept = Kept::sound(path)?;
    let typed = args.name.as_deref().or_else(|| usual(&kept));
    let Some(typed) = typed else {
        let (what, mend) = ("the system", "Name it, like: journal system \"tank 1\".");
        let mut faults = Faults::default();
        faults.add(None, "", Problem::Empty { what, mend });
        return Err(faults.into_list().into());
    };
    let mut faults = Faults::default();
    let told = args.told(&folder.library()?, &mut faults);
    let system = kept.system(typed).unwrap_or(typed).to_owned();
    let known = kept.settings(&system);
    if told.is_empty() {
        faults.finish(Some(()))?;
    } else {
        let content = Content {
            at: clock.moment(),
            system: system.clone(),
            reading: Reading::default(),
            details: Details {
                settings: told.clone(),
                ..Details::default()
            },
        };
        content.check(None, super::typed::option, &mut faults);
        faults.finish(Some(()))?;
        let (mut journal, begun) = Journal::open_or_begin(path)?;
        journal.add(&content, clock.now, &[(SYSTEM, &system)])?;
        if begun {
            writeln!(out, "Began a journal in {}.", path.display())?;
        }
    }
    let now = told.over(known);
    let words = if now.is_empty() {
        "nothing is told yet; --recipe, --water, --tank and others tell it once for all".to_owned()
    } else {
        settings(&now, Measure::Metric)
    };
    say(out, &format!("{system}: {words}"))?;
    Ok(Ending::Within)
}

impl Args {
    fn told(&self, library: &Library, faults: &mut Faults) -> Settings {
        let named = |typed: &Option<String>, known: Named<'_>, field, faults: &mut Faults| {
            let typed = typed.as_deref()?;
            known.node(typed, field, &mut Origins::default(), faults)?;
            known.check_name(typed, field, faults);
            Some(absolute(Path::new(typed)))
        };
        let capacity = self.tank.as_deref();
        Settings {
            recipe: named(&self.recipe, Named::recipe(library), "--recipe", faults),
            water: named(&self.water, Named::water(library), "--water", faults),
            capacity_l: capacity.and_then(|t| volume(t, "--tank", faults).map(|litres| litres.0)),
            ec_ms_cm: band(
                self.ec_band.as_ref(),
                "--ec-band",
                |t| Ok(parse_ec(t)?.0),
                faults,
            ),
            ph: band(self.ph_band.as_ref(), "--ph-band", parse_number, faults),
            stock: self.stock.as_deref().map(absolute),
            acid: self.acid.clone(),
            base: self.base.clone(),
        }
    }
}

/// A file by its whole path, so that it is found from anywhere; a name as it is.
fn absolute(path: &Path) -> String {
    let whole = path.is_file().then(|| std::path::absolute(path).ok());
    let whole = whole.flatten();
    whole.as_deref().unwrap_or(path).display().to_string()
}

/// `1.3..1.6`.
fn band(
    typed: Option<&String>,
    option: &'static str,
    parse: impl Fn(&str) -> Result<f64, Problem>,
    faults: &mut Faults,
) -> Option<[f64; 2]> {
    let typed = typed?;
    let Some((low, high)) = typed.split_once("..") else {
        let reason = format!("\"{typed}\" is not a band");
        let mend = "Write it like 1.3..1.6.";
        faults.add(None, option, Problem::Unreadable { reason, mend });
        return None;
    };
    let low = quantity(low, option, &parse, faults)?;
    let high = quantity(high, option, &parse, faults)?;
    if low > high {
        let (min, max) = (low, high);
        faults.add(None, option, Problem::MinAboveMax { min, max });
        return None;
    }
    Some([low, high])
}
