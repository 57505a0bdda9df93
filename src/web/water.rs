//! A source water: what its analysis says, and the acid it needs.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, own};
use crate::view::water;
use saltwright_fertilizers::units::{
    parse_alkalinity, parse_celsius, parse_number, parse_strength,
};
use saltwright_fertilizers::{Node, Problem};
use saltwright_solver::job::Report;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "water",
    name: "Water",
    title: "What a water says, and the acid it needs",
    lead: "Hardness and alkalinity in every unit, acid to a pH, why the pH drifts, limits, blending.",
    job: "water",
    opening: &[
        ("water", "quarry-end-well"),
        ("ph", "5.8"),
        ("tank", "120 L"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let library = &visit.site.library;
    let mut acids = vec![
        Choice::new("", "every one that would do"),
        Choice::new("none", "none"),
    ];
    let dosed = library
        .fertilizers
        .iter()
        .filter(|row| (row.is_acid() || row.is_base()) && row.acid_meq_per_g() != 0.0);
    acids.extend(dosed.map(|row| Choice::new(&row.id, &row.id)));
    let mut waters = vec![Choice::new("", "no blend")];
    waters.extend(
        library
            .waters
            .iter()
            .map(|water| Choice::new(&water.id, &water.name)),
    );
    vec![
        Group::open(vec![
            own::water_field(visit),
            Field::line("ph", "pH to reach", "").hint("Right after dosing."),
            own::tank_field(visit),
            Field::one("acid", "Acid or base", acids),
        ]),
        Group::folded(
            "Use my own water or a blend",
            vec![own::pasted_water(), own::blend_field()],
        ),
        Group::folded(
            "Alkalinity to leave, blending, temperature",
            vec![
                Field::line("residual", "Alkalinity to leave", "meq/L")
                    .hint("Instead of a pH; 0.5 where neither is given."),
                Field::one("with", "Blend with", waters),
                Field::line("share", "Share of the water above", "%")
                    .hint("Left empty: as much as published limits allow."),
                Field::line("temperature", "Temperature", temperature_unit(visit)),
            ],
        ),
    ]
}

/// The unit of a bare temperature.
pub fn temperature_unit(visit: &Visit<'_>) -> &'static str {
    if visit.is_us() { "°F" } else { "°C" }
}

/// The temperature of the solution.
pub fn temperature(asking: &mut Asking<'_>) {
    celsius(asking, "temperature", "temperature_c");
}

/// A temperature in a field; a bare number is in the unit that the field shows.
pub fn celsius(asking: &mut Asking<'_>, field: &str, key: &str) {
    let is_us = asking.visit.is_us();
    asking.quantity(field, key, move |text| typed_celsius(text, is_us));
}

/// A temperature as typed; a bare number is °F where those are shown.
pub fn typed_celsius(text: &str, is_us: bool) -> Result<f64, Problem> {
    let bare = parse_number(text).is_ok();
    let typed = if bare && is_us {
        format!("{text} F")
    } else {
        text.to_owned()
    };
    parse_celsius(&typed).map(|celsius| celsius.0)
}

fn ask(asking: &mut Asking<'_>) {
    own::water(asking);
    own::tank(asking);
    asking.id_or_none("acid", "acid");
    asking.quantity("ph", "ph", parse_number);
    asking.quantity("residual", "residual_alkalinity_meq_l", |text| {
        parse_alkalinity(text).map(|meq| meq.0)
    });
    temperature(asking);
    blend_with(asking);
}

fn blend_with(asking: &mut Asking<'_>) {
    let Some(with) = asking.value("with") else {
        return;
    };
    let mut entries = vec![("water", Node::text(with))];
    if let Some(typed) = asking.value("share") {
        // A bare number is percent here, as the field says.
        let bare = parse_number(typed).is_ok();
        let text = if bare {
            format!("{typed} %")
        } else {
            typed.to_owned()
        };
        match parse_strength(&text) {
            Ok(share) => entries.push(("share", Node::number(share))),
            Err(problem) => asking.refuse("share", problem),
        }
    }
    asking.set("blend_with", Node::table(entries), "with");
    asking.origin("blend_with.share", "share");
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Water(report) = report else {
        return None;
    };
    let litres = asking.litres.map(|litres| litres.0);
    let measure = asking.visit.show.measure;
    Some(Answered {
        sheet: water::sheet(report, measure, litres, &|id| asking.known.dangers(id)),
        ..Answered::default()
    })
}
