//! A bought mix against its label: do the figures hold together, and what completes the mix.

use super::ask::Asking;
use super::form::{Choice, Field, Group, Input};
use super::job::{Answered, JobPage};
use super::{Visit, own, ranges};
use crate::cli::typed;
use crate::view::{csv, label};
use saltwright_fertilizers::units::{Amount, parse_dose, parse_ec, parse_mass, parse_number};
use saltwright_fertilizers::{Node, Problem, Value};
use saltwright_solver::job::Report;
use saltwright_solver::label::convention::{Convention, Form};

/// How a label may look.
const LABEL_EXAMPLE: &str = "15-5-15 + 4Ca + 2Mg\nFe 0.1";
/// How the findings of a laboratory may look.
const FOUND_EXAMPLE: &str = "N 14.6\nK2O 15.2";

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "label",
    name: "Label",
    title: "A bought mix against its label",
    lead: "Can the ingredients give these figures, what does the label leave out, do meter and \
           laboratory agree, what completes the mix to a recipe.",
    job: "label",
    opening: &[
        ("name", "An invented bag, to try"),
        ("label", "15-5-15 + 4Ca + 2Mg"),
        (
            "ingredients",
            "calcium-nitrate-fertilizer\npotassium-nitrate\nmonoammonium-phosphate\n\
             magnesium-nitrate-hexahydrate\nammonium-nitrate",
        ),
        ("dose", "1 oz/100 gal"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let printed = Field::lines("label", "What is printed on it", LABEL_EXAMPLE).hint(
        "A grade, or a nutrient and its percent a line, as printed: N 15, P2O5 5, K2O 15. Mind \
         SO3 and S: 15 % SO3 is 6 % S.",
    );
    let ingredients = Field::lines("ingredients", "Made of", "potassium-nitrate, urea").hint(
        "Names of the page Fertilizers. Left empty: which common ones could give these figures.",
    );
    let kinds = vec![
        Choice::new("", "a solid"),
        Choice::new(Form::Liquid.name(), "a liquid"),
    ];
    let filler = vec![
        Choice::new("", "may be in it"),
        Choice::new("none", "is not in it"),
    ];
    vec![
        Group::open(vec![
            printed,
            Field::one("convention", "Printed by the rules of", conventions()),
            ingredients,
            Field::one("kind", "It is", kinds),
            Field::one("filler", "Something inert", filler),
            Field::line("dose", "Dose", "g/L").hint("Or like 5 mL/gal, 1 oz/100 gal, 1 tsp/gal."),
        ]),
        Group::folded("Held against a meter", meter_fields()),
        Group::folded("Held against a laboratory", found_fields()),
        Group::folded("Completed to a recipe", recipe_fields(visit)),
        Group::folded("How sure: what may be off", ranges::bag_fields()),
        Group::folded(
            "Use my own recipe, water or a blend",
            own::pasted_fields().to_vec(),
        ),
        Group::folded("Fertilizers and prices", own::shelf_fields(visit).to_vec()),
        Group::folded(
            "Name, density and price of the mix",
            vec![
                Field::line("name", "Name", ""),
                Field::line("density", "Density", "g/mL"),
                Field::line("price", "Price", "per kg"),
            ],
        ),
    ]
}

/// The conventions in words; the first counts where none is chosen.
fn conventions() -> Vec<Choice> {
    let words = |convention| match convention {
        Convention::Us => "the United States",
        Convention::UsMd => "Maryland: limits on both sides",
        Convention::Eu => "the EU since 2022 (2019/1009)",
        Convention::Eu2003 => "the EU until 2022 (2003/2003)",
        Convention::Elements => "nobody: elements only, no law",
        Convention::De => "Germany (read, not judged)",
        Convention::Uk => "the United Kingdom (read, not judged)",
        Convention::Au => "Australia (read, not judged)",
        Convention::Ca => "Canada (read, not judged)",
    };
    Convention::ALL
        .into_iter()
        .map(|convention| Choice::new(convention.name(), words(convention)))
        .collect()
}

fn meter_fields() -> Vec<Field> {
    vec![
        Field::line("dissolve", "Dissolved", "g/L").hint("Or like 2 tsp/gal, with the density."),
        Field::line("reads", "Meter shows", "mS/cm"),
        Field::line("water-reads", "In the water alone", "mS/cm"),
        Field::line("meter-off", "Meter may be off", "%").shown("2"),
        Field::line("scale-off", "Scale may be off", "g").shown("0.01"),
        Field::line("made-up", "Litres made up", "L").shown("1"),
    ]
}

fn found_fields() -> Vec<Field> {
    vec![
        Field::lines("found", "What a laboratory found", FOUND_EXAMPLE)
            .hint("In percent, by the names that the label uses."),
        Field::lines("values", "What a kilogram is worth", "N 1.2\nP2O5 0.9")
            .hint("In any currency: for penalties, where the rules print a way to work them out."),
    ]
}

fn recipe_fields(visit: &Visit<'_>) -> Vec<Field> {
    let mut recipe = own::recipe_field(visit);
    if let Input::One(choices) = &mut recipe.input {
        choices.insert(0, Choice::new("", "none"));
    }
    let keep = vec![
        Choice::new("", "as close to the aims as it goes"),
        Choice::new("bands", "as cheaply as the bands allow"),
    ];
    vec![
        recipe,
        own::water_field(visit),
        own::tank_field(visit),
        Field::one("keep", "Complete it", keep),
    ]
}

fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::water(asking);
    own::tank(asking);
    printed(asking, "label", "guarantee");
    printed(asking, "found", "found");
    asking.name("name", "name");
    asking.name("convention", "convention");
    asking.name("kind", "form");
    asking.names("ingredients", "ingredients");
    if asking.value("filler").is_some() {
        asking.set("filler", Value::Bool(false).into(), "filler");
    }
    asking.quantity("density", "density_g_per_ml", parse_number);
    asking.quantity("price", "price_per_kg", parse_number);
    if let Some(dose) = dose(asking, "dose") {
        asking.set("dose", dose, "dose");
    }
    if asking.value("values").is_some() {
        own::pairs(asking, "values", "values_per_kg", parse_number);
    }
    meter(asking);
    ranges::ask(asking);
    if asking.value("recipe").is_some() {
        own::recipe(asking);
        asking.name("keep", "keep");
        own::litres_of_tank(asking);
    } else if let Some(idle) = ["tank", "keep"]
        .into_iter()
        .find(|field| asking.value(field).is_some())
    {
        let what = "this says nothing without a recipe to complete".to_owned();
        let mend = "Choose a recipe, or leave it out.".to_owned();
        asking.refuse(idle, Problem::Contradiction { what, mend });
    }
}

/// Figures as a label prints them: a grade with more behind it, or a line for each.
fn printed(asking: &mut Asking<'_>, field: &str, key: &str) {
    // What lacks is said beside the field, too.
    asking.origin(key, field);
    let Some(text) = asking.text(field) else {
        return;
    };
    let lines: Vec<&str> = text
        .split(['\n', ';'])
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    let is_grade = lines.first().is_some_and(|line| {
        line.starts_with(|c: char| c.is_ascii_digit()) && line.contains(['-', '–'])
    });
    if is_grade {
        let grade = lines.join(" + ").replace(['=', ':'], " ");
        asking.set(key, Node::text(grade), field);
        return;
    }
    let words: Vec<String> = lines.into_iter().filter_map(name_first).collect();
    let entries = asking.within(field, |_, faults| {
        typed::pairs(
            &words,
            "",
            |pct| parse_number(pct.trim_end_matches('%')),
            faults,
        )
    });
    asking.set(key, Node::table(entries), field);
}

/// `4 % MgO` and `4MgO` like `MgO 4`.
fn name_first(line: &str) -> Option<String> {
    let key = line.trim_start_matches(|c: char| !c.is_alphabetic());
    let pct = line[..line.len() - key.len()].trim();
    if pct.is_empty() || key.is_empty() {
        own::as_pair(line)
    } else {
        Some(format!("{}={pct}", key.trim()))
    }
}

/// What was dissolved, and what a meter showed.
fn meter(asking: &mut Asking<'_>) {
    let readings = [
        ("reads", "ec_ms_cm"),
        ("water-reads", "water_ec_ms_cm"),
        ("meter-off", "meter_pct"),
        ("scale-off", "scale_g"),
        ("made-up", "litres"),
    ];
    let is_us = asking.visit.is_us();
    let parse = |field: &str, text: &str| match field {
        "meter-off" => parse_number(text.trim_end_matches('%')),
        "scale-off" => parse_mass(text).map(|grams| grams.0),
        "made-up" => own::litres(text, is_us),
        _ => parse_ec(text).map(|ec| ec.0),
    };
    let mut entries = Vec::new();
    for (field, key) in readings {
        let Some(typed) = asking.value(field) else {
            continue;
        };
        match parse(field, typed) {
            Ok(number) => entries.push((key, Node::number(number))),
            Err(problem) => asking.refuse(field, problem),
        }
        asking.origin(format!("meter.{key}"), field);
    }
    if asking.value("dissolve").is_none() {
        if !entries.is_empty() {
            let what = "the dose that was dissolved";
            let mend = "Say it, like 1 g/L: a reading is held against that.";
            asking.refuse("dissolve", Problem::Empty { what, mend });
        }
        return;
    }
    if let Some(mut dissolved) = dose(asking, "dissolve") {
        for (key, node) in entries {
            dissolved.set(key, node);
        }
        asking.set("meter", dissolved, "dissolve");
    }
}

/// A dose as grams or millilitres a litre; what is poured needs the density of the mix.
fn dose(asking: &mut Asking<'_>, field: &str) -> Option<Node> {
    let typed = asking.value(field)?;
    match parse_dose(typed) {
        Ok(Amount::Mass(grams)) => Some(Node::table([("g_per_l", Node::number(grams.0))])),
        Ok(Amount::Volume(ml)) if asking.value("density").is_some() => {
            Some(Node::table([("ml_per_l", Node::number(ml.0))]))
        }
        Ok(Amount::Volume(_)) => {
            let what = "a volume is given, but not the density of this mix".to_owned();
            let mend = "Give its density in g/mL further down, or this in grams.".to_owned();
            asking.refuse(field, Problem::Contradiction { what, mend });
            None
        }
        Err(problem) => {
            asking.refuse(field, problem);
            None
        }
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Label(report) = report else {
        return None;
    };
    let dangers = |id: &str| asking.known.dangers(id);
    let whole = report.complete.as_ref();
    Some(Answered {
        sheet: label::sheet(report, asking.visit.show, &dangers),
        csv: Some(match whole {
            Some(whole) => csv::mix(&whole.mix),
            None => csv::label(&report.analysis),
        }),
        csv_words: whole.is_none().then_some("Label as CSV"),
        nutrients_csv: whole.map(|whole| csv::nutrients(&whole.nutrients)),
        ..Answered::default()
    })
}
