//! Fills the report from the settled problem.

use super::conflict::{Clash, Conflict};
use super::problem::{Figure, Problem, Row};
use super::ranging::{self, RowPrice};
use super::report::{
    AcidityReport, ConflictRow, FormulateReport, Kept, MicrosRow, MixRow, NutrientRow, Outcome,
    ProofRow, TwinRow,
};
use super::request::{FormulateRequest, Keeps};
use super::search::Settled;
use super::stages::Solved;
use crate::chemistry::NotConverged;
use crate::readings::{Asked, Source, readings};
use crate::solids;
use crate::solution::Solution;
use crate::spread::{self, Inputs, Spread};
use crate::words;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::units::GramsPerL;

/// What is in the tank at the end: the mix already in, then the doses.
pub(super) fn in_tank(request: &FormulateRequest, problem: &Problem, solved: &Solved) -> Vec<Dose> {
    let already = request.already.iter().cloned();
    already.chain(doses(request, problem, solved)).collect()
}

/// Writes the report from the settled problem.
pub(super) fn write(
    request: &FormulateRequest,
    source: &Source<'_>,
    settled: &Settled,
    conflict: &Conflict,
    twins: &[(usize, usize)],
) -> Result<FormulateReport, NotConverged> {
    let (problem, solved) = (&settled.problem, &settled.solved);
    let doses = doses(request, problem, solved);
    let in_tank: Vec<Dose> = request.already.iter().chain(&doses).cloned().collect();
    let solution = Solution::of(&request.water, &in_tank);
    let spread = request.ranges.as_ref().map(|stated| {
        let (holds, litres) = (request.water.holds, request.litres);
        Spread::new(Inputs::new(&in_tank, holds, litres, stated))
    });
    let asked = Asked {
        inputs: spread.as_ref().map(|spread| &spread.inputs),
        ..Asked::at_reference(request.ec_ms_cm, request.detail)
    };
    let readings = readings(source, &in_tank, asked)?;
    let prices = Prices::of_problem(problem, solved);
    let (mix, cost_per_m3) = mix_rows(request, &doses);
    let acid_reached: f64 = doses
        .iter()
        .map(|dose| dose.fertilizer.acid_meq_per_g() * dose.amount.0)
        .sum();
    let acidity = problem.acidity.map(|row| AcidityReport {
        target_meq_l: row.target_meq_l,
        reached_meq_l: acid_reached,
        residual_meq_l: solution.alkalinity_meq_l,
        price_per_meq_l_m3: prices.of(Figure::Acidity).map(|price| price.price),
    });
    let mut report = FormulateReport {
        outcome: outcome(request, problem, solved, &solution),
        keeps: match request.keeps {
            Keeps::Aims => Kept::Aims,
            Keeps::Bands => Kept::Bands,
            Keeps::AsCloseAs(_) => Kept::Closeness,
        },
        recipe: title(&request.recipe.name, &request.recipe.id, "own recipe"),
        water: title(&request.water.name, &request.water.id, "own water"),
        strength: settled.setting.strength,
        litres: request.litres,
        ratio: request.ratio,
        mix,
        nutrients: nutrient_rows(problem, &solution, &prices, spread.as_ref()),
        acidity,
        ratios: solution.ratios(),
        ec: readings.ec,
        tds: readings.ec.tds(),
        cf: readings.ec.cf(),
        ph: readings.ph,
        ph_band: request.recipe.ph,
        charge_error_pct: solution.charge_error_pct(),
        cost_per_m3,
        proof: proof_rows(solved),
        held_out: held_out(request, problem, solved),
        twins: twin_rows(request, problem, twins),
        conflict: conflict
            .clashes
            .iter()
            .map(|clash| conflict_row(problem, conflict, clash))
            .collect(),
        mended_by: conflict.mended_by.clone(),
        helped_by: conflict.helped_by.clone(),
        dilute_l_per_l: dilution(request, problem),
        micros: request.micros.as_ref().map(|(from, filled)| MicrosRow {
            from: from.clone(),
            filled: filled.iter().map(|micro| micro.key()).collect(),
        }),
        first_solid: solids::first(&readings.solids).map(|row| row.solid),
        solids: Vec::new(),
        ionic_strength_mol_l: readings.ionic_strength_mol_l,
        detail: None,
        sureness: spread.as_ref().map(|spread| {
            let costs = cost_per_m3.map(|_| cost_of(request, &doses));
            spread.sureness(&readings.uncertain, costs.as_deref())
        }),
        sure: None,
        cautions: Vec::new(),
    };
    let told = words::readings::cautions(&readings, &request.water, &in_tank);
    (report.solids, report.detail) = (readings.solids, readings.detail);
    report.cautions = words::formulate_cautions(request, problem, &report, &in_tank, told);
    report.cautions.extend(
        request
            .ranges
            .as_ref()
            .and_then(|stated| spread::caution(&in_tank, stated)),
    );
    if settled.is_poured {
        report.cautions.push(words::POURED_TOGETHER.into());
    }
    Ok(report)
}

/// Whether every band is kept; as close as a mix that misses one may still mean outside it.
fn outcome(
    request: &FormulateRequest,
    problem: &Problem,
    solved: &Solved,
    solution: &Solution,
) -> Outcome {
    let leaves = |row: &Row| match row.figure {
        Figure::Nutrient(aimed) => row.is_left_by(solution.composition.aimed(aimed)),
        _ => false,
    };
    let widened = matches!(request.keeps, Keeps::AsCloseAs(_));
    if solved.outside || (widened && problem.figures.iter().any(leaves)) {
        Outcome::OutsideBands
    } else {
        Outcome::WithinBands
    }
}

/// What a milligram more or less of a figure costs; none where nothing was priced.
struct Prices(Option<Vec<(Figure, RowPrice)>>);

impl Prices {
    fn of_problem(problem: &Problem, solved: &Solved) -> Self {
        // Where a band is two rows by other assays, one more mg/L has no single price.
        let priced = solved.cheapest.as_ref().filter(|_| !problem.is_guarded());
        Self(priced.map(|priced| ranging::prices(problem, &solved.model, priced)))
    }

    /// The price of a figure: nothing where it can still move.
    fn of(&self, figure: Figure) -> Option<RowPrice> {
        let rows = self.0.as_ref()?;
        let found = rows.iter().find(|(row, _)| *row == figure);
        Some(found.map_or(
            RowPrice {
                price: 0.0,
                low: Some(0.0),
                high: Some(0.0),
            },
            |row| row.1,
        ))
    }
}

fn nutrient_rows(
    problem: &Problem,
    solution: &Solution,
    prices: &Prices,
    spread: Option<&Spread>,
) -> Vec<NutrientRow> {
    problem
        .figures
        .iter()
        .filter_map(|row| {
            let Figure::Nutrient(aimed) = row.figure else {
                return None;
            };
            let delivered = solution.composition.aimed(aimed);
            let price = prices.of(row.figure);
            let off = row.aim.filter(|aim| *aim > 0.0);
            Some(NutrientRow {
                nutrient: aimed,
                aim: row.aim,
                min: row.min,
                max: row.max,
                default_max: row.default_max,
                water: row.present,
                delivered,
                off_pct: off.map(|aim| 100.0 * (delivered - aim) / aim),
                price_per_mg_l_m3: price.map(|price| price.price),
                price_low: price.and_then(|price| price.low),
                price_high: price.and_then(|price| price.high),
                range: spread.map(|spread| spread.range(aimed)),
            })
        })
        .collect()
}

fn title(name: &str, id: &str, otherwise: &str) -> String {
    [name, id, otherwise]
        .into_iter()
        .find(|text| !text.is_empty())
        .unwrap_or_default()
        .to_owned()
}

/// The mix, largest mass first.
pub(crate) fn doses(request: &FormulateRequest, problem: &Problem, solved: &Solved) -> Vec<Dose> {
    let mut doses: Vec<Dose> = problem
        .columns
        .iter()
        .zip(&solved.grams)
        .filter(|(_, grams)| **grams > 0.0)
        .map(|(column, grams)| Dose {
            fertilizer: request.choice[column.candidate].fertilizer.clone(),
            amount: GramsPerL(*grams),
        })
        .collect();
    doses.sort_by(|a, b| {
        let by_mass = b.amount.0.total_cmp(&a.amount.0);
        by_mass.then_with(|| a.fertilizer.id.cmp(&b.fertilizer.id))
    });
    doses
}

/// What a dose costs, per m3.
fn price_of(request: &FormulateRequest, dose: &Dose) -> Option<f64> {
    let candidate = request
        .choice
        .iter()
        .find(|candidate| candidate.fertilizer.id == dose.fertilizer.id)?;
    // g/L is kg/m3.
    Some(candidate.price_per_kg? * dose.amount.0)
}

/// What each dose costs, per m3, by id.
fn cost_of<'a>(request: &FormulateRequest, doses: &'a [Dose]) -> Vec<(&'a str, f64)> {
    let cost = |dose: &'a Dose| Some((dose.fertilizer.id.as_str(), price_of(request, dose)?));
    doses.iter().filter_map(cost).collect()
}

fn mix_rows(request: &FormulateRequest, doses: &[Dose]) -> (Vec<MixRow>, Option<f64>) {
    let price = |dose: &Dose| price_of(request, dose);
    let all_priced = request.choice.iter().all(|c| c.price_per_kg.is_some());
    let cost_per_m3 = all_priced.then(|| doses.iter().filter_map(price).sum::<f64>());
    let rows = doses
        .iter()
        .map(|dose| {
            let fertilizer = &dose.fertilizer;
            let g_per_l = dose.amount.0;
            let cost = price(dose);
            MixRow {
                id: fertilizer.id.clone(),
                name: fertilizer.name.clone(),
                g_per_l,
                ml_per_l: fertilizer.density_g_per_ml.map(|density| g_per_l / density),
                g: request.litres.map(|litres| g_per_l * litres),
                g_per_l_stock: request.ratio.map(|ratio| g_per_l * ratio),
                cost_per_m3: cost,
                cost_share_pct: cost
                    .zip(cost_per_m3)
                    .filter(|(_, total)| *total > 0.0)
                    .map(|(cost, total)| 100.0 * cost / total),
                tank: fertilizer.tank.map(saltwright_fertilizers::Tank::name),
            }
        })
        .collect();
    (rows, cost_per_m3)
}

fn proof_rows(solved: &Solved) -> Vec<ProofRow> {
    let rows = solved.proofs.iter().map(|proof| ProofRow {
        stage: proof.stage,
        objective: proof.certificate.objective,
        primal_residual: proof.certificate.primal_residual,
        dual_residual: proof.certificate.dual_residual,
        gap: proof.certificate.gap,
        among_these: proof.among_these,
    });
    rows.collect()
}

/// The id of a column.
fn id_of(request: &FormulateRequest, problem: &Problem, column: usize) -> String {
    let candidate = problem.columns[column].candidate;
    request.choice[candidate].fertilizer.id.clone()
}

/// Fertilizers that the closest stage fixes at nothing while the cheapest stage runs.
fn held_out(request: &FormulateRequest, problem: &Problem, solved: &Solved) -> Vec<String> {
    let Some(priced) = &solved.cheapest else {
        return Vec::new();
    };
    solved
        .model
        .salts
        .iter()
        .enumerate()
        .filter(|(j, _)| priced.lp.upper[*j] <= priced.lp.lower[*j] && priced.lp.upper[*j] == 0.0)
        .map(|(_, salt)| id_of(request, problem, *salt))
        .collect()
}

fn twin_rows(
    request: &FormulateRequest,
    problem: &Problem,
    twins: &[(usize, usize)],
) -> Vec<TwinRow> {
    let rows = twins.iter().map(|(twin, kept)| TwinRow {
        id: id_of(request, problem, *twin),
        like: id_of(request, problem, *kept),
    });
    rows.collect()
}

fn conflict_row(problem: &Problem, conflict: &Conflict, clash: &Clash) -> ConflictRow {
    let figure = problem.rows[clash.row].figure;
    ConflictRow {
        nutrient: figure.key(),
        side: clash.side.key(),
        bound_mg_l: clash.bound,
        reachable_mg_l: clash.reachable,
        words: words::clash(problem, conflict, clash),
    }
}

/// How many litres of source water a litre in the tank needs before nothing in it is above its
/// maximum; `None` where nothing is, or where the water itself is too strong.
fn dilution(request: &FormulateRequest, problem: &Problem) -> Option<f64> {
    if request.already.is_empty() {
        return None;
    }
    let mut factor: f64 = 1.0;
    for row in &problem.figures {
        let (Figure::Nutrient(aimed), Some(max), false) = (row.figure, row.max, row.default_max)
        else {
            continue;
        };
        let water = request.water.holds.aimed(aimed);
        let added = row.present - water;
        if row.present > max && added > 0.0 {
            if water >= max {
                return None;
            }
            factor = factor.max(added / (max - water));
        }
    }
    (factor > 1.0).then_some(factor - 1.0)
}
