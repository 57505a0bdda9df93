//! The other way: from grams to nutrients and EC.

use super::ask::Asking;
use super::form::{Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, own, pictures, ranges, water};
use crate::view::{csv, predict};
use saltwright_solver::job::Report;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "predict",
    name: "Predict",
    title: "What a mix comes to",
    lead: "Grams in, nutrients and meter out: for a mix that is weighed already, or one to try.",
    job: "predict",
    opening: &[
        (
            "mix",
            "calcium-nitrate-fertilizer 0.41\npotassium-nitrate 0.53\n\
             magnesium-sulfate-heptahydrate 0.22\nmonopotassium-phosphate 0.12",
        ),
        ("water", "larch-hollow-spring"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let mix = Field::lines("mix", "What goes in", own::MIX_EXAMPLE).hint(
        "Name and amount, one a line: grams where no unit stands, for the tank, or for one litre \
         where no tank is given. A table (CSV) with a head will do, too.",
    );
    vec![
        Group::open(vec![
            mix,
            own::water_field(visit),
            own::tank_field(visit),
            Field::line("temperature", "Temperature", water::temperature_unit(visit))
                .hint("Shows what the meter reads in the cold."),
        ]),
        Group::folded(
            "Use my own water or a blend",
            vec![own::pasted_water(), own::blend_field()],
        ),
        Group::folded("Fertilizers and prices", own::shelf_fields(visit).to_vec()),
        Group::folded("How sure: what may be off", ranges::fields()),
    ]
}

fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::water(asking);
    own::tank(asking);
    own::mix(asking, "mix", "mix");
    water::temperature(asking);
    own::litres_of_tank(asking);
    ranges::ask(asking);
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Predict(report) = report else {
        return None;
    };
    let show = asking.visit.show;
    let litres = asking.litres.map(|litres| litres.0);
    let sheet = predict::sheet(report, show, litres, &|id| asking.known.dangers(id));
    Some(Answered {
        sheet,
        pictures: report
            .detail
            .as_ref()
            .and_then(pictures::of_detail)
            .into_iter()
            .collect(),
        csv: Some(csv::predicted_mix(&report.mix)),
        nutrients_csv: Some(csv::predicted_nutrients(&report.nutrients)),
        ..Answered::default()
    })
}
