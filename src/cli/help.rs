//! `saltwright help TOPIC`: what a grower wants to look up without leaving the terminal.

use super::{Ending, Stop, trade};
use crate::view::text::{WIDTH, wrap};
use saltwright_fertilizers::fault::nearest;
use std::io::Write;

/// Options of `help`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A topic or a command; what there is where left out
    topic: Option<String>,
}

/// Topics about this program and its files.
const TOPICS: &[(&str, &str)] = &[
    ("recipes", RECIPES),
    ("waters", WATERS),
    ("fertilizers", FERTILIZERS),
    ("prices", PRICES),
    ("swaps", SWAPS),
    ("purchases", PURCHASES),
    ("mixes", MIXES),
    ("labels", LABELS),
    ("units", UNITS),
    ("ec", EC),
    ("ph", PH),
    ("ranges", RANGES),
    ("stocks", STOCKS),
    ("reservoir", RESERVOIR),
    ("refills", REFILLS),
    ("meters", METERS),
    ("journal", JOURNAL),
    ("folder", FOLDER),
    ("proof", PROOF),
    ("json", JSON),
    ("page", PAGE),
    ("shell", SHELL),
    ("exit", EXIT),
];

/// Every topic and its text: the program first, then the trade.
pub fn topics() -> impl Iterator<Item = (&'static str, &'static str)> {
    TOPICS.iter().chain(trade::TOPICS).copied()
}

const SHORT: &str = "\
saltwright formulate RECIPE --water WATER   from a recipe to grams
saltwright predict ID=0.5 --water WATER     from grams to nutrients, EC and pH
saltwright water WATER --acid ID --ph 5.8   what an analysis says, and its acid
saltwright stock --mix FILE --ratio 100     from a mix to tanks that stay clear
saltwright substitute RECIPE --prices FILE  cheaper salts, prices that decide
saltwright label 15-5-15 --recipe RECIPE    a bought mix against its label
saltwright correct RECIPE --reading 1.9     what to do when the meters are off
saltwright journal add --ec 1.4 --ph 5.9    what was read and done, day by day
saltwright purchase RECIPE --season 120m3   whole bags at the least cost
saltwright list recipes                     also waters, fertilizers, crops
saltwright serve                            the same in a browser, by the tank
saltwright batch FILE                       requests and reports, a line each
saltwright completions SHELL                also man FOLDER: see help shell

For a start: saltwright formulate hoagland-2 --water rain-barrel --tank \"20 L\"

saltwright COMMAND --help lists the options of a command.
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
price_per_100_lb, or price_per_bag with bag_kg or bag_lb. Any currency, one for
all. A single price is typed: --price potassium-nitrate=1.85

Once a price is given, fertilizers without one are left out unless --only or
--acid names them; if one of those has no price, no cost is reckoned.
";

const SWAPS: &str = "\
  saltwright substitute RECIPE --water WATER --prices FILE

Today's mix is --now FILE, or the closest formulation from --at-hand ID,ID, or
from all that has a price. Beside it stands the cheapest mix that keeps the
bands; with --keep deviation every nutrient also stays as close to its aim as
today. An answer comes with a proof that none is cheaper.

Take out, put in: one fertilizer swapped, the rest weighed anew, what it saves,
what EC and pH become, and whether stock tanks stay clear (--ratio, 1:100 where
left out, two tanks as they are divided today, 10 to 30 °C). --detail shows all
swaps with every nutrient that moves.

So while it costs: between these prices the cheapest mix stays as it is, other
prices as they are. What is not used comes in below its break-even price. Room:
what a band would save if it were a little wider.

Off by up to: what the cheapest mix costs if every nutrient with an aim may be
off it by so many percent, whatever its band; a straight line between points.
Na, Cl in EC: the same against sodium and chloride, their maxima set aside.
";

const PURCHASES: &str = "\
Which whole bags to buy so that one mix serves the whole season within the bands
of the recipe, at the least cost:

  saltwright purchase hoagland-2 --season \"120 m3\" --prices bags.csv

The price list is a CSV file: id, bag_kg, price_per_bag, on_hand_kg. What comes
in several sizes has a row for each; what is on hand is written in one of them.
price_per_kg may stand for price_per_bag. Without --fertilizers or --only, what
the list names is what may be used.

Bags are bought whole, and what is left over is listed. Of all mixes that the
bags allow the closest to the aims is taken; it may lie at an end of a band.
\"bound\" is a proof: no purchase of these bags that keeps the bands costs less
than that. The search goes on for 4 seconds at most, or --search SECONDS; Ctrl-C
ends it too, and the cheapest found so far is shown with what it may be too dear
by. Where nothing can be bought that keeps the bands, the answer says which of
them cannot stand together.

The list recipes/data/demo/bags.csv is invented.
";

const MIXES: &str = "\
A mix is typed, amounts per litre:

  saltwright predict potassium-nitrate=0.5 nitric-acid-38=0.3mL

or amounts for the whole tank, if --tank says how large it is. Or it is a file
for --mix: CSV with id and one of g_per_l, ml_per_l, or g (with --tank), or the
JSON that formulate --json prints. What --out writes can be read back.
";

const LABELS: &str = "\
A label is typed as it is printed, or stands in a text file (TOML):

  saltwright label 15-5-15 Ca=4 Mg=2 --ingredients potassium-nitrate,urea
  saltwright label mine.toml --found N=14.2,K2O=14.1 --convention us

Keys: N NO3-N NH4-N urea-N, P2O5 or P, K2O or K, CaO or Ca, MgO or Mg, SO3 or S,
Na2O or Na, SiO2 or Si, Fe Mn Zn B Cu Mo Ni Cl Co. Mind SO3 and S: 15 % SO3 is
6 % S. A grade such as 15-5-15 means N, P2O5, K2O; with --convention au or
elements it means N, P, K.

Conventions: us, us-md (Maryland, limits on both sides), eu (2019/1009),
eu-2003, elements; de, uk, au and ca are read, their allowances not judged.

It says whether the ingredients can give the figures (one mixture, or a proof
that there is none), what the label leaves out as an interval, whether a
laboratory's findings pass, what a dose brings (--dose \"5 mL/gal\" with
--density), and with --recipe what completes the mix. Ingredients that are not
named are taken from common fertilizers.

In a file the entries are those of the JSON request:

  convention = \"us\"
  ingredients = [\"potassium-nitrate\", \"urea\"]

  [guarantee]
  N = 15
  K2O = 15
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

const EC: &str = "\
The EC that a meter should show is worked out from the ions: which pairs form,
what each free ion conducts, how ions hold each other back. The range beside it
(k = 2) is 2 % of what fertilizers add and 6 % of what the water brings; scale
and meter come on top. Aim and reading agree where the aim lies inside it.

  saltwright formulate hoagland-2 --ec 1.4 --strength to-ec

finds the strength at which water, acid and fertilizers together read 1.4.

A TDS pen measures EC and prints it times 500, 640 or 700; which scale is in its
manual. CF is ten times EC. A meter that compensates shows EC at 25 °C; most do
so by 2 % a degree, and are off by 1 to 2 % at 15 °C. predict --temperature 15
tells what each kind shows. --detail lists the share of every ion.

Checked for ionic strengths up to 0.06 mol/kg (an EC of about 4), 5 to 35 °C and
pH 3 to 10; the answer says so where a solution lies outside.
";

const PH: &str = "\
Two figures are told: the pH right after mixing, while all carbon dioxide is
still in the water, and the pH after standing in air. They differ because acid
turns alkalinity into carbon dioxide, which escapes: a water dosed to 5.8 drifts
up to 8 where alkalinity is left. The range (k = 2) comes from the constants and
from what the water analysis and the acid leave open. Where hardly anything
holds the pH the answer says unbuffered and gives no decimals.

  saltwright water WATER --acid nitric-acid-38 --ph 5.8      acid for a water
  saltwright formulate RECIPE --water WATER --ph 5.8         for the solution
  saltwright formulate RECIPE --water WATER --residual 0.5   to an alkalinity

Alkalinity is the acid a water binds: 1 meq/L is 50 mg/L CaCO3, 2.8 °dH, 5 °fH
or 61 mg/L HCO3. Phosphate is H2PO4- below about pH 7, the form that roots take
up most readily, and HPO4 2- above. Iron stays with EDTA to about pH 6.5, with
DTPA to 7, with EDDHA to 9 (common practice, no source).
";

const STOCKS: &str = "\
  saltwright formulate RECIPE --water WATER --json > mix.json
  saltwright stock --mix mix.json --water WATER                  how strong
  saltwright stock --mix mix.json --water WATER --ratio 100 \\
      --stock \"20 L\" --scale 0.1 --weigh --labels              at the scale

Every way to put the salts into 1 to 4 tanks is looked at; acids, bases and
silicate stand in tanks of their own (--acid-joins lets acids join). All tanks
are dosed at the same ratio. One salt is divided between tanks where that makes
them stronger. Clear means that the index of every solid stays 0.10 (--margin)
below saturation, at the coldest and at the hottest store (--store 5..25).

The index is log10 of what is dissolved over what a saturated solution holds: 0
is saturated. It is worked out with Pitzer's equations for K, NH4, Na, Ca, Mg,
Cl, NO3, SO4, phosphate, boric acid and urea; ratios are good to 15 or 20 %, for
potassium sulfate 17 % too high, for calcium and magnesium phosphates within a
factor of two. The careful ratio allows for that. Metals, chelates, molybdate,
silicate and carbonates have no constants here: they are placed by common
practice and named.

Made up to the mark: water to start with, salts one by one, then fill. Masses
below 50 steps of the scale come from a premix. What was weighed wrongly:
--weighed potassium-nitrate=250g says what to add and how far to fill. For a
finished solution it is formulate --already FILE.
";

const RESERVOIR: &str = "\
Type what the meters show, and get what to do, in order:

  saltwright correct RECIPE --water WATER --stock stock.json --acid ID \\
      --reading 1.9 --ph 6.8 --temperature 20 --level 108L --tank 120L

--reading takes mS/cm, uS/cm, CF or ppm with its scale (650 ppm@500). The ppm of
a pen is its EC times 500, 640 or 700; without the scale it says nothing.
--stock is what stock printed with --json or wrote with --out (then with --ratio
100), or a file like recipes/data/demo/stocks.toml. --fill 115L fills the tank.

The meters do not tell what is dissolved: the tank is taken to hold this water
and these stocks at the strength that reads the EC, and to stand in air. Give a
laboratory's figures with --analysis FILE (a file like a water) and they count.

EC is not linear in strength, so the amounts come from the ions. A tank that is
full is drained first. Acid and base go in portions: right after one the pH is
too low, and as carbon dioxide leaves it drifts up, so wait and read again, and
stop when it is in the band. The EC is left alone within 2 %.

A bottle of unknown strength is judged by what it did: 5 mL in 100 L that took
the pH from 7.0 to 6.6 is --bottle 5mL/100L=7.0..6.6
";

const JOURNAL: &str = "\
  saltwright journal add --system \"tank 1\" --ec 1.4 --ph 5.9 --litres 110
  saltwright journal add --added nitric-acid-38=9mL --note \"in three portions\"
  saltwright journal add --batch mix.json     as formulate --json printed it
  saltwright formulate hoagland-2 --tank 100L --journal     mixed and noted
  saltwright journal system --tank 120L --recipe hoagland-2 --ph-band 5.6..6.2
  saltwright journal list --last 10
  saltwright journal amend 12 --ec 1.5        what it said before is kept
  saltwright journal undo                     takes back what was done last
  saltwright journal chart --svg chart.svg    EC, pH, level over time
  saltwright journal export --out table.csv   for a spreadsheet; import reads it

The last system need not be named again; the list shows gallons and °F where
they were typed last. What was read and what was done are two entries, so that
it is clear which came first. --at says when, if not now. The scale of a TDS pen
(650 ppm@500) is remembered for its system.

The journal is the file journal.db in the folder that --folder names, else the
variable SALTWRIGHT_FOLDER, else in the working folder. An entry that was
answered with \"Noted\" is on the disk; a power cut does not take it away. Several
people may write at the same time. A damaged file is never written to: list
and export show what can still be read of it. To keep a copy, copy the file
while nobody writes.

A table to import needs the columns date_time (2026-03-02 08:00) and what was
read or done: system, ec_ms_cm, ph, temperature_c, litres, done (\"added
nitric-acid-38 9 mL; drained 20 L\"), note. What stands in the journal already is
not noted twice; undo takes an import back as a whole.
";

const RANGES: &str = "\
--ranges puts a range on every figure from the tolerances of the bags
(tolerance_pct in a fertilizer table: an assay lies within so many percent of
what it says, each assay on its own). --off WHAT=BY adds what else may be off:

  tolerance=3%       assays whose bag states no tolerance
  bag=1%             a whole bag stronger or weaker, as damp ones are
  scale=0.1g         division of the scale; half of one to either side
  span=0.5%          calibration of the scale, all weighings together
  cylinder=1mL       division of the measuring cylinder
  tank=2%            volume of the tank
  proportioner=3%    ratio of the proportioner
  stocks=3%          strength of the stocks, settled or dried in
  water=5%           every figure of the water analysis
  prices=10%         every price
  thermometer=0.5C   thermometer of the EC meter
  meter=2%           the EC meter
  ph-meter=0.1       the pH meter

Each is the furthest it can be off. \"Ca 150 \u{b1} 6 mg/L\" spans two standard
uncertainties (k = 2) to either side; a furthest of t has a standard uncertainty
of t divided by the root of 3, and independent ones add as squares (JCGM
100:2008). --json has the worst case beside it: everything at its end at once.
The EC is judged by its range, and the sheet says what to measure next; --narrow
K (or Ca, EC, pH, cost ...) says it for that figure.

`correct` takes the same: what meters, level and stocks may be off does to the
readings afterwards, and how much more or less each pour may truly take.

--sure worst-case finds a mix whose bands hold for every bag within its
tolerance; --sure 95% one whose bands hold together that often, each assay
anywhere within its tolerance alike. The sheet says what that costs, and with
--detail how cost and closeness move with the tolerances; where it cannot be
had, which bag stands in the way. Only assays count here.
";

const REFILLS: &str = "\
  saltwright refill RECIPE --water WATER --readings FILE
  saltwright refill --system                  from the journal

With --system everything that is not typed comes from the journal: recipe, water
and stocks of the system, every reading with EC and level since the tank was
last filled anew (journal add --filled), and what was added between them. Which
readings those are is said first; --since takes later ones only.

The file is a CSV with at, litres, ec_ms_cm (or ppm and scale, or cf), ph,
temperature_c for readings, and for what went in between them at, added, amount
(5 L, 9 mL, 12 g): added is water, feed (this recipe as it is formulated in this
water), drained, stock-A (a tank of --stock FILE), or a fertilizer; another
water than --water stands in the column water. An example is
recipes/data/demo/readings.csv.

What left with each litre drunk starts from published uptake and is moved by the
EC and by the acid that the plants gave off; EC cannot tell potassium from
calcium, so ranges are wide (k = 2). A laboratory's figures at the last reading
(--analysis FILE, a file like a water) narrow them. The top-up brings what left.

A change is told by what comes first: sodium or chloride at a published limit
(or --limit Na=115), a main nutrient half of a fresh fill off, or nobody knowing
any more. Small drains and whole change-outs waste the same litres a day; what
differs is what the roots stand in.
";

const METERS: &str = "\
  saltwright meter                               salt for a check of 1.413 mS/cm
  saltwright meter --check 1.413=1.38            one check: the slope
  saltwright meter --check KCl:0.745g=1.40 --check 0.1=0.14    and the offset
  saltwright meter --pair 745ppm=1.49            which scale a pen has
  saltwright meter --reading 650ppm              what that is on every scale
  saltwright meter --buffer 7=7.1 --buffer 4=4.2 the pH meter
  saltwright meter --stock stock.json --dosed 1.35   a proportioner

A check is what is true and what is shown: its EC from the bottle, or the grams
of dry KCl or NaCl in a litre of pure water. Through several a line is drawn:
shows = offset + slope x true. It says what the error does at an EC (--aim 1.4):
what the solution is when the meter shows that, and what the meter should show
until it is mended. With --temperature 15 a meter that does not compensate is
told from one that is off.

A proportioner is judged by the EC behind it: the ratio at which this water and
these stocks read so much. Good, here: 2 % and 0.03 mS/cm for EC, 0.1 and 5 % of
slope for pH, 5 % for dosing (common practice, no source).
";

const FOLDER: &str = "\
  saltwright start my-garden          lays it out, with short comments
  saltwright start kettle-row --demo  the same with two invented weeks of a tank

A folder of your own holds recipes and waters (one text file each, the name of
the file is what you type), fertilizers.csv, prices.csv and the journal. What
stands in it goes before what is shipped under the same name; saltwright list
marks it as your own. Your fertilizers join the common shelf, unless some of
them are marked common and others not. Its prices serve where --prices and
--price name none.

It is the folder that --folder names, else the one that the variable
SALTWRIGHT_FOLDER names, else the working folder, if saltwright.toml lies in it.
The page of saltwright serve uses the same.

  saltwright correct --system \"kettle row\"

takes the last reading, the recipe, the water and the tank from the journal, and
ends with the command that notes what was done.
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
  {\"job\": \"stock\", \"ratio\": 100, \"mix\": [{\"id\": \"urea\", \"g_per_l\": 0.1}]}
  {\"job\": \"predict\", \"mix\": [{\"id\": \"urea\", \"g_per_l\": 0.1}]}

and answers one report or refusal a line, in the same order. A refusal says
where, what and how to mend it; a bad line does not stop the others.

All processors work at once (--threads N); what comes out is the same whatever
their number. With --out FILE a run that was ended goes on behind its last whole
line by --resume: give it the same requests again. --stats tells how many, how
long and how fast; on a terminal beside --out or a pipe that is shown meanwhile.

Files that end in .gz or .zst are compressed; a run that was ended then redoes
at most its last block of 32 lines. Files that end in .csv are tables, others
with --from csv and --to csv. A row asks under columns named as the parts of a
request; an empty cell leaves its part out, a list or table in a cell is JSON:

  job,id,recipe,recipe.aims.K,water.holds.Ca,prices.urea,mix[0].id,only

Reports as rows tell what became of a request, the figures and the mix, or
--columns, where an item of a list goes by its place or by what it is about:

  --columns id,outcome,refusal.what,cost_per_m3,mix.urea.g_per_l,mix[0].id
";

const PAGE: &str = "\
saltwright serve opens a page on this machine, http://127.0.0.1:7381/ or another
port with --port. It needs no internet, no account and no script. The address of
an answer is its question: keep it or send it.

saltwright serve --share listens on the local network instead and shows the link
as a picture for a phone. Only whoever has that link gets in. The link is not
encrypted: others on the same network can see what is asked. Where this machine
has several addresses, --on names the one to use.

The page of the journal shows and notes what stands in your own folder (help
folder). On this machine it writes; behind a shared link it only reads, unless
the server is started with --share --write.

Programs post a request to api/formulate, and so for every job, and get the
report or a problem document with the refusal; api describes them (OpenAPI 3.1).
";

const SHELL: &str = "\
saltwright completions bash writes a script for the shell, also for zsh, fish,
powershell and elvish: commands, options and shipped names are then completed.

  saltwright completions bash > FILE   then: source FILE, in ~/.bashrc
  saltwright completions zsh > ~/.zfunc/_saltwright     in a folder of fpath
  saltwright completions fish > ~/.config/fish/completions/saltwright.fish

saltwright man FOLDER writes a manual page for every command, and one of all
these topics, saltwright-topics(7):

  saltwright man ~/.local/share/man             then: man saltwright-formulate

Lines are at most 80 columns wide, in a terminal and in a pipe alike, and no
answer carries colour, with or without NO_COLOR.
";

/// Exit codes.
pub const EXIT: &str = "\
0  answered, within every band (a label: nothing speaks against it; batch: every
   line answered or refused)
3  answered, but outside a band, a stock that does not stay clear, or a label in
   contradiction
1  bad input, or a file that could not be read or written
2  wrong usage
";

/// What there is, in a few lines.
pub fn short(out: &mut dyn Write) -> Result<Ending, Stop> {
    let topics: Vec<&str> = topics().map(|(name, _)| name).collect();
    let explains = format!("saltwright help TOPIC explains: {}", topics.join(" "));
    write!(out, "{SHORT}")?;
    for line in wrap(&explains, WIDTH) {
        writeln!(out, "{line}")?;
    }
    Ok(Ending::Within)
}

/// Every topic and every command, by name.
pub fn names(whole: &clap::Command) -> Vec<&str> {
    let commands = whole.get_subcommands().map(clap::Command::get_name);
    let topics = topics().map(|(name, _)| name);
    topics.chain(commands).collect()
}

/// Runs it; `whole` is the whole command line.
pub fn run(args: &Args, whole: &mut clap::Command, out: &mut dyn Write) -> Result<Ending, Stop> {
    let Some(topic) = args.topic.as_deref() else {
        return short(out);
    };
    if let Some((_, text)) = topics().find(|(name, _)| *name == topic) {
        write!(out, "{text}")?;
        return Ok(Ending::Within);
    }
    // Built, so that usages name the whole command.
    whole.build();
    if let Some(command) = whole.find_subcommand_mut(topic) {
        write!(out, "{}", command.render_help())?;
        return Ok(Ending::Within);
    }
    let names = names(whole);
    let mend = match nearest(topic, names.iter().copied()) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None => format!("Topics: {}.", names.join(" ")),
    };
    Err(Stop::Usage(format!(
        "there is no topic called \"{topic}\". {mend}"
    )))
}
