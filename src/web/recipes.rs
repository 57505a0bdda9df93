//! Recipes: what is shipped, and one's own.

use super::list::{ListPage, Own, facts, speaks_of};
use super::{Visit, own};
use crate::view::html::{self, Setting};
use crate::view::nutrients::Unit;
use crate::view::{Column, Kind, Sheet, lists, round, toml};
use maud::{Markup, html};
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Recipe;

/// The page.
pub const PAGE: ListPage = ListPage {
    path: "recipes",
    name: "Recipes",
    title: "Recipes",
    lead: "Published lists with their sources; EC in mS/cm where the list names it. “micros” stands \
           for Fe Mn Zn B Cu Mo, which another list then fills in.",
    sheet,
    one: Some(one),
    names: |visit| {
        visit
            .site
            .library
            .recipes
            .iter()
            .map(|r| r.id.clone())
            .collect()
    },
    own: Some(Own {
        field: "own-recipe",
        label: "My recipe (TOML), aims in mg/L of the element",
        example: own::RECIPE_EXAMPLE,
        check,
        start,
        used_in: ("formulate", &[("recipe", own::OWN), ("tank", "120 L")]),
    }),
    csv: None,
};

fn sheet(visit: &Visit<'_>, wanted: &str) -> Sheet {
    let rows = visit.site.library.recipes.iter();
    let fits = |r: &&Recipe| speaks_of(&[&r.id, &r.name, &r.crop], wanted);
    lists::recipes(
        &rows.filter(fits).collect::<Vec<_>>(),
        &visit.site.library.own,
    )
}

fn one(visit: &Visit<'_>, id: &str) -> Option<Markup> {
    let recipe = visit.site.library.recipe(id)?;
    let address = visit.address("formulate", &[("recipe", id), ("tank", "120 L")]);
    Some(html! {
        (shown(recipe, visit.show.unit))
        p.onward { a href=(address) { "Formulate with it" } }
        p { "Below it stands as text, to start your own from." }
    })
}

/// A recipe in full.
fn shown(recipe: &Recipe, unit: Unit) -> Markup {
    let mut columns = vec![Column::new(unit.name(), Kind::Name)];
    columns.extend(["aim", "min", "max"].map(|head| Column::new(head, Kind::Figures)));
    let rows: Vec<Vec<String>> = recipe
        .aims()
        .map(|(aimed, aim)| {
            let cell = |value: Option<f64>| value.map_or_else(String::new, |v| unit.show(aimed, v));
            vec![
                unit.label(aimed),
                cell(aim.aim),
                cell(aim.min),
                cell(aim.max),
            ]
        })
        .collect();
    let ec = recipe
        .ec_ms_cm
        .map(|ec| format!("{} mS/cm at 25 °C", round::ec(ec)));
    let ph = recipe
        .ph
        .map(|[low, high]| format!("{} to {}", round::ph(low), round::ph(high)));
    html! {
        h2 { (recipe.name) }
        (html::table(&columns, &rows, "Aims; a band that is not named is the default one", Setting::default()))
        (facts(&[
            ("crop", recipe.crop.clone()),
            ("EC", ec.unwrap_or_default()),
            ("pH", ph.unwrap_or_default()),
            ("printed in", recipe.unit.name().to_owned()),
            ("source", recipe.source.clone()),
            ("note", recipe.note.clone()),
        ]))
    }
}

fn check(visit: &Visit<'_>, text: &str, faults: &mut Faults) -> Option<Markup> {
    let (_, mut recipe) = own::read_toml(text, Recipe::read, faults)?;
    if recipe.name.is_empty() {
        recipe.name = "Your recipe".into();
    }
    Some(shown(&recipe, visit.show.unit))
}

/// The aims of a recipe as a person would write them.
fn start(visit: &Visit<'_>, id: &str) -> Option<String> {
    let recipe = visit.site.library.recipe(id)?;
    let aims = recipe.aims().map(|(aimed, aim)| {
        let figures = [("aim", aim.aim), ("min", aim.min), ("max", aim.max)];
        let named = figures
            .into_iter()
            .filter_map(|(key, value)| Some((key, tidy(value?))));
        let named: Vec<(&str, Node)> = named.collect();
        let node = match named.as_slice() {
            [("aim", figure)] => figure.clone(),
            _ => Node::table(named),
        };
        (aimed.key(), node)
    });
    let mut node = recipe.to_node();
    node.set("aims", Node::table(aims));
    Some(toml::write(&node))
}

/// A figure without the dust of converting it from the unit of its print.
fn tidy(figure: f64) -> Node {
    Node::number(format!("{figure:.8e}").parse().unwrap_or(figure))
}
