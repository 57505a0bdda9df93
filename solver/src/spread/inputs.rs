//! What goes in, bag by bag, each with all that may be off about it.

use super::{Cause, Stated, squares};
use saltwright_fertilizers::{Composition, Dose, Fertilizer, Nutrient};
use std::sync::Arc;

/// One bag and what is taken of it, however often: its assays are off once for all of it.
#[derive(Clone, Debug)]
pub struct Bag {
    /// Of what.
    pub fertilizer: Arc<Fertilizer>,
    /// Taken of it, grams per litre of finished solution.
    pub g_per_l: f64,
    /// What that brings, mg/L.
    pub brings: Composition,
    /// Half-width of each of its assays, relative.
    pub tolerance: f64,
    /// Half-width of the amount by the division of scale or cylinder, relative.
    pub division: f64,
}

/// Everything that goes into a finished solution and may be off.
#[derive(Clone, Debug)]
pub struct Inputs {
    /// The bags in order of first use.
    pub bags: Vec<Bag>,
    /// What the source water holds, mg/L.
    pub water: Composition,
    /// Half-widths beside the assays.
    pub stated: Stated,
}

/// How a figure moves when an input moves by all of itself: directly, and through the charge that
/// it leaves open.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moves {
    /// In the unit of the figure.
    pub direct: f64,
    /// Open charge, meq/L.
    pub charge: f64,
}

impl Moves {
    /// Directly alone.
    pub const fn direct(direct: f64) -> Self {
        let charge = 0.0;
        Self { direct, charge }
    }

    pub fn times(self, factor: f64) -> Self {
        Self {
            direct: factor * self.direct,
            charge: factor * self.charge,
        }
    }

    fn add(&mut self, other: Self) {
        self.direct += other.direct;
        self.charge += other.charge;
    }
}

/// One independent input: how far the figure moves when it is at the end of its half-width.
#[derive(Clone, Copy, Debug)]
pub struct Effect {
    /// What is off.
    pub cause: Cause,
    /// By how much the figure moves then.
    pub moves: Moves,
}

impl Inputs {
    /// A mix in a water; `litres` is the batch that is weighed.
    pub fn new(mix: &[Dose], water: Composition, litres: Option<f64>, stated: &Stated) -> Self {
        let mut bags: Vec<Bag> = Vec::with_capacity(mix.len());
        for dose in mix.iter().filter(|dose| dose.amount.0 > 0.0) {
            let id = &dose.fertilizer.id;
            match bags.iter_mut().find(|bag| bag.fertilizer.id == *id) {
                Some(bag) => bag.g_per_l += dose.amount.0,
                None => bags.push(Bag::new(dose, stated)),
            }
        }
        for bag in &mut bags {
            bag.brings = bag.fertilizer.mg_per_g() * bag.g_per_l;
            let half = match bag.fertilizer.density_g_per_ml {
                Some(density) => 0.5 * stated.cylinder_ml * density,
                None => 0.5 * stated.scale_g,
            };
            bag.division = litres.map_or(0.0, |litres| half / litres / bag.g_per_l);
        }
        Self {
            bags,
            water,
            stated: *stated,
        }
    }

    /// Fertilizers whose tolerance nobody states: their assays count as exact.
    pub fn without_tolerance(&self) -> Vec<&str> {
        if self.stated.tolerance_pct.is_some() {
            return Vec::new();
        }
        let silent = |bag: &&Bag| bag.fertilizer.tolerance_pct.is_none();
        let bags = self.bags.iter().filter(silent);
        bags.map(|bag| bag.fertilizer.id.as_str()).collect()
    }

    /// All independent inputs that move a figure, with their half-widths.
    ///
    /// `of_assay` says how the figure moves with all that an assay of a bag brings, `of_bag` with
    /// what else the bag brings (its price), `of_water` with a figure of the water analysis. Assays
    /// are off each on its own; a bag, its weighing, the scale, the volume and the ratio move
    /// everything they touch together.
    pub fn effects(
        &self,
        of_assay: &dyn Fn(usize, Nutrient) -> Moves,
        of_bag: &dyn Fn(usize) -> f64,
        of_water: &dyn Fn(Nutrient) -> Moves,
    ) -> Vec<Effect> {
        let stated = &self.stated;
        let mut effects = Vec::with_capacity(4 * self.bags.len());
        let mut note = |cause, moves: Moves, half_width: f64| {
            if half_width > 0.0 && moves != Moves::default() {
                let moves = moves.times(half_width);
                effects.push(Effect { cause, moves });
            }
        };
        let (mut weighed, mut all) = (Moves::default(), Moves::default());
        for (at, bag) in self.bags.iter().enumerate() {
            let mut whole = Moves::default();
            for (nutrient, _) in bag.brings.iter().filter(|(_, mg_l)| *mg_l > 0.0) {
                let moves = of_assay(at, nutrient);
                note(Cause::Bag(at), moves, bag.tolerance);
                whole.add(moves);
            }
            note(Cause::Bag(at), whole, stated.purity_pct / 100.0);
            let price = of_bag(at);
            note(
                Cause::Prices,
                Moves::direct(price),
                stated.price_pct / 100.0,
            );
            whole.direct += price;
            if bag.fertilizer.is_liquid() {
                note(Cause::Cylinder, whole, bag.division);
            } else {
                note(Cause::Scale, whole, bag.division);
                weighed.add(whole);
            }
            all.add(whole);
        }
        note(Cause::Scale, weighed, stated.scale_pct / 100.0);
        note(Cause::Volume, all, stated.volume_pct / 100.0);
        note(Cause::Proportioner, all, stated.ratio_pct / 100.0);
        note(Cause::Stocks, all, stated.stock_pct / 100.0);
        if stated.water_pct > 0.0 {
            for (nutrient, _) in self.water.iter().filter(|(_, mg_l)| *mg_l > 0.0) {
                note(
                    Cause::WaterAnalysis,
                    of_water(nutrient),
                    stated.water_pct / 100.0,
                );
            }
        }
        effects
    }

    /// Variances of the acid and base that the mix brings, (meq/L)².
    pub fn of_acids(&self) -> Vec<(Cause, f64)> {
        let of_assay = |at: usize, nutrient| {
            let bag = &self.bags[at];
            Moves::direct(bag.fertilizer.acid_meq_per_g_with(nutrient) * bag.g_per_l)
        };
        let effects = self.effects(&of_assay, &|_| 0.0, &|_| Moves::default());
        squares(&effects).collect()
    }

    /// The least or most of a figure when every input stands at the end of its half-width: exact,
    /// because what goes in only ever adds.
    ///
    /// water (1 ± w) + (1 ± r)(1 ± c)/(1 ∓ v) · sum over bags of (1 ± d)(1 ± s) · what the bag brings at
    /// the end of its own half-widths, which `of_bag` says.
    pub fn worst(&self, of_bag: &dyn Fn(usize, End) -> f64, of_water: f64, end: End) -> f64 {
        let of_bags = (0..self.bags.len()).map(|at| of_bag(at, end) * self.weighed(at, end));
        let added: f64 = of_bags.sum();
        of_water * end.of_pct(self.stated.water_pct) + added
    }

    /// Part of a bag's amount in the finished solution when weighing, tank and stocks stand at an end.
    fn weighed(&self, at: usize, end: End) -> f64 {
        let (stated, bag) = (&self.stated, &self.bags[at]);
        let scale = if bag.fertilizer.is_liquid() {
            1.0
        } else {
            end.of_pct(stated.scale_pct)
        };
        let strength = end.of_pct(stated.ratio_pct) * end.of_pct(stated.stock_pct);
        end.of(bag.division) * scale * strength / end.other().of_pct(stated.volume_pct)
    }

    /// Part of an assay's amount in the finished solution when all of it stands at an end.
    pub fn at_end(&self, at: usize, end: End) -> f64 {
        let of_assay = end.of(self.bags[at].tolerance) * end.of_pct(self.stated.purity_pct);
        of_assay * self.weighed(at, end)
    }

    /// What a bag brings of some nutrients, mg/L, with its assays and its purity at an end.
    pub fn brought(&self, at: usize, nutrients: &[Nutrient], end: End) -> f64 {
        let bag = &self.bags[at];
        let nominal: f64 = nutrients.iter().map(|n| bag.brings[*n]).sum();
        nominal * end.of(bag.tolerance) * end.of_pct(self.stated.purity_pct)
    }
}

/// An end of a half-width.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// As little as can be.
    Low,
    /// As much as can be.
    High,
}

impl End {
    /// One with a relative half-width taken off or put on.
    pub fn of(self, half_width: f64) -> f64 {
        match self {
            Self::Low => (1.0 - half_width).max(0.0),
            Self::High => 1.0 + half_width,
        }
    }

    fn of_pct(self, half_width_pct: f64) -> f64 {
        self.of(half_width_pct / 100.0)
    }

    const fn other(self) -> Self {
        match self {
            Self::Low => Self::High,
            Self::High => Self::Low,
        }
    }
}

impl Bag {
    fn new(dose: &Dose, stated: &Stated) -> Self {
        let tolerance = dose.fertilizer.tolerance_pct.or(stated.tolerance_pct);
        Self {
            fertilizer: Arc::clone(&dose.fertilizer),
            g_per_l: dose.amount.0,
            brings: Composition::ZERO,
            tolerance: tolerance.unwrap_or(0.0) / 100.0,
            division: 0.0,
        }
    }
}
