//! Fertilizers: the shipped table, and one's own.

use super::list::{ListPage, Own, facts, speaks_of};
use super::{Visit, own};
use crate::view::html::{self, Setting};
use crate::view::{Column, Kind, Sheet, amounts, lists, round};
use maud::{Markup, html};
use saltwright_fertilizers::{Faults, Fertilizer, Formula};
use saltwright_solver::words;

/// The page.
pub const PAGE: ListPage = ListPage {
    path: "fertilizers",
    name: "Fertilizers",
    title: "Fertilizers",
    lead: "The shipped table, percent by mass as sold; the label of your bag wins over it. A star \
           marks the common shelf, from which mixes are made unless you say otherwise.",
    sheet,
    one: Some(one),
    names: |visit| {
        visit
            .site
            .library
            .fertilizers
            .iter()
            .map(|f| f.id.clone())
            .collect()
    },
    own: Some(Own {
        field: "own-fertilizers",
        label: "My fertilizers (CSV), percent by mass",
        example: own::FERTILIZERS_EXAMPLE,
        check,
        start: |_, _| None,
        used_in: (
            "formulate",
            &[("recipe", "sonneveld-modified-lettuce"), ("tank", "120 L")],
        ),
    }),
    csv: Some(|visit| visit.site.library.fertilizers.to_csv()),
};

fn sheet(visit: &Visit<'_>, wanted: &str) -> Sheet {
    let rows = visit.site.library.fertilizers.iter().map(|row| &**row);
    let fits = |f: &&Fertilizer| {
        let formula = f.formula.as_ref().map_or("", Formula::text);
        speaks_of(&[&f.id, &f.name, &f.hazard, formula], wanted)
    };
    lists::fertilizers(
        &rows.filter(fits).collect::<Vec<_>>(),
        &visit.site.library.own,
    )
}

fn one(visit: &Visit<'_>, id: &str) -> Option<Markup> {
    let row = visit.site.library.fertilizers.get(id)?;
    Some(shown(row))
}

/// A fertilizer in full, with its cautions.
fn shown(row: &Fertilizer) -> Markup {
    let columns = [
        Column::new("nutrient", Kind::Name),
        Column::new("percent by mass", Kind::Figures),
    ];
    let held = row.assay_pct.iter().filter(|(_, percent)| *percent > 0.0);
    let rows: Vec<Vec<String>> = held
        .map(|(nutrient, percent)| vec![nutrient.to_string(), round::three(percent)])
        .collect();
    let density = row
        .density_g_per_ml
        .map(|d| format!("{} g/mL", round::three(d)));
    let acid = row.acid_meq_per_g();
    let acid = (acid.abs() > 0.0).then(|| format!("{} meq of acid per g", round::three(acid)));
    let hazards = row.hazards();
    html! {
        h2 { (row.name) }
        (html::table(&columns, &rows, "What it brings", Setting::default()))
        (facts(&[
            ("name here", row.id.clone()),
            ("formula", row.formula.as_ref().map_or("", Formula::text).to_owned()),
            ("density", density.unwrap_or_default()),
            ("acid", acid.unwrap_or_default()),
            ("tank", row.tank.map_or("", |tank| amounts::tank(tank.name())).to_owned()),
            ("hazard", row.hazard.clone()),
            ("source", row.source.clone()),
            ("note", row.note.clone()),
        ]))
        @if !hazards.is_empty() {
            ul.heed aria-label="cautions" {
                @for hazard in hazards { li { (words::hazard(hazard)) } }
                li { (words::DEFER) }
            }
        }
    }
}

fn check(_: &Visit<'_>, text: &str, faults: &mut Faults) -> Option<Markup> {
    let table = own::read_table(text, faults)?;
    let rows: Vec<&Fertilizer> = table.iter().map(|row| &**row).collect();
    let mut sheet = lists::fertilizers(&rows, &saltwright_recipes::Own::default());
    sheet.parts.truncate(1);
    Some(html! {
            h2 { "Your fertilizers" }
            (html::render(&sheet, Setting::default()))
    })
}
