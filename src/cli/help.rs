//! `saltwright help TOPIC`: what a grower wants to look up without leaving the terminal.

use super::{Ending, Stop};
use saltwright_fertilizers::fault::nearest;
use std::io::Write;

/// Options of `help`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A topic or a command; what there is where left out
    topic: Option<String>,
}

/// Topics and their texts.
const TOPICS: [(&str, &str); 10] = [
    ("recipes", RECIPES),
    ("waters", WATERS),
    ("fertilizers", FERTILIZERS),
    ("prices", PRICES),
    ("mixes", MIXES),
    ("units", UNITS),
    ("proof", PROOF),
    ("json", JSON),
    ("page", PAGE),
    ("exit", EXIT),
];

const SHORT: &str = "\
saltwright formulate RECIPE --water WATER   from a recipe to grams
saltwright predict ID=0.5 --water WATER     from grams to nutrients and EC
saltwright list recipes                     also waters, fertilizers, crops
saltwright serve                            the same in a browser, by the tank
saltwright batch FILE                       requests and reports as JSON lines

For a start: saltwright formulate hoagland-2 --water rain-barrel --tank \"20 L\"

saltwright COMMAND --help lists the options of a command.
saltwright help TOPIC explains: recipes waters fertilizers prices mixes units
proof json page exit
";

const RECIPES: &str = "\
A recipe is a text file (TOML), used by its path: saltwright formulate mine.toml

  name = \"My butterhead\"
  unit = \"mg/L\"             # or mmol/L, meq/L; P_charge = 3 if P counts as PO4
  ec_ms_cm = 1.4
  ph = [5.5, 6.2]
  micros = \"micros-leafy\"   # a list that fills in what this one lacks

  [aims]
  NO3-N = 150
  K = { aim = 210, min = 190, max = 230, weight = 2 }
  Cl = 70                   # for Na and Cl a bare number is a maximum

Nutrients: NO3-N NH4-N urea-N N P K Ca Mg S Fe Mn Zn B Cu Mo Ni Cl Na Si, all as
elements. N is the sum of its three forms.

A bare number is an aim. Its band is 10 % to either side, for micronutrients
20 %, for S from half to twice the aim. What a recipe does not name is free (P,
K, Ca, Mg, S) or kept below a usual maximum (the others); the answer shows it.
If only N is named, ammonium is at most 15 % of it and urea nothing.

One aim is changed without a file: --aim K=210, --aim Fe=0.8..1.2, --aim Cl=..70
";

const WATERS: &str = "\
A water is a text file (TOML), used by its path: --water tap.toml

  name = \"Kitchen tap\"
  alkalinity_meq_l = 2.1    # or alkalinity_mg_l_caco3, or hco3_mg_l
  ph = 7.6

  [holds]                   # mg/L of the element
  Ca = 48
  Mg = 9

Without --water it is pure water. Two waters together:
  --blend rain-barrel=0.6 --blend tap.toml=0.4
";

const FERTILIZERS: &str = "\
A fertilizer table is a CSV file, used with --fertilizers FILE. Semicolons and
decimal commas are read, too. A table to start from:

  saltwright list fertilizers --csv > mine.csv

Columns: id, name, formula, strength_pct, any nutrient in percent as sold (NO3-N
... Si, or the oxides P2O5 K2O CaO MgO SO3 SiO2), tolerance_pct,
density_g_per_ml, solubility_g_per_l_20c, tank, hazard, common, source, note,
price_per_kg. Only id and either a formula or a nutrient must be there.

A formula without figures is the pure substance; strength_pct dilutes it. A
figure beside a formula counts for what it names. What has a density is poured.
Chelates: NaFe(EDTA), Na2Fe(DTPA), NaFe(EDDHA). Hydrates: Ca(NO3)2.4H2O.
";

const PRICES: &str = "\
A price list is a CSV file, used with --prices FILE: id with price_per_kg, or
with bag_kg and price_per_bag. Any currency, one for all. A single price is
typed: --price potassium-nitrate=1.85

Once a price is given, fertilizers without one are left out unless --only or
--acid names them; if one of those has no price, no cost is reckoned.
";

const MIXES: &str = "\
A mix is typed, amounts per litre:

  saltwright predict potassium-nitrate=0.5 nitric-acid-38=0.3mL

or amounts for the whole tank, if --tank says how large it is. Or it is a file
for --mix: CSV with id and one of g_per_l, ml_per_l, or g (with --tank), or the
JSON that formulate --json prints. What --out writes can be read back.
";

const UNITS: &str = "\
Volumes   L, mL, m3, gal (US), imp gal, fl oz; a bare number is litres
Masses    g, mg, kg, oz, lb; a bare number is grams
Poured    mL, L, fl oz
EC        mS/cm, uS/cm, dS/m or CF at 25 °C; a bare number is mS/cm
Nutrients mg/L of the element, often called ppm; --aim takes mmol/L, meq/L, too
Numbers   1.4 or 1,4

--units mmol or meq changes the table of nutrients (micronutrients in
thousandths, what has no charge in mg/L); --gallons shows ounces and gallons.
Shown are three digits, exact figures are in --json and --out.
";

const PROOF: &str = "\
The mix is found in three steps, each held while the next is taken: closest to
the aims (relative deviations added up, a miss beyond a band counting a
thousandfold), then cheapest among the equally close, then least mass and fewest
fertilizers among the equally cheap.

For each step --json shows how far the figures miss their rows
(primal_residual), how far prices miss theirs (dual_residual), and the gap
between what was reached and a bound that no mix of these fertilizers can beat.
";

const JSON: &str = "\
--json prints the exact report. saltwright batch reads one request a line:

  {\"job\": \"formulate\", \"id\": 1, \"recipe\": \"hoagland-2\"}
  {\"job\": \"predict\", \"mix\": [{\"id\": \"urea\", \"g_per_l\": 0.1}]}

and answers one report or refusal a line, in the same order. A refusal says
where, what and how to mend it; a bad line does not stop the others.
";

const PAGE: &str = "\
saltwright serve opens a page on this machine, http://127.0.0.1:7381/ or another
port with --port. It needs no internet, no account and no script. The address of
an answer is its question: keep it or send it.

saltwright serve --share listens on the local network instead and shows the link
as a picture for a phone. Only whoever has that link gets in. The link is not
encrypted: others on the same network can see what is asked. Where this machine
has several addresses, --on names the one to use.

Programs post a request to api/formulate, and so for every job, and get the
report or a problem document with the refusal; api describes them (OpenAPI 3.1).
";

const EXIT: &str = "\
0  answered, within every band (batch: every line answered or refused)
3  answered, but outside a band
1  bad input, or a file that could not be read or written
2  wrong usage
";

/// What there is, in a few lines.
pub fn short(out: &mut dyn Write) -> Result<Ending, Stop> {
    write!(out, "{SHORT}")?;
    Ok(Ending::Within)
}

/// Runs it; `whole` is the whole command line.
pub fn run(args: &Args, whole: &mut clap::Command, out: &mut dyn Write) -> Result<Ending, Stop> {
    let Some(topic) = args.topic.as_deref() else {
        return short(out);
    };
    if let Some((_, text)) = TOPICS.iter().find(|(name, _)| *name == topic) {
        write!(out, "{text}")?;
        return Ok(Ending::Within);
    }
    // Built, so that usages name the whole command.
    whole.build();
    if let Some(command) = whole.find_subcommand_mut(topic) {
        write!(out, "{}", command.render_help())?;
        return Ok(Ending::Within);
    }
    let commands = whole.get_subcommands().map(clap::Command::get_name);
    let names: Vec<&str> = TOPICS
        .iter()
        .map(|(name, _)| *name)
        .chain(commands)
        .collect();
    let mend = match nearest(topic, names.iter().copied()) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None => format!("Topics: {}.", names.join(" ")),
    };
    Err(Stop::Usage(format!(
        "there is no topic called \"{topic}\". {mend}"
    )))
}
