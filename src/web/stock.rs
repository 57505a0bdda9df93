//! Stock tanks that stay clear, and the sheets to print: one by the scale, and labels.

use super::ask::{Asking, apart};
use super::form::{Choice, Field, Group};
use super::job::{Answered, JobPage};
use super::{Visit, correct, own, ranges, water};
use crate::cli::mixes;
use crate::view::html::{self, Setting};
use crate::view::{Part, Sheet, csv, round, stock, weigh};
use maud::{Markup, html};
use saltwright_fertilizers::units::{parse_mass, parse_number, parse_ratio};
use saltwright_fertilizers::{Problem, Value};
use saltwright_solver::job::Report;
use saltwright_solver::stock::StockReport;
use saltwright_solver::stock::request::{COLDEST_C, HOTTEST_C, MARGIN};

/// The sheet by the scale instead of the tanks.
const WEIGH: &str = "weigh";
/// Labels instead of the tanks.
const LABELS: &str = "labels";

/// The page.
pub const PAGE: JobPage = JobPage {
    path: "stock",
    name: "Stock tanks",
    title: "Stock tanks that stay clear",
    lead: "Which fertilizer into which tank, how strong, what would drop out first, and a sheet to \
           tick by the scale.",
    job: "stock",
    opening: &[
        (
            "mix",
            "calcium-nitrate-fertilizer 0.41\npotassium-nitrate 0.53\n\
             magnesium-sulfate-heptahydrate 0.22\nmonopotassium-phosphate 0.12\n\
             fe-dtpa-11 0.009\nboric-acid 0.0009",
        ),
        ("water", "larch-hollow-spring"),
        ("ratio", "100"),
        ("volume", "20 L"),
        ("scale", "0.1"),
    ],
    form,
    ask,
    answer,
};

fn form(visit: &Visit<'_>) -> Vec<Group> {
    let mix = Field::lines(
        "mix",
        "What goes into a litre of solution",
        own::MIX_EXAMPLE,
    )
    .hint(
        "Name and amount, one a line: grams where no unit stands, for one litre of finished \
         solution. A table (CSV) with a head will do, too; “Stock tanks of it” on the page \
         Formulate fills it in.",
    );
    let tanks = ["2", "1", "3", "4"].map(|count| Choice::new(count, count));
    let papers = vec![
        Choice::new("", "the tanks, and how clear they stay"),
        Choice::new(WEIGH, "the sheet by the scale, to print"),
        Choice::new(LABELS, "labels for tanks and lids, to print"),
    ];
    let [table, ..] = own::shelf_fields(visit);
    vec![
        Group::open(vec![
            mix,
            own::water_field(visit),
            Field::one("tanks", "Tanks", tanks.into()),
            Field::line("ratio", "Diluted", "1 : parts").shown("the largest"),
            Field::line("volume", "Tank volume", own::volume_unit(visit))
                .hint("One for all tanks, or one for each apart by semicolons: 20; 10."),
            Field::line("scale", "Scale reads to", "g"),
            Field::one("paper", "Show me", papers),
        ]),
        Group::folded("Cold store, margin, acids", store_fields(visit)),
        Group::folded(
            "Batch, and what was weighed wrongly",
            vec![
                Field::line("batch", "Name of the batch", "").hint("For the sheet and the labels."),
                Field::lines("weighed", "Weighed instead", "potassium-nitrate 250 g").hint(
                    "Name and grams, one a line; where one fertilizer is in two tanks, the \
                         tank before it: B: potassium-nitrate 250 g.",
                ),
            ],
        ),
        Group::folded(
            "Use my own water or a blend",
            vec![own::pasted_water(), own::blend_field()],
        ),
        Group::folded("My fertilizers", vec![table]),
        Group::folded("How sure: what may be off", ranges::fields()),
    ]
}

fn store_fields(visit: &Visit<'_>) -> Vec<Field> {
    let degrees = water::temperature_unit(visit);
    let shown = |celsius| round::temperature(celsius, visit.show.measure);
    vec![
        Field::line("coldest", "Coldest store", degrees).shown(shown(COLDEST_C)),
        Field::line("hottest", "Hottest store", degrees).shown(shown(HOTTEST_C)),
        Field::line("margin", "Margin", "of the index").shown(round::plain(MARGIN)),
        Field::one(
            "acid",
            "Acids",
            vec![
                Choice::new("", "in a tank of their own"),
                Choice::new("joins", "join where that stays clear"),
            ],
        ),
    ]
}

fn ask(asking: &mut Asking<'_>) {
    own::shelf(asking);
    own::water(asking);
    own::mix(asking, "mix", "mix");
    asking.quantity("tanks", "tanks", parse_number);
    asking.quantity("ratio", "ratio", parse_ratio);
    asking.quantity("scale", "scale_g", |text| {
        parse_mass(text).map(|grams| grams.0)
    });
    asking.quantity("margin", "margin_index", parse_number);
    water::celsius(asking, "coldest", "coldest_c");
    water::celsius(asking, "hottest", "hottest_c");
    if asking.value("acid").is_some() {
        asking.set("acid_tank", Value::Bool(false).into(), "acid");
    }
    let is_us = asking.visit.is_us();
    asking.quantities("volume", "tank_litres", move |text| {
        own::litres(text, is_us)
    });
    ranges::ask(asking);
    weighed(asking);
    if asking.value("paper") == Some(WEIGH) && asking.value("volume").is_none() {
        let what = "the volume of the stock tanks";
        let mend = "Say it, like 20 L: the sheet by the scale is for a tank.";
        asking.refuse("volume", Problem::Empty { what, mend });
    }
}

/// How a comma in the volume was understood, since it might have been meant to part two of them.
fn comma(asking: &Asking<'_>) -> Option<String> {
    let parts = apart(asking.value("volume")?);
    let part = parts.iter().find(|part| part.contains(','))?.trim();
    let litres = own::litres(part, asking.visit.is_us()).ok()?;
    Some(format!(
        "the volume “{part}” is read as {}; two volumes stand apart by a semicolon",
        round::volume(litres, asking.visit.show.measure)
    ))
}

/// What was weighed otherwise than meant.
fn weighed(asking: &mut Asking<'_>) {
    let Some(text) = asking.text("weighed") else {
        return;
    };
    let words: Vec<String> = text.lines().filter_map(in_tank).collect();
    let entries = asking.within("weighed", |_, faults| mixes::weighed(&words, "", faults));
    let entries = entries.into_iter().map(|(_, entry)| entry).collect();
    asking.list("already", entries, "weighed");
}

/// `B: name amount` as `B:name=amount`; a tank stands before a name, never before an amount.
fn in_tank(line: &str) -> Option<String> {
    match line.split_once(':') {
        Some((tank, rest)) if rest.trim_start().starts_with(char::is_alphabetic) => {
            Some(format!("{}:{}", tank.trim(), own::as_pair(rest)?))
        }
        _ => own::as_pair(line),
    }
}

fn answer(report: &Report, asking: &Asking<'_>) -> Option<Answered> {
    let Report::Stock(report) = report else {
        return None;
    };
    let visit = asking.visit;
    let batch = asking.value("batch").unwrap_or_default();
    let dangers = |id: &str| asking.known.dangers(id);
    let paper = asking.value("paper");
    let mut pictures = Vec::new();
    let mut sheet = match paper {
        Some(WEIGH) => {
            let scale = asking.request.get("scale_g").map(|node| &node.value);
            let scale = match scale {
                Some(Value::Number(grams)) => Some(*grams),
                _ => None,
            };
            weigh::sheet(report, visit.show, batch, scale)
        }
        Some(LABELS) => {
            let mut all = weigh::labels(report, visit.show.measure, batch, &dangers);
            pictures = labels(std::mem::take(&mut all.parts));
            all
        }
        _ => stock::sheet(report, visit.show, &dangers),
    };
    if let Some(comma) = comma(asking) {
        sheet.detail = [sheet.detail, comma].join("; ");
    }
    let has_order = !report.order.is_empty();
    let others = [
        (WEIGH, has_order, "Sheet by the scale, to print and tick"),
        (LABELS, report.ratio.is_some(), "Labels for tanks and lids"),
        ("", true, "The tanks, and how clear they stay"),
    ];
    let others = others
        .into_iter()
        .filter(|(name, can, _)| *can && *name != paper.unwrap_or_default());
    let mut onward: Vec<(String, String)> = others
        .map(|(name, _, words)| (visit.changed(PAGE.path, "paper", name), words.into()))
        .collect();
    onward.extend(corrected(report, visit).map(|link| (link, "Correct a tank with these".into())));
    Some(Answered {
        sheet,
        pictures,
        csv: Some(csv::tanks(&report.tanks)),
        nutrients_csv: report.finished.as_ref().map(|finished| {
            let rows = &finished.nutrients;
            csv::predicted_nutrients(rows)
        }),
        weigh_csv: has_order.then(|| csv::order(&report.order)),
        onward,
        ..Answered::default()
    })
}

/// The address of a correction with these stocks, in the same water and with the same fertilizers;
/// nothing where no dilution is known. The reading is left to the meters.
fn corrected(report: &StockReport, visit: &Visit<'_>) -> Option<String> {
    /// Fields that mean the same there.
    const KEPT: [&str; 4] = ["water", "own-water", "blend", "own-fertilizers"];
    let ratio = round::handed_on(report.ratio?);
    let mut stocks = String::from("tank,id,g_per_l_stock");
    for tank in &report.tanks {
        for dose in &tank.mix {
            let grams = round::handed_on(dose.g_per_l_stock?);
            stocks.extend(["\n", &tank.name, ",", &dose.id, ",", &grams]);
        }
    }
    let mut fields = vec![
        ("stocks", own::OWN),
        ("own-stocks", stocks.as_str()),
        ("ratio", ratio.as_str()),
    ];
    let kept = KEPT.iter();
    fields.extend(kept.filter_map(|name| Some((*name, visit.fields.get(name)?))));
    Some(visit.address(correct::PAGE.path, &fields))
}

/// Each label in a box of its own, to be cut out.
fn labels(parts: Vec<Part>) -> Vec<Markup> {
    let mut each: Vec<Sheet> = Vec::new();
    for part in parts {
        if matches!(part, Part::Table { .. }) || each.is_empty() {
            each.push(Sheet::default());
        }
        if let Some(label) = each.last_mut() {
            label.parts.push(part);
        }
    }
    each.iter()
        .map(|label| html! { div.label { (html::render(label, Setting::default())) } })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tank_stands_before_a_name() {
        for (line, read) in [
            ("potassium-nitrate 250 g", "potassium-nitrate=250 g"),
            ("B: potassium-nitrate 250", "B:potassium-nitrate=250"),
            ("B:potassium-nitrate=250", "B:potassium-nitrate=250"),
            ("urea: 12 g", "urea=12 g"),
        ] {
            assert_eq!(in_tank(line).as_deref(), Some(read), "{line}");
        }
        assert_eq!(in_tank("  "), None);
    }
}
