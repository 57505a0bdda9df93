//! `saltwright list`: what is shipped.

use super::{Ending, Stop, write_json};
use crate::view::{formulate, round, text};
use saltwright_fertilizers::{Aimed, Fertilizer, Nutrient};
use saltwright_recipes::{Crop, Library, Recipe, Water};
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
    /// Print the fertilizer table as CSV, to edit and use with --fertilizers
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
    if args.csv && args.what == What::Fertilizers {
        write!(out, "{}", library.fertilizers.to_csv())?;
        return Ok(Ending::Within);
    }
    let wanted = args.search.as_deref().unwrap_or_default().to_lowercase();
    let fits = |texts: &[&str]| {
        texts
            .iter()
            .any(|text| text.to_lowercase().contains(&wanted))
    };
    match args.what {
        What::Recipes => {
            let rows = library
                .recipes
                .iter()
                .filter(|r| fits(&[&r.id, &r.name, &r.crop]));
            let rows: Vec<_> = rows.collect();
            show(
                args,
                out,
                &rows,
                recipe_row,
                &["id", "crop", "brings no"],
                recipe_cells,
            )
        }
        What::Waters => {
            let rows = library.waters.iter().filter(|w| fits(&[&w.id, &w.name]));
            let rows: Vec<_> = rows.collect();
            let heads = ["id", " Ca", " Mg", " Na", " Cl", " alkalinity", "from"];
            show(args, out, &rows, water_row, &heads, water_cells)
        }
        What::Fertilizers => {
            let rows = library.fertilizers.iter().map(|f| &**f);
            let rows: Vec<&Fertilizer> = rows.filter(|f| fits(&[&f.id, &f.name])).collect();
            let heads = ["id", "", "percent by mass", "tank", "* common shelf"];
            show(args, out, &rows, fertilizer_row, &heads, fertilizer_cells)
        }
        What::Crops => {
            let rows: Vec<&Crop> = library.crops.iter().filter(|c| fits(&[&c.crop])).collect();
            let heads = ["crop", " EC mS/cm", " pH", "note"];
            show(
                args,
                out,
                &rows,
                |crop: &Crop| crop.clone(),
                &heads,
                crop_cells,
            )
        }
    }
}

fn show<'a, T, R: Serialize>(
    args: &Args,
    out: &mut dyn Write,
    rows: &[&'a T],
    machine: impl Fn(&'a T) -> R,
    heads: &[&str],
    cells: impl Fn(&'a T) -> Vec<String>,
) -> Result<Ending, Stop> {
    if args.json {
        let rows: Vec<R> = rows.iter().map(|row| machine(row)).collect();
        write_json(out, &rows)?;
        return Ok(Ending::Within);
    }
    let heads: Vec<String> = heads.iter().map(|head| (*head).to_owned()).collect();
    let rows: Vec<Vec<String>> = rows.iter().map(|row| cells(row)).collect();
    let mut page = String::new();
    text::table(&mut page, &heads, &rows);
    for line in page.lines() {
        let cut: String = line.chars().take(text::WIDTH).collect();
        writeln!(out, "{}", cut.trim_end())?;
    }
    Ok(Ending::Within)
}

fn recipe_row(recipe: &Recipe) -> RecipeRow<'_> {
    RecipeRow {
        id: &recipe.id,
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

fn recipe_cells(recipe: &Recipe) -> Vec<String> {
    let lacks: Vec<&str> = recipe.lacks().into_iter().map(Nutrient::key).collect();
    vec![recipe.id.clone(), cut(&recipe.crop, 22), lacks.join(" ")]
}

fn water_row(water: &Water) -> WaterRow<'_> {
    WaterRow {
        id: &water.id,
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

fn water_cells(water: &Water) -> Vec<String> {
    let mut cells = vec![water.id.clone()];
    let shown = [Nutrient::Ca, Nutrient::Mg, Nutrient::Na, Nutrient::Cl];
    cells.extend(shown.map(|n| round::concentration(water.holds[n])));
    cells.push(format!(
        "{} meq/L",
        round::concentration(water.alkalinity_meq_l)
    ));
    cells.push(
        if water.source.contains("invented") {
            "invented"
        } else {
            ""
        }
        .into(),
    );
    cells
}

fn fertilizer_row(row: &Fertilizer) -> FertilizerRow<'_> {
    FertilizerRow {
        id: &row.id,
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

fn fertilizer_cells(row: &Fertilizer) -> Vec<String> {
    let assay = row.assay_pct.iter().filter(|(_, percent)| *percent >= 0.05);
    let assay: Vec<String> = assay
        .map(|(n, percent)| format!("{n} {percent:.1}"))
        .collect();
    let dangers = row.hazards();
    vec![
        row.id.clone(),
        if row.common { "*" } else { "" }.into(),
        cut(&assay.join(" "), 22),
        row.tank.map_or("", |tank| tank.name()).to_owned(),
        formulate::mark(&dangers),
    ]
}

/// The text, or its beginning where it is longer.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        text.to_owned()
    } else {
        text.chars().take(most - 1).chain(['…']).collect()
    }
}

fn crop_cells(crop: &Crop) -> Vec<String> {
    let range = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(low), Some(high)) if (low - high).abs() < 1e-9 => round::plain(low),
        (Some(low), Some(high)) => format!("{} – {}", round::plain(low), round::plain(high)),
        (Some(low), None) => format!("from {}", round::plain(low)),
        (None, Some(high)) => format!("to {}", round::plain(high)),
        (None, None) => String::new(),
    };
    vec![
        cut(&crop.crop, 34),
        range(crop.ec_min_ms_cm, crop.ec_max_ms_cm),
        range(crop.ph_min, crop.ph_max),
        cut(&crop.note, 24),
    ]
}
