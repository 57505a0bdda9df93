//! The sheet of a formulation.

use super::bar::{self, Reading};
use super::round::{self, Measure};
use super::{Part, Sheet};
use saltwright_fertilizers::units::{LITRES_PER_US_GALLON, MgPerL};
use saltwright_fertilizers::{Aimed, Hazard, Table};
use saltwright_solver::ec::{Ec, Verdict};
use saltwright_solver::formulate::report::{FormulateReport, MixRow, NutrientRow, Outcome};
use saltwright_solver::solution::Ratios;
use saltwright_solver::words;

/// How figures are to be shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Show {
    /// Metric or US.
    pub measure: Measure,
    /// Unit of the nutrient table.
    pub unit: Unit,
}

/// The unit of a nutrient table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Unit {
    /// Milligrams of the element per litre.
    #[default]
    Mg,
    /// Millimoles per litre.
    Mmol,
    /// Milliequivalents per litre; what carries no charge stays in mg/L.
    Meq,
}

impl Unit {
    /// The name on the sheet.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mg => "mg/L",
            Self::Mmol => "mmol/L",
            Self::Meq => "meq/L",
        }
    }

    /// The nutrient's name, with its unit where it is not that of the table.
    pub fn label(self, aimed: Aimed) -> String {
        if self == Self::Meq && aimed.charges() == 0 {
            format!("{aimed} mg/L")
        } else {
            aimed.key().to_owned()
        }
    }

    /// A figure in this unit, rounded; mg/L where the nutrient carries no charge.
    pub fn show(self, aimed: Aimed, mg_per_l: f64) -> String {
        let mmol = mg_per_l / aimed.atomic_weight();
        match (self, aimed) {
            (Self::Mg, _) => round::concentration(mg_per_l),
            (Self::Mmol, _) | (Self::Meq, Aimed::TotalN) => round::concentration(mmol),
            (Self::Meq, Aimed::Form(nutrient)) => match nutrient.to_meq(MgPerL(mg_per_l)) {
                Some(meq) => round::concentration(meq.0),
                None => round::concentration(mg_per_l),
            },
        }
    }
}

/// Builds the sheet; `dangers` knows those of a fertilizer by id.
pub fn sheet(report: &FormulateReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Sheet {
    let inside = report.outcome == Outcome::WithinBands;
    let mut parts = vec![mix_table(report, show, dangers)];
    if !inside {
        parts.extend(miss(report));
    }
    parts.push(nutrient_table(report, show));
    parts.push(fact("EC", ec_words(&report.ec)));
    if let Some([low, high]) = report.ph_band {
        let words =
            format!("the recipe asks for {low} to {high}; what this mix shows is not computed.");
        parts.push(fact("pH", words));
    }
    parts.extend(acid(report));
    parts.push(fact(
        "ratios",
        ratio_words(&report.ratios, report.charge_error_pct),
    ));
    if let Some(cost) = report.cost_per_m3 {
        let more = words::dearest(report).map_or_else(String::new, |words| format!("; {words}"));
        parts.push(fact(
            "cost",
            format!("{} per 1000 L{more}.", words::price(cost)),
        ));
    }
    parts.push(fact("proof", words::proof(report)));
    parts.extend(report.cautions.iter().cloned().map(Part::Caution));
    parts.push(fact("next", next(report)));
    Sheet {
        title: title(report, show.measure),
        verdict: if inside {
            "within bands"
        } else {
            "OUTSIDE the bands"
        }
        .into(),
        parts,
    }
}

/// A fact in words.
pub(super) fn fact(label: &'static str, words: impl Into<String>) -> Part {
    let words = words.into();
    Part::Fact { label, words }
}

/// What to type next.
fn next(report: &FormulateReport) -> String {
    let mut words = Vec::new();
    if report.litres.is_none() {
        words.push("--tank \"120 L\" gives the batch");
    }
    if report.ratio.is_none() {
        words.push("--ratio 100 gives grams per litre of stock");
    }
    if report.cost_per_m3.is_none() {
        words.push("--prices FILE finds the cheapest of the equally close");
    }
    words.push("--out FILE.csv keeps the mix, and predict --mix FILE.csv reads it back");
    format!("{}.", words.join("; "))
}

fn title(report: &FormulateReport, measure: Measure) -> String {
    let strength = if (report.strength - 1.0).abs() < 1e-12 {
        String::new()
    } else {
        format!(" at {} strength", round::plain(report.strength))
    };
    let batch = report.litres.map_or_else(String::new, |litres| {
        format!(", {} of finished solution", round::volume(litres, measure))
    });
    format!("{}{strength} in {}{batch}", report.recipe, report.water)
}

/// The mark beside what needs care.
pub fn mark(dangers: &[Hazard]) -> String {
    let words: Vec<&str> = dangers
        .iter()
        .map(|danger| match danger {
            Hazard::Oxidizer => "fire",
            Hazard::Acid => "acid",
            Hazard::Base => "base",
            Hazard::Boron => "boron",
            Hazard::Copper => "copper",
            Hazard::Nickel => "nickel",
        })
        .collect();
    if words.is_empty() {
        String::new()
    } else {
        format!("! {}", words.join(" "))
    }
}

/// An amount of one fertilizer, poured or weighed, for a number of litres.
fn amount(row: &MixRow, litres: f64, measure: Measure) -> String {
    match row.ml_per_l {
        Some(ml) => round::poured(ml * litres, measure),
        None => round::mass(row.g_per_l * litres, measure),
    }
}

fn mix_table(report: &FormulateReport, show: Show, dangers: &dyn Fn(&str) -> Vec<Hazard>) -> Part {
    let (one, one_name) = match show.measure {
        Measure::Metric => (1.0, " 1 L"),
        Measure::Us => (LITRES_PER_US_GALLON, " 1 gal"),
    };
    let mut heads = vec!["weigh".to_owned()];
    if let Some(litres) = report.litres {
        heads.push(format!(" {}", round::volume(litres, show.measure)));
    }
    heads.push(one_name.into());
    if let Some(ratio) = report.ratio {
        heads.push(format!(" stock 1:{}", round::plain(ratio)));
    }
    heads.extend(["tank".to_owned(), String::new()]);
    let rows = report
        .mix
        .iter()
        .map(|row| {
            let mut cells = vec![row.id.clone()];
            if let Some(litres) = report.litres {
                cells.push(amount(row, litres, show.measure));
            }
            cells.push(amount(row, one, show.measure));
            if let Some(ratio) = report.ratio {
                cells.push(format!("{}/L", amount(row, ratio, Measure::Metric)));
            }
            cells.push(row.tank.unwrap_or("").to_owned());
            cells.push(mark(&dangers(&row.id)));
            cells
        })
        .collect();
    Part::Table { heads, rows }
}

/// What is off, why, and what would mend it.
fn miss(report: &FormulateReport) -> Vec<Part> {
    let off: Vec<String> = report
        .nutrients
        .iter()
        .filter(|row| is_outside(row))
        .map(|row| {
            let bound = row.min.filter(|min| row.delivered < *min);
            let (side, bound) = match bound {
                Some(min) => ("below", min),
                None => ("above", row.max.unwrap_or(0.0)),
            };
            format!(
                "{} {} mg/L, {side} its {}",
                row.nutrient,
                round::concentration(row.delivered),
                round::concentration(bound)
            )
        })
        .collect();
    let mut parts = Vec::new();
    let what = if off.is_empty() {
        "the acid".to_owned()
    } else {
        off.join("; ")
    };
    let words = format!("{what}. What stands above is the closest answer.");
    parts.push(fact("off", words));
    for row in &report.conflict {
        parts.push(fact("why", row.words.clone()));
    }
    parts.extend(words::mend(report).map(|words| fact("mend", words)));
    parts
}

/// True where a figure lies outside its band by more than rounding.
fn is_outside(row: &NutrientRow) -> bool {
    let slack = |bound: f64| 1e-7 * bound.abs().max(1e-6);
    row.min.is_some_and(|min| row.delivered < min - slack(min))
        || row.max.is_some_and(|max| row.delivered > max + slack(max))
}

fn nutrient_table(report: &FormulateReport, show: Show) -> Part {
    let unit = show.unit;
    let heads = [
        unit.name(),
        " aim",
        " band",
        " water",
        " delivered",
        "low |   aim   | high",
    ];
    let rows = report
        .nutrients
        .iter()
        .filter(|row| row.aim.is_some() || !row.default_max || row.delivered > 0.0)
        .filter(|row| row.min.is_some() || row.max.is_some() || row.delivered > 0.0)
        .map(|row| {
            let shown = |value: f64| unit.show(row.nutrient, value);
            let band = match (row.min, row.max) {
                (Some(min), Some(max)) => format!("{} – {}", shown(min), shown(max)),
                (Some(min), None) => format!("from {}", shown(min)),
                (None, Some(max)) => format!("to {}", shown(max)),
                (None, None) => String::new(),
            };
            let (aim, min, max, delivered) = (row.aim, row.min, row.max, row.delivered);
            let bar = bar::draw(Reading {
                aim,
                min,
                max,
                delivered,
            });
            vec![
                unit.label(row.nutrient),
                row.aim.map_or_else(String::new, shown),
                band,
                shown(row.water),
                shown(row.delivered),
                if is_outside(row) {
                    format!("{bar:<w$}<", w = bar::WIDTH)
                } else {
                    bar
                },
            ]
        })
        .collect();
    Part::Table {
        heads: heads.map(str::to_owned).to_vec(),
        rows,
    }
}

/// The EC line.
pub(super) fn ec_words(ec: &Ec) -> String {
    let aim = ec
        .aim_ms_cm
        .map_or_else(String::new, |aim| format!("aim {}, ", round::ec(aim)));
    let Some((low, high)) = ec.low_ms_cm.zip(ec.high_ms_cm) else {
        return format!(
            "{aim}not predicted: this solution is outside the range of the handbook rule."
        );
    };
    let verdict = match ec.verdict {
        Verdict::Agrees => ": agrees",
        Verdict::Below => ": will read below the aim",
        Verdict::Above => ": will read above the aim",
        Verdict::CannotTell | Verdict::NoAim => "",
    };
    format!(
        "{aim}expect {} mS/cm at 25 °C ({} to {}) by the handbook rule of Sonneveld{verdict}.",
        round::ec(ec.predicted_ms_cm),
        round::ec(low),
        round::ec(high)
    )
}

fn acid(report: &FormulateReport) -> Option<Part> {
    let acid = report.acidity?;
    let words = format!(
        "{} meq/L asked for, {} reached; {} meq/L of alkalinity left.",
        round::concentration(acid.target_meq_l.max(0.0)),
        round::concentration(acid.reached_meq_l),
        round::concentration(acid.residual_meq_l)
    );
    (acid.target_meq_l.abs() > 1e-9 || acid.reached_meq_l.abs() > 1e-9).then(|| fact("acid", words))
}

/// Ratios and charge balance.
pub(super) fn ratio_words(ratios: &Ratios, charge_error_pct: Option<f64>) -> String {
    let mut words = Vec::new();
    if let Some([k, ca, mg]) = ratios.k_ca_mg {
        words.push(format!("K:Ca:Mg {k:.1} : {ca:.1} : {mg:.1} by mass"));
    }
    if let Some(share) = ratios.nh4_share_pct {
        words.push(format!("ammonium {share:.0} % of N"));
    }
    if let Some(error) = charge_error_pct {
        words.push(format!("charges balance within {:.1} %", error.abs()));
    }
    format!("{}.", words.join("; "))
}

/// The dangers of a fertilizer by id.
pub fn dangers_in(table: &Table, id: &str) -> Vec<Hazard> {
    table.get(id).map(|row| row.hazards()).unwrap_or_default()
}
