//! Tanks with everything in them, riders and acids too, and how strong they may be.

use super::judge::{End, Judge, Keep, Largest};
use super::place::{APART, Role, tank_for, wish};
use super::split::Division;
use crate::chemistry::concentrate::{Dissolved, Solid};
use crate::root::root;
use saltwright_fertilizers::Dose;
use saltwright_fertilizers::document::Limits;

/// Share of the handbook solubility that dissolves in practice. Common practice, no source.
const IN_PRACTICE: f64 = 0.8;
/// How close a stock comes to that, as a share of it.
const CLOSE: f64 = 1e-6;

/// One fertilizer in a tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Position in the mix.
    pub dose: usize,
    /// Share of it that goes in here.
    pub share: f64,
}

/// One tank.
#[derive(Clone, Debug)]
pub struct Tank {
    /// `A`, `B` …, or `acid`, `base`, `silicate`.
    pub name: String,
    /// The role of what is in it; [`Role::Searched`] for the divided ones.
    pub kind: Role,
    /// What goes in.
    pub lines: Vec<Line>,
    /// What it brings to a litre of finished solution.
    pub brings: Dissolved,
    /// Grams per litre of finished solution.
    pub grams: f64,
}

/// A mix and the roles of its doses.
#[derive(Clone, Copy, Debug)]
pub struct Mix<'a> {
    /// Tanks beside those of acids and bases.
    pub most: usize,
    /// The doses, in order of id.
    pub doses: &'a [Dose],
    /// Their roles.
    pub roles: &'a [Role],
}

/// The largest ratio of a set of tanks, and what ends it.
#[derive(Clone, Debug)]
pub struct Limit {
    /// Parts of finished solution per part of stock.
    pub ratio: f64,
    /// Which tank ends it.
    pub tank: Option<String>,
    /// What ends it.
    pub by: Ends,
    /// At which temperature, °C.
    pub at_c: Option<f64>,
}

impl Limit {
    /// True where there is a strength at all.
    pub fn is_any(&self) -> bool {
        self.ratio >= Limits::RATIO.low
    }
}

/// What ends it.
#[derive(Clone, Debug)]
pub enum Ends {
    /// A solid, the cap, or no water.
    Chemistry(End),
    /// The solubility of this fertilizer, by rule of practice.
    Solubility(String),
}

impl Mix<'_> {
    /// What a line brings to a litre of finished solution.
    fn brings(&self, line: Line) -> Dissolved {
        let dose = &self.doses[line.dose];
        Dissolved::of_gram(&dose.fertilizer) * (dose.amount.0 * line.share)
    }

    fn grams(&self, line: Line) -> f64 {
        self.doses[line.dose].amount.0 * line.share
    }

    fn tank(&self, kind: Role, lines: Vec<Line>) -> Tank {
        let brings = lines
            .iter()
            .fold(Dissolved::default(), |sum, line| sum + self.brings(*line));
        let grams = lines.iter().map(|line| self.grams(*line)).sum();
        Tank {
            name: String::new(),
            kind,
            lines,
            brings,
            grams,
        }
    }

    fn of_role(&self, role: Role) -> impl Iterator<Item = usize> {
        let roles = self.roles.iter().enumerate();
        roles
            .filter(move |(_, known)| **known == role)
            .map(|(at, _)| at)
    }

    /// The tanks of a division; `groups` are the doses of each of its parts.
    pub fn tanks(&self, division: &Division, groups: &[Vec<usize>]) -> Vec<Tank> {
        let rows = division.shares.iter().map(|row| {
            let lines = row.iter().zip(groups).filter(|(share, _)| **share > 0.0);
            let lines = lines.flat_map(|(share, group)| {
                group.iter().map(|dose| Line {
                    dose: *dose,
                    share: *share,
                })
            });
            lines.collect()
        });
        self.complete(rows.collect())
    }

    /// Without a division: calcium by itself where there are tanks enough, the rest together.
    pub fn by_rule(&self) -> Vec<Tank> {
        let all = self
            .of_role(Role::Searched)
            .map(|dose| Line { dose, share: 1.0 });
        let (calcium, rest): (Vec<Line>, Vec<Line>) =
            all.partition(|line| self.most > 1 && self.brings(*line).mol_of("Ca+2") > 0.0);
        self.complete(
            [calcium, rest]
                .into_iter()
                .filter(|lines| !lines.is_empty())
                .collect(),
        )
    }

    /// Adds what rides along and what stands apart, and names the tanks.
    fn complete(&self, rows: Vec<Vec<Line>>) -> Vec<Tank> {
        let mut tanks: Vec<Tank> = rows
            .into_iter()
            .map(|lines| self.tank(Role::Searched, lines))
            .collect();
        let riders: Vec<usize> = self
            .of_role(Role::Unknown)
            .chain(self.of_role(Role::Rider))
            .collect();
        if tanks.is_empty() && !riders.is_empty() {
            tanks.push(self.tank(Role::Searched, Vec::new()));
        }
        // Each is placed by what the tanks hold without riders.
        let mut loads: Vec<Dissolved> = tanks.iter().map(|tank| tank.brings).collect();
        for dose in riders {
            let wish = wish(&self.doses[dose].fertilizer);
            let grams: Vec<f64> = tanks.iter().map(|tank| tank.grams).collect();
            let found = tank_for(wish, &loads, &grams, tanks.len() < self.most);
            let to = found.unwrap_or_else(|| {
                tanks.push(self.tank(Role::Searched, Vec::new()));
                loads.push(Dissolved::default());
                tanks.len() - 1
            });
            let mut lines = tanks[to].lines.clone();
            lines.push(Line { dose, share: 1.0 });
            tanks[to] = self.tank(Role::Searched, lines);
        }
        let calcium = |tank: &Tank| tank.brings.mol_of("Ca+2");
        let sulfates = |tank: &Tank| tank.brings.mol_of("SO4-2") + tank.brings.mol_of("H2PO4-");
        tanks.sort_by(|a, b| {
            calcium(b)
                .total_cmp(&calcium(a))
                .then(sulfates(b).total_cmp(&sulfates(a)))
                .then(b.grams.total_cmp(&a.grams))
                .then_with(|| {
                    a.lines
                        .first()
                        .map(|l| l.dose)
                        .cmp(&b.lines.first().map(|l| l.dose))
                })
        });
        for (tank, name) in tanks.iter_mut().zip(["A", "B", "C", "D"]) {
            name.clone_into(&mut tank.name);
        }
        for (kind, name) in APART {
            let lines: Vec<Line> = self
                .of_role(kind)
                .map(|dose| Line { dose, share: 1.0 })
                .collect();
            if !lines.is_empty() {
                let mut tank = self.tank(kind, lines);
                name.clone_into(&mut tank.name);
                tanks.push(tank);
            }
        }
        for tank in &mut tanks {
            tank.lines
                .sort_by(|a, b| self.grams(*b).total_cmp(&self.grams(*a)));
        }
        tanks
    }

    /// How strong tanks may be, below 1 where not even the finished solution stays clear; `None`
    /// without tanks.
    pub fn limit(&self, tanks: &[Tank], judge: &Judge) -> Option<Limit> {
        /// Rounds until all tanks agree: with alkaline water a tank may need to be stronger than
        /// another can be.
        const ROUNDS: usize = 8;
        let mut cap = Limits::RATIO.high;
        let mut least: Option<Limit> = None;
        for _ in 0..ROUNDS {
            let limits = tanks.iter().map(|tank| self.limit_of(tank, judge, cap));
            let found = limits.min_by(|a, b| a.ratio.total_cmp(&b.ratio))?;
            let agreed = found.ratio >= cap;
            if least.is_none() || !agreed {
                cap = found.ratio;
                least = Some(found);
            }
            if agreed || !judge.is_alkaline() {
                break;
            }
        }
        least
    }

    fn limit_of(&self, tank: &Tank, judge: &Judge, cap: f64) -> Limit {
        let chemistry = if is_computed(tank.kind) {
            judge.largest(&tank.brings, cap)
        } else {
            Largest {
                ratio: cap,
                by: End::Cap,
                at_c: None,
            }
        };
        let mut limit = Limit {
            ratio: chemistry.ratio,
            tank: Some(tank.name.clone()),
            by: Ends::Chemistry(chemistry.by),
            at_c: chemistry.at_c,
        };
        for line in &tank.lines {
            if let Some(ratio) = self.dissolves_up_to(*line, tank, judge, limit.ratio)
                && ratio < limit.ratio
            {
                limit.ratio = ratio;
                limit.by = Ends::Solubility(self.doses[line.dose].fertilizer.id.clone());
                limit.at_c = None;
            }
        }
        if limit.ratio >= Limits::RATIO.high {
            limit.tank = None;
        }
        limit
    }

    /// Up to which ratio what has no constants here dissolves in practice: 0.8 of its solubility
    /// in the water of the stock; `None` for what has a solid among those that are computed, or no
    /// solubility in the table.
    fn dissolves_up_to(&self, line: Line, tank: &Tank, judge: &Judge, most: f64) -> Option<f64> {
        let fertilizer = &self.doses[line.dose].fertilizer;
        let judged = Dissolved::of_gram(fertilizer);
        if !self.is_by_rule(line.dose) && Solid::all().iter().any(|solid| solid.is_part_of(&judged))
        {
            return None;
        }
        let dissolves = IN_PRACTICE * fertilizer.solubility_g_per_l_20c?;
        let per_ratio = self.grams(line);
        if !is_computed(tank.kind) {
            return Some((dissolves / per_ratio).min(most));
        }
        // Grams too many in a litre of stock, whose salts take the room of water.
        let too_many = |ratio: f64| {
            let states = judge.states(&tank.brings, ratio).unwrap_or_default();
            let water = states.first().map_or(0.0, |state| state.water_kg_l);
            per_ratio * ratio - dissolves * water
        };
        if too_many(most) <= 0.0 {
            return Some(most);
        }
        let off = |ratio| Ok::<f64, std::convert::Infallible>(too_many(ratio));
        let found = root(off, (Limits::RATIO.low, most), CLOSE * dissolves);
        let Ok(found) = found;
        // Not even as weak as the solution itself: by the water alone.
        Some(found.unwrap_or(dissolves / per_ratio))
    }

    /// True where the indices do not count all that a dose brings.
    pub fn is_by_rule(&self, dose: usize) -> bool {
        match self.roles[dose] {
            Role::Searched => false,
            Role::Acid => !self.doses[dose].fertilizer.is_charted(),
            Role::Rider => Dissolved::of_gram(&self.doses[dose].fertilizer).other_g > 0.0,
            Role::Base | Role::Silicate | Role::Unknown => true,
        }
    }
}

/// True where a tank of this kind is worked out rather than placed by rule.
pub const fn is_computed(kind: Role) -> bool {
    matches!(kind, Role::Searched | Role::Acid)
}

/// The largest ratio with indices below the uncertainty of their solids.
pub fn cautious(mix: &Mix<'_>, tanks: &[Tank], judge: &Judge) -> Option<f64> {
    mix.limit(tanks, &judge.keeping(Keep::Cautious))
        .filter(Limit::is_any)
        .map(|limit| limit.ratio)
}
