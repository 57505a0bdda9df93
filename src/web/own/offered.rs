//! The fields that choose between what is shipped and what is one's own, with an example in each.

use super::{BLEND, NONE, OWN};
use crate::web::Visit;
use crate::web::form::{Choice, Field};
use saltwright_fertilizers::Aimed;

/// How a recipe of one's own may look.
pub const RECIPE_EXAMPLE: &str = "name = \"My lettuce\"\nec_ms_cm = 1.4\n[aims]\nNO3-N = 140\nP = 31\nK = 200\nCa = 95\nMg = 22\nFe = { min = 0.8, max = 1.4 }\nCl = { max = 70 }";
/// How a water of one's own may look.
pub const WATER_EXAMPLE: &str = "name = \"My well\"\nalkalinity_meq_l = 2.1\nph = 7.6\n[holds]\nCa = 48\nMg = 9\nNa = 12\nS = 12\nCl = 28";
/// How a table of fertilizers may look.
pub const FERTILIZERS_EXAMPLE: &str =
    "id,formula,NO3-N,K,Ca,tank\nmy-nitrate,KNO3,13.5,38.0,,either\nmy-calcium,,15.5,,19.0,A";
/// How a price list may look.
const PRICES_EXAMPLE: &str = "id,price_per_kg\npotassium-nitrate,1.85\nurea,0.78";
/// How a mix may look.
pub const MIX_EXAMPLE: &str = "potassium-nitrate 0.5 g\nnitric-acid-38 0.3 mL";

/// The field that names a recipe.
pub fn recipe_field(visit: &Visit<'_>) -> Field {
    let shipped = visit.site.library.recipes.iter();
    let mut choices: Vec<Choice> = shipped
        .map(|recipe| Choice::new(&recipe.id, &recipe.name))
        .collect();
    choices.sort_by(|a, b| a.words.cmp(&b.words));
    choices.push(Choice::new(OWN, "my own, pasted below"));
    Field::one("recipe", "Recipe", choices)
}

/// The field that names a water.
pub fn water_field(visit: &Visit<'_>) -> Field {
    let mut choices = vec![Choice::new("", "pure water")];
    let shipped = visit.site.library.waters.iter();
    choices.extend(shipped.map(|water| Choice::new(&water.id, &water.name)));
    choices.push(Choice::new(OWN, "my own, pasted below"));
    choices.push(Choice::new(BLEND, "a blend, written below"));
    Field::one("water", "Water", choices)
}

/// The field of a list that fills in what a recipe lacks.
pub fn micros_field(visit: &Visit<'_>) -> Field {
    let mut micros = vec![Choice::new("", "as the recipe says")];
    let lists = visit.site.library.recipes.iter();
    let lists = lists.filter(|recipe| recipe.id.starts_with("micros-"));
    micros.extend(lists.map(|recipe| Choice::new(&recipe.id, &recipe.name)));
    Field::one("micros", "Micronutrients the recipe lacks", micros)
}

/// The fields of a recipe and a water of one's own.
pub fn pasted_fields() -> [Field; 3] {
    [
        Field::lines("own-recipe", "My recipe (TOML)", RECIPE_EXAMPLE)
            .hint("Aims in mg/L of the element. Counts when the recipe above is “my own”."),
        pasted_water(),
        blend_field(),
    ]
}

/// The field of a water of one's own.
pub fn pasted_water() -> Field {
    Field::lines("own-water", "My water (TOML)", WATER_EXAMPLE)
        .hint("Figures in mg/L, from the report of a laboratory. Counts when the water above is “my own”.")
}

/// The fields of fertilizers and prices of one's own.
pub fn shelf_fields(visit: &Visit<'_>) -> [Field; 3] {
    let mut choices = vec![
        Choice::new("demo", "invented ones, to try"),
        Choice::new(OWN, "my own, pasted below"),
    ];
    if visit.site.library.own.prices.is_empty() {
        choices.insert(0, Choice::new("", "none: grams only"));
    } else {
        choices.insert(0, Choice::new("", "those of my folder"));
        choices.insert(1, Choice::new(NONE, "none: grams only"));
    }
    [
        Field::lines(
            "own-fertilizers",
            "My fertilizers (CSV)",
            FERTILIZERS_EXAMPLE,
        )
        .hint("Percent by mass as sold. Leave empty for the common shelf."),
        Field::one("prices", "Prices", choices)
            .hint("Once there are prices, fertilizers without one are left out."),
        Field::lines(
            "own-prices",
            "My prices (CSV), any currency",
            PRICES_EXAMPLE,
        ),
    ]
}

/// The unit of a bare volume.
pub fn volume_unit(visit: &Visit<'_>) -> &'static str {
    if visit.is_us() { "US gal" } else { "L" }
}

/// The field of the batch.
pub fn tank_field(visit: &Visit<'_>) -> Field {
    Field::line("tank", "Tank", volume_unit(visit))
}

/// The field of an aim.
pub fn aim_name(aimed: Aimed) -> String {
    format!("aim-{}", aimed.key())
}

/// The field of a blend.
pub fn blend_field() -> Field {
    Field::lines(
        "blend",
        "Blend of waters",
        "rain-barrel 60 %\nquarry-end-well 40 %",
    )
    .hint(
        "A water and its share, one a line; “own” is the pasted one. Counts when the water above \
         is “a blend”.",
    )
}

/// The field of a laboratory's figures of a tank.
pub fn analysis_field(label: &str) -> Field {
    Field::lines(
        "analysis",
        label,
        "[holds]\nNO3-N = 132\nP = 30\nK = 168\nCa = 112\nMg = 28",
    )
}
