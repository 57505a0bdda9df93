//! A sheet as HTML: the same titles, words and figures as in a terminal, set for a screen and for
//! paper.

use super::bar::Marks;
use super::columns::apart;
use super::{Column, Kind, Part, Sheet, journal, weigh};
use super::{substitute, svg};
use maud::{Markup, html};

/// A blank as wide as a digit.
const FIGURE_SPACE: char = '\u{2007}';
/// A blank as wide as a decimal point.
const POINT_SPACE: char = '\u{2008}';

/// What heads the numbers of steps that are done in order.
const STEP: &str = "step";

/// Where a name leads.
pub type Link<'a> = &'a dyn Fn(&str) -> Option<String>;

/// How a sheet is set on a page.
#[derive(Clone, Copy, Default)]
pub struct Setting<'a> {
    /// Labels of facts that speak of the command line and are left out.
    pub without: &'a [&'a str],
    /// Where the name that heads a row leads.
    pub link: Option<Link<'a>>,
}

/// Renders a sheet under a heading of the second level.
pub fn render(sheet: &Sheet, setting: Setting<'_>) -> Markup {
    html! {
        @if !sheet.title.is_empty() {
            header {
                h2 { (sheet.title) }
                @if !sheet.verdict.is_empty() {
                    p.verdict { (sheet.verdict) }
                }
                @if !sheet.detail.is_empty() {
                    p.detail { (sheet.detail) }
                }
            }
        }
        @for run in runs(&sheet.parts, setting.without) {
            (block(&run, setting))
        }
    }
}

/// Parts of one kind that follow each other stand in one list.
fn runs<'a>(parts: &'a [Part], without: &[&str]) -> Vec<Vec<&'a Part>> {
    let mut runs: Vec<Vec<&Part>> = Vec::new();
    for part in parts {
        if matches!(part, Part::Fact { label, .. } if without.contains(label)) {
            continue;
        }
        let same = |run: &&mut Vec<&Part>| {
            let of_kind = |other| std::mem::discriminant(other) == std::mem::discriminant(part);
            !matches!(part, Part::Table { .. }) && run.last().is_some_and(|last| of_kind(*last))
        };
        match runs.last_mut().filter(same) {
            Some(run) => run.push(part),
            None => runs.push(vec![part]),
        }
    }
    runs
}

fn block(run: &[&Part], setting: Setting<'_>) -> Markup {
    match run.first() {
        Some(Part::Table { columns, rows }) => table(columns, rows, caption(columns), setting),
        Some(Part::Fact { .. }) => html! {
            dl { @for part in run { (item(part)) } }
        },
        Some(Part::Caution(_)) => html! {
            ul.heed aria-label="cautions" { @for part in run { (item(part)) } }
        },
        _ => html! { @for part in run { (item(part)) } },
    }
}

fn item(part: &Part) -> Markup {
    match part {
        Part::Fact { label, words } => html! {
            div {
                dt { (label) }
                dd { @if words == weigh::LINE { span.write { "to fill in" } } @else { (words) } }
            }
        },
        Part::Caution(words) => html! { li { (words) } },
        Part::Note(words) => html! { p { (words) } },
        Part::Table { .. } => Markup::default(),
    }
}

/// What a table is about, from what heads its names.
fn caption(columns: &[Column]) -> &str {
    let head = |at: usize| columns.get(at).map_or("", |column| column.head.as_str());
    match head(0) {
        weigh::DONE => head(1),
        "figure" if head(1) == "now" => "The meters, now and afterwards",
        STEP => "What to do, in order",
        journal::ENTRY => "Entries, newest first",
        "written" => "What this entry said over time",
        "check, mS/cm at 25 °C" => "Checks, mS/cm at 25 °C",
        "if the scale is" => "The reading on every scale",
        "check solution, mS/cm" => "Check solutions to weigh",
        "tank" if head(1) == "stays" => "How clear each tank stays",
        "tank" => "What goes into which tank",
        "weigh" => "What to weigh and pour",
        "goes in" => "What goes in",
        "buy" => "What to buy",
        "in the season" => "What the season uses, and what is left over",
        substitute::MIXES => "Today's mix and the cheapest",
        substitute::UNUSED => "What is not used, and when it would be",
        substitute::SWAPS => "Single swaps, per 1000 L",
        substitute::CURVE => "Cost against allowed deviation",
        substitute::SALT_CURVE => "Cost against sodium and chloride",
        "mg/L" => "Nutrients in mg/L",
        "mmol/L" => "Nutrients in mmol/L",
        "meq/L" => "Nutrients in meq/L",
        "label" => "What is printed, and the same as elements",
        "it could be" => "One mixture that it could be",
        "laboratory" => "What the laboratory found",
        "recipe" => "Recipes",
        "water" => "Source waters",
        "fertilizer" => "Fertilizers",
        "crop" => "Crops",
        other => other,
    }
}

/// A table; the first column heads its rows.
pub fn table(
    columns: &[Column],
    rows: &[Vec<String>],
    caption: &str,
    setting: Setting<'_>,
) -> Markup {
    let fractions: Vec<usize> = (0..columns.len())
        .map(|at| {
            let cells = rows.iter().filter_map(|row| row.get(at));
            cells.map(|cell| fraction(cell).chars().count()).max()
        })
        .map(Option::unwrap_or_default)
        .collect();
    html! {
        table.(shape(columns)) {
            caption { (caption) }
            thead {
                tr {
                    @for column in columns {
                        th scope="col" class=[class(column.kind)] {
                            (head(column, caption))
                        }
                    }
                }
            }
            tbody {
                @for row in rows {
                    @let alone = words_alone(columns, row);
                    @let is_more = alone.is_some() && row[0].is_empty();
                    tr class=[is_more.then_some("more")] {
                        @for (at, (column, text)) in columns.iter().zip(row).enumerate() {
                            @if at == 0 {
                                (first(text, setting))
                            } @else if let Some(words) = alone {
                                @if at == 1 { td colspan=(columns.len() - 1) { (words) } }
                            } @else {
                                (cell(column, text, caption, fractions[at]))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The words of a row that holds nothing else beside its first cell: they get the room of all.
fn words_alone<'a>(columns: &[Column], row: &'a [String]) -> Option<&'a str> {
    let (words, others) = row.get(1..)?.split_first()?;
    let is_alone = columns[0].head == weigh::DONE && others.iter().all(String::is_empty);
    is_alone.then_some(words.as_str())
}

/// The first cell, which heads its row: a name, or a box to tick by hand or on the screen.
fn first(text: &str, setting: Setting<'_>) -> Markup {
    if let Some(step) = text.strip_prefix(weigh::BOX) {
        return html! {
            th.tick scope="row" {
                label { input type="checkbox"; span.vh { "done" } (step) }
            }
        };
    }
    html! {
        @if text.is_empty() { td {} } @else { th scope="row" { (name(text, setting)) } }
    }
}

/// What kind of table it is, for setting it on a narrow screen.
fn shape(columns: &[Column]) -> &'static str {
    let has_bars = columns.iter().any(|column| column.head == super::bar::HEAD);
    let has_boxes = columns.iter().any(|column| column.head == weigh::DONE);
    let has_steps = columns.first().is_some_and(|column| column.head == STEP);
    let has_entries = columns
        .first()
        .is_some_and(|column| column.head == journal::ENTRY);
    match columns.get(1).map(|column| column.kind) {
        _ if has_steps => "steps",
        _ if has_entries => "log",
        _ if has_bars => "bars",
        _ if has_boxes => "ticks",
        Some(Kind::Figures) => "figures",
        _ => "words",
    }
}

const fn class(kind: Kind) -> Option<&'static str> {
    match kind {
        Kind::Figures => Some("n"),
        Kind::Drawing => Some("d"),
        Kind::Name | Kind::Words => None,
    }
}

/// The head in words; that of a bar is drawn with strokes, that of marks is not written at all, nor
/// what the caption says already.
fn head(column: &Column, caption: &str) -> Markup {
    let head = column.head.as_str();
    html! {
        @if head == super::bar::HEAD {
            span.ends { span { "below" } span { "aim" } span { "above" } }
        } @else if head.is_empty() {
            span.vh { @if column.kind == Kind::Figures { "amount" } @else { "caution" } }
        } @else if head == caption {
            span.vh { (head) }
        } @else {
            (head)
        }
    }
}

fn name(text: &str, setting: Setting<'_>) -> Markup {
    // A star marks a row and is no part of its name.
    let (id, mark) = text.split_once(' ').unwrap_or((text, ""));
    match setting.link.and_then(|link| link(id)) {
        Some(address) => html! { a href=(address) { (id) } " " (mark) },
        None => html! { (text) },
    }
}

fn cell(column: &Column, text: &str, caption: &str, widest: usize) -> Markup {
    let needless = ["", super::bar::HEAD, caption];
    let head = column.head.as_str();
    let label = (!text.is_empty() && !needless.contains(&head)).then_some(head);
    let marks = (column.kind == Kind::Drawing)
        .then(|| Marks::read(text))
        .flatten();
    html! {
        td class=[class(column.kind)] data-head=[label] {
            @if let Some(marks) = marks {
                (svg::bar::draw(marks))
                @if marks.word() != "inside" { strong { (marks.word()) } }
            } @else if column.kind == Kind::Figures && !text.is_empty() {
                (figure(text, widest))
            } @else {
                (text)
            }
        }
    }
}

/// The point of a figure and what follows it, without its unit.
fn fraction(cell: &str) -> &str {
    let rest = apart(cell).1;
    rest.split(' ').next().unwrap_or_default()
}

/// A figure that stands on its decimal point in a column set to the right, and its unit. A page has
/// hundreds of them: the style sheet tells their parts by where they stand.
fn figure(text: &str, widest: usize) -> Markup {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let missing = widest.saturating_sub(fraction(text).chars().count());
    let has_point = number.contains('.');
    let blanks: String = (0..missing)
        .map(|at| {
            if at == 0 && !has_point {
                POINT_SPACE
            } else {
                FIGURE_SPACE
            }
        })
        .collect();
    html! {
        (number)
        @if !blanks.is_empty() { i { (blanks) } }
        @if !unit.is_empty() { " " span { (unit) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        Sheet {
            title: "Lettuce <in> rain".into(),
            verdict: "within bands".into(),
            detail: String::new(),
            parts: vec![
                Part::Table {
                    columns: vec![
                        Column::new("mg/L", Kind::Name),
                        Column::new("aim", Kind::Figures),
                        Column::new(super::super::bar::HEAD, Kind::Drawing),
                    ],
                    rows: vec![
                        vec!["K".into(), "210.0".into(), "     |----#----|".into()],
                        vec!["Cu".into(), "0".into(), "   # |----:----|    ".into()],
                    ],
                },
                Part::fact("EC", "1.4"),
                Part::fact("next", "--out FILE"),
                Part::Caution("Acid.".into()),
                Part::Caution("Boron.".into()),
            ],
        }
    }

    #[test]
    fn a_sheet_is_marked_up_for_everyone() {
        let setting = Setting {
            without: &["next"],
            link: None,
        };
        let page = render(&sheet(), setting).into_string();
        for said in [
            "<h2>Lettuce &lt;in&gt; rain</h2>",
            "<caption>Nutrients in mg/L</caption>",
            "<th scope=\"row\">K</th>",
            "<title>inside the band</title>",
            "<strong>below</strong>",
            "<dt>EC</dt><dd>1.4</dd>",
            "<li>Acid.</li><li>Boron.</li>",
        ] {
            assert!(page.contains(said), "{said}\n{page}");
        }
        assert!(!page.contains("--out"), "{page}");
        assert_eq!(page.matches("<ul").count(), 1);
    }

    #[test]
    fn figures_stand_on_their_point() {
        let page = render(&sheet(), Setting::default()).into_string();
        assert!(page.contains("0<i>\u{2008}\u{2007}</i>"), "{page}");
        assert!(page.contains("210.0</td>"), "{page}");
    }
}
