//! Meters: how far they are off, which scale a pen has, what to weigh for a check, what a
//! proportioner really delivers.

use super::ask::Asking;
use super::form::{Field, Group};
use super::job::{Answered, JobPage};
use super::water::{temperature, temperature_unit};
use super::{Visit, own, stocks};
use crate::cli::meter::{Listed, both_meters, buffer, check, strength};
use crate::view::meter;
use saltwright_fertilizers::units::{parse_ec, parse_number, parse_shown};
use saltwright_fertilizers::{Node, Problem, Value};
use saltwright_solver::job::Report;

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "meter",
    name: "Meters",
    title: "Can the meters be trusted",
    lead: "Offset, slope, the scale of a TDS pen, what to weigh for a check solution, and what a \
           proportioner really delivers.",
    job: "meter",
    opening: &[("checks", "1.413 = 1.38"), ("reading", "650 ppm")],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    vec![
        Group::open(vec![
            Field::lines(
                "checks",
                "Checks: true = shown",
                "1.413 = 1.38\nKCl:0.745g = 1.40",
            )
            .hint("One a line: EC of the bottle, or grams of dry KCl or NaCl in a litre."),
            Field::line("reading", "A reading, on every scale", "mS/cm")
                .hint("Like 650 ppm, 650 ppm@500, 1.3 or 13 CF."),
            Field::line("aim", "EC to tell the error at", "mS/cm").shown("1.4"),
            Field::line("days", "Calibrated so many days ago", ""),
            Field::line(
                "temperature",
                "Temperature of the checks",
                temperature_unit(visit),
            ),
        ]),
        Group::folded(
            "Pen and EC meter in one solution, pH buffers, check solutions to make",
            vec![
                Field::lines("pairs", "Pen = EC meter", "745 ppm = 1.49\n1120 ppm = 2.25")
                    .hint("One a line; two or more tell a scale from a pen that is off."),
                Field::lines("buffers", "Buffer = shown", "7 = 7.1\n4 = 4.2"),
                Field::line("make", "Check solutions to make", "mS/cm")
                    .shown("1.413")
                    .hint("Apart by semicolons: 1.413; 2.76."),
            ],
        ),
        Group::folded("A proportioner or dosing pump", doser_fields(visit)),
    ]
}

fn doser_fields(visit: &Visit<'_>) -> Vec<Field> {
    let [own_stocks, ratio] = stocks::pasted();
    let [fertilizers, ..] = own::shelf_fields(visit);
    vec![
        stocks::choice("none: no doser is checked"),
        Field {
            label: "Set to".into(),
            ..ratio
        },
        Field::line("dosed", "EC behind it", "mS/cm"),
        own::water_field(visit),
        own_stocks,
        own::pasted_water(),
        own::blend_field(),
        fertilizers,
    ]
}

fn ask(asking: &mut Asking<'_>) {
    for (field, key, read) in [
        ("checks", "points", check as Listed),
        ("pairs", "pairs", both_meters),
        ("buffers", "ph_points", buffer),
    ] {
        lines(asking, field, key, read);
    }
    asking.quantity("aim", "aim_ms_cm", ec);
    asking.quantities("make", "make_ms_cm", ec);
    temperature(asking);
    asking.quantity("days", "calibrated_days_ago", parse_number);
    if let Some(typed) = asking.value("reading") {
        match parse_shown(typed) {
            Ok(shown) => asking.set("reading", strength(shown), "reading"),
            Err(problem) => asking.refuse("reading", problem),
        }
    }
    own::shelf(asking);
    own::water(asking);
    doser(asking);
}

fn ec(text: &str) -> Result<f64, Problem> {
    parse_ec(text).map(|ec| ec.0)
}

/// A proportioner: its stocks, what it is set to, and the EC behind it. Once one of them is filled
/// in, the others are asked for.
fn doser(asking: &mut Asking<'_>) {
    const PATH: &str = "doser";
    let asked = ["stocks", "own-stocks", "ratio", "dosed"];
    if asked.iter().all(|field| asking.value(field).is_none()) {
        return;
    }
    let mut doser = Node::table::<&str>([]);
    asking.origin("doser.stock", "stocks");
    if let Some((stocks, field)) = stocks::ask(asking) {
        doser.set("stock", stocks);
        asking.origin("doser.stock", field);
    }
    stocks::ratio(asking, (&mut doser, PATH));
    asking.figure("dosed", (&mut doser, PATH), "shows_ms_cm", ec);
    asking.set(PATH, doser, "stocks");
}

/// `left = right`, one a line.
fn lines(asking: &mut Asking<'_>, field: &str, key: &str, read: Listed) {
    let Some(text) = asking.text(field) else {
        return;
    };
    let nodes = asking.within(field, |_, faults| {
        let mut nodes: Vec<Node> = Vec::new();
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            match line.split_once('=') {
                Some((left, right)) => {
                    nodes.extend(read(left.trim(), right.trim(), "", faults));
                }
                None => {
                    let reason = format!("\"{}\" has no \"=\"", line.trim());
                    let mend = "Write what is true, =, what is shown.";
                    faults.add(None, "", Problem::Unreadable { reason, mend });
                }
            }
        }
        nodes
    });
    asking.set(key, Value::List(nodes).into(), field);
}

fn answer(report: &Report, _asking: &Asking<'_>) -> Option<Answered> {
    let Report::Meter(report) = report else {
        return None;
    };
    Some(Answered {
        sheet: meter::sheet(report),
        ..Answered::default()
    })
}
