//! The main job: from a recipe and a water to grams.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, own, pictures, ranges};
use crate::view::{csv, formulate, nutrients::Unit};
use saltwright_fertilizers::units::{
    parse_alkalinity, parse_ec, parse_mass, parse_number, parse_ratio, parse_strength,
};
use saltwright_fertilizers::{Aimed, Node, Problem, Value};
use saltwright_recipes::Aim;
use saltwright_solver::formulate::FormulateReport;
use saltwright_solver::formulate::request::TO_EC;
use saltwright_solver::job::Report;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "formulate",
    name: "Formulate",
    title: "What to weigh for a recipe and a water",
    lead: "Choose, type, and the sheet follows: grams, nutrients, meter, cost and what to heed.",
    job: "formulate",
    opening: &[
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("tank", "120 L"),
    ],
    form,
    ask,
    answer,
};

/// The group of single aims.
pub(super) const AIMS: &str = "Change an aim";
/// The group of what may be off.
pub(super) const SURE: &str = "How sure: what may be off";

/// What every page that takes a mix on is asked with.
const KEPT: [&str; 4] = ["water", "blend", "own-water", "own-fertilizers"];

pub(super) fn form(visit: &Visit<'_>) -> Vec<Group> {
    let strength = Field::line("strength", "Strength", "times").shown("1");
    vec![
        Group::open(vec![
            own::recipe_field(visit),
            own::water_field(visit),
            own::tank_field(visit),
            strength,
        ]),
        Group::folded(AIMS, aim_fields(visit)),
        Group::folded(
            "Use my own recipe, water or a blend",
            own::pasted_fields().to_vec(),
        ),
        Group::folded("Fertilizers and prices", shelf_fields(visit)),
        Group::folded(
            "Acid, stock, meter, what is in the tank",
            more_fields(visit),
        ),
        Group::folded(SURE, sure_fields()),
    ]
}

/// A field for each nutrient; the recipe's own figure shows in it.
fn aim_fields(visit: &Visit<'_>) -> Vec<Field> {
    let chosen = visit.fields.get("recipe").unwrap_or_default();
    let recipe = visit.site.library.recipe(chosen);
    let aims = Aimed::all().map(|aimed| {
        let shown = recipe.and_then(|recipe| recipe.aim(aimed));
        let field = Field::line(own::aim_name(aimed), aimed.key(), Unit::Mg.name());
        field.shown(shown.map_or_else(String::new, as_typed))
    });
    aims.collect()
}

/// An aim as it would be typed.
fn as_typed(aim: Aim) -> String {
    let shown = |value: f64| Unit::Mg.show(Aimed::TotalN, value);
    let end = |value: Option<f64>| value.map_or_else(String::new, shown);
    match aim.aim {
        Some(figure) => shown(figure),
        None => format!("{}..{}", end(aim.min), end(aim.max)),
    }
}

fn shelf_fields(visit: &Visit<'_>) -> Vec<Field> {
    let common = visit
        .site
        .library
        .fertilizers
        .iter()
        .filter(|row| row.common);
    let common = common.map(|row| Choice::new(&row.id, &row.id)).collect();
    let [table, prices, own_prices] = own::shelf_fields(visit);
    vec![
        prices,
        Field::any("without", "Not on my shelf", common),
        Field::line("only", "Use only these", "")
            .hint("Names of the fertilizers page, apart by commas."),
        Field::lines("at-most", "What is left of a bag", "urea 200 g")
            .hint("One a line; counts for the tank above."),
        table,
        own_prices,
    ]
}

fn sure_fields() -> Vec<Field> {
    let mut fields = ranges::fields();
    fields.insert(1, ranges::sure_field());
    fields
}

fn more_fields(visit: &Visit<'_>) -> Vec<Field> {
    let library = &visit.site.library;
    let mut acids = vec![
        Choice::new("", "as the shelf has it"),
        Choice::new("none", "none, and no reckoning"),
    ];
    let rows = library.fertilizers.iter();
    let rows = rows.filter(|row| row.is_acid() && row.acid_meq_per_g() > 0.0);
    acids.extend(rows.map(|row| Choice::new(&row.id, &row.id)));
    vec![
        Field::one("acid", "Acid", acids),
        Field::line("residual", "Alkalinity to leave", "meq/L").shown("0.5"),
        Field::line("ratio", "Stock diluted", "1 : parts").hint("Shows grams per litre of stock."),
        Field::line("ec", "EC to compare with", "mS/cm at 25 °C"),
        Field::one(
            "to-ec",
            "Make it as strong as that EC",
            vec![Choice::new("", "no"), Choice::new("yes", "yes")],
        ),
        Field::line("ph", "pH to reach", "").hint("Instead of an alkalinity, by acid or base."),
        Field::one(
            "end",
            "That pH is meant",
            vec![
                Choice::new("", "right after mixing"),
                Choice::new("open", "after standing in air"),
            ],
        ),
        own::micros_field(visit),
        Field::one(
            "simplest",
            "Look for a simpler mix",
            vec![Choice::new("", "yes"), Choice::new("no", "no")],
        ),
        Field::lines("already", "In the tank already", own::MIX_EXAMPLE)
            .hint("Name and amount, one a line, for the tank above or else for one litre."),
    ]
}

pub(super) fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::recipe(asking);
    own::water(asking);
    own::tank(asking);
    own::litres_of_tank(asking);
    if asking.value("to-ec") == Some("yes") {
        asking.set("strength", Node::text(TO_EC), "to-ec");
    } else {
        asking.quantity("strength", "strength", parse_strength);
    }
    asking.quantity("ratio", "ratio", parse_ratio);
    asking.quantity("ec", "ec_ms_cm", |text| parse_ec(text).map(|ec| ec.0));
    if let Some(residual) = asking.value("residual") {
        match parse_alkalinity(residual) {
            Ok(residual) => {
                let node = Node::table([("residual_meq_l", Node::number(residual.0))]);
                asking.set("acid_to", node, "residual");
            }
            Err(problem) => asking.refuse("residual", problem),
        }
    }
    to_ph(asking);
    if asking.visit.show.detail {
        asking.set("detail", Value::Bool(true).into(), "detail");
    }
    asking.names("only", "only");
    asking.names("without", "without");
    asking.name("micros", "micros");
    asking.id_or_none("acid", "acid");
    if asking.value("simplest") == Some("no") {
        asking.set("simplest", Value::Bool(false).into(), "simplest");
    }
    if asking.value("at-most").is_some() {
        let grams = |text: &str| parse_mass(text).map(|grams| grams.0);
        own::pairs(asking, "at-most", "at_most_g", grams);
    }
    ranges::ask(asking);
    ranges::ask_sure(asking);
    if asking.value("already").is_some() {
        own::mix(asking, "already", "already");
    }
}

/// The pH of the finished solution, where one is asked for.
fn to_ph(asking: &mut Asking<'_>) {
    let Some(typed) = asking.value("ph") else {
        return;
    };
    if asking.value("residual").is_some() {
        let what = "an alkalinity to leave and a pH to reach are both given".to_owned();
        let mend = "Keep one of the two.".to_owned();
        asking.refuse("ph", Problem::Contradiction { what, mend });
        return;
    }
    match parse_number(typed) {
        Ok(ph) => {
            let end = asking.value("end").unwrap_or("closed");
            let entries = [("ph", Node::number(ph)), ("end", Node::text(end))];
            asking.set("acid_to", Node::table(entries), "ph");
        }
        Err(problem) => asking.refuse("ph", problem),
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Formulate(report) = report else {
        return None;
    };
    let visit = asking.visit;
    let sheet = formulate::sheet(report, visit.show, &|id| asking.known.dangers(id));
    Some(Answered {
        sheet,
        // What the ions conduct stands in the table; the page of a prediction draws it, too.
        pictures: pictures::cost_by_fertilizer(&report.mix)
            .into_iter()
            .collect(),
        csv: Some(csv::mix(&report.mix)),
        nutrients_csv: Some(csv::nutrients(&report.nutrients)),
        onward: vec![
            (
                onward(
                    super::predict::PAGE.path,
                    report,
                    visit,
                    own::per_litre,
                    &["prices", "own-prices"],
                ),
                "Change these grams".into(),
            ),
            (
                onward(
                    super::stock::PAGE.path,
                    report,
                    visit,
                    own::exactly,
                    &["ratio"],
                ),
                "Stock tanks of it".into(),
            ),
        ],
        ..Answered::default()
    })
}

/// The address of a page that takes this mix on, in the same water and with the same fertilizers.
pub(super) fn onward(
    path: &str,
    report: &FormulateReport,
    visit: &Visit<'_>,
    amount: fn(f64, Option<f64>) -> String,
    kept: &[&str],
) -> String {
    let lines: Vec<String> = report
        .mix
        .iter()
        .map(|row| format!("{} {}", row.id, amount(row.g_per_l, row.ml_per_l)))
        .collect();
    let mix = lines.join("\n");
    let mut fields = vec![("mix", mix.as_str())];
    let kept = KEPT.iter().chain(kept);
    fields.extend(kept.filter_map(|name| Some((*name, visit.fields.get(name)?))));
    visit.address(path, &fields)
}
