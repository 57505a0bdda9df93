//! The sheet by the scale: one line a step, to be ticked; and the labels of tanks.

use super::formulate::Show;
use super::round::{self, Measure};
use super::stock::{mended, moves, shown, tank_name};
use super::{Column, Kind, Part, Sheet, amounts};
use saltwright_fertilizers::Hazard;
use saltwright_solver::stock::report::{Step, StockReport, TankRow};
use saltwright_solver::words;

/// A line to write on.
pub const LINE: &str = "______________";
/// A box to tick.
pub const BOX: &str = "[ ]";
/// The head above boxes to tick.
pub const DONE: &str = "done";
/// What is said where no mass can be told.
const NOTHING: &str = "Nothing to weigh yet: a mass needs the volume of the tanks and a ratio, and \
    no ratio can be stood for here unless one is asked for.";
/// Where first aid stands: never on a sheet of ours.
const FIRST_AID: &str = "First aid: as on the product's label and safety sheet; have them at hand.";

/// Builds the sheet for every tank that has a volume; `batch` names it.
pub fn sheet(report: &StockReport, show: Show, batch: &str, scale_g: Option<f64>) -> Sheet {
    let mut parts = vec![
        Part::fact("batch", if batch.is_empty() { LINE } else { batch }),
        Part::fact("date", LINE),
        Part::fact("by", LINE),
    ];
    if report.order.is_empty() {
        parts.push(Part::Note(NOTHING.into()));
    }
    if !report.premixes.is_empty() {
        parts.push(premixes(report));
    }
    for tank in &report.tanks {
        let steps: Vec<&Step> = report
            .order
            .iter()
            .filter(|step| step.tank == tank.name)
            .collect();
        if !steps.is_empty() {
            let head = heading(tank, report, show.measure);
            parts.push(table(&steps, head, show.measure, scale_g));
        }
    }
    if let Some(rounding) = &report.rounding {
        let words = format!("to the scale: {}.", moves(rounding, 6));
        parts.push(Part::fact("rounded", words));
    }
    parts.extend(mended(report, show.measure));
    let verdict = super::stock::verdict(report);
    if verdict == super::stock::CLEAR {
        parts.push(Part::Caution(words::DEFER.into()));
    } else {
        // Nobody should weigh this without having read why not.
        parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    }
    parts.push(Part::Caution(FIRST_AID.into()));
    Sheet {
        title: format!("Weigh sheet: {}", super::stock::title(report)),
        verdict: verdict.into(),
        detail: scale_g.map_or_else(String::new, |scale| {
            format!(
                "masses as a scale shows them that reads to {} g",
                round::plain(scale)
            )
        }),
        parts,
    }
}

/// What is weighed into premixes first.
fn premixes(report: &StockReport) -> Part {
    let mut rows = Vec::new();
    for premix in &report.premixes {
        let words = format!("for {}, {}", tank_name(&premix.tank, false), premix.words);
        rows.push(vec![BOX.to_owned(), words]);
        let caution = premix.caution.iter();
        rows.extend(caution.map(|caution| vec![String::new(), format!("! {caution}")]));
    }
    let columns = vec![
        Column::new(DONE, Kind::Drawing),
        Column::new("Premixes, made up to the mark", Kind::Words),
    ];
    Part::Table { columns, rows }
}

fn heading(tank: &TankRow, report: &StockReport, measure: Measure) -> String {
    let litres = tank
        .litres
        .map_or_else(String::new, |litres| round::volume(litres, measure));
    let ratio = report
        .ratio
        .map_or_else(String::new, |ratio| format!(", 1:{}", shown(ratio)));
    format!("{}, {litres}{ratio}", tank_name(&tank.name, true))
}

fn table(steps: &[&Step], head: String, measure: Measure, scale_g: Option<f64>) -> Part {
    let columns = vec![
        Column::new(DONE, Kind::Drawing),
        Column::new(head, Kind::Words),
        Column::new("weigh", Kind::Figures),
        Column::new("in all", Kind::Figures),
        Column::new("volume", Kind::Figures),
    ];
    let grams = |grams: f64| match scale_g {
        Some(scale) => round::on_scale(grams, scale),
        None => round::mass(grams, measure),
    };
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut push = |cells: [String; 5]| rows.push(cells.into());
    let blank = String::new;
    for step in steps {
        let pour = match (step.litres, step.ml, step.weigh_g) {
            (Some(litres), ..) => round::volume(litres, measure),
            (None, Some(ml), None) => round::poured(ml, Measure::Metric),
            // What has a density may be weighed or poured.
            (None, Some(ml), Some(_)) => format!("or {}", round::poured(ml, measure)),
            (None, None, _) => blank(),
        };
        let first = match &step.id {
            Some(id) => id.clone(),
            None => step.words.clone(),
        };
        push([
            format!("{BOX} {}", step.step),
            first,
            step.weigh_g.map_or_else(blank, grams),
            step.running_g.map_or_else(blank, grams),
            pour,
        ]);
        let more = step.id.as_ref().map(|_| step.words.clone());
        let caution = step.caution.as_ref().map(|caution| format!("! {caution}"));
        for words in more.into_iter().chain(caution) {
            push([blank(), words, blank(), blank(), blank()]);
        }
    }
    Part::Table { columns, rows }
}

/// A label for every tank and lid.
pub fn labels(
    report: &StockReport,
    measure: Measure,
    batch: &str,
    dangers: &dyn Fn(&str) -> Vec<Hazard>,
) -> Sheet {
    let (one, one_name) = amounts::one(measure);
    let per = one_name.trim_start_matches("1 ");
    let mut parts = Vec::new();
    for tank in &report.tanks {
        let ratio = report
            .ratio
            .map_or_else(String::new, |ratio| format!("   1:{}", shown(ratio)));
        let name = tank_name(&tank.name, true).to_uppercase();
        let head = format!("{name}{ratio}   {batch}").trim_end().to_owned();
        let mut rows = Vec::new();
        rows.extend(tank.mix.iter().map(|dose| {
            let amount = match (dose.g_per_l_stock, dose.ml_per_l_stock) {
                (_, Some(ml)) => format!("{}/{per}", round::poured(one * ml, measure)),
                (Some(grams), None) => format!("{}/{per}", round::mass(one * grams, measure)),
                (None, None) => String::new(),
            };
            vec![dose.id.clone(), amount]
        }));
        rows.push(vec![format!("made on {LINE}"), String::new()]);
        let columns = vec![
            Column::new(head, Kind::Name),
            Column::new("", Kind::Figures),
        ];
        parts.push(Part::Table { columns, rows });
        let mut met: Vec<Hazard> = tank.mix.iter().flat_map(|dose| dangers(&dose.id)).collect();
        met.sort_unstable();
        met.dedup();
        parts.extend(
            met.into_iter()
                .map(|hazard| Part::Caution(words::hazard(hazard).into())),
        );
        parts.push(Part::Note(format!(
            "Concentrate, not for drinking. Keep dark, at {} or warmer, away from children. \
             {FIRST_AID}",
            round::temperature(report.coldest_c, measure)
        )));
    }
    Sheet {
        title: "Labels for tanks and lids".into(),
        parts,
        ..Sheet::default()
    }
}
