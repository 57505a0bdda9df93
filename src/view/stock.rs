//! The sheet of stock tanks: what goes where, how strong, how clear.

use super::formulate::Show;
use super::round::{self, Measure};
use super::spread::Halves;
use super::{Column, Kind, Part, Sheet, amounts, facts, nutrients, spread};
use saltwright_fertilizers::Hazard;
use saltwright_solver::stock::report::{Moved, StockDose, StockReport, TankRow};
use saltwright_solver::words;

/// Relative deviation of the diluted stocks up to which they are the formulation: what a double
/// carries through a few sums.
const SAME: f64 = 1e-9;

/// The verdict on tanks that stay clear.
pub const CLEAR: &str = "clear";

/// A tank in a sentence or, with `alone`, as a heading.
pub fn tank_name(name: &str, alone: bool) -> String {
    match (name.len() == 1, alone) {
        (true, true) => format!("Tank {name}"),
        (true, false) => format!("tank {name}"),
        (false, true) => format!("Tank of {name}"),
        (false, false) => format!("the tank of {name}"),
    }
}

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &StockReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let mut parts = vec![mix(report, show.measure, dangers), state(report)];
    parts.extend(strength(report, show.measure));
    parts.extend(checks(report));
    parts.extend(mended(report, show.measure));
    if let Some(finished) = &report.finished {
        parts.push(nutrients::predicted(&finished.nutrients, show.unit));
        parts.push(facts::ec(&finished.ec));
        let sureness = finished.sureness.as_ref();
        let halves = Halves::of(&finished.ec, &finished.ph, None, sureness);
        parts.extend(spread::parts(sureness, halves, show.narrow));
    }
    parts.extend(
        report
            .premixes
            .iter()
            .filter(|premix| premix.weigh_g.is_some())
            .map(|premix| {
                let tank = tank_name(&premix.tank, false);
                Part::fact("premix", format!("for {tank}: {}.", premix.words))
            }),
    );
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    parts.push(Part::fact("next", next(report)));
    Sheet {
        title: title(report),
        verdict: verdict(report).into(),
        detail: detail(report, show.measure),
        parts,
    }
}

/// What the sheet is about.
pub fn title(report: &StockReport) -> String {
    let tanks = match report.tanks.len() {
        1 => "One stock tank".to_owned(),
        more => format!("{more} stock tanks"),
    };
    let ratio = report
        .ratio
        .map_or_else(String::new, |ratio| format!(", 1:{}", shown(ratio)));
    format!("{tanks}{ratio}, made with {}", report.water)
}

/// A ratio: as it was asked, or rounded down.
pub fn shown(ratio: f64) -> String {
    if (ratio - ratio.round()).abs() < 1e-9 {
        round::plain(ratio)
    } else {
        words::stock::floor(ratio)
    }
}

/// How clear the tanks stay, in a word or two.
pub fn verdict(report: &StockReport) -> &'static str {
    let too_strong = report
        .division_ratio
        .zip(report.ratio)
        .is_some_and(|(most, asked)| asked > most * 1.001);
    if too_strong || report.tanks.iter().any(|tank| tank.clear == Some(false)) {
        "NOT clear"
    } else if report.ratio.is_none()
        || report
            .tanks
            .iter()
            .any(|tank| tank.words == words::stock::CANNOT_TELL)
    {
        "cannot tell"
    } else {
        CLEAR
    }
}

fn detail(report: &StockReport, measure: Measure) -> String {
    format!(
        "kept at {} to {}; every solid at least {} of an index below saturation",
        round::temperature(report.coldest_c, measure),
        round::temperature(report.hottest_c, measure),
        round::plain(report.margin_index)
    )
}

/// Every tank's fertilizers.
fn mix(report: &StockReport, measure: Measure, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Part {
    let volumes = report.tanks.iter().any(|tank| tank.litres.is_some());
    let divided = report
        .tanks
        .iter()
        .flat_map(|tank| &tank.mix)
        .any(|dose| dose.share < 1.0);
    let same = report
        .tanks
        .windows(2)
        .all(|pair| pair[0].litres == pair[1].litres);
    let mut columns = vec![
        Column::new("tank", Kind::Words),
        Column::new("weigh", Kind::Name),
    ];
    if volumes {
        let head = match report
            .tanks
            .first()
            .and_then(|tank| tank.litres)
            .filter(|_| same)
        {
            Some(litres) => round::volume(litres, measure),
            None => "tank".to_owned(),
        };
        columns.push(Column::new(head, Kind::Figures));
    }
    let (_, one_name) = amounts::one(measure);
    columns.push(Column::new(format!("{one_name} of stock"), Kind::Figures));
    columns.push(Column::new(format!("{one_name} solution"), Kind::Figures));
    if divided {
        columns.push(Column::new("share", Kind::Figures));
    }
    columns.push(Column::new("", Kind::Words));
    let rows = report.tanks.iter().flat_map(|tank| {
        let litres = tank.litres.map(|litres| round::volume(litres, measure));
        let name = match litres.filter(|_| !same) {
            Some(litres) => format!("{}, {litres}", tank.name),
            None => tank.name.clone(),
        };
        tank.mix.iter().enumerate().map(move |(at, dose)| {
            let mut cells = vec![if at == 0 { name.clone() } else { String::new() }];
            cells.push(dose.id.clone());
            let [tank, stock, solution] = amounts_of(dose, measure);
            if volumes {
                cells.push(tank);
            }
            cells.extend([stock, solution]);
            if divided {
                cells.push(if dose.share < 1.0 {
                    format!("{:.0} %", 100.0 * dose.share)
                } else {
                    String::new()
                });
            }
            cells.push(amounts::mark(&dangers(&dose.id)));
            cells
        })
    });
    let rows = rows.collect();
    Part::Table { columns, rows }
}

/// A fertilizer in its whole tank, in a litre or gallon of stock, and in one of the solution.
fn amounts_of(dose: &StockDose, measure: Measure) -> [String; 3] {
    let (one, _) = amounts::one(measure);
    let amount = |grams: Option<f64>, ml: Option<f64>, times: f64| match (grams, ml) {
        (_, Some(ml)) => round::poured(times * ml, measure),
        (Some(grams), None) => round::mass(times * grams, measure),
        (None, None) => String::new(),
    };
    let density = dose
        .ml
        .zip(dose.g)
        .or(dose.ml_per_l_stock.zip(dose.g_per_l_stock));
    let ml_per_g = density.map(|(ml, g)| ml / g);
    let poured = ml_per_g.map(|ml_per_g| dose.g_per_l * ml_per_g);
    [
        amount(dose.g, dose.ml, 1.0),
        amount(dose.g_per_l_stock, dose.ml_per_l_stock, one),
        amount(Some(dose.g_per_l), poured, one),
    ]
}

/// How clear every tank stays.
fn state(report: &StockReport) -> Part {
    let heads = [
        ("tank", Kind::Words),
        ("stays", Kind::Words),
        ("first solid", Kind::Words),
        ("index", Kind::Figures),
        ("pH about", Kind::Figures),
        ("g/mL", Kind::Figures),
        ("g/L", Kind::Figures),
    ];
    let rows = report.tanks.iter().map(|tank| {
        vec![
            tank.name.clone(),
            tank.words.clone(),
            tank.first_solid.clone().unwrap_or_default(),
            index(tank),
            tank.ph.map_or_else(String::new, round::ph),
            tank.density_20c_g_per_ml
                .map_or_else(String::new, round::density),
            tank.load_g_per_l
                .map_or_else(String::new, |load| format!("{load:.0}")),
        ]
    });
    Part::Table {
        columns: heads.map(|(head, kind)| Column::new(head, kind)).to_vec(),
        rows: rows.collect(),
    }
}

fn index(tank: &TankRow) -> String {
    match tank.index.zip(tank.index_uncertainty) {
        Some((index, uncertainty)) => {
            format!("{} ± {}", round::index(index), round::index(uncertainty))
        }
        None => String::new(),
    }
}

/// How strong the tanks may be.
fn strength(report: &StockReport, measure: Measure) -> Vec<Part> {
    let mut parts = Vec::new();
    if let Some(largest) = report.largest_ratio {
        let end = report
            .limited_by
            .as_ref()
            .map_or_else(String::new, |limit| {
                let at = report.limited_at_c.map_or_else(String::new, |celsius| {
                    format!(" at {}", round::temperature(celsius, measure))
                });
                let tank = limit.tank.as_ref().map_or_else(String::new, |tank| {
                    format!(" in {}", tank_name(tank, false))
                });
                match limit.kind {
                    "solid" => format!(": beyond, {} is too near{at}", limit.name),
                    "rule" => format!(": beyond, {} does not dissolve{tank} (by rule)", limit.name),
                    _ => format!(", the most that is looked at ({})", limit.name),
                }
            });
        parts.push(Part::fact("largest", format!("1:{}{end}.", shown(largest))));
        if let (Some(division), Some(ratio)) = (report.division_ratio, report.ratio)
            && ratio < largest * 0.99
            && division < largest * 0.99
        {
            let words = format!(
                "this division, made for even tanks, bears 1:{}; leave the ratio out to see the \
                 strongest one.",
                shown(division)
            );
            parts.push(Part::fact("shown", words));
        }
        if let Some(whole) = report.whole_ratio.filter(|whole| *whole < largest * 0.99) {
            let words = format!(
                "with every salt whole in one tank it would be 1:{}.",
                shown(whole)
            );
            parts.push(Part::fact("whole", words));
        }
    }
    if let Some(cautious) = report.cautious_ratio {
        parts.push(Part::fact(
            "careful",
            format!(
                "1:{} keeps every index below its uncertainty, with the fertilizers divided as \
                 shown.",
                shown(cautious)
            ),
        ));
    }
    if !report.offered_ratios.is_empty() {
        let settings: Vec<String> = report
            .offered_ratios
            .iter()
            .map(|ratio| format!("1:{}", round::plain(*ratio)))
            .collect();
        let words = format!("{} of a proportioner fit.", words::listing(&settings));
        parts.push(Part::fact("offered", words));
    }
    parts
}

/// The stocks diluted again, dosed unequally, weighed roundly.
fn checks(report: &StockReport) -> Vec<Part> {
    let mut parts = Vec::new();
    if report.ratio.is_some() {
        let diluted = &report.diluted;
        let ec = diluted
            .ec_ms_cm
            .map(|ec| format!(", EC {} mS/cm", round::ec(ec)));
        let words = format!(
            "{}{}.",
            if diluted.largest_deviation <= SAME {
                "all stocks at the same ratio give the formulation again".to_owned()
            } else {
                format!("off the formulation by {:.1e}", diluted.largest_deviation)
            },
            ec.unwrap_or_default()
        );
        parts.push(Part::fact("diluted", words));
    }
    for row in &report.unequal {
        let words = format!(
            "{} % more of {}: {}.",
            round::plain(row.dose_pct),
            tank_name(&row.tank, false),
            moves(&row.moved, 4)
        );
        parts.push(Part::fact("unequal", words));
    }
    if let Some(rounding) = &report.rounding {
        let words = format!("to the scale: {}.", moves(rounding, 3));
        parts.push(Part::fact("rounded", words));
    }
    parts
}

/// What moves most, and EC.
pub fn moves(moved: &Moved, most: usize) -> String {
    let mut rows: Vec<_> = moved
        .nutrients
        .iter()
        .filter_map(|row| Some((row.nutrient, row.off_pct?)))
        .collect();
    rows.sort_by(|a, b| {
        b.1.abs()
            .total_cmp(&a.1.abs())
            .then(a.0.index().cmp(&b.0.index()))
    });
    let more = rows.len().saturating_sub(most);
    let mut said: Vec<String> = rows
        .iter()
        .take(most)
        .map(|(nutrient, off)| format!("{nutrient} {}", round::percent(*off)))
        .collect();
    if said.is_empty() {
        said.push("no nutrient moves by 0.05 %".into());
    } else if more > 0 {
        said.push(format!("{more} more by less"));
    }
    if let Some(ec) = moved.ec_off_pct {
        said.push(format!("EC {}", round::percent(ec)));
    }
    said.join(", ")
}

/// Wrong weighings.
pub fn mended(report: &StockReport, measure: Measure) -> Vec<Part> {
    let mut parts = Vec::new();
    for row in &report.mended {
        for wrong in &row.weighed {
            let words = format!(
                "{}: {} of {} weighed, {} meant. Left as it is: {}.",
                tank_name(&row.tank, false),
                round::mass(wrong.weighed_g, measure),
                wrong.id,
                round::mass(wrong.meant_g, measure),
                moves(&row.left_as_it_is, 4)
            );
            parts.push(Part::fact("weighed", words));
        }
        parts.extend(
            row.words
                .iter()
                .cloned()
                .map(|words| Part::fact("mend", words)),
        );
    }
    parts
}

/// What to type next.
fn next(report: &StockReport) -> String {
    let mut said = Vec::new();
    if report.ratio.is_none() || report.tanks.iter().all(|tank| tank.litres.is_none()) {
        said.push("--ratio 100 --stock \"20 L\" --scale 0.1 gives the masses for a tank");
    } else {
        said.push("--weigh prints the sheet for the scale, --labels those for the tanks");
    }
    said.push("--out FILE.csv keeps both");
    format!("{}.", said.join("; "))
}
