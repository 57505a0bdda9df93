//! Meters: how far they are off, which scale a pen has, what to weigh for a check.

use super::Visit;
use super::ask::Asking;
use super::form::{Field, Group};
use super::job::{Answered, JobPage};
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
    lead: "Offset, slope, the scale of a TDS pen, and what to weigh for a check solution.",
    job: "meter",
    opening: &[("checks", "1.413 = 1.38"), ("reading", "650 ppm")],
    form,
    ask,
    answer,
};

fn form(_visit: &Visit<'_>) -> Vec<Group> {
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
        ]),
        Group::folded(
            "Pen and EC meter in one solution, pH buffers, other check solutions",
            vec![
                Field::lines("pairs", "Pen = EC meter", "745 ppm = 1.49"),
                Field::lines("buffers", "Buffer = shown", "7 = 7.1\n4 = 4.2"),
                Field::line("make", "Check solution to make", "mS/cm").shown("1.413"),
            ],
        ),
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
    let ec = |text: &str| parse_ec(text).map(|ec| ec.0);
    asking.quantity("aim", "aim_ms_cm", ec);
    asking.quantity("make", "make_ms_cm", ec);
    asking.quantity("days", "calibrated_days_ago", parse_number);
    if let Some(typed) = asking.value("reading") {
        match parse_shown(typed) {
            Ok(shown) => asking.set("reading", strength(shown), "reading"),
            Err(problem) => asking.refuse("reading", problem),
        }
    }
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
                    nodes.extend(read(left.trim(), right.trim(), faults));
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
