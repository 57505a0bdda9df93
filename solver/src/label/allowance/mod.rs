//! Does a laboratory's finding pass the published allowances?
//!
//! Tables in `data/`, each row with its source; what no table read here covers is not judged.

mod overall;
mod tables;

pub use overall::Overall;
pub use tables::Allowed;

use super::convention::{Convention, Form};
use saltwright_fertilizers::guarantee::{Counted, Guarantee, Printed, Stated};
use saltwright_fertilizers::{Aimed, Nutrient};
use schemars::JsonSchema;
use serde::Serialize;
use tables::{cells, citation, lookup, number};

/// Rounding of decimal figures in sums and differences, percentage points.
const ROUNDING: f64 = 1e-9;

/// What a finding comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Inside what the table allows.
    Within,
    /// Below it.
    Deficient,
    /// Above it.
    Excess,
    /// No table that was read covers it.
    NotJudged,
}

/// How a convention of several readings was read.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reading {
    /// Its name: `absolute`, `strict`, `sum`.
    pub name: &'static str,
    /// What the finding comes to under it.
    pub verdict: Finding,
}

/// One figure of the label beside what was found, in the unit of the label.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AllowanceRow {
    /// As printed.
    pub nutrient: Printed,
    /// What the label promises, percent.
    pub guaranteed: f64,
    /// What the laboratory found, percent.
    pub found: f64,
    /// How far it may fall short, percentage points.
    pub allowance: Option<f64>,
    /// How far it may go beyond, percentage points; none where there is no limit or no table.
    pub allowance_above: Option<f64>,
    /// What it comes to.
    pub verdict: Finding,
    /// The table it was judged by.
    pub table: Option<&'static str>,
    /// How the print was read, where it can be read in more than one way.
    pub reading: Option<String>,
    /// What each way of reading comes to, the one used first.
    pub readings: Vec<Reading>,
}

/// A label under its convention, as the tables need to know it.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'a> {
    /// What is printed.
    pub guarantee: &'a Guarantee,
    /// How.
    pub convention: Convention,
    /// Solid or liquid.
    pub form: Form,
    /// The one named ingredient, where there is one alone: EC 2003/2003 judges straight fertilizers
    /// by their type.
    pub straight: Option<&'a str>,
}

const PRIMARY: [Aimed; 3] = [
    Aimed::TotalN,
    Aimed::Form(Nutrient::P),
    Aimed::Form(Nutrient::K),
];
const SECONDARY: [Aimed; 4] = [
    Aimed::Form(Nutrient::Ca),
    Aimed::Form(Nutrient::Mg),
    Aimed::Form(Nutrient::S),
    Aimed::Form(Nutrient::Na),
];

/// True for a figure whose shortfall counts in a sum of shortfalls: N, P2O5 and K2O.
pub fn counts_in_sum(printed: Printed) -> bool {
    PRIMARY.map(Counted::Nutrient).contains(&printed.counted)
}

/// True for what the EU rows call a form of N, P2O5 or K2O.
fn is_primary(counted: Counted) -> bool {
    let Counted::Nutrient(aimed) = counted else {
        return false;
    };
    PRIMARY.contains(&aimed)
        || matches!(aimed, Aimed::Form(form) if Nutrient::N_FORMS.contains(&form))
}

impl Judged<'_> {
    fn claims(&self, aimed: Aimed) -> bool {
        let named = self
            .guarantee
            .element_pct(aimed)
            .is_some_and(|pct| pct > 0.0);
        let forms = aimed == Aimed::TotalN
            && Nutrient::N_FORMS.into_iter().any(|form| {
                self.guarantee
                    .element_pct(Aimed::Form(form))
                    .is_some_and(|p| p > 0.0)
            });
        named || forms
    }

    /// How many of N, P and K the label claims.
    pub fn primaries(&self) -> usize {
        PRIMARY.into_iter().filter(|one| self.claims(*one)).count()
    }

    /// One macronutrient alone.
    fn is_straight(&self) -> bool {
        let secondary = SECONDARY
            .into_iter()
            .filter(|one| self.claims(*one))
            .count();
        self.primaries() + secondary <= 1
    }

    /// How far a figure may be off, in the unit of the label; none where no table covers it.
    pub fn allowed(&self, stated: &Stated) -> Option<Allowed> {
        match self.convention {
            Convention::Us | Convention::UsMd => lookup(self.convention.name(), stated),
            Convention::Eu if is_primary(stated.printed.counted) => match self.primaries() {
                2 => lookup("eu-binary", stated),
                3 => lookup("eu-ternary", stated),
                _ => lookup("eu", stated),
            },
            Convention::Eu => lookup("eu", stated),
            Convention::Eu2003 => self.allowed_2003(stated),
            Convention::Elements
            | Convention::De
            | Convention::Uk
            | Convention::Au
            | Convention::Ca => None,
        }
    }

    fn allowed_2003(&self, stated: &Stated) -> Option<Allowed> {
        let Counted::Nutrient(aimed) = stated.printed.counted else {
            return lookup("eu-2003", stated);
        };
        if let Aimed::Form(form) = aimed
            && Nutrient::N_FORMS.contains(&form)
        {
            // A tenth of total N, at most 2 points.
            let total = self.guarantee.element_pct(Aimed::TotalN)?;
            return Some(Allowed {
                below: (0.1 * total).min(2.0),
                above: None,
                source: "eu-2003",
            });
        }
        if PRIMARY.contains(&aimed) && self.primaries() < 2 {
            return self.straight_2003(stated);
        }
        lookup("eu-2003", stated)
    }

    fn straight_2003(&self, stated: &Stated) -> Option<Allowed> {
        let fertilizer = self.straight?;
        cells(include_str!("../data/straight_2003.csv")).find_map(|row| {
            let key = Printed::from_key(row.get(1)?)?;
            let pct = stated.element_pct() / key.factor;
            let (over, upto) = (number(row.get(2))?, number(row.get(3))?);
            let fits = row.first() == Some(&fertilizer)
                && key.counted == stated.printed.counted
                && pct > over
                && pct <= upto;
            let points = number(row.get(4))? * key.factor / stated.printed.factor;
            fits.then_some(Allowed {
                below: points,
                above: None,
                source: "eu-2003",
            })
        })
    }

    /// The least content that EU 2019/1009 lets be declared at all, in the unit of the label.
    pub fn minimum(&self, printed: Printed) -> Option<f64> {
        if self.convention != Convention::Eu {
            return None;
        }
        let kind = if self.is_straight() {
            "straight"
        } else {
            "compound"
        };
        cells(include_str!("../data/minimums_2019.csv")).find_map(|row| {
            let key = Printed::from_key(row.get(2)?)?;
            let fits = row.first() == Some(&self.form.name())
                && [kind, "micro"].contains(row.get(1)?)
                && key.counted == printed.counted;
            fits.then_some(number(row.get(3))? * key.factor / printed.factor)
        })
    }

    /// The most that the negative deviations of N, P2O5 and K2O may sum to, percentage points.
    pub fn most_sum(&self) -> Option<f64> {
        match (self.convention, self.primaries()) {
            (Convention::Eu2003, 2) => Some(1.5),
            (Convention::Eu2003, 3) => Some(1.9),
            _ => None,
        }
    }

    /// Judges every found figure that the label promises.
    pub fn judge(&self, found: &Guarantee) -> Vec<AllowanceRow> {
        let pairs = self.guarantee.claims().filter_map(|stated| {
            let found = found.get(stated.printed.counted)?;
            Some((stated, found.element_pct() / stated.printed.factor))
        });
        pairs
            .map(|(stated, found_pct)| self.row(stated, found_pct, found))
            .collect()
    }

    fn row(&self, stated: &Stated, found_pct: f64, found: &Guarantee) -> AllowanceRow {
        let allowed = self.allowed(stated);
        let minimum = self.minimum(stated.printed);
        let mut verdict = allowed.map_or(Finding::NotJudged, |allowed| {
            finding(stated.pct, found_pct, allowed)
        });
        let under_minimum = minimum.is_some_and(|minimum| found_pct < minimum - ROUNDING);
        if under_minimum && allowed.is_some() {
            verdict = Finding::Deficient;
        }
        let readings = self.readings(stated, found_pct, verdict, found);
        AllowanceRow {
            nutrient: stated.printed,
            guaranteed: stated.pct,
            found: found_pct,
            allowance: allowed.map(|allowed| allowed.below),
            allowance_above: allowed.and_then(|allowed| allowed.above),
            verdict,
            table: allowed.and_then(|allowed| citation(allowed.source)),
            reading: self.reading(stated, minimum.filter(|_| under_minimum), &readings),
            readings,
        }
    }

    /// What the print comes to under each way of reading it, the one used first.
    fn readings(
        &self,
        stated: &Stated,
        found_pct: f64,
        used: Finding,
        found: &Guarantee,
    ) -> Vec<Reading> {
        let several = self.convention == Convention::Eu
            && is_primary(stated.printed.counted)
            && self.primaries() > 1;
        let (Some(absolute), Some(share)) = (self.allowed(stated), lookup("eu", stated)) else {
            return Vec::new();
        };
        if !several {
            return Vec::new();
        }
        let strict = Allowed {
            below: absolute.below.min(share.below),
            above: absolute.above.zip(share.above).map(|(a, b)| a.min(b)),
            ..absolute
        };
        let strict = finding(stated.pct, found_pct, strict);
        let (short, _) = self.shortfalls(found);
        let sum = if PRIMARY
            .map(Counted::Nutrient)
            .contains(&stated.printed.counted)
            && short > absolute.below + ROUNDING
            && found_pct < stated.pct
        {
            Finding::Deficient
        } else {
            used
        };
        let within = |verdict| {
            if used == Finding::Deficient {
                used
            } else {
                verdict
            }
        };
        vec![
            Reading {
                name: "absolute",
                verdict: used,
            },
            Reading {
                name: "strict",
                verdict: within(strict),
            },
            Reading {
                name: "sum",
                verdict: within(sum),
            },
        ]
    }

    /// How the print was read, in words, where there is more than one way.
    fn reading(&self, stated: &Stated, under: Option<f64>, readings: &[Reading]) -> Option<String> {
        let mut words: Vec<String> = Vec::new();
        if let Some(minimum) = under {
            words.push(format!(
                "below {minimum} %, the least that may be declared; no tolerance goes below it \
                 (Annex I; micronutrients: the rows of a macronutrient fertilizer for horticulture)"
            ));
        }
        if let [used, others @ ..] = readings {
            let differing: Vec<&str> = others
                .iter()
                .filter(|other| other.verdict != used.verdict)
                .map(|other| other.name)
                .collect();
            words.push(format!(
                "read as an absolute tolerance for each declared form; strict (the 25 % row applies \
                 as well) and sum (one tolerance for all shortfalls together) are other ways to \
                 read the print{}",
                if differing.is_empty() {
                    " and come to the same".to_owned()
                } else {
                    format!(" and differ: {}", differing.join(", "))
                }
            ));
        }
        let above_32 = stated.element_pct() / table_factor(stated.printed) > 32.0;
        let frozen = matches!(
            stated.printed.counted,
            Counted::Nutrient(Aimed::Form(Nutrient::P | Nutrient::K))
        );
        if self.convention == Convention::Us && above_32 && frozen {
            words.push(
                "the statute freezes the row of 32 % (\"32 or more\"); the association's own table \
                 goes on above it and was not read, so other states may allow another figure"
                    .to_owned(),
            );
        }
        (!words.is_empty()).then(|| words.join("; "))
    }
}

/// Grams of the element in a gram of what tables of N, P2O5 and K2O count.
fn table_factor(printed: Printed) -> f64 {
    Printed::all()
        .find(|key| key.counted == printed.counted && key.is_oxide())
        .map_or(1.0, |key| key.factor)
}

fn finding(guaranteed: f64, found: f64, allowed: Allowed) -> Finding {
    let above = allowed.above.unwrap_or(f64::INFINITY);
    if found < guaranteed - allowed.below - ROUNDING {
        Finding::Deficient
    } else if found > guaranteed + above + ROUNDING {
        Finding::Excess
    } else {
        Finding::Within
    }
}
