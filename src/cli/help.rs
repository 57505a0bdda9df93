//! `saltwright help TOPIC`: what a grower wants to look up without leaving the terminal.

use super::{Ending, Stop};
use std::io::Write;

/// Options of `help`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Topic; the list of topics where left out
    #[arg(value_enum)]
    topic: Option<Topic>,
}

#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Topic {
    Recipes,
    Waters,
    Fertilizers,
    Mixes,
    Units,
    Proof,
    Json,
    Exit,
}

impl Topic {
    const fn text(self) -> &'static str {
        match self {
            Self::Recipes => RECIPES,
            Self::Waters => WATERS,
            Self::Fertilizers => FERTILIZERS,
            Self::Mixes => MIXES,
            Self::Units => UNITS,
            Self::Proof => PROOF,
            Self::Json => JSON,
            Self::Exit => EXIT,
        }
    }
}

const TOPICS: &str = "\
saltwright formulate RECIPE --water WATER   from aims to grams
saltwright predict ID=0.5 --water WATER     from grams to nutrients
saltwright list recipes                     also waters, fertilizers, crops
saltwright batch FILE                       requests and reports as JSON lines

Every command explains its options with --help.
saltwright help TOPIC, one of: recipes, waters, fertilizers, mixes, units,
proof, json, exit
";

const RECIPES: &str = "\
A recipe is a text file (TOML):

  name = \"My butterhead\"
  unit = \"mg/L\"            # or mmol/L, meq/L
  P_charge = 1             # 3 where a list in meq/L counts P as PO4
  ec_ms_cm = 1.4
  ph = [5.5, 6.2]
  micros = \"micros-leafy\"   # fills in micronutrients this list lacks

  [aims]
  NO3-N = 150              # an aim; its band is +-10 %, micronutrients +-20 %
  K = { aim = 210, min = 190, max = 230, weight = 2 }
  Cl = 70                  # for Na and Cl a bare number is a maximum

Nutrients: NO3-N NH4-N urea-N N P K Ca Mg S Fe Mn Zn B Cu Mo Ni Cl Na Si, all as
elements. What is not named is free (macronutrients) or kept below a default
maximum (the others).
";

const WATERS: &str = "\
A water is a text file (TOML):

  name = \"Kitchen tap\"
  alkalinity_meq_l = 2.1   # or alkalinity_mg_l_caco3, or hco3_mg_l
  ph = 7.6

  [holds]                  # mg/L of the element
  Ca = 48
  Mg = 9

Waters are mixed with --blend rain-barrel=0.6 --blend kitchen.toml=0.4
";

const FERTILIZERS: &str = "\
A fertilizer table is a CSV file; a spreadsheet's semicolons and decimal commas
are read. saltwright list fertilizers --csv prints the shipped one.
Columns: id, name, formula, strength_pct, nutrients in percent as sold (or the
oxides P2O5 K2O CaO MgO SO3 SiO2), density_g_per_ml, tank, hazard, note ...
A formula without figures is the pure substance; strength_pct dilutes it.
Prices: --prices FILE with id and price_per_kg (or bag_kg and price_per_bag).
Once a price is given, fertilizers without one are left out unless --only names
them.
";

const MIXES: &str = "\
A mix is a CSV file with id and one of g_per_l, ml_per_l, or g with --tank;
or the JSON that formulate --json prints;
or typed: potassium-nitrate=0.5 nitric-acid-38=1mL
";

const UNITS: &str = "\
Volumes: L, mL, m3, gal (US), imp gal, fl oz. Masses: g, mg, kg, oz, lb.
mg/L is what many call ppm of the element. mS/cm at 25 °C for EC.
--units mmol or meq changes the nutrient table; --gallons the weights.
";

const PROOF: &str = "\
The mix is found in three steps, each proven before the next: closest to the
aims (relative deviations added up, a miss beyond a band counting a
thousandfold), then cheapest among the equally close, then least mass and fewest
fertilizers among the equally cheap. For each step --json shows the residuals
and the gap between what was reached and a lower bound that no mix can beat.
";

const JSON: &str = "\
--json prints the exact report. saltwright batch reads one request a line:

  {\"job\": \"formulate\", \"id\": 1, \"recipe\": \"hoagland-2\"}
  {\"job\": \"predict\", \"mix\": [{\"id\": \"urea\", \"g_per_l\": 0.1}]}

and answers one report or refusal a line, in the same order.
";

const EXIT: &str = "\
0  answered, within every band
3  answered, but outside a band
1  bad input, or a file that could not be read or written
2  wrong usage
";

/// Runs it.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Ending, Stop> {
    write!(out, "{}", args.topic.map_or(TOPICS, Topic::text))?;
    Ok(Ending::Within)
}
