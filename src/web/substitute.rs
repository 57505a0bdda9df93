//! Cheaper salts: today's mix, prices, what must stay; swaps, prices that decide, and the curves.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, formulate, own, pictures};
use crate::view::{Kind, Part, Sheet, csv, substitute};
use saltwright_fertilizers::{Node, Problem};
use saltwright_solver::job::Report;
use saltwright_solver::substitute::SubstituteReport;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "substitute",
    name: "Cheaper salts",
    title: "Cheaper salts that feed the same",
    lead: "What the cheapest mix saves, which single swap saves what and changes what, and at which \
           prices the choice turns.",
    job: "substitute",
    opening: &[
        ("recipe", "sonneveld-modified-lettuce"),
        ("water", "larch-hollow-spring"),
        ("prices", "demo"),
        ("currency", "EUR"),
    ],
    form,
    ask,
    answer,
};

/// Groups of a formulation that this page does without.
const LEFT_OUT: [&str; 2] = [formulate::AIMS, formulate::SURE];

/// The fields of prices, which stand open here.
const PRICED: [&str; 2] = ["prices", "own-prices"];

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let mut groups = formulate::form(visit);
    // Light enough for a phone: single aims and ranges are a matter of the formulation.
    groups.retain(|group| !LEFT_OUT.contains(&group.title));
    let mut priced = Vec::new();
    for group in &mut groups {
        let fields = std::mem::take(&mut group.fields);
        let (taken, left): (Vec<Field>, Vec<Field>) = fields
            .into_iter()
            .partition(|field| PRICED.contains(&field.name.as_str()));
        priced.extend(taken);
        group.fields = left;
    }
    let keeps = vec![
        Choice::new("", "every nutrient in its band"),
        Choice::new("deviation", "and as close to its aim as today"),
    ];
    priced.extend([
        Field::line("currency", "Currency", "a label"),
        Field::one("keep", "What must stay", keeps),
        Field::lines("now", "Today's mix", own::MIX_EXAMPLE).hint(
            "Name and amount, one a line, for the tank above or else for one litre. Leave empty \
             for the closest formulation.",
        ),
        Field::line("at-hand", "Or formulate today's mix from these", "")
            .hint("What is at hand: names of the fertilizers page, apart by commas."),
    ]);
    groups.insert(1.min(groups.len()), Group::open(priced));
    groups
}

fn ask(asking: &mut Asking<'_>) {
    formulate::ask(asking);
    if !own::is_priced(asking) {
        let (what, mend) = (
            "the choice of prices",
            "Take the invented ones, or paste yours.",
        );
        asking.refuse("prices", Problem::Empty { what, mend });
    }
    if asking.text("now").is_some() {
        own::mix(asking, "now", "now");
    }
    asking.names("at-hand", "at_hand");
    for name in ["keep", "currency"] {
        if let Some(value) = asking.value(name) {
            asking.set(name, Node::text(value), name);
        }
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Substitute(report) = report else {
        return None;
    };
    let visit = asking.visit;
    let sheet = substitute::sheet(report, visit.show, &|id| asking.known.dangers(id));
    Some(Answered {
        sheet: without_bars(sheet),
        pictures: pictures_of(report),
        csv: Some(csv::mix(&report.cheapest.mix)),
        nutrients_csv: Some(csv::nutrients(&report.cheapest.nutrients)),
        onward: vec![(
            formulate::onward(
                super::stock::PAGE.path,
                &report.cheapest,
                visit,
                own::exactly,
                &["ratio"],
            ),
            "Stock tanks of the cheapest mix".into(),
        )],
        ..Answered::default()
    })
}

fn pictures_of(report: &SubstituteReport) -> Vec<maud::Markup> {
    let currency = report.currency.as_deref();
    [
        pictures::cost_by_deviation(substitute::near(&report.curve), currency),
        pictures::cost_by_salt(&report.salt_curve, currency),
        pictures::cost_by_fertilizer(&report.cheapest.mix),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Bars made of characters are drawn as a picture here.
fn without_bars(mut sheet: Sheet) -> Sheet {
    for part in &mut sheet.parts {
        let Part::Table { columns, rows } = part else {
            continue;
        };
        let is_bar =
            |column: &crate::view::Column| column.kind == Kind::Drawing && column.head.is_empty();
        if columns.last().is_some_and(is_bar) {
            columns.pop();
            for row in rows {
                row.truncate(columns.len());
            }
        }
    }
    sheet
}
