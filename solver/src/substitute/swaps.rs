//! Single swaps: one fertilizer out of today's mix, another of the choice in, the rest weighed anew
//! as cheaply as what must stay allows; then looked at by the chemistry and in the stock tanks.

use super::program::Program;
use super::report::{Change, ChangedRow, Changes, Swap, SwapDose};
use crate::chemistry::NotConverged;
use crate::formulate::problem::{Column, Problem};
use crate::formulate::request::FormulateRequest;
use crate::lp::Stuck;
use crate::readings::{Asked, Readings, Source, readings};
use crate::solution::Solution;
use crate::stock::Standing;
use crate::words::substitute as words;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Dose, Fertilizer, Nutrient};

/// A saving, relative to today's cost, below which there is none.
const NOTHING: f64 = 1e-9;
/// A change of a nutrient, relative, below which it counts as the same.
const SAME: f64 = 1e-6;

/// A swap before anyone looked at it.
pub(super) struct Found {
    out: usize,
    into: usize,
    saving_per_m3: f64,
    grams: Vec<f64>,
}

/// Columns as a swap sees them: what is in today's mix, and what may come in.
pub(super) struct Columns {
    /// True for what today's mix holds.
    pub used: Vec<bool>,
    /// True for what is allowed.
    pub allowed: Vec<bool>,
}

/// What today's fertilizers alone would cost, weighed anew; none where they cannot keep what must
/// stay.
pub(super) fn reweighed(
    program: &mut Program<'_>,
    columns: &Columns,
) -> Result<Option<f64>, Stuck> {
    let optimum = cheapest(program, &|column| columns.used[column])?;
    Ok(optimum.map(|(per_m3, _)| per_m3))
}

/// Every swap that costs less than `least_per_m3`, largest saving against `now_per_m3` first.
pub(super) fn find(
    program: &mut Program<'_>,
    columns: &Columns,
    (now_per_m3, least_per_m3): (f64, f64),
) -> Result<Vec<Found>, Stuck> {
    let all = 0..columns.used.len();
    let nothing = NOTHING * now_per_m3.abs();
    let mut found = Vec::new();
    for out in all.clone().filter(|column| columns.used[*column]) {
        let come_in = |column: &usize| columns.allowed[*column] && !columns.used[*column];
        for into in all.clone().filter(come_in) {
            if !have_in_common(program.problem, out, into) {
                continue;
            }
            let in_mix = |column: usize| column == into || (columns.used[column] && column != out);
            let Some((per_m3, grams)) = cheapest(program, &in_mix)? else {
                continue;
            };
            if grams[into] > 0.0 && per_m3 < least_per_m3.min(now_per_m3) - nothing {
                found.push(Found {
                    out,
                    into,
                    saving_per_m3: now_per_m3 - per_m3,
                    grams,
                });
            }
        }
    }
    found.sort_by(|a, b| {
        let by_saving = b.saving_per_m3.total_cmp(&a.saving_per_m3);
        by_saving.then((a.out, a.into).cmp(&(b.out, b.into)))
    });
    Ok(found)
}

/// The cheapest mix of some columns that keeps the bands.
fn cheapest(
    program: &mut Program<'_>,
    in_mix: &dyn Fn(usize) -> bool,
) -> Result<Option<(f64, Vec<f64>)>, Stuck> {
    let outcome = program.solve(&|model| {
        for (salt, column) in model.salts.iter().enumerate() {
            if !in_mix(*column) {
                model.lp.upper[salt] = 0.0;
            }
        }
    })?;
    let optimum = outcome.kept();
    Ok(optimum.map(|optimum| (optimum.per_m3, optimum.grams)))
}

/// True where both bring some figure that is asked for.
fn have_in_common(problem: &Problem, one: usize, other: usize) -> bool {
    let (one, other) = (&problem.columns[one], &problem.columns[other]);
    let mut rows = problem.rows.iter();
    rows.any(|row| one.brings(row.figure) * other.brings(row.figure) > 0.0)
}

/// What looks at a swap.
pub(super) struct Looking<'a> {
    pub request: &'a FormulateRequest,
    pub problem: &'a Problem,
    pub source: &'a Source<'a>,
    pub standing: &'a Standing,
    pub now: &'a [Dose],
    /// Today's readings.
    pub shown: &'a Readings,
}

impl Looking<'_> {
    fn fertilizer(&self, column: usize) -> &std::sync::Arc<Fertilizer> {
        let Column { candidate, .. } = &self.problem.columns[column];
        &self.request.choice[*candidate].fertilizer
    }

    /// A mix of columns, in their order.
    fn doses(&self, grams: &[f64]) -> Vec<Dose> {
        let doses = grams.iter().enumerate().filter(|(_, grams)| **grams > 0.0);
        doses
            .map(|(column, grams)| Dose {
                fertilizer: self.fertilizer(column).clone(),
                amount: GramsPerL(*grams),
            })
            .collect()
    }

    fn in_tank(&self, mix: &[Dose]) -> Vec<Dose> {
        self.request.already.iter().chain(mix).cloned().collect()
    }

    /// A swap with all that it changes.
    pub fn look(&self, found: &Found) -> Result<Swap, NotConverged> {
        let (out, into) = (self.fertilizer(found.out), self.fertilizer(found.into));
        let mut mix = self.doses(&found.grams);
        let then = self.in_tank(&mix);
        let shown = readings(self.source, &then, Asked::at_reference(None, false))?;
        let water = &self.request.water;
        let solutions = [
            Solution::of(water, &self.in_tank(self.now)),
            Solution::of(water, &then),
        ];
        let stands = self.standing.with(&mix, &out.id, into);
        let mut changes = Changes {
            nutrients: changed(&solutions),
            ec_ms_cm: Change {
                now: Some(self.shown.ec.predicted_ms_cm),
                then: Some(shown.ec.predicted_ms_cm),
            },
            ph_closed: Change {
                now: self.shown.ph.closed,
                then: shown.ph.closed,
            },
            sodium_mg_l: holds(&solutions, Nutrient::Na),
            chloride_mg_l: holds(&solutions, Nutrient::Cl),
            nh4_share_pct: {
                let [now, then] = solutions.map(|solution| solution.ratios().nh4_share_pct);
                Change { now, then }
            },
            solubility_g_per_l_20c: Change {
                now: out.solubility_g_per_l_20c,
                then: into.solubility_g_per_l_20c,
            },
            tank: stands.tank,
            clear: stands.clear,
            first_solid: stands.first_solid,
            words: Vec::new(),
        };
        changes.words = words::swap(into, &changes);
        mix.sort_by(|a, b| b.amount.0.total_cmp(&a.amount.0));
        Ok(Swap {
            out: out.id.clone(),
            into: into.id.clone(),
            g_per_l: found.grams[found.into],
            saving_per_m3: found.saving_per_m3,
            changes,
            mix: mix
                .into_iter()
                .map(|dose| SwapDose {
                    id: dose.fertilizer.id.clone(),
                    g_per_l: dose.amount.0,
                })
                .collect(),
        })
    }
}

fn holds(solutions: &[Solution; 2], nutrient: Nutrient) -> Change {
    let [now, then] = solutions.map(|solution| Some(solution.composition[nutrient]));
    Change { now, then }
}

/// Nutrients that come to another figure.
fn changed([now, then]: &[Solution; 2]) -> Vec<ChangedRow> {
    Aimed::all()
        .map(|nutrient| ChangedRow {
            nutrient,
            now: now.composition.aimed(nutrient),
            then: then.composition.aimed(nutrient),
        })
        .filter(|row| (row.then - row.now).abs() > SAME * row.now.max(row.then))
        .collect()
}
