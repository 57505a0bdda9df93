//! Cost against something that is allowed: how far from the aims, how much sodium and chloride.
//!
//! What is allowed moves bounds of the program, so the least cost is convex and made of straight
//! lines. Each solve gives a point and, from its reduced costs, a line below the whole curve; where
//! two lines meet on the curve, that is a corner, and the corners are exact.

use super::program::{Missed, Optimum, Outcome, Program};
use super::report::CurvePoint;
use crate::formulate::model::Slack;
use crate::formulate::problem::{Figure, Judged, Problem, Row, sodium_chloride_us_cm};
use crate::lp::Stuck;
use saltwright_fertilizers::{Aimed, Composition, Nutrient};

/// Costs that differ by less, relative, are one.
const SAME: f64 = 1e-10;
/// Allowances that differ by less are one, as shares of the largest.
const NEAR: f64 = 1e-9;
/// Sum beyond the bands, in aims, that is nothing.
const NOTHING: f64 = 1e-12;
/// Most halvings of a piece of the curve.
const MOST_DEPTH: usize = 60;
/// Steps to the least allowance; each passes a corner of the way there.
const MOST_STEPS: usize = 200;

/// A program some of whose bounds are a share of an allowance.
struct Allowing<'a> {
    program: Program<'a>,
    /// Slacks, and their bound when all is allowed.
    moving: Vec<(usize, f64)>,
}

/// A corner of the curve.
pub(super) struct Corner {
    /// Share of the largest allowance.
    pub share: f64,
    /// What 1,000 L cost.
    pub per_m3: f64,
    /// Grams per litre of every column.
    pub grams: Vec<f64>,
    /// How the line below the curve falls here.
    slope: f64,
}

impl Allowing<'_> {
    fn slope(&self, d: &[f64]) -> f64 {
        let falls = self
            .moving
            .iter()
            .map(|(slack, most)| most * d[*slack].min(0.0));
        falls.sum()
    }

    fn solve(&mut self, share: f64) -> Result<Result<Corner, (f64, f64)>, Stuck> {
        let moving = self.moving.clone();
        let outcome = self.program.solve(&|model| {
            for (slack, most) in &moving {
                model.lp.upper[*slack] = share * most;
            }
        })?;
        Ok(match outcome {
            Outcome::Cheapest(optimum) => {
                let Optimum { per_m3, grams, d } = *optimum;
                Ok(Corner {
                    share,
                    per_m3,
                    grams,
                    slope: self.slope(&d),
                })
            }
            Outcome::Left(missed) => {
                let Missed { by, d } = *missed;
                Err((by, self.slope(&d)))
            }
        })
    }

    /// The least share that keeps the bands: along the line below "how far they must be left"
    /// until that is nothing.
    fn least(&mut self) -> Result<Option<Corner>, Stuck> {
        let mut share = 0.0;
        for _ in 0..MOST_STEPS {
            match self.solve(share)? {
                Ok(corner) => return Ok(Some(corner)),
                Err((by, slope)) if slope < -NOTHING => share -= by / slope,
                Err(_) => return Ok(None),
            }
            if share > 1.0 + NEAR {
                return Ok(None);
            }
        }
        Ok(None)
    }

    /// Every corner from the least share to all of it.
    fn corners(&mut self) -> Result<Vec<Corner>, Stuck> {
        let Some(least) = self.least()? else {
            return Ok(Vec::new());
        };
        let mut corners = vec![least];
        if corners[0].share < 1.0 - NEAR
            && let Ok(all) = self.solve(1.0)?
        {
            let mut between = Vec::new();
            self.between(&corners[0], &all, &mut between, 0)?;
            corners.extend(between);
            corners.push(all);
        }
        Ok(only_corners(corners))
    }

    /// Points between two such that what lies between neighbours is straight.
    fn between(
        &mut self,
        low: &Corner,
        high: &Corner,
        found: &mut Vec<Corner>,
        depth: usize,
    ) -> Result<(), Stuck> {
        let same = SAME * low.per_m3.abs().max(high.per_m3.abs());
        let width = high.share - low.share;
        let straight = low.per_m3 + low.slope * width >= high.per_m3 - same
            || high.per_m3 - high.slope * width >= low.per_m3 - same;
        if straight || width <= NEAR || depth >= MOST_DEPTH {
            return Ok(());
        }
        let falls = high.slope - low.slope;
        let meet = (low.per_m3 - high.per_m3 + high.slope * width) / falls;
        let meet = if falls > 0.0 && meet > 0.0 && meet < width {
            meet
        } else {
            0.5 * width
        };
        let Ok(middle) = self.solve(low.share + meet)? else {
            return Ok(());
        };
        self.between(low, &middle, found, depth + 1)?;
        let at = found.len();
        self.between(&middle, high, found, depth + 1)?;
        found.insert(at, middle);
        Ok(())
    }
}

/// Drops points on the straight line between their neighbours, and the flat end.
fn only_corners(points: Vec<Corner>) -> Vec<Corner> {
    let mut kept: Vec<Corner> = Vec::new();
    for point in points {
        while let [.., a, b] = kept.as_slice() {
            let share = (b.share - a.share) / (point.share - a.share);
            let straight = a.per_m3 + share * (point.per_m3 - a.per_m3);
            if (b.per_m3 - straight).abs() <= SAME * a.per_m3.abs().max(SAME) {
                kept.pop();
            } else {
                break;
            }
        }
        match kept.last() {
            // More room saves nothing from here on.
            Some(last) if last.per_m3 - point.per_m3 <= SAME * last.per_m3.abs() => {}
            _ => kept.push(point),
        }
    }
    kept
}

/// Cost against how far every nutrient with an aim may lie from it; no points where the other bands
/// cannot be kept at any distance up to 100 %, or where nothing has an aim.
pub(super) fn deviation(problem: &Problem) -> Result<Vec<CurvePoint>, Stuck> {
    let mut problem = problem.clone();
    let mut aimed = Vec::new();
    for (at, row) in problem.rows.iter_mut().enumerate() {
        if let (Figure::Nutrient(_), Some(aim)) = (row.figure, row.aim) {
            (row.min, row.max) = (Some(aim), Some(aim));
            aimed.push((at, aim));
        }
    }
    if aimed.is_empty() {
        return Ok(Vec::new());
    }
    let program = Program::new(&problem);
    let sides = [Slack::ShortInside, Slack::OverInside];
    let moving = aimed.into_iter().flat_map(|(at, aim)| {
        let most = aim / problem.rows[at].scale();
        let model = &program.model;
        sides.map(|side| (model.slack(at, side), most))
    });
    let moving = moving.collect();
    let corners = Allowing { program, moving }.corners()?;
    let points = corners.into_iter().map(|corner| CurvePoint {
        off_pct_allowed: 100.0 * corner.share,
        cost_per_m3: corner.per_m3,
    });
    Ok(points.collect())
}

/// Cost against what sodium and chloride conduct, from the least possible to where more of them
/// saves nothing. Maxima of the two stand aside: the curve shows what they cost.
pub(super) fn salt(problem: &Problem) -> Result<Vec<Corner>, Stuck> {
    let mut problem = problem.clone();
    for row in &mut problem.rows {
        let nutrient = Aimed::Form;
        let salts = [nutrient(Nutrient::Na), nutrient(Nutrient::Cl)].map(Figure::Nutrient);
        if salts.contains(&row.figure) && row.aim.is_none() {
            row.max = None;
        }
    }
    let Some(free) = Program::new(&problem).solve(&|_| ())?.kept() else {
        return Ok(Vec::new());
    };
    let most = sodium_chloride_us_cm(&holds(&problem, &free.grams));
    if most <= 0.0 {
        return Ok(Vec::new());
    }
    let at = problem.rows.len();
    problem.rows.push(Row {
        figure: Figure::SodiumChloride,
        aim: None,
        min: None,
        max: Some(most),
        weight: 0.0,
        present: sodium_chloride_us_cm(&problem.present),
        default_max: false,
        judged: Judged::AsStated,
    });
    let program = Program::new(&problem);
    let moving = vec![(program.model.slack(at, Slack::OverInside), 1.0)];
    Allowing { program, moving }.corners()
}

/// What a mix of columns holds in this problem's water, mg/L.
pub(super) fn holds(problem: &Problem, grams: &[f64]) -> Composition {
    let mut holds = problem.present;
    for (column, grams) in problem.columns.iter().zip(grams) {
        holds += column.mg_per_g * *grams;
    }
    holds
}
