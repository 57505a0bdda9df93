//! Refills: what the plants took over days, what to fill up with, when to change the solution.

use super::ask::Asking;
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, journal, own, stocks};
use crate::cli::journal::account::{Account, account};
use crate::cli::refill::from_text;
use crate::view::{Part, refill};
use saltwright_fertilizers::units::parse_number;
use saltwright_fertilizers::{Fault, Problem, Value};
use saltwright_solver::job::Report;

/// The choice of the readings that stand in the journal.
const JOURNAL: &str = "journal";
/// The invented fortnight of the demonstration.
const DEMO_READINGS: &str = include_str!("../../recipes/data/demo/readings.csv");
/// How readings of one's own may look.
const READINGS_EXAMPLE: &str = "at,litres,ec_ms_cm,ph,added,amount\n2026-03-02T08:00,115,1.52,5.6,,\n2026-03-04T08:20,,,,water,5 L\n2026-03-08T08:00,112,1.50,6.0,,";

/// The fields that ask what the plants took, from what a journal knows of a tank; `text_of` reads a
/// file that the journal names.
pub fn prefilled(
    visit: &Visit<'_>,
    account: &Account,
    text_of: &dyn Fn(&str) -> Option<String>,
) -> Vec<(&'static str, String)> {
    let told = &account.settings;
    let mut fields = own::named(visit, told, text_of);
    // A list of stocks matters only where something of it was added.
    let stocks = told.stock.as_ref().filter(|_| account.has_stock);
    if let Some(text) = stocks.and_then(|name| text_of(name)) {
        fields.push(("stocks", own::OWN.to_owned()));
        fields.push(("own-stocks", text));
    }
    fields.push(("readings", JOURNAL.to_owned()));
    fields.push(("system", account.system.clone()));
    fields
}

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
    let mut readings = vec![
        Choice::new("", "my own, pasted below"),
        Choice::new("demo", "an invented fortnight, to try"),
    ];
    let mut in_journal = None;
    if journal::is_there(visit) {
        readings.push(Choice::new(JOURNAL, "those of the journal"));
        let tank = Field::line("system", "Tank in the journal", "");
        in_journal = Some(tank.hint("The one that was used last where left out."));
    }
    let [fertilizers, ..] = own::shelf_fields(visit);
    let [pasted_stocks, _] = stocks::pasted();
    let tank = Field {
        label: "Top-up to weigh for".into(),
        ..own::tank_field(visit)
    };
    let mut asked = vec![
        own::recipe_field(visit),
        own::water_field(visit),
        Field::one("readings", "Readings", readings),
    ];
    asked.extend(in_journal);
    asked.push(tank);
    let own_readings = Field::lines("own-readings", "My readings (CSV)", READINGS_EXAMPLE);
    asked.push(
        own_readings
            .hint("What was added between them: water, feed, drained, a stock, or a fertilizer."),
    );
    vec![
        Group::open(asked),
        Group::folded(
            "A laboratory's figures of the tank",
            vec![own::analysis_field("At the last reading (TOML)")],
        ),
        Group::folded(
            "Stocks that were added",
            vec![stocks::choice("none"), pasted_stocks],
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
    if let Some((stock, field)) = stocks::ask(asking) {
        asking.set("stock", stock, field);
    }
    own::analysis(asking);
    let (text, field) = match asking.value("readings") {
        Some(JOURNAL) => return of_journal(asking),
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
}

/// Readings and additions of a tank in the journal.
fn of_journal(asking: &mut Asking<'_>) {
    let typed = asking.value("system").unwrap_or_default();
    let field = if typed.is_empty() {
        "readings"
    } else {
        "system"
    };
    let site = asking.visit.site;
    let Some(diary) = &site.diary else { return };
    let kept = diary.read().and_then(|kept| match &kept.damage {
        Some(damage) => Err(damage.fault()),
        None => Ok(kept),
    });
    let account = kept
        .map_err(|fault| vec![fault])
        .and_then(|kept| account(&kept, typed, None, &site.library));
    match account {
        Ok(account) => {
            let [readings, added] = [account.readings, account.added].map(Value::List);
            asking.set("readings", readings.into(), field);
            asking.set("added", added.into(), field);
            asking.told = account.words;
        }
        Err(faults) => {
            for fault in faults {
                asking.say(&on_page(fault), Some(field));
            }
        }
    }
}

/// A fault of the journal in the words of the page: no options, another way to note a reading.
fn on_page(fault: Fault) -> Fault {
    let problem = match fault.problem {
        Problem::NoAnswer { what, .. } => Problem::NoAnswer {
            what,
            mend: "Note one more on the page Journal.".to_owned(),
        },
        Problem::Empty { what, .. } => Problem::Empty {
            what,
            mend: "Name a tank of the page Journal, with two readings of EC and level or more.",
        },
        other => other,
    };
    let field = String::new();
    Fault {
        field,
        problem,
        ..fault
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Refill(report) = report else {
        return None;
    };
    let litres = asking.litres.map(|litres| litres.0);
    let mut sheet = refill::sheet(report, asking.visit.show, litres, &|id| {
        asking.known.dangers(id)
    });
    if !asking.told.is_empty() {
        let told = Part::fact("readings", asking.told.join(" "));
        sheet.parts.insert(0, told);
    }
    Some(Answered {
        sheet,
        ..Answered::default()
    })
}
