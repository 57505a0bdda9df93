//! The answer of `formulate`, as every face shows it. Figures are exact; faces round.

use super::conflict::{Clash, Conflict};
use super::problem::{Figure, Problem};
use super::ranging::{self, RowPrice};
use super::request::FormulateRequest;
use super::stages::{Solved, Stage};
use crate::ec::Ec;
use crate::solution::{Ratios, Solution};
use crate::words;
use saltwright_fertilizers::units::GramsPerL;
use saltwright_fertilizers::{Aimed, Dose};
use schemars::JsonSchema;
use serde::Serialize;

/// Whether everything asked for was possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Every figure lies within its band.
    WithinBands,
    /// Some figure does not; the answer is the closest there is.
    OutsideBands,
}

/// The answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FormulateReport {
    /// Whether everything asked for was possible.
    pub outcome: Outcome,
    /// The recipe's name.
    pub recipe: String,
    /// The water's name.
    pub water: String,
    /// Strength against the recipe as written.
    pub strength: f64,
    /// Litres of the batch.
    pub litres: Option<f64>,
    /// Dilution ratio of the stock.
    pub ratio: Option<f64>,
    /// What to weigh and pour, largest mass first.
    pub mix: Vec<MixRow>,
    /// What every nutrient comes to.
    pub nutrients: Vec<NutrientRow>,
    /// The acid, where there is a row for it.
    pub acidity: Option<AcidityReport>,
    /// Ratios growers ask about.
    pub ratios: Ratios,
    /// What the EC meter should show.
    pub ec: Ec,
    /// What the pH meter should show.
    pub ph: Ph,
    /// The recipe's pH band.
    pub ph_band: Option<[f64; 2]>,
    /// 100 (cations - anions)/(cations + anions) of the finished solution.
    pub charge_error_pct: Option<f64>,
    /// What 1,000 litres cost.
    pub cost_per_m3: Option<f64>,
    /// A certificate for each stage.
    pub proof: Vec<ProofRow>,
    /// Fertilizers that the closest stage holds at nothing: their reduced costs in the cheapest
    /// stage may have either sign.
    pub held_out: Vec<String>,
    /// Fertilizers that bring the same as another of the choice, in parallel.
    pub twins: Vec<TwinRow>,
    /// Why not everything was possible.
    pub conflict: Vec<ConflictRow>,
    /// Fertilizers, not allowed so far, that would make everything possible.
    pub mended_by: Vec<String>,
    /// Fertilizers, not allowed so far, that would solve this conflict but not all.
    pub helped_by: Vec<String>,
    /// Water to add where what is in the tank is too strong already, litres per litre.
    pub dilute_l_per_l: Option<f64>,
    /// Micronutrients that came from another list.
    pub micros: Option<MicrosRow>,
    /// Solids that could form; the chemistry for it is not built yet.
    pub solids: Vec<String>,
    /// What to heed.
    pub cautions: Vec<String>,
}

/// One fertilizer of the mix.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MixRow {
    /// Which.
    pub id: String,
    /// Name in words.
    pub name: String,
    /// Grams per litre of finished solution.
    pub g_per_l: f64,
    /// Millilitres per litre, for what is poured.
    pub ml_per_l: Option<f64>,
    /// Grams for the batch.
    pub g: Option<f64>,
    /// Grams per litre of stock.
    pub g_per_l_stock: Option<f64>,
    /// What it adds to the cost of 1,000 litres.
    pub cost_per_m3: Option<f64>,
    /// Its share of the cost.
    pub cost_share_pct: Option<f64>,
    /// The stock tank it belongs in.
    pub tank: Option<&'static str>,
}

/// One nutrient of the answer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NutrientRow {
    /// Which.
    pub nutrient: Aimed,
    /// The aim, mg/L.
    pub aim: Option<f64>,
    /// Lowest acceptable.
    pub min: Option<f64>,
    /// Highest acceptable.
    pub max: Option<f64>,
    /// True where the maximum is the default for what nobody named.
    pub default_max: bool,
    /// What water and the mix already in bring.
    pub water: f64,
    /// What it comes to.
    pub delivered: f64,
    /// Deviation from the aim, percent.
    pub off_pct: Option<f64>,
    /// Its entry in the dual solution of the cheapest stage.
    pub price_per_mg_l_m3: Option<f64>,
    /// What one less would save.
    pub price_low: Option<f64>,
    /// What one more would cost.
    pub price_high: Option<f64>,
}

/// The acid of the answer, meq/L.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AcidityReport {
    /// Acid equivalents asked for: alkalinity less residual.
    pub target_meq_l: f64,
    /// Acid equivalents that the mix brings.
    pub reached_meq_l: f64,
    /// Alkalinity that is left.
    pub residual_meq_l: f64,
    /// Its entry in the dual solution of the cheapest stage.
    pub price_per_meq_l_m3: Option<f64>,
}

/// What the pH meter should show; not computed yet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Ph {
    /// Right after mixing.
    pub closed: Option<f64>,
    /// After standing in air.
    pub open: Option<f64>,
}

/// The certificate of a stage.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ProofRow {
    /// Which stage.
    pub stage: Stage,
    /// What it reached: weighted deviation in aims; price per litre; grams per litre.
    pub objective: f64,
    /// Largest violation of a row or bound, in aims.
    pub primal_residual: f64,
    /// Largest reduced cost of a variable inside its bounds.
    pub dual_residual: f64,
    /// Objective less its proven lower bound.
    pub gap: f64,
    /// True where fertilizers were dropped first and the optimum is among those left.
    pub among_these: bool,
}

/// Two fertilizers that bring the same.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TwinRow {
    /// The one.
    pub id: String,
    /// The other, cheaper for what it delivers or of the lower id.
    pub like: String,
}

/// One band end of a conflict.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ConflictRow {
    /// The nutrient, or `acidity`.
    pub nutrient: &'static str,
    /// `min` or `max`.
    pub side: &'static str,
    /// The bound, mg/L (acidity: meq/L).
    pub bound_mg_l: f64,
    /// What it can come to while the other ends are kept.
    pub reachable_mg_l: f64,
    /// The same in a sentence.
    pub words: String,
}

/// Micronutrients from another list.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MicrosRow {
    /// The list.
    pub from: String,
    /// What it filled in.
    pub filled: Vec<&'static str>,
}

/// Writes the report from the solved problem.
pub(super) fn write(
    request: &FormulateRequest,
    problem: &Problem,
    solved: &Solved,
    conflict: &Conflict,
    twins: &[(usize, usize)],
) -> FormulateReport {
    let doses = doses(request, problem, solved);
    let in_tank: Vec<Dose> = request.already.iter().chain(&doses).cloned().collect();
    let solution = Solution::of(&request.water, &in_tank);
    let prices = solved
        .cheapest
        .as_ref()
        .map(|priced| ranging::prices(problem, &solved.model, priced));
    let price_of = |figure: Figure| {
        let rows = prices.as_ref()?;
        let found = rows.iter().find(|(row, _)| *row == figure);
        Some(found.map_or(
            RowPrice {
                price: 0.0,
                low: Some(0.0),
                high: Some(0.0),
            },
            |row| row.1,
        ))
    };
    let (mix, cost_per_m3) = mix_rows(request, &doses);
    let acid_reached: f64 = doses
        .iter()
        .map(|dose| dose.fertilizer.acid_meq_per_g() * dose.amount.0)
        .sum();
    let acidity = problem.acidity.map(|row| AcidityReport {
        target_meq_l: row.target_meq_l,
        reached_meq_l: acid_reached,
        residual_meq_l: solution.alkalinity_meq_l,
        price_per_meq_l_m3: price_of(Figure::Acidity).map(|price| price.price),
    });
    let nutrients = problem
        .figures
        .iter()
        .filter_map(|row| {
            let Figure::Nutrient(aimed) = row.figure else {
                return None;
            };
            let delivered = solution.composition.aimed(aimed);
            let price = price_of(row.figure);
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
            })
        })
        .collect();
    let mut report = FormulateReport {
        outcome: if solved.outside {
            Outcome::OutsideBands
        } else {
            Outcome::WithinBands
        },
        recipe: title(&request.recipe.name, &request.recipe.id, "own recipe"),
        water: title(&request.water.name, &request.water.id, "own water"),
        strength: request.strength,
        litres: request.litres,
        ratio: request.ratio,
        mix,
        nutrients,
        acidity,
        ratios: solution.ratios(),
        ec: Ec::of(&solution, request.ec_ms_cm),
        ph: Ph::default(),
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
        solids: Vec::new(),
        cautions: Vec::new(),
    };
    report.cautions = words::formulate_cautions(request, problem, &report, &in_tank);
    report
}

fn title(name: &str, id: &str, otherwise: &str) -> String {
    [name, id, otherwise]
        .into_iter()
        .find(|text| !text.is_empty())
        .unwrap_or_default()
        .to_owned()
}

/// The mix, largest mass first.
fn doses(request: &FormulateRequest, problem: &Problem, solved: &Solved) -> Vec<Dose> {
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

fn mix_rows(request: &FormulateRequest, doses: &[Dose]) -> (Vec<MixRow>, Option<f64>) {
    let price = |dose: &Dose| {
        let candidate = request
            .choice
            .iter()
            .find(|candidate| candidate.fertilizer.id == dose.fertilizer.id)?;
        // g/L is kg/m3.
        Some(candidate.price_per_kg? * dose.amount.0)
    };
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
