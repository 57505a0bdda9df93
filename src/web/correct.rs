//! A reservoir: what the meters show, and what to do, in order. Made for one thumb by the tank.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::water::{temperature_unit, typed_celsius};
use super::{Visit, own};
use crate::cli::correct::{band, bottle};
use crate::cli::meter::strength;
use crate::cli::stocks;
use crate::view::correct;
use saltwright_fertilizers::units::{parse_ec, parse_number, parse_ratio, parse_shown};
use saltwright_fertilizers::{Fertilizer, Node, Problem, Value};
use saltwright_solver::job::Report;

/// The invented stocks of the demonstration.
const DEMO_STOCKS: &str = include_str!("../../recipes/data/demo/stocks.toml");
/// How stocks of one's own may look.
const STOCKS_EXAMPLE: &str =
    "tank,id,g_per_l_stock\nA,calcium-nitrate-fertilizer,41\nB,potassium-nitrate,50";

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "correct",
    name: "Correct",
    title: "The meters are off: what to do",
    lead: "Type what the meters show; the steps follow in order, with what they should show after each.",
    job: "correct",
    opening: &[
        ("reading", "1.9"),
        ("ph", "6.9"),
        ("level", "110 L"),
        ("tank", "120 L"),
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("stocks", "demo"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let volume = if visit.is_us() { "US gal" } else { "L" };
    let acids = remedies_of(visit, |row| row.is_acid() && row.acid_meq_per_g() > 0.0);
    let bases = remedies_of(visit, |row| row.is_base() && row.acid_meq_per_g() < 0.0);
    let stocks = vec![
        Choice::new("", "none: only water, acid and salts"),
        Choice::new("demo", "invented jugs, to try"),
        Choice::new(own::OWN, "my own, pasted below"),
    ];
    vec![
        Group::open(vec![
            Field::line("reading", "EC or TDS", "mS/cm").hint("Or like 16 CF, 650 ppm@500."),
            Field::line("ph", "pH", ""),
            Field::line("temperature", "Temperature", temperature_unit(visit)),
            Field::line("level", "In the tank", volume),
            own::tank_field(visit),
            own::recipe_field(visit),
            own::water_field(visit),
            Field::one("stocks", "Stocks", stocks),
            Field::one("acid", "Acid", acids),
        ]),
        Group::folded(
            "My own stocks, recipe, water or a blend",
            [
                Field::lines(
                    "own-stocks",
                    "My stocks (CSV, JSON or TOML)",
                    STOCKS_EXAMPLE,
                )
                .hint("What the page of stock tanks keeps as JSON will do."),
                Field::line("ratio", "Dilution of the stocks", "1 to"),
            ]
            .into_iter()
            .chain(own::pasted_fields())
            .collect(),
        ),
        Group::folded(
            "Aims, base, a bottle without a label, a laboratory",
            vec![
                Field::line("ec", "EC to come to", "mS/cm").hint("Else that of the recipe."),
                Field::line("ph-band", "pH to come to", "").hint("Like 5.6..6.2."),
                Field::line("fill", "Fill to", volume),
                Field::one("base", "Base", bases),
                Field::line("bottle", "A bottle of unknown strength", "")
                    .hint("What it did, like 5mL/100L=7.0..6.6."),
                own::analysis_field("A laboratory's figures of the tank (TOML)"),
            ],
        ),
    ]
}

/// What lowers or raises the pH, by name.
fn remedies_of(visit: &Visit<'_>, serves: fn(&Fertilizer) -> bool) -> Vec<Choice> {
    let mut choices = vec![
        Choice::new("", "that of the stocks, else a usual one"),
        Choice::new("none", "none"),
    ];
    let shelf = visit.site.library.fertilizers.iter();
    let serving = shelf.filter(|row| row.is_charted() && serves(row));
    choices.extend(serving.map(|row| Choice::new(&row.id, &row.id)));
    choices
}

fn ask(asking: &mut Asking<'_>) {
    own::recipe(asking);
    own::water(asking);
    let is_us = asking.visit.is_us();
    let litres = move |text: &str| own::litres(text, is_us);
    let capacity = asking.quantity("tank", "capacity_l", litres);
    if asking.quantity("level", "litres", litres).is_none()
        && asking.value("level").is_none()
        && let Some(capacity) = capacity
    {
        // A full tank.
        asking.set("litres", Node::number(capacity), "tank");
    }
    asking.origin("litres", "level");
    asking.quantity("fill", "fill_to_l", litres);
    asking.quantity("ec", "ec_ms_cm", |text| parse_ec(text).map(|ec| ec.0));
    reading(asking);
    if let Some(typed) = asking.value("ph-band")
        && let Some(band) = asking.within("ph-band", |_, faults| band(typed, faults))
    {
        asking.set("ph", band, "ph-band");
    }
    stock(asking);
    remedies(asking);
    own::analysis(asking);
}

/// What the meters show, one part a field.
fn reading(asking: &mut Asking<'_>) {
    let mut reading = Node::table::<&str>([]);
    if let Some(typed) = asking.value("reading") {
        match parse_shown(typed) {
            Ok(shown) => reading = strength(shown),
            Err(problem) => asking.refuse("reading", problem),
        }
    } else if asking.value("analysis").is_none() {
        let (what, mend) = ("the reading", "Type what the meter shows, like 1.4.");
        asking.refuse("reading", Problem::Empty { what, mend });
    }
    if let Some(typed) = asking.value("ph") {
        match parse_number(typed) {
            Ok(ph) => reading.set("ph", Node::number(ph)),
            Err(problem) => asking.refuse("ph", problem),
        }
    }
    asking.origin("reading", "reading");
    asking.origin("reading.ph", "ph");
    if let Some(typed) = asking.value("temperature") {
        match typed_celsius(typed, asking.visit.is_us()) {
            Ok(celsius) => reading.set("temperature_c", Node::number(celsius)),
            Err(problem) => asking.refuse("temperature", problem),
        }
    }
    asking.origin("reading.temperature_c", "temperature");
    asking.set("reading", reading, "reading");
}

/// The stocks: invented, pasted, or none.
fn stock(asking: &mut Asking<'_>) {
    let (text, field) = match asking.value("stocks") {
        Some("demo") => (Some(DEMO_STOCKS), "stocks"),
        Some(own::OWN) => (asking.text("own-stocks"), "own-stocks"),
        _ => return,
    };
    let Some(text) = text else {
        own::empty(asking, "own-stocks", "the list of stocks");
        return;
    };
    let read = asking.within(field, |asking, faults| {
        stocks::from_text(text, &asking.known, faults)
    });
    let Some(mut stocks) = read else {
        return;
    };
    if let Some(typed) = asking.value("ratio") {
        match parse_ratio(typed) {
            Ok(ratio) => stocks.set("ratio", Node::number(ratio)),
            Err(problem) => asking.refuse("ratio", problem),
        }
    }
    asking.set("stock", stocks, field);
    asking.origin("stock.ratio", "ratio");
}

/// Acid and base, by name or by what a bottle did.
fn remedies(asking: &mut Asking<'_>) {
    for key in ["acid", "base"] {
        match asking.value(key) {
            None => {}
            Some("none") => asking.set(key, Value::Null.into(), key),
            Some(id) => asking.set(key, Node::text(id), key),
        }
    }
    if let Some(typed) = asking.value("bottle")
        && let Some((key, trial)) = asking.within("bottle", |_, faults| bottle(typed, faults))
    {
        asking.set(key, trial, "bottle");
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Correct(report) = report else {
        return None;
    };
    Some(Answered {
        sheet: correct::sheet(report, asking.visit.show, &|id| asking.known.dangers(id)),
        ..Answered::default()
    })
}
