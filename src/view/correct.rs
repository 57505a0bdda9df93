//! The sheet of a correction: where the tank stands, what to do in order, what the meters then show.

use super::amounts::{self, Amount, Volumes, mark};
use super::formulate::Show;
use super::nutrients::Unit;
use super::round::{self, Measure};
use super::spread::{self, Halves};
use super::{Column, Kind, Part, Sheet, facts};
use saltwright_fertilizers::Hazard;
use saltwright_solver::reservoir::CorrectReport;
use saltwright_solver::reservoir::correct::Grounds;
use saltwright_solver::reservoir::correct::report::{
    AdjustedFeed, Do, NutrientRow, PublishedPh, Step,
};
use saltwright_solver::spread::next::NextRow;
use saltwright_solver::spread::{EC, PH, Sureness};

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &CorrectReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let mut parts = vec![stand(report, show.measure)];
    if report.steps.is_empty() {
        let words = match (&report.adjusted_feed, report.in_band) {
            (_, true) => "nothing: EC and pH are where they should be.",
            (Some(_), false) => "weigh and dissolve what stands below, or name stocks.",
            (None, false) => "nothing that is named helps.",
        };
        parts.push(Part::fact("to do", words));
    } else {
        parts.push(steps(&report.steps, show.measure, dangers));
    }
    if let Some(why_not) = &report.why_not {
        parts.push(Part::fact("why not", why_not.clone()));
    }
    if let Some(weighed) = &report.adjusted_feed {
        parts.push(feed(weighed, show.measure, dangers));
        parts.push(fed(weighed));
    }
    if show.detail {
        parts.push(nutrients(&report.nutrients, show.unit));
    }
    parts.extend(published(&report.ph_published));
    parts.push(Part::fact("tank", report.assumed.clone()));
    parts.extend(strength(report));
    parts.extend(bottle(report));
    parts.extend(facts::pens(&report.after.tds, report.after.cf));
    if let Some(sureness) = &report.sureness {
        let usual = || measure(report, sureness, show.measure);
        let halves = halves(report);
        parts.extend(spread::with_measure(sureness, halves, show.narrow, usual));
    }
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    let verdict = match (report.in_band, report.steps.is_empty()) {
        (true, true) => "in band",
        (true, false) => "comes into band",
        (false, _) => "stays OUTSIDE the band",
    };
    Sheet {
        title: format!("{} in {}", report.recipe, report.water),
        verdict: verdict.into(),
        detail: format!(
            "{} in a tank that takes {}",
            round::volume(report.now.litres, show.measure),
            round::volume(report.capacity_l, show.measure)
        ),
        parts,
    }
}

/// Where the tank stands, and where it comes to.
fn stand(report: &CorrectReport, measure: Measure) -> Part {
    let after = &report.after;
    let halves = halves(report);
    let ph = |ph: Option<f64>| ph.map_or_else(|| "not read".to_owned(), round::ph);
    let ph_after = match after.ph {
        Some(ph) if after.unbuffered && !report.steps.is_empty() => {
            format!("about {}", round::ranged(ph, halves.ph, round::whole_ph))
        }
        Some(ph) => round::ranged(ph, halves.ph, round::ph),
        None => ph(None),
    };
    let [low, high] = report.aim.ph.map(round::ph);
    let row = |cells: [String; 4]| cells.to_vec();
    let rows = vec![
        row([
            "EC, mS/cm at 25 °C".into(),
            round::ec(report.now.ec_ms_cm),
            round::ranged(after.ec_ms_cm, halves.ec, round::ec),
            format!(
                "{} ({})",
                round::ec(report.aim.ec_ms_cm),
                of(report.aim.ec_from)
            ),
        ]),
        row([
            "pH".into(),
            ph(report.now.ph),
            ph_after,
            format!("{low} to {high} ({})", of(report.aim.ph_from)),
        ]),
        row([
            "level".into(),
            round::volume(report.now.litres, measure),
            round::volume(after.litres, measure),
            format!("at most {}", round::volume(report.capacity_l, measure)),
        ]),
    ];
    let columns = vec![
        Column::new("figure", Kind::Name),
        Column::new("now", Kind::Figures),
        Column::new("after", Kind::Figures),
        Column::new("aim", Kind::Words),
    ];
    Part::Table { columns, rows }
}

/// Where what is aimed at comes from.
fn of(from: &str) -> &str {
    match from {
        "request" => "as asked",
        "recipe" => "of the recipe",
        "usual" => "usual, the recipe names none",
        "stocks" => "as the stocks make it",
        _ => "of the recipe by its ions",
    }
}

fn steps(steps: &[Step], measure: Measure, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Part {
    let columns = vec![
        Column::new("step", Kind::Figures),
        Column::new("do", Kind::Name),
        Column::new("amount", Kind::Figures),
        Column::new("EC", Kind::Figures),
        Column::new("pH", Kind::Figures),
        Column::new("how", Kind::Words),
    ];
    let rows = steps.iter().zip(1_u32..).map(|(step, number)| {
        let id = step.id.as_deref();
        let marked = id
            .map(|id| mark(&dangers(id)))
            .filter(|mark| !mark.is_empty());
        let how = match marked {
            Some(mark) => format!("{mark}. {}", step.words),
            None => step.words.clone(),
        };
        vec![
            number.to_string(),
            what(step),
            amount(step, measure),
            round::ec(step.then.ec_ms_cm),
            step.then.ph.map_or_else(String::new, round::ph),
            how,
        ]
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

/// What a step does, in a word or two.
fn what(step: &Step) -> String {
    let tank = step.tank.as_ref().map(|tank| format!("stock {tank}"));
    match step.what {
        Do::Drain => "drain".into(),
        Do::AddWater => "add water".into(),
        Do::AddStock => tank.unwrap_or_else(|| "stock".into()),
        Do::AddAcid => step.id.clone().or(tank).unwrap_or_else(|| "acid".into()),
        Do::AddBase => step.id.clone().or(tank).unwrap_or_else(|| "base".into()),
        Do::Wait => "wait".into(),
    }
}

/// How an amount is rounded, and its unit.
type Rounded = (fn(f64, Measure) -> String, fn(f64, Measure) -> round::Unit);
const VOLUME: Rounded = (round::volume, round::volume_unit);
const POURED: Rounded = (round::poured, round::poured_unit);
const MASS: Rounded = (round::mass, round::mass_unit);

/// What a step takes, and how that is rounded.
fn taken(step: &Step) -> Option<(f64, Rounded)> {
    let amounts = [(step.litres, VOLUME), (step.ml, POURED), (step.g, MASS)];
    let mut amounts = amounts.into_iter();
    amounts.find_map(|(amount, rounded)| Some((amount?, rounded)))
}

/// How much, with half of its range where there is one.
fn amount(step: &Step, measure: Measure) -> String {
    let minutes = step
        .minutes
        .map(|minutes| format!("{} min", round::plain(minutes)));
    let Some((amount, (show, unit))) = taken(step) else {
        return minutes.unwrap_or_default();
    };
    match step.high {
        Some(high) => round::amount(amount, high - amount, unit(amount, measure)),
        None => show(amount, measure),
    }
}

/// Improvements that are told where no figure is named.
const NEXT: usize = 2;
/// Reports tell stocks in litres, their steps are poured in millilitres.
const ML_PER_LITRE: f64 = 1000.0;

/// What would narrow pours and readings most, each cause once.
fn measure(report: &CorrectReport, sureness: &Sureness, measure: Measure) -> Option<Part> {
    let mut named: Vec<&str> = Vec::new();
    let told = sureness.measure_next.iter().filter_map(|row| {
        if named.len() == NEXT || named.contains(&row.cause.as_str()) {
            return None;
        }
        let words = narrowed(row, &report.steps, measure)?;
        named.push(&row.cause);
        Some(words)
    });
    spread::told(told)
}

/// What an improvement brings to a reading in the end or to all that is poured of something.
fn narrowed(row: &NextRow, steps: &[Step], measure: Measure) -> Option<String> {
    if let EC | PH = row.figure {
        return spread::narrowed(row, row.figure, &|half| {
            spread::half_of(row.figure, half, "")
        });
    }
    let mut steps = steps.iter().filter(|step| step.what.name() == row.figure);
    let step = steps.next()?;
    let (amount, (_, unit)) = taken(step)?;
    let (name, times) = match step.what {
        Do::AddStock => ("each stock".to_owned(), ML_PER_LITRE),
        // Poured in portions.
        _ if steps.next().is_some() => (format!("{} in all", what(step)), 1.0),
        _ => (what(step), 1.0),
    };
    spread::narrowed(row, &name, &|half| {
        round::half_amount(times * half, unit(amount, measure))
    })
}

/// Half of the ranges of EC and pH in the end.
fn halves(report: &CorrectReport) -> Halves {
    let after = &report.after;
    Halves {
        ec: after.ec_high_ms_cm.map(|high| high - after.ec_ms_cm),
        ph: after.ph_high.zip(after.ph).map(|(high, ph)| high - ph),
        ..Halves::default()
    }
}

/// What to weigh instead of pouring stocks.
fn feed(feed: &AdjustedFeed, measure: Measure, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Part {
    let mix: Vec<Amount<'_>> = feed
        .formulation
        .mix
        .iter()
        .map(|row| Amount::of(&row.id, row.g_per_l, row.ml_per_l))
        .collect();
    if mix.is_empty() {
        let words = "nothing is to be weighed: what is in the tank is enough of everything.";
        return Part::fact("feed", words);
    }
    let volumes = Volumes {
        batch: Some(feed.litres),
        ratio: None,
    };
    amounts::table("or weigh", &mix, volumes, measure, dangers)
}

/// What the meters show once that is dissolved.
fn fed(feed: &AdjustedFeed) -> Part {
    let ec = round::ec(feed.then.ec_ms_cm);
    let words = match feed.then.ph {
        Some(ph) => format!(
            "instead of stocks; once it is dissolved the tank reads {ec} mS/cm and about pH {}. \
             Correct the pH after that, from a new reading.",
            round::ph(ph)
        ),
        None => format!("instead of stocks; once it is dissolved the tank reads {ec} mS/cm."),
    };
    Part::fact("weighed", words)
}

/// What is published of the crop's pH, and what is done without a source.
fn published(rows: &[PublishedPh]) -> Option<Part> {
    let crop = rows.first()?.crop.split(',').next().unwrap_or_default();
    let said = rows.iter().map(|row| {
        let [low, high] = [row.low, row.high].map(round::ph);
        let range = if low == high {
            low
        } else {
            format!("{low} to {high}")
        };
        format!("{range} ({})", cited(&row.source))
    });
    let said: Vec<String> = said.collect();
    Some(Part::fact(
        "crop pH",
        format!("{crop}: {}.", said.join("; ")),
    ))
}

/// A citation in short: who and when, the first of several names.
fn cited(source: &str) -> String {
    let Some((authors, rest)) = source.split_once(" (") else {
        return source.to_owned();
    };
    let year = rest.split(')').next().unwrap_or_default();
    match authors.split_once(',') {
        Some((first, _)) => format!("{first} and others {year}"),
        None => format!("{authors} {year}"),
    }
}

fn nutrients(rows: &[NutrientRow], unit: Unit) -> Part {
    let mut columns = vec![Column::new(unit.name(), Kind::Name)];
    for head in ["now", "after", "recipe"] {
        columns.push(Column::new(head, Kind::Figures));
    }
    let rows = rows.iter().map(|row| {
        let show = |figure| unit.show(row.nutrient, figure);
        vec![
            unit.label(row.nutrient),
            show(row.now),
            unit.beside(
                row.nutrient,
                row.after,
                row.range.map(|range| range.high - row.after),
            ),
            row.aim.map_or_else(String::new, show),
        ]
    });
    Part::Table {
        columns,
        rows: rows.collect(),
    }
}

fn strength(report: &CorrectReport) -> Option<Part> {
    let strength = report.strength?;
    let whole = match report.grounds {
        Grounds::Stocks => "what the stocks make at their ratio",
        _ => "what the recipe asks for",
    };
    Some(Part::fact(
        "holds",
        format!("{:.0} % of {whole}.", 100.0 * strength),
    ))
}

fn bottle(report: &CorrectReport) -> Option<Part> {
    let meq = report.bottle_meq_per_ml?;
    let kind = if meq > 0.0 { "acid" } else { "base" };
    let words = format!(
        "by what it did, a millilitre holds about {} meq of {kind}.",
        round::concentration(meq.abs())
    );
    Some(Part::fact("bottle", words))
}
