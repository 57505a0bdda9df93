//! Sheets of what is shipped: recipes, waters, fertilizers, crop ranges.

use super::{Column, Kind, Part, Sheet, amounts, round};
use saltwright_fertilizers::{Fertilizer, Nutrient};
use saltwright_recipes::{Crop, List, Own, Place, Recipe, Water};

/// Widest cell of main nutrients: the page less the longest names beside it.
const ASSAY_WIDTH: usize = 21;

/// A sheet of one table and remarks; "nothing found" where it has no rows.
fn list(columns: Vec<Column>, rows: Vec<Vec<String>>, notes: &[&str]) -> Sheet {
    let mut parts = Vec::new();
    if rows.is_empty() {
        parts.push(Part::Note("Nothing found.".into()));
    } else {
        parts.push(Part::Table { columns, rows });
        parts.extend(notes.iter().map(|note| Part::Note((*note).to_owned())));
    }
    Sheet {
        parts,
        ..Sheet::default()
    }
}

fn columns<const N: usize>(heads: [(&str, Kind); N]) -> Vec<Column> {
    heads
        .into_iter()
        .map(|(head, kind)| Column::new(head, kind))
        .collect()
}

/// The name of a row, and whether it is the grower's own.
fn name(id: &str, place: Place) -> String {
    match place {
        Place::Shipped => id.to_owned(),
        own => format!("{id} ({})", own.word()),
    }
}

/// Recipes.
pub fn recipes(recipes: &[&Recipe], own: &Own) -> Sheet {
    let rows = recipes.iter().map(|recipe| {
        let lacks = recipe.lacks();
        let lacks = if lacks.len() == Nutrient::MICROS.len() {
            "micros".to_owned()
        } else {
            let keys: Vec<&str> = lacks.into_iter().map(Nutrient::key).collect();
            keys.join(" ")
        };
        let ec = recipe.ec_ms_cm.map_or_else(String::new, round::ec);
        vec![
            name(&recipe.id, own.place(List::Recipes, &recipe.id)),
            recipe.crop.clone(),
            ec,
            lacks,
        ]
    });
    let heads = [
        ("recipe", Kind::Name),
        ("crop", Kind::Words),
        ("EC", Kind::Figures),
        ("brings no", Kind::Words),
    ];
    let notes = [
        "EC in mS/cm where the list names it. micros: Fe Mn Zn B Cu Mo; a list of micronutrients \
         fills them in, like --micros micros-leafy. --json shows aims and sources.",
    ];
    list(columns(heads), rows.collect(), &notes)
}

/// Source waters.
pub fn waters(waters: &[&Water], own: &Own) -> Sheet {
    let shown = [Nutrient::Ca, Nutrient::Mg, Nutrient::Na, Nutrient::Cl];
    let rows = waters.iter().map(|water| {
        let mut cells = vec![name(&water.id, own.place(List::Waters, &water.id))];
        cells.extend(shown.map(|nutrient| round::concentration(water.holds[nutrient])));
        cells.push(round::concentration(water.alkalinity_meq_l));
        cells.push(water.ph.map_or_else(String::new, round::ph));
        let invented = water.source.starts_with("invented");
        cells.push(if invented { "invented" } else { &water.source }.to_owned());
        cells
    });
    let mut columns = vec![Column::new("water", Kind::Name)];
    columns.extend(shown.map(|nutrient| Column::new(nutrient.key(), Kind::Figures)));
    columns.push(Column::new("alk.", Kind::Figures));
    columns.push(Column::new("pH", Kind::Figures));
    columns.push(Column::new("from", Kind::Words));
    let notes = ["Ca, Mg, Na and Cl in mg/L; alk. is alkalinity in meq/L. --json shows all."];
    list(columns, rows.collect(), &notes)
}

/// Fertilizers.
pub fn fertilizers(fertilizers: &[&Fertilizer], own: &Own) -> Sheet {
    let rows = fertilizers.iter().map(|row| {
        let mut name = name(&row.id, own.place(List::Fertilizers, &row.id));
        if row.common {
            name.push_str(" *");
        }
        let mark = amounts::mark(&row.hazards());
        let tank = row.tank.map_or("", |tank| amounts::tank(tank.name()));
        vec![name, main_nutrients(row), tank.to_owned(), mark]
    });
    let heads = [
        ("fertilizer", Kind::Name),
        ("percent by mass", Kind::Drawing),
        ("tank", Kind::Words),
        ("", Kind::Words),
    ];
    let notes = [
        "* on the common shelf, from which mixes are made unless --only or --fertilizers says \
         otherwise. --json shows whole assays and sources, --csv the table to edit.",
    ];
    list(columns(heads), rows.collect(), &notes)
}

/// The largest nutrients that fit, in fixed order.
fn main_nutrients(row: &Fertilizer) -> String {
    let mut all: Vec<(Nutrient, f64)> = row
        .assay_pct
        .iter()
        .filter(|(_, percent)| *percent >= 0.05)
        .collect();
    loop {
        let shown: Vec<String> = all
            .iter()
            .map(|(n, percent)| format!("{n} {percent:.1}"))
            .collect();
        let text = shown.join(" ");
        if text.chars().count() <= ASSAY_WIDTH || all.len() <= 1 {
            return text;
        }
        let least = all
            .iter()
            .enumerate()
            .min_by(|a, b| a.1.1.total_cmp(&b.1.1));
        if let Some((least, _)) = least {
            all.remove(least);
        }
    }
}

/// Crop ranges.
pub fn crops(crops: &[&Crop]) -> Sheet {
    let rows = crops.iter().map(|crop| {
        vec![
            crop.crop.clone(),
            range(crop.ec_min_ms_cm, crop.ec_max_ms_cm),
            range(crop.ph_min, crop.ph_max),
            crop.note.clone(),
        ]
    });
    let heads = [
        ("crop", Kind::Words),
        ("EC mS/cm", Kind::Drawing),
        ("pH", Kind::Drawing),
        ("note", Kind::Words),
    ];
    list(
        columns(heads),
        rows.collect(),
        &["Published ranges; --json names the source of each."],
    )
}

fn range(low: Option<f64>, high: Option<f64>) -> String {
    match (low.map(round::plain), high.map(round::plain)) {
        (Some(low), Some(high)) if low == high => low,
        (Some(low), Some(high)) => format!("{low} – {high}"),
        (Some(low), None) => format!("from {low}"),
        (None, Some(high)) => format!("to {high}"),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::expect_used)]
    use super::super::text;
    use super::*;
    use saltwright_recipes::Library;

    #[test]
    fn every_shipped_name_can_be_copied_from_its_list() {
        let library = Library::shipped().expect("sound");
        let rows: Vec<&Fertilizer> = library.fertilizers.iter().map(|row| &**row).collect();
        let text = text::render(&fertilizers(&rows, &library.own));
        for row in rows {
            assert!(text.contains(&format!("{} ", row.id)), "{}", row.id);
        }
        let rows: Vec<&Recipe> = library.recipes.iter().collect();
        let text = text::render(&recipes(&rows, &library.own));
        for row in rows {
            assert!(text.contains(&format!("{} ", row.id)), "{}", row.id);
        }
    }
}
