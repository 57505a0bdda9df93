//! Refills: what the plants took over days, what to fill up with, when to change the solution.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, own};
use crate::cli::refill::from_text;
use crate::view::refill;
use saltwright_fertilizers::units::parse_number;
use saltwright_solver::job::Report;

/// The invented fortnight of the demonstration.
const DEMO_READINGS: &str = include_str!("../../recipes/data/demo/readings.csv");
/// How readings of one's own may look.
const READINGS_EXAMPLE: &str = "at,litres,ec_ms_cm,ph,added,amount\n2026-03-02T08:00,115,1.52,5.6,,\n2026-03-04T08:20,,,,water,5 L\n2026-03-08T08:00,112,1.50,6.0,,";

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "refill",
    name: "Refill",
    title: "What the plants took, and what to fill up with",
    lead: "Readings over days; the top-up that brings what left, what builds up, when to change.",
    job: "refill",
    opening: &[
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("readings", "demo"),
        ("tank", "20 L"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let readings = vec![
        Choice::new("", "my own, pasted below"),
        Choice::new("demo", "an invented fortnight, to try"),
    ];
    let [fertilizers, ..] = own::shelf_fields(visit);
    let tank = Field {
        label: "Top-up to weigh for".into(),
        ..own::tank_field(visit)
    };
    vec![
        Group::open(vec![
            own::recipe_field(visit),
            own::water_field(visit),
            Field::one("readings", "Readings", readings),
            tank,
            Field::lines("own-readings", "My readings (CSV)", READINGS_EXAMPLE)
                .hint("What was added between them: water, feed, drained, or a fertilizer."),
        ]),
        Group::folded(
            "A laboratory's figures of the tank",
            vec![own::analysis_field("At the last reading (TOML)")],
        ),
        Group::folded(
            "Use my own recipe, water or a blend",
            own::pasted_fields().to_vec(),
        ),
        Group::folded(
            "Micronutrients, limits, my fertilizers",
            vec![
                own::micros_field(visit),
                Field::lines("limits", "My limits, mg/L", "Na 115\nCl 140")
                    .hint("In place of the published ones: a nutrient and its limit, one a line."),
                fertilizers,
            ],
        ),
    ]
}

fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::recipe(asking);
    own::water(asking);
    own::tank(asking);
    asking.name("micros", "micros");
    if asking.value("limits").is_some() {
        own::pairs(asking, "limits", "limits", parse_number);
    }
    let (text, field) = match asking.value("readings") {
        Some("demo") => (Some(DEMO_READINGS), "readings"),
        _ => (asking.text("own-readings"), "own-readings"),
    };
    let Some(text) = text else {
        own::empty(asking, "own-readings", "the list of readings");
        return;
    };
    let read = asking.within(field, |_, faults| from_text("", text, faults));
    if let Some([readings, added]) = read {
        asking.set("readings", readings, field);
        asking.set("added", added, field);
    }
    own::analysis(asking);
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Refill(report) = report else {
        return None;
    };
    let litres = asking.litres.map(|litres| litres.0);
    Some(Answered {
        sheet: refill::sheet(report, asking.visit.show, litres, &|id| {
            asking.known.dangers(id)
        }),
        ..Answered::default()
    })
}
