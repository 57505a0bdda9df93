//! The grower's own folder: recipes, waters, fertilizers and prices that go before the shipped ones,
//! and the journal.
//!
//! In: a folder that was named, or none.  Out: a library, a path, or a fault. A folder counts as one
//! of a grower's own lists when it holds [`MARKER`], which `start` puts there; a journal may lie in
//! any folder.

use super::files::{fault, read_text, unread, unwritten, write_text};
use super::journal::{self, Clock, Journal};
use saltwright_fertilizers::Fault;
use saltwright_recipes::Library;
use saltwright_recipes::library::{DEMO_JOURNAL, DEMO_STOCKS};
use std::fs;
use std::path::{Path, PathBuf};

/// The environment variable that names the folder.
pub const VARIABLE: &str = "SALTWRIGHT_FOLDER";
/// The file that makes a folder a grower's own.
pub const MARKER: &str = "saltwright.toml";
/// The table of own fertilizers.
const FERTILIZERS: &str = "fertilizers.csv";
/// The stocks of the demonstration.
const STOCKS: &str = "stocks.toml";
/// The list of own prices.
const PRICES: &str = "prices.csv";

/// A folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder that was named, else that of the environment, else the working folder.
    pub fn find(named: Option<&Path>) -> Result<Self, Fault> {
        let environment = || {
            let path = std::env::var_os(VARIABLE)?;
            (!path.is_empty()).then(|| PathBuf::from(path))
        };
        let Some(path) = named.map(Path::to_owned).or_else(environment) else {
            return Ok(Self::default());
        };
        if path.is_dir() {
            return Ok(Self { path });
        }
        let mend = "Name one that is there; saltwright start FOLDER makes one.";
        Err(fault(&path, "there is no such folder", mend))
    }

    /// Its journal, whether there is one yet or not.
    pub fn journal(&self) -> PathBuf {
        self.path.join(journal::FILE)
    }

    /// True for a folder that was laid out as a grower's own.
    pub fn is_own(&self) -> bool {
        self.path.join(MARKER).is_file()
    }

    /// The shipped library, with what the folder adds to it.
    pub fn library(&self) -> Result<Library, Vec<Fault>> {
        let mut library = Library::shipped()?;
        if !self.is_own() {
            return Ok(library);
        }
        let mut faults = Vec::new();
        let mut keep = |read: Result<(), Vec<Fault>>| faults.extend(read.err().unwrap_or_default());
        keep(self.lists("recipes", |file, id, text| {
            library.add_recipe(file, id, text)
        }));
        keep(self.lists("waters", |file, id, text| library.add_water(file, id, text)));
        let fertilizers = self.table(FERTILIZERS, |file, text| {
            library.add_fertilizers(file, text)
        });
        let is_known = fertilizers.is_ok();
        keep(fertilizers);
        // Of a table that cannot be read no price would be known.
        if is_known {
            keep(self.table(PRICES, |file, text| library.add_prices(file, text)));
        }
        if faults.is_empty() {
            Ok(library)
        } else {
            Err(faults)
        }
    }

    /// Every TOML file of a folder below, by its name.
    fn lists(
        &self,
        below: &str,
        mut add: impl FnMut(&str, &str, &str) -> Result<(), Vec<Fault>>,
    ) -> Result<(), Vec<Fault>> {
        let folder = self.path.join(below);
        if !folder.is_dir() {
            return Ok(());
        }
        let found = fs::read_dir(&folder).map_err(|error| vec![unread(&folder, &error)])?;
        let paths = found.filter_map(|entry| Some(entry.ok()?.path()));
        let mut paths: Vec<PathBuf> = paths
            .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
            .collect();
        paths.sort();
        let mut faults = Vec::new();
        for path in paths {
            let id = path.file_stem().unwrap_or_default().to_string_lossy();
            let text = alone(read_text(&path));
            let text = text.map(|text| text.trim_start_matches('\u{feff}').to_owned());
            let read = text.and_then(|text| add(&path.display().to_string(), &id, &text));
            faults.extend(read.err().unwrap_or_default());
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(faults)
        }
    }

    /// A table, where it has more than its heads.
    fn table(
        &self,
        name: &str,
        add: impl FnOnce(&str, &str) -> Result<(), Vec<Fault>>,
    ) -> Result<(), Vec<Fault>> {
        let path = self.path.join(name);
        if !path.exists() {
            return Ok(());
        }
        let text = alone(read_text(&path))?;
        let mut lines = text
            .lines()
            .map(|line| line.trim_matches([',', ';', '\t', ' ']));
        if lines.by_ref().filter(|line| !line.is_empty()).count() <= 1 {
            return Ok(());
        }
        add(&path.display().to_string(), &text)
    }
}

/// One fault as a list of faults.
fn alone<T>(done: Result<T, Fault>) -> Result<T, Vec<Fault>> {
    done.map_err(|fault| vec![fault])
}

/// What stands at the head of the marker.
const ABOUT: &str = "\
# This folder is yours. Saltwright finds it when you work in it, when you name it with
# --folder, or when the variable SALTWRIGHT_FOLDER names it.
#
# recipes/          one file a recipe; its name without .toml is what you type
# waters/           one file a water, from the report of your laboratory
# fertilizers.csv   your bags, as their labels say (help fertilizers)
# prices.csv        what they cost (help prices); without rows there are no costs
# journal.db        what was read and done (help journal)
#
# What stands here goes before what is shipped under the same name, and the lists say so.
# Keep this file: without it the lists of this folder are not read.
";

/// A recipe to start from.
const RECIPE: &str = "\
# A recipe to start from: the figures are an invented example. Change them, or copy this file.
name = \"My lettuce (example)\"
crop = \"lettuce\"
ec_ms_cm = 1.4
ph = [5.6, 6.2]
micros = \"micros-leafy\"    # a shipped list fills in the micronutrients
source = \"invented example\"

[aims]                      # mg/L of the element; help recipes says more
N = 140
P = 31
K = 200
Ca = 90
Mg = 24
S = 32
";

/// A water to start from.
const WATER: &str = "\
# A water to start from: the figures are invented. Put in those of your laboratory.
name = \"My tap (example)\"
alkalinity_meq_l = 2.1      # or alkalinity_mg_l_caco3, or hco3_mg_l
ph = 7.6
temperature_c = 15
source = \"invented example\"

[holds]                     # mg/L of the element
Ca = 40
Mg = 6
Na = 9
S = 8
Cl = 12
";

/// Heads of the table of fertilizers; a row each for what the labels say.
const FERTILIZER_HEADS: &str = "\
id,name,formula,strength_pct,NO3-N,NH4-N,P,K,Ca,Mg,S,Fe,tolerance_pct,density_g_per_ml,tank,hazard,common,source,note
";

/// Heads of the list of prices.
const PRICE_HEADS: &str = "id,price_per_kg,bag_kg,price_per_bag,on_hand_kg,note\n";

/// Lays out a folder; what was made, in order. Nothing that is there is changed. With `demo` the
/// journal holds two invented weeks.
pub fn lay_out(path: &Path, demo: bool, clock: &Clock) -> Result<Vec<PathBuf>, Vec<Fault>> {
    let marker = path.join(MARKER);
    if marker.exists() {
        let reason = "this folder is laid out already";
        let mend = "Use it with --folder, or name another.";
        return Err(vec![fault(path, reason, mend)]);
    }
    for below in ["recipes", "waters"] {
        let folder = path.join(below);
        fs::create_dir_all(&folder).map_err(|error| vec![unwritten(&folder, &error)])?;
    }
    let mut made = Vec::new();
    let mut files = vec![
        (path.join("recipes").join("my-lettuce.toml"), RECIPE),
        (path.join("waters").join("my-tap.toml"), WATER),
        (path.join(FERTILIZERS), FERTILIZER_HEADS),
        (path.join(PRICES), PRICE_HEADS),
    ];
    if demo {
        files.push((path.join(STOCKS), DEMO_STOCKS));
    }
    for (file, text) in files {
        if !file.exists() {
            alone(write_text(&file, text))?;
            made.push(file);
        }
    }
    let file = path.join(journal::FILE);
    let (mut journal, begun) = alone(Journal::open_or_begin(&file))?;
    if begun {
        made.push(file);
    }
    if begun && demo {
        let mut contents = journal::csv::read("journal.csv", DEMO_JOURNAL, None, clock)?;
        let stocks = std::path::absolute(path.join(STOCKS)).unwrap_or_else(|_| path.join(STOCKS));
        for told in contents
            .iter_mut()
            .map(|content| &mut content.details.settings)
        {
            if !told.is_empty() {
                told.stock = Some(stocks.display().to_string());
            }
        }
        alone(journal.import(&contents, clock.now))?;
    }
    // Last, so that a folder that counts is whole.
    alone(write_text(&marker, ABOUT))?;
    made.push(marker);
    Ok(made)
}
