//! A mix as it stands in its tanks, in which one fertilizer takes another's place: does everything
//! stay clear, and in which tank?
//!
//! The division stays as it is; only what is put in is looked a tank for. That is what a grower does
//! who swaps a bag, and some hundred times quicker than a new division.

use super::judge::{End, Judge, Keep};
use super::place::{self, Role, tank_for, wish};
use super::request::StockRequest;
use super::{StockReport, place::APART, words};
use crate::chemistry::concentrate::Dissolved;
use saltwright_fertilizers::{Dose, Fertilizer};

/// A mix in its tanks.
pub(crate) struct Standing {
    judge: Judge,
    ratio: f64,
    acid_tank: bool,
    tanks: Vec<StandingTank>,
}

struct StandingTank {
    name: String,
    /// Ids with the share that goes in here.
    lines: Vec<(String, f64)>,
}

/// What becomes of the tanks.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Stands {
    /// True where all stay clear; none where it cannot be worked out.
    pub clear: Option<bool>,
    /// The tank that what was put in goes into.
    pub tank: Option<String>,
    /// What forms where one does not stay clear.
    pub first_solid: Option<String>,
}

impl Standing {
    /// A report's division at a ratio.
    pub fn of(request: &StockRequest, report: &StockReport, ratio: f64) -> Self {
        let water = Dissolved::of_water(&request.water);
        let keep = Keep::Margin(request.margin_index);
        let lines = |tank: &super::report::TankRow| {
            let lines = tank.mix.iter().map(|line| (line.id.clone(), line.share));
            lines.collect()
        };
        let tanks = report.tanks.iter().map(|tank| StandingTank {
            name: tank.name.clone(),
            lines: lines(tank),
        });
        Self {
            judge: Judge::new(water, request.coldest_c, request.hottest_c, keep),
            ratio,
            acid_tank: request.acid_tank,
            tanks: tanks.collect(),
        }
    }

    /// A mix in which `into` stands in for `out`, the rest where it was.
    pub fn with(&self, mix: &[Dose], out: &str, into: &Fertilizer) -> Stands {
        let roles = place::roles(mix, self.acid_tank);
        if roles.contains(&Role::Unknown) {
            return Stands::default();
        }
        let role = mix.iter().position(|dose| dose.fertilizer.id == into.id);
        let role = role.map_or(Role::Rider, |at| roles[at]);
        let loads: Vec<Dissolved> = self.tanks.iter().map(|tank| load(tank, mix)).collect();
        let divided: Vec<usize> = (0..self.tanks.len())
            .filter(|at| is_divided(&self.tanks[*at].name))
            .collect();
        let brings = mix.iter().filter(|dose| dose.fertilizer.id == into.id);
        let brings = brings.fold(Dissolved::default(), |sum, dose| {
            sum + Dissolved::of_gram(&dose.fertilizer) * dose.amount.0
        });
        let places: Vec<usize> = match role {
            Role::Searched => {
                let held = |at: &usize| self.tanks[*at].lines.iter().any(|(id, _)| id == out);
                let (first, then): (Vec<usize>, Vec<usize>) =
                    divided.iter().partition(|at| held(at));
                first.into_iter().chain(then).collect()
            }
            Role::Rider | Role::Unknown => {
                let loads: Vec<Dissolved> = divided.iter().map(|at| loads[*at]).collect();
                let grams: Vec<f64> = divided.iter().map(|at| self.grams(*at, mix)).collect();
                let found = tank_for(wish(into), &loads, &grams, false);
                found.map(|at| divided[at]).into_iter().collect()
            }
            Role::Acid | Role::Base | Role::Silicate => Vec::new(),
        };
        let verdict = |at: usize| {
            let own = if places.contains(&at) {
                brings
            } else {
                Dissolved::default()
            };
            (loads[at] + own, own)
        };
        let clouds = |load: &Dissolved| self.judge.verdict(load, self.ratio).map(|(end, _)| end);
        if places.is_empty() {
            let apart = APART.iter().find(|(kind, _)| *kind == role);
            let first = divided.iter().find_map(|at| clouds(&loads[*at]));
            return Stands::told(apart.map(|(_, name)| (*name).to_owned()), first);
        }
        let mut worst: Option<Stands> = None;
        for at in &places {
            let first = divided.iter().find_map(|tank| {
                let load = if tank == at {
                    verdict(*tank).0
                } else {
                    loads[*tank]
                };
                clouds(&load)
            });
            let stands = Stands::told(Some(self.tanks[*at].name.clone()), first);
            if stands.clear == Some(true) {
                return stands;
            }
            worst.get_or_insert(stands);
        }
        worst.unwrap_or_default()
    }

    fn grams(&self, tank: usize, mix: &[Dose]) -> f64 {
        let lines = self.tanks[tank].lines.iter();
        lines.map(|(id, share)| share * amount(mix, id)).sum()
    }
}

impl Stands {
    fn told(tank: Option<String>, end: Option<End>) -> Self {
        Self {
            clear: Some(end.is_none()),
            tank,
            first_solid: end.map(|end| match end {
                End::Solid(solid) => solid.name.clone(),
                End::Cap | End::NoWater => words::NO_WATER.to_owned(),
            }),
        }
    }
}

fn is_divided(name: &str) -> bool {
    !APART.iter().any(|(_, apart)| *apart == name)
}

fn amount(mix: &[Dose], id: &str) -> f64 {
    let found = mix.iter().find(|dose| dose.fertilizer.id == id);
    found.map_or(0.0, |dose| dose.amount.0)
}

/// What is left of a tank's lines in a mix, per litre of finished solution.
fn load(tank: &StandingTank, mix: &[Dose]) -> Dissolved {
    let lines = tank.lines.iter().filter_map(|(id, share)| {
        let dose = mix.iter().find(|dose| dose.fertilizer.id == *id)?;
        Some(Dissolved::of_gram(&dose.fertilizer) * (dose.amount.0 * share))
    });
    lines.fold(Dissolved::default(), |sum, line| sum + line)
}
