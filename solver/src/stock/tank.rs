//! What the report says of one tank.

use super::judge::Judge;
use super::layout::{Ends, Line, Mix, Tank, is_computed};
use super::place::Role;
use super::report::{IndexRow, StockDose, TankRow};
use super::request::StockRequest;
use crate::chemistry::concentrate::{Basis, Conditions, QUICK, Solid, State};
use crate::words::stock as words;
use saltwright_fertilizers::document::Limits;

/// Temperature at which a hydrometer is read and a stock is made up, °C.
const MADE_UP_C: f64 = 20.0;

/// A tank at a ratio, where there is one.
pub(super) fn row(
    request: &StockRequest,
    mix: &Mix<'_>,
    judge: &Judge,
    tank: &Tank,
    (position, ratio): (usize, Option<f64>),
) -> TankRow {
    let litres = request.litres(position);
    let lines = tank.lines.iter();
    let rows = lines.map(|line| stock_dose(mix, line, ratio, litres));
    let mut row = TankRow {
        name: tank.name.clone(),
        mix: rows.collect(),
        litres,
        load_g_per_l: ratio.map(|ratio| ratio * tank.grams),
        clear: None,
        first_solid: None,
        index: None,
        index_uncertainty: None,
        words: String::new(),
        ph: None,
        density_g_per_ml: None,
        density_20c_g_per_ml: None,
        water_to_add_kg_per_l: None,
        ionic_strength_mol_kg: None,
        within_model: None,
        indices: Vec::new(),
    };
    let computable = is_computed(tank.kind)
        && tank.lines.iter().all(|line| {
            mix.roles[line.dose] != Role::Unknown
                && (tank.kind != Role::Acid || !mix.is_by_rule(line.dose))
        });
    // Where nothing stronger stays clear, the stock as weak as the solution itself is shown.
    let unknown = mix.roles.contains(&Role::Unknown);
    if let Some(ratio) = ratio.or((!unknown).then_some(Limits::RATIO.low)) {
        if computable {
            fill_in(&mut row, request, judge, tank, ratio);
        }
        let dissolves = mix.limit(std::slice::from_ref(tank), judge);
        let too_much = match dissolves.map(|limit| (limit.by, limit.ratio)) {
            Some((Ends::Solubility(id), most)) if most < ratio => Some(id),
            _ => None,
        };
        if let Some(id) = &too_much {
            row.clear = Some(false);
            row.words = words::too_much(id);
        } else if !computable && unknown {
            row.words = words::CANNOT_TELL.into();
        } else if row.words.is_empty() {
            row.words = words::BY_RULE.into();
        }
    }
    row
}

/// A fertilizer in its tank.
fn stock_dose(mix: &Mix<'_>, line: &Line, ratio: Option<f64>, litres: Option<f64>) -> StockDose {
    let dose = &mix.doses[line.dose];
    let fertilizer = &dose.fertilizer;
    let g_per_l = dose.amount.0 * line.share;
    let stock = ratio.map(|ratio| g_per_l * ratio);
    let grams = stock.zip(litres).map(|(stock, litres)| stock * litres);
    let poured = |grams: Option<f64>| Some(grams? / fertilizer.density_g_per_ml?);
    StockDose {
        id: fertilizer.id.clone(),
        name: fertilizer.name.clone(),
        g_per_l,
        g_per_l_stock: stock,
        ml_per_l_stock: poured(stock),
        g: grams,
        ml: poured(grams),
        share: line.share,
        placed_by: if mix.roles[line.dose] == Role::Searched {
            "chemistry"
        } else {
            "rule"
        },
    }
}

/// What chemistry says of a tank.
fn fill_in(row: &mut TankRow, request: &StockRequest, judge: &Judge, tank: &Tank, ratio: f64) {
    let Ok(states) = judge.states(&tank.brings, ratio) else {
        row.clear = Some(false);
        row.words = words::NO_WATER.into();
        return;
    };
    let (Some(cold), Some(hot)) = (states.first(), states.last()) else {
        return;
    };
    row.indices = indices(cold, hot);
    let worst = row.indices.first().map(|index| {
        (
            index.solid.clone(),
            index.coldest.max(index.hottest),
            index.uncertainty,
        )
    });
    row.clear = Some(
        worst
            .as_ref()
            .is_none_or(|(_, index, _)| *index <= -request.margin_index),
    );
    let doubtful = row
        .indices
        .first()
        .is_some_and(|index| index.basis == "doubtful");
    row.words = words::verdict(
        worst.as_ref().map(|(_, index, _)| *index),
        request.margin_index,
        doubtful,
    );
    if let Some((solid, index, uncertainty)) = worst {
        row.first_solid = Some(solid);
        row.index = Some(index);
        row.index_uncertainty = Some(uncertainty);
    }
    row.ph = cold.ph;
    row.density_g_per_ml = Some(cold.density_kg_l);
    row.ionic_strength_mol_kg = Some(cold.ionic_strength);
    row.within_model = Some(states.iter().all(|state| state.within_range));
    let stock = judge.stock(&tank.brings, ratio);
    let made_up = Conditions::at(MADE_UP_C).state(&stock, QUICK);
    if let Ok(made_up) = made_up {
        row.density_20c_g_per_ml = Some(made_up.density_kg_l);
        row.water_to_add_kg_per_l =
            Some((made_up.density_kg_l - tank.grams * ratio / 1000.0).max(0.0));
    }
}

/// Indices at both ends, largest first.
fn indices(cold: &State, hot: &State) -> Vec<IndexRow> {
    let both = cold.indices.iter().zip(&hot.indices);
    let mut rows: Vec<IndexRow> = Solid::all()
        .iter()
        .zip(both)
        .filter_map(|(solid, (coldest, hottest))| {
            Some(IndexRow {
                solid: solid.name.clone(),
                coldest: (*coldest)?,
                hottest: (*hottest)?,
                uncertainty: solid.uncertainty,
                basis: match solid.basis {
                    Basis::Calibrated => "calibrated",
                    Basis::Database => "database",
                    Basis::Doubtful => "doubtful",
                },
            })
        })
        .collect();
    rows.sort_by(|a, b| {
        b.coldest
            .max(b.hottest)
            .total_cmp(&a.coldest.max(a.hottest))
    });
    rows
}
