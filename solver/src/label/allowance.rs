//! Does a laboratory's finding pass the published allowances?
//!
//! Tables in `data/`, each row with its source; what no table read here covers is not judged.

use super::convention::{Convention, Form};
use saltwright_fertilizers::guarantee::{Counted, Guarantee, Printed, Stated};
use saltwright_fertilizers::{Aimed, Nutrient};
use serde::Serialize;
use std::sync::LazyLock;

/// Rounding of decimal figures in sums and differences, percentage points.
const ROUNDING: f64 = 1e-9;

/// What a finding comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reading {
    /// Its name: `absolute`, `strict`, `sum`.
    pub name: &'static str,
    /// What the finding comes to under it.
    pub verdict: Finding,
}

/// One figure of the label beside what was found, in the unit of the label.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

/// A figure over several nutrients: an index or a sum of shortfalls.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Overall {
    /// What it comes to.
    pub value: f64,
    /// Where it must stay: an index above, a sum below.
    pub limit: f64,
    /// What that is.
    pub verdict: Finding,
    /// The rule and where it was read.
    pub rule: String,
}

/// A limit to both sides in the unit of the label, percentage points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// How far below.
    pub below: f64,
    /// How far above; none where there is no limit.
    pub above: Option<f64>,
    /// Id of the source.
    source: &'static str,
}

/// A row of `points.csv`.
struct Point {
    table: &'static str,
    key: &'static str,
    guarantee: f64,
    below: f64,
    above: Option<f64>,
    source: &'static str,
}

/// A row of `formulas.csv`: base + share of the figure, up to a cap.
struct Formula {
    table: &'static str,
    keys: Vec<&'static str>,
    over: f64,
    upto: f64,
    below: Option<Line>,
    above: Option<Line>,
    /// Cap below where the label prints the element.
    element_cap: Option<f64>,
    source: &'static str,
}

#[derive(Clone, Copy)]
struct Line {
    base: f64,
    share_pct: f64,
    cap: Option<f64>,
}

impl Line {
    fn at(self, pct: f64) -> f64 {
        let points = self.base + self.share_pct / 100.0 * pct;
        self.cap.map_or(points, |cap| points.min(cap))
    }
}

/// The cells of a shipped table below its head.
fn cells(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines()
        .skip(1)
        .map(|line| line.split(',').map(str::trim).collect())
}

fn number(cell: Option<&&str>) -> Option<f64> {
    cell?.parse().ok()
}

static POINTS: LazyLock<Vec<Point>> = LazyLock::new(|| {
    cells(include_str!("data/points.csv"))
        .filter_map(|row| {
            Some(Point {
                table: row.first()?,
                key: row.get(1)?,
                guarantee: number(row.get(2))?,
                below: number(row.get(3))?,
                above: number(row.get(4)),
                source: row.get(5)?,
            })
        })
        .collect()
});

static FORMULAS: LazyLock<Vec<Formula>> = LazyLock::new(|| {
    let line = |row: &[&'static str], at: usize| {
        Some(Line {
            base: number(row.get(at))?,
            share_pct: number(row.get(at + 1))?,
            cap: number(row.get(at + 2)),
        })
    };
    cells(include_str!("data/formulas.csv"))
        .filter_map(|row| {
            Some(Formula {
                table: row.first()?,
                keys: row.get(1)?.split(' ').collect(),
                over: number(row.get(2))?,
                upto: number(row.get(3))?,
                below: line(&row, 4),
                above: line(&row, 7),
                element_cap: number(row.get(10)),
                source: row.get(11)?,
            })
        })
        .collect()
});

/// The citation of a source of the tables.
fn citation(id: &str) -> Option<&'static str> {
    include_str!("data/sources.tsv")
        .lines()
        .filter_map(|line| line.split_once('\t'))
        .find(|(known, _)| *known == id)
        .map(|(_, citation)| citation)
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
            Convention::Us | Convention::UsMd => self.lookup(self.convention.name(), stated),
            Convention::Eu if is_primary(stated.printed.counted) => match self.primaries() {
                2 => self.lookup("eu-binary", stated),
                3 => self.lookup("eu-ternary", stated),
                _ => self.lookup("eu", stated),
            },
            Convention::Eu => self.lookup("eu", stated),
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
            return self.lookup("eu-2003", stated);
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
        self.lookup("eu-2003", stated)
    }

    fn straight_2003(&self, stated: &Stated) -> Option<Allowed> {
        let fertilizer = self.straight?;
        cells(include_str!("data/straight_2003.csv")).find_map(|row| {
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

    /// Looks a figure up in a table, in the table's unit, and turns the answer into the label's.
    fn lookup(&self, table: &str, stated: &Stated) -> Option<Allowed> {
        let _ = self;
        Printed::all()
            .filter(|key| key.counted == stated.printed.counted)
            .find_map(|key| {
                let pct = stated.element_pct() / key.factor;
                let found = points(table, key.key, pct).or_else(|| formula(table, key.key, pct))?;
                let back = key.factor / stated.printed.factor;
                let mut allowed = Allowed {
                    below: found.below * back,
                    above: found.above.map(|points| points * back),
                    ..found
                };
                if key.is_oxide() && !stated.printed.is_oxide() {
                    let cap = element_cap(table, key.key);
                    allowed.below = cap.map_or(allowed.below, |cap| (0.25 * stated.pct).min(cap));
                }
                Some(allowed)
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
        cells(include_str!("data/minimums_2019.csv")).find_map(|row| {
            let key = Printed::from_key(row.get(2)?)?;
            let fits = row.first() == Some(&self.form.name())
                && [kind, "micro"].contains(row.get(1)?)
                && key.counted == printed.counted;
            fits.then_some(number(row.get(3))? * key.factor / printed.factor)
        })
    }

    /// True for a figure whose shortfall counts in the sum.
    pub fn counts_in_sum(&self, printed: Printed) -> bool {
        let _ = self;
        PRIMARY.map(Counted::Nutrient).contains(&printed.counted)
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
        let (Some(absolute), Some(share)) = (self.allowed(stated), self.lookup("eu", stated))
        else {
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

    /// The shortfalls of N, P2O5 and K2O together, percentage points as oxides, and whether all
    /// that are claimed were found.
    fn shortfalls(&self, found: &Guarantee) -> (f64, bool) {
        let mut sum = 0.0;
        let mut all = true;
        for primary in PRIMARY {
            let Some(stated) = self.guarantee.get(Counted::Nutrient(primary)) else {
                continue;
            };
            let Some(got) = found.element_pct(primary) else {
                all &= stated.pct <= 0.0;
                continue;
            };
            let factor = table_factor(stated.printed);
            sum += ((stated.element_pct() - got) / factor).max(0.0);
        }
        (sum, all)
    }

    /// The sum of shortfalls, where the convention limits it.
    pub fn sum(&self, found: &Guarantee) -> Option<Overall> {
        let limit = self.most_sum()?;
        let (value, all) = self.shortfalls(found);
        Some(Overall {
            value,
            limit,
            verdict: if value > limit + ROUNDING {
                Finding::Deficient
            } else if all {
                Finding::Within
            } else {
                Finding::NotJudged
            },
            rule: "negative deviations of N, P2O5 and K2O together, Regulation (EC) 2003/2003, \
                   Annex II, 2.2"
                .into(),
        })
    }

    /// The overall index, where the convention has one and the laboratory found all that it needs.
    pub fn index(&self, found: &Guarantee) -> Option<Overall> {
        let (weights, limit, relative, rule) = match self.convention {
            Convention::Us => (
                [3.0, 2.0, 1.0],
                98.0,
                true,
                "value found in percent of value guaranteed, N 3, P2O5 2, K2O 1 (weights from \
                 memory); limit 98 in a reprint of the association's statement, 97 in Wisconsin, \
                 Minnesota and Illinois",
            ),
            Convention::Ca => (
                [2.5, 2.0, 1.0],
                f64::NAN,
                false,
                "2.5 N + 2.0 P2O5 + 1.0 K2O found against guaranteed: Fertilizers Regulations, \
                 section 13, in force 2006-03-22 to 2013-04-25 and repealed since; for comparison \
                 only",
            ),
            _ => return None,
        };
        if self.primaries() < 2 {
            return None;
        }
        let (mut promised, mut got) = (0.0, 0.0);
        for (primary, weight) in PRIMARY.into_iter().zip(weights) {
            let Some(stated) = self.guarantee.get(Counted::Nutrient(primary)) else {
                continue;
            };
            if stated.pct <= 0.0 {
                continue;
            }
            let factor = table_factor(stated.printed);
            promised += weight * stated.element_pct() / factor;
            got += weight * found.element_pct(primary)? / factor;
        }
        let (value, limit) = if relative {
            (100.0 * got / promised, limit)
        } else {
            (got, promised)
        };
        Some(Overall {
            value,
            limit,
            verdict: if value < limit - ROUNDING {
                Finding::Deficient
            } else {
                Finding::Within
            },
            rule: rule.into(),
        })
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

/// A table of points, straight between them, its ends held.
fn points(table: &str, key: &str, pct: f64) -> Option<Allowed> {
    let rows: Vec<&Point> = POINTS
        .iter()
        .filter(|row| row.table == table && row.key == key)
        .collect();
    let after = rows.partition_point(|row| row.guarantee < pct);
    let (low, high) = match (
        after.checked_sub(1).and_then(|at| rows.get(at)),
        rows.get(after),
    ) {
        (Some(low), Some(high)) => (low, high),
        (None, Some(only)) | (Some(only), None) => (only, only),
        (None, None) => return None,
    };
    let width = high.guarantee - low.guarantee;
    let share = if width > 0.0 {
        (pct - low.guarantee) / width
    } else {
        0.0
    };
    let between = |a: f64, b: f64| a + share * (b - a);
    Some(Allowed {
        below: between(low.below, high.below),
        above: low.above.zip(high.above).map(|(a, b)| between(a, b)),
        source: low.source,
    })
}

fn formula(table: &str, key: &str, pct: f64) -> Option<Allowed> {
    let row = FORMULAS.iter().find(|row| {
        row.table == table && row.keys.contains(&key) && pct > row.over && pct <= row.upto
    })?;
    Some(Allowed {
        below: row.below?.at(pct),
        above: row.above.map(|line| line.at(pct)),
        source: row.source,
    })
}

fn element_cap(table: &str, key: &str) -> Option<f64> {
    let row = FORMULAS
        .iter()
        .find(|row| row.table == table && row.keys.contains(&key))?;
    row.element_cap
}
