//! Source waters: what is shipped, and one's own.

use super::list::{ListPage, Own, facts, speaks_of};
use super::{Visit, own};
use crate::view::html::{self, Setting};
use crate::view::nutrients::Unit;
use crate::view::{Column, Kind, Sheet, lists, round, toml};
use maud::{Markup, html};
use saltwright_fertilizers::{Aimed, Faults, Node};
use saltwright_recipes::Water;

/// The page.
pub const PAGE: ListPage = ListPage {
    path: "waters",
    name: "Waters",
    title: "Source waters",
    lead: "Invented ones to try things on; your own comes from the report of a laboratory. Ca, Mg, \
           Na and Cl in mg/L, alkalinity (alk.) in meq/L.",
    sheet,
    one: Some(one),
    names: |visit| {
        visit
            .site
            .library
            .waters
            .iter()
            .map(|w| w.id.clone())
            .collect()
    },
    own: Some(Own {
        field: "own-water",
        label: "My water (TOML), in mg/L of the element",
        example: own::WATER_EXAMPLE,
        check,
        start,
        used_in: (
            "formulate",
            &[
                ("recipe", "sonneveld-modified-lettuce"),
                ("water", own::OWN),
                ("tank", "120 L"),
            ],
        ),
    }),
    csv: None,
};

fn sheet(visit: &Visit<'_>, wanted: &str) -> Sheet {
    let rows = visit.site.library.waters.iter();
    let fits = |w: &&Water| speaks_of(&[&w.id, &w.name], wanted);
    lists::waters(
        &rows.filter(fits).collect::<Vec<_>>(),
        &visit.site.library.own,
    )
}

fn one(visit: &Visit<'_>, id: &str) -> Option<Markup> {
    let water = visit.site.library.water(id)?;
    let recipe = ("recipe", "sonneveld-modified-lettuce");
    let address = visit.address("formulate", &[recipe, ("water", id), ("tank", "120 L")]);
    Some(html! {
        (shown(water, visit.show.unit))
        p.onward { a href=(address) { "Formulate with it" } }
        p { "Below it stands as text, to start your own from." }
    })
}

/// A water in full.
fn shown(water: &Water, unit: Unit) -> Markup {
    let columns = [
        Column::new(unit.name(), Kind::Name),
        Column::new("holds", Kind::Figures),
    ];
    let held = water.holds.iter().filter(|(_, amount)| *amount > 0.0);
    let rows: Vec<Vec<String>> = held
        .map(|(nutrient, amount)| {
            let aimed = Aimed::Form(nutrient);
            vec![unit.label(aimed), unit.show(aimed, amount)]
        })
        .collect();
    let alkalinity = format!("{} meq/L", round::concentration(water.alkalinity_meq_l));
    let alkalinity = if water.alkalinity_known {
        alkalinity
    } else {
        "not known, counted as none".to_owned()
    };
    let temperature = water
        .temperature_c
        .map(|c| format!("{} °C", round::plain(c)));
    html! {
        h2 { (water.name) }
        (html::table(&columns, &rows, "What a litre holds", Setting::default()))
        (facts(&[
            ("alkalinity", alkalinity),
            ("pH", water.ph.map(round::ph).unwrap_or_default()),
            ("temperature", temperature.unwrap_or_default()),
            ("source", water.source.clone()),
            ("note", water.note.clone()),
        ]))
        p { "A report of a laboratory wins over anything shipped here; whether water is fit to \
             drink is for local authorities to say." }
    }
}

fn check(visit: &Visit<'_>, text: &str, faults: &mut Faults) -> Option<Markup> {
    let (_, mut water) = own::read_toml(text, Water::read, faults)?;
    if water.name.is_empty() {
        water.name = "Your water".into();
    }
    Some(shown(&water, visit.show.unit))
}

fn start(visit: &Visit<'_>, id: &str) -> Option<String> {
    let water = visit.site.library.water(id)?;
    let held = water.holds.iter().filter(|(_, amount)| *amount > 0.0);
    let held = held.map(|(nutrient, amount)| (nutrient.key(), Node::number(amount)));
    let mut node = Node::table([
        ("name", Node::text(&water.name)),
        ("alkalinity_meq_l", Node::number(water.alkalinity_meq_l)),
        ("holds", Node::table(held)),
    ]);
    node.fill([
        ("ph", water.ph.map(Node::number)),
        ("temperature_c", water.temperature_c.map(Node::number)),
    ]);
    Some(toml::write(&node))
}
