//! The sheet of a label: does it add up, what does it leave out, what do meter and laboratory say,
//! what completes it.

use super::formulate::{self, Show};
use super::spread::{self, Halves};
use super::{Column, Kind, Part, Sheet, round};
use saltwright_fertilizers::Hazard;
use saltwright_solver::formulate::report::{FormulateReport, Outcome};
use saltwright_solver::label::allowance::{AllowanceRow, Finding, Overall};
use saltwright_solver::label::report::{AnalysisRow, Dosage, LabelReport, PenaltyRow};
use saltwright_solver::label::words;
use std::fmt::Write as _;

/// A share of the mass below which an undeclared nutrient is not worth a line, percent.
const TRACE_PCT: f64 = 0.005;

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &LabelReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let mut parts = vec![analysis(report)];
    parts.extend(arithmetic(report));
    parts.extend(undeclared(report));
    if let Some(meter) = &report.meter {
        parts.push(Part::fact("meter", meter.words.clone()));
    }
    parts.extend(allowances(report));
    parts.extend(
        report
            .dosage
            .as_ref()
            .map(|dose| dosage(dose, show))
            .into_iter()
            .flatten(),
    );
    let halves = Halves {
        in_percent: true,
        ..Halves::default()
    };
    parts.extend(spread::parts(report.sureness.as_ref(), halves, show.narrow));
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    if let Some(alone) = &report.alone {
        parts.extend(alone_part(alone));
    }
    if let Some(whole) = &report.complete {
        parts.extend(completed(whole, show, dangers));
    }
    Sheet {
        title: title(report),
        verdict: if report.is_consistent() {
            "nothing speaks against it"
        } else {
            "something is WRONG with it"
        }
        .into(),
        detail: format!("Read as {}.", report.prints),
        parts,
    }
}

/// What it says on the bag; else its first figures.
fn title(report: &LabelReport) -> String {
    const MOST: usize = 4;
    if !report.name.is_empty() {
        return report.name.clone();
    }
    let figures = report.analysis.iter().take(MOST);
    let figures: Vec<String> = figures
        .map(|row| format!("{} {}", row.printed.key, round::plain(row.pct)))
        .collect();
    let more = if report.analysis.len() > MOST {
        ", …"
    } else {
        ""
    };
    format!("Label {}{more}", figures.join(", "))
}

/// The figures as printed, and as elements.
fn analysis(report: &LabelReport) -> Part {
    let by_law = report
        .analysis
        .iter()
        .any(|row| row.statutory_element_pct.is_some());
    let mut columns = vec![
        Column::new("label", Kind::Name),
        Column::new("%", Kind::Figures),
        Column::new("element", Kind::Words),
        Column::new("%", Kind::Figures),
    ];
    if by_law {
        columns.push(Column::new("by the law's factor", Kind::Figures));
    }
    let ranged = report.analysis.iter().any(|row| row.mixture_pct.is_some());
    if ranged {
        columns.push(Column::new("this mixture", Kind::Figures));
    }
    let rows = report.analysis.iter().map(|row| {
        let element = row
            .nutrient
            .map_or(row.printed.key, |nutrient| nutrient.key());
        let mut cells = vec![
            row.printed.key.to_owned(),
            round::plain(row.pct),
            element.to_owned(),
            round::three(row.element_pct),
        ];
        if by_law {
            cells.push(
                row.statutory_element_pct
                    .map_or_else(String::new, round::three),
            );
        }
        if ranged {
            cells.push(in_mixture(row));
        }
        cells
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

/// What the found mixture holds, percent as printed, with half of its range.
fn in_mixture(row: &AnalysisRow) -> String {
    let Some((pct, range)) = row.mixture_pct.zip(row.range) else {
        return String::new();
    };
    let half = spread::half_width(&range, pct);
    round::ranged(pct, Some(half), round::three)
}

fn arithmetic(report: &LabelReport) -> Vec<Part> {
    let found = &report.arithmetic;
    let mut parts = vec![Part::fact("adds up", found.words.clone())];
    let whys = found.contradiction.iter();
    parts.extend(whys.map(|row| Part::fact("why", row.words.clone())));
    if !found.mix_pct.is_empty() {
        let mut shares: Vec<(&String, f64)> =
            found.mix_pct.iter().map(|(id, pct)| (id, *pct)).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        let ranged = !found.shares.is_empty();
        let rows = shares.into_iter().map(|(id, pct)| {
            let mut cells = vec![id.clone(), round::three(pct)];
            if ranged {
                let ends = found.shares.iter().find(|row| row.id == *id);
                let show = |pct: Option<f64>| pct.map_or_else(String::new, round::three);
                cells.push(show(ends.map(|row| row.low_pct)));
                cells.push(show(ends.map(|row| row.high_pct)));
            }
            cells
        });
        let mut columns = vec![
            Column::new("it could be", Kind::Name),
            Column::new("%", Kind::Figures),
        ];
        if ranged {
            columns.push(Column::new("% at least", Kind::Figures));
            columns.push(Column::new("% at most", Kind::Figures));
        }
        parts.push(Part::Table {
            columns,
            rows: rows.collect(),
        });
    }
    parts
}

fn undeclared(report: &LabelReport) -> Option<Part> {
    let rows: Vec<Vec<String>> = report
        .undeclared
        .iter()
        .filter(|row| row.high_pct >= TRACE_PCT)
        .map(|row| {
            vec![
                row.nutrient.key().to_owned(),
                round::concentration(row.low_pct),
                round::concentration(row.high_pct),
            ]
        })
        .collect();
    let columns = vec![
        Column::new("not on the label", Kind::Name),
        Column::new("% at least", Kind::Figures),
        Column::new("% at most", Kind::Figures),
    ];
    (!rows.is_empty()).then_some(Part::Table { columns, rows })
}

fn allowances(report: &LabelReport) -> Vec<Part> {
    if report.allowances.is_empty() {
        return Vec::new();
    }
    let heads = ["guaranteed %", "found %", "may fall", "may rise"];
    let mut columns = vec![Column::new("laboratory", Kind::Name)];
    columns.extend(heads.map(|head| Column::new(head, Kind::Figures)));
    columns.push(Column::new("", Kind::Words));
    let rows = report.allowances.iter().map(|row| {
        let optional = |value: Option<f64>| value.map_or_else(String::new, round::plain);
        vec![
            row.nutrient.key.to_owned(),
            round::plain(row.guaranteed),
            percent(row.found),
            optional(row.allowance),
            optional(row.allowance_above),
            words::finding(row.verdict).to_owned(),
        ]
    });
    let mut parts = vec![Part::Table {
        columns,
        rows: rows.collect(),
    }];
    let overall = [("index", &report.index), ("sum", &report.sum)];
    for (label, one) in overall {
        parts.extend(
            one.as_ref()
                .map(|one| Part::fact(label, overall_words(one))),
        );
    }
    parts.extend(report.penalties.iter().map(penalty));
    parts.extend(sources(&report.allowances));
    parts
}

fn penalty(row: &PenaltyRow) -> Part {
    let words = format!(
        "{}: {} kg short in a tonne, {} times {} a kg, is {} a tonne ({}).",
        row.nutrient.key,
        round::plain(row.short_kg_per_t),
        row.times,
        row.value_per_kg,
        round::plain(row.per_t),
        row.rule
    );
    Part::fact("penalty", words)
}

/// The tables that allowances come from, and how they were read; each once.
fn sources(rows: &[AllowanceRow]) -> Vec<Part> {
    let mut tables: Vec<&str> = Vec::new();
    for table in rows.iter().filter_map(|row| row.table) {
        if !tables.contains(&table) {
            tables.push(table);
        }
    }
    let mut parts: Vec<Part> = tables
        .into_iter()
        .map(|table| Part::fact("table", format!("{table}.")))
        .collect();
    let mut told: Vec<(&str, Vec<&str>)> = Vec::new();
    for row in rows {
        let Some(reading) = &row.reading else {
            continue;
        };
        match told.iter_mut().find(|(known, _)| known == reading) {
            Some((_, keys)) => keys.push(row.nutrient.key),
            None => told.push((reading, vec![row.nutrient.key])),
        }
    }
    let readings = told.into_iter();
    parts.extend(
        readings.map(|(reading, keys)| {
            Part::fact("reading", format!("{}: {reading}.", keys.join(", ")))
        }),
    );
    parts
}

/// A finding with every digit that a laboratory gave, up to four behind the point.
fn percent(pct: f64) -> String {
    let text = format!("{pct:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn overall_words(one: &Overall) -> String {
    let verdict = match one.verdict {
        Finding::NotJudged => "cannot tell, not all of it was found",
        other => words::finding(other),
    };
    format!(
        "{:.2}, limit {}: {verdict}. {}.",
        one.value,
        percent(one.limit),
        one.rule
    )
}

fn dosage(dose: &Dosage, show: Show) -> Vec<Part> {
    let title = format!("at {}/L", round::mass(dose.g_per_l, show.measure));
    let rows: Vec<Vec<String>> = dose
        .nutrients
        .iter()
        .filter(|row| row.label_mg_l.is_some() || row.high_mg_l.is_some_and(|most| most > 0.01))
        .map(|row| {
            let shown = |value: Option<f64>| {
                value.map_or_else(String::new, |value| show.unit.show(row.nutrient, value))
            };
            vec![
                show.unit.label(row.nutrient),
                shown(row.label_mg_l),
                shown(row.low_mg_l),
                shown(row.high_mg_l),
            ]
        })
        .collect();
    let unit = show.unit.name();
    let mut parts = vec![Part::Table {
        columns: vec![
            Column::new(title, Kind::Name),
            Column::new(format!("{unit} by label"), Kind::Figures),
            Column::new("at least", Kind::Figures),
            Column::new("at most", Kind::Figures),
        ],
        rows,
    }];
    let ends = dose.ec.and_then(|ec| ec.low_ms_cm.zip(ec.high_ms_cm));
    if let Some((low, high)) = ends {
        let words = format!("{} to {} mS/cm at 25 °C.", round::ec(low), round::ec(high));
        parts.push(Part::fact("EC", words));
    }
    parts
}

/// How the recipe falls short of the mix alone.
fn alone_part(alone: &FormulateReport) -> Vec<Part> {
    if alone.outcome == Outcome::WithinBands {
        let words = "used by itself the mix keeps every band of the recipe.";
        return vec![Part::fact("alone", words)];
    }
    let mut words = String::from("used by itself, as near to the recipe as it comes");
    let grams = alone.mix.first().map(|row| row.g_per_l);
    if let Some(grams) = grams {
        // Writing to memory cannot fail.
        let _ = write!(words, " ({} g/L)", round::three(grams));
    }
    let miss = formulate::misses(alone)
        .into_iter()
        .find_map(|part| match part {
            Part::Fact {
                label: "off",
                words,
            } => Some(words),
            _ => None,
        });
    words.push_str(": ");
    words.push_str(&miss.unwrap_or_default());
    vec![Part::fact("alone", words)]
}

/// The completed recipe, as `formulate` shows it.
fn completed(
    whole: &FormulateReport,
    show: Show,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Vec<Part> {
    let inner = formulate::sheet(whole, show, dangers);
    let title = format!("Completed: {}, {}.", inner.title, inner.verdict);
    let kept = inner.parts.into_iter().filter(|part| {
        !matches!(
            part,
            Part::Fact {
                label: "next" | "proof",
                ..
            }
        )
    });
    std::iter::once(Part::Note(title)).chain(kept).collect()
}
