//! Whole bags for a season: a recipe, a volume and a list of bags; what to buy, and what is left.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, own};
use crate::cli::bags;
use crate::view::{csv, purchase};
use saltwright_fertilizers::units::Litres;
use saltwright_fertilizers::{Node, Problem, prices};
use saltwright_recipes::library::DEMO_BAGS;
use saltwright_solver::job::Report;

/// How a list of bags may look.
const BAGS_EXAMPLE: &str =
    "id,bag_kg,price_per_bag,on_hand_kg\npotassium-nitrate,25,46.25,11\npotassium-nitrate,5,11.80,";
/// Seconds that a page may search: somebody waits for it. The answer says its gap.
const SEARCH_S: f64 = 2.0;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "purchase",
    name: "Whole bags",
    title: "Which whole bags to buy for a season",
    lead: "One mix for the whole season from bags that are sold and what is at home: what to buy, \
           what it costs, what is left over.",
    job: "purchase",
    opening: &[
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("season", "120 m3"),
        ("bags", "demo"),
        ("currency", "EUR"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let lists = vec![
        Choice::new("demo", "invented ones, to try"),
        Choice::new(own::OWN, "my own, pasted below"),
    ];
    let season = own::volume_unit(visit);
    vec![
        Group::open(vec![
            own::recipe_field(visit),
            own::water_field(visit),
            Field::line("season", "Finished solution of the season", season)
                .hint("Or like 120 m3, 30000 gal."),
            Field::one("bags", "Bags", lists),
            Field::line("currency", "Currency", "a label"),
            Field::lines("own-bags", "My bags (CSV), any currency", BAGS_EXAMPLE)
                .hint("A row for each size; what is at home in one row of a fertilizer."),
        ]),
        Group::folded(
            "Use my own recipe, water or a blend",
            own::pasted_fields().to_vec(),
        ),
    ]
}

fn ask(asking: &mut Asking<'_>) {
    own::recipe(asking);
    own::water(asking);
    let is_us = asking.visit.is_us();
    asking.quantity("season", "season_m3", |typed| {
        Ok(Litres(own::litres(typed, is_us)?).m3())
    });
    asking.origin("season_m3", "season");
    asking.name("currency", "currency");
    asking.set("search_s", Node::number(SEARCH_S), "season");
    match (asking.value("bags"), asking.text("own-bags")) {
        (Some(own::OWN), Some(text)) => sold(asking, text, "own-bags"),
        (Some(own::OWN), None) => own::empty(asking, "own-bags", "the list of bags"),
        _ => sold(asking, DEMO_BAGS, "bags"),
    }
}

/// What is sold or at home is what may be used.
fn sold(asking: &mut Asking<'_>, text: &str, field: &str) {
    let bags = asking.within(field, |asking, faults| {
        let rows = prices::read_csv("", text);
        let rows = rows.map_err(|others| faults.extend(others)).ok()?;
        for row in &rows {
            if asking.known.get(&row.id).is_none() {
                faults.add(row.line, "id", asking.known.unknown(&row.id));
            }
        }
        Some(bags::by_fertilizer(rows, "", faults))
    });
    let Some(bags) = bags else { return };
    if bags.is_empty() {
        let what = "the bags and what is at home";
        let mend = "Give bag_kg and price_per_bag, or on_hand_kg, for some fertilizer.";
        asking.refuse(field, Problem::Empty { what, mend });
        return;
    }
    let ids: Vec<&str> = bags.iter().map(|(id, _)| id.as_str()).collect();
    asking.set("fertilizers", Node::texts(ids), field);
    asking.set("bags", Node::table(bags), field);
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Purchase(report) = report else {
        return None;
    };
    let formulation = &report.formulation;
    Some(Answered {
        sheet: purchase::sheet(report, asking.visit.show, &|id| asking.known.dangers(id)),
        csv: Some(csv::mix(&formulation.mix)),
        nutrients_csv: Some(csv::nutrients(&formulation.nutrients)),
        ..Answered::default()
    })
}
