//! `saltwright list`: what is shipped, as a table, as JSON, or as CSV to edit.

use super::{Ending, Stop, write_json};
use crate::view::{Sheet, lists, text};
use saltwright_fertilizers::{Aimed, Fertilizer, Nutrient, Table};
use saltwright_recipes::{Crop, Library, List, Own, Recipe, Water};
use serde::Serialize;
use std::io::Write;

/// Options of `list`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What to list
    #[arg(value_enum)]
    what: What,
    /// Only rows that hold this word
    #[arg(long, value_name = "WORD")]
    search: Option<String>,
    /// Print as JSON
    #[arg(long)]
    json: bool,
    /// Print fertilizers as CSV, to edit for --fertilizers
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum What {
    Recipes,
    Waters,
    Fertilizers,
    Crops,
}

#[derive(Serialize)]
struct RecipeRow<'a> {
    id: &'a str,
    own: &'static str,
    name: &'a str,
    crop: &'a str,
    printed_in: &'static str,
    aims_mg_l: Vec<AimRow>,
    ec_ms_cm: Option<f64>,
    ph: Option<[f64; 2]>,
    lacks: Vec<Nutrient>,
    source: &'a str,
    note: &'a str,
}

#[derive(Serialize)]
struct AimRow {
    nutrient: Aimed,
    aim: Option<f64>,
    min: Option<f64>,
    max: Option<f64>,
}

#[derive(Serialize)]
struct WaterRow<'a> {
    id: &'a str,
    own: &'static str,
    name: &'a str,
    holds: Vec<(Nutrient, f64)>,
    alkalinity_meq_l: f64,
    ph: Option<f64>,
    source: &'a str,
    note: &'a str,
}

#[derive(Serialize)]
struct FertilizerRow<'a> {
    id: &'a str,
    own: &'static str,
    name: &'a str,
    formula: Option<&'a str>,
    assay_pct: Vec<(Nutrient, f64)>,
    acid_meq_per_g: f64,
    density_g_per_ml: Option<f64>,
    tank: Option<&'static str>,
    hazard: &'a str,
    common: bool,
    source: &'a str,
    note: &'a str,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    if args.csv && args.what != What::Fertilizers {
        return Err(Stop::Usage("--csv goes with fertilizers only".into()));
    }
    let wanted = args.search.as_deref().unwrap_or_default().to_lowercase();
    let fits = |texts: &[&str]| {
        texts
            .iter()
            .any(|text| text.to_lowercase().contains(&wanted))
    };
    let own = &library.own;
    match args.what {
        What::Recipes => {
            let rows = library.recipes.iter();
            let rows: Vec<&Recipe> = rows.filter(|r| fits(&[&r.id, &r.name, &r.crop])).collect();
            show(
                args,
                out,
                &rows,
                |row| recipe_row(row, own),
                |rows| lists::recipes(rows, own),
            )
        }
        What::Waters => {
            let rows = library.waters.iter();
            let rows: Vec<&Water> = rows.filter(|w| fits(&[&w.id, &w.name])).collect();
            show(
                args,
                out,
                &rows,
                |row| water_row(row, own),
                |rows| lists::waters(rows, own),
            )
        }
        What::Fertilizers => {
            let rows = library.fertilizers.iter().map(|f| &**f);
            let formula = |f: &Fertilizer| f.formula.as_ref().map_or("", |f| f.text()).to_owned();
            let rows = rows.filter(|f| fits(&[&f.id, &f.name, &f.hazard, &formula(f)]));
            let rows: Vec<&Fertilizer> = rows.collect();
            if args.csv {
                write!(out, "{}", csv(&rows))?;
                return Ok(Ending::Within);
            }
            show(
                args,
                out,
                &rows,
                |row| fertilizer_row(row, own),
                |rows| lists::fertilizers(rows, own),
            )
        }
        What::Crops => {
            let rows: Vec<&Crop> = library.crops.iter().filter(|c| fits(&[&c.crop])).collect();
            show(args, out, &rows, Clone::clone, lists::crops)
        }
    }
}

fn show<'a, T, R: Serialize>(
    args: &Args,
    out: &mut dyn Write,
    rows: &[&'a T],
    machine: impl Fn(&'a T) -> R,
    sheet: impl Fn(&[&T]) -> Sheet,
) -> Result<Ending, Stop> {
    if args.json {
        let rows: Vec<R> = rows.iter().map(|row| machine(row)).collect();
        write_json(out, &rows)?;
    } else {
        write!(out, "{}", text::render(&sheet(rows)))?;
    }
    Ok(Ending::Within)
}

fn csv(rows: &[&Fertilizer]) -> String {
    let mut table = Table::default();
    for row in rows {
        // Ids of the shipped table are unique.
        let _ = table.push((*row).clone());
    }
    table.to_csv()
}

fn recipe_row<'a>(recipe: &'a Recipe, own: &Own) -> RecipeRow<'a> {
    RecipeRow {
        id: &recipe.id,
        own: own.place(List::Recipes, &recipe.id).word(),
        name: &recipe.name,
        crop: &recipe.crop,
        printed_in: recipe.unit.name(),
        aims_mg_l: recipe
            .aims()
            .map(|(nutrient, aim)| AimRow {
                nutrient,
                aim: aim.aim,
                min: aim.min,
                max: aim.max,
            })
            .collect(),
        ec_ms_cm: recipe.ec_ms_cm,
        ph: recipe.ph,
        lacks: recipe.lacks(),
        source: &recipe.source,
        note: &recipe.note,
    }
}

fn water_row<'a>(water: &'a Water, own: &Own) -> WaterRow<'a> {
    WaterRow {
        id: &water.id,
        own: own.place(List::Waters, &water.id).word(),
        name: &water.name,
        holds: water
            .holds
            .iter()
            .filter(|(_, amount)| *amount > 0.0)
            .collect(),
        alkalinity_meq_l: water.alkalinity_meq_l,
        ph: water.ph,
        source: &water.source,
        note: &water.note,
    }
}

fn fertilizer_row<'a>(row: &'a Fertilizer, own: &Own) -> FertilizerRow<'a> {
    FertilizerRow {
        id: &row.id,
        own: own.place(List::Fertilizers, &row.id).word(),
        name: &row.name,
        formula: row
            .formula
            .as_ref()
            .map(saltwright_fertilizers::Formula::text),
        assay_pct: row
            .assay_pct
            .iter()
            .filter(|(_, percent)| *percent > 0.0)
            .collect(),
        acid_meq_per_g: row.acid_meq_per_g(),
        density_g_per_ml: row.density_g_per_ml,
        tank: row.tank.map(saltwright_fertilizers::Tank::name),
        hazard: &row.hazard,
        common: row.common,
        source: &row.source,
        note: &row.note,
    }
}
