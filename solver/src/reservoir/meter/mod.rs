//! The `meter` job: which scale a pen has, how far a meter is off, what that does, and what to weigh
//! for a check solution.
//!
//! shows = offset + slope x true, by least squares over the checks; one check gives the slope alone.

pub mod report;
pub mod request;

mod cold;

pub use report::MeterReport;
pub use request::MeterRequest;

use super::liquid::Liquid;
use crate::chemistry::meter::Tds;
use crate::chemistry::{Component, NotConverged, Totals};
use crate::readings::Source;
use crate::refusal::Refusal;
use crate::root::root;
use crate::words::reservoir::meter as words;
use report::{
    AtAim, CheckSolution, DoserReport, Health, OnScale, PhMeter, PointRow, ReadingRow, ScaleRow,
};
use request::{CheckSalt, Doser, Point, Shows, Truth};
use saltwright_fertilizers::{Composition, Problem};

/// How far a pair may lie from a scale: half the way between 640 and 700.
const FITS_PCT: f64 = 4.5;
/// Error of the slope, and of the offset in mS/cm, that a good meter has; and that can still be
/// calibrated away. Common practice, no source.
const GOOD: (f64, f64) = (0.02, 0.03);
/// The same.
const CALIBRATED_AWAY: (f64, f64) = (0.15, 0.2);
/// A pH meter's offset at 7 and slope in percent that are good, and still usable. Common practice,
/// no source.
const GOOD_PH: (f64, f64) = (0.1, 5.0);
/// The same.
const USABLE_PH: (f64, f64) = (0.5, 15.0);
/// How closely a check solution is met, mS/cm.
const CLOSE: f64 = 1e-7;
/// Grams of salt in a litre, searched up to.
const MOST_SALT: f64 = 20.0;

/// What the checks say: shows = offset + slope x true.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Line {
    offset: f64,
    slope: f64,
}

impl Line {
    /// The true EC of what is shown.
    fn truth(self, shows: f64) -> f64 {
        (shows - self.offset) / self.slope
    }
}

/// Judges a meter.
///
/// # Errors
/// A refusal where the checks contradict each other or the chemistry has no answer.
pub fn meter(request: &MeterRequest) -> Result<MeterReport, Refusal> {
    let unsolved = |NotConverged| Refusal::unsolved("points");
    let truths: Result<Vec<f64>, NotConverged> = request.points.iter().map(truth).collect();
    let truths = truths.map_err(unsolved)?;
    let (scale, scales) = scale(request, &truths);
    let mut points = points(request, &truths, scale)?;
    if let Some(celsius) = request.temperature_c {
        for (row, point) in points.iter_mut().zip(&request.points) {
            row.raw_ms_cm = cold::raw_ms_cm(point, celsius).map_err(unsolved)?;
        }
    }
    let compensates = cold::compensates(&points);
    let line = match compensates {
        Some(false) => line(&as_they_conduct(&points))?,
        _ => line(&points)?,
    };
    let solutions = solutions(&request.make_ms_cm).map_err(unsolved)?;
    let doser = match &request.doser {
        Some(doser) => Some(dose(doser, line).map_err(unsolved)?),
        None => None,
    };
    let mut report = MeterReport {
        scale,
        scales,
        offset_ms_cm: line.map(|line| line.offset),
        slope: line.map(|line| line.slope),
        verdict: line.map(|line| health(line.slope - 1.0, line.offset, GOOD, CALIBRATED_AWAY)),
        compensates,
        at_aim: line.map(|line| at_aim(line, request.aim_ms_cm)),
        reading: request.reading.map(|shows| reading(shows, scale, line)),
        ph: ph(&request.ph_points)?,
        points,
        solutions,
        doser,
        words: String::new(),
        cautions: Vec::new(),
    };
    report.words = words::told(request, &report);
    report.cautions = words::cautions(request, &report);
    Ok(report)
}

/// A salt of a check solution in pure water.
fn solution(salt: CheckSalt, g_per_l: f64) -> Liquid {
    // CIAAW 2021 weights: K 39.0983, Na 22.98977, Cl 35.453.
    let (cation, grams_per_mol) = match salt {
        CheckSalt::Kcl => (Component::Potassium, 74.551),
        CheckSalt::Nacl => (Component::Sodium, 58.443),
    };
    let mmol = 1000.0 * g_per_l / grams_per_mol;
    Liquid {
        totals: Totals::neutral([(cation, mmol), (Component::Chloride, mmol)]),
        holds: Composition::ZERO,
    }
}

fn truth(point: &Point) -> Result<f64, NotConverged> {
    match point.truth {
        Truth::Ec(ec) => Ok(ec),
        Truth::Salt(salt, grams) => solution(salt, grams).ec_ms_cm(),
    }
}

/// The scale of a pen: nearest to all pairs, checks in ppm among them.
fn scale(request: &MeterRequest, truths: &[f64]) -> (Option<u32>, Vec<ScaleRow>) {
    let checks = request.points.iter().zip(truths);
    let checks = checks.filter_map(|(point, truth)| match point.shows {
        Shows::Ppm(ppm) if *truth > 0.0 => Some(ppm / truth),
        _ => None,
    });
    let pairs = request.pairs.iter().map(|(ppm, ec)| ppm / ec);
    let factors: Vec<f64> = pairs.chain(checks).filter(|factor| *factor > 0.0).collect();
    let Some(count) = u32::try_from(factors.len()).ok().filter(|count| *count > 0) else {
        return (None, Vec::new());
    };
    let off = |scale: u32, factor: f64| 100.0 * (factor / f64::from(scale) - 1.0);
    let fits = |scale: u32| factors.iter().all(|f| off(scale, *f).abs() <= FITS_PCT);
    let found = Tds::SCALES.into_iter().find(|scale| fits(*scale));
    let rows = Tds::SCALES.map(|scale| ScaleRow {
        scale,
        off_pct: factors.iter().map(|f| off(scale, *f)).sum::<f64>() / f64::from(count),
        fits: found == Some(scale),
    });
    (found, rows.to_vec())
}

fn points(
    request: &MeterRequest,
    truths: &[f64],
    scale: Option<u32>,
) -> Result<Vec<PointRow>, Refusal> {
    let rows = request.points.iter().zip(truths).zip(0..);
    rows.map(|((point, truth), position): (_, usize)| {
        let shows_ms_cm = match (point.shows, scale) {
            (Shows::Ec(ec), _) => ec,
            (Shows::Ppm(ppm), Some(scale)) => ppm / f64::from(scale),
            (Shows::Ppm(_), None) => {
                let problem = words::no_scale_fits();
                return Err(Refusal::of(&format!("points[{position}].shows"), problem));
            }
        };
        Ok(PointRow {
            true_ms_cm: *truth,
            shows_ms_cm,
            off_pct: (*truth > 0.0).then(|| 100.0 * (shows_ms_cm / truth - 1.0)),
            raw_ms_cm: None,
        })
    })
    .collect()
}

/// The points against what their solutions conduct at their temperature.
fn as_they_conduct(points: &[PointRow]) -> Vec<PointRow> {
    let against = |point: &PointRow| PointRow {
        true_ms_cm: point.raw_ms_cm.unwrap_or(point.true_ms_cm),
        ..*point
    };
    points.iter().map(against).collect()
}

/// The line through the checks: one gives the slope (at zero the offset), more the least squares.
fn line(points: &[PointRow]) -> Result<Option<Line>, Refusal> {
    let Some(first) = points.first() else {
        return Ok(None);
    };
    let same = points
        .iter()
        .all(|point| (point.true_ms_cm - first.true_ms_cm).abs() < 1e-9);
    let count = points.iter().map(|_| 1.0).sum::<f64>();
    let mean = |of: fn(&PointRow) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|p| p.true_ms_cm), mean(|p| p.shows_ms_cm));
    let line = if same {
        if x > 0.0 {
            Line {
                offset: 0.0,
                slope: y / x,
            }
        } else {
            Line {
                offset: y,
                slope: 1.0,
            }
        }
    } else {
        let about = |f: fn(&PointRow) -> f64, centre: f64, point: &PointRow| f(point) - centre;
        let products = points.iter().map(|p| {
            let dx = about(|p| p.true_ms_cm, x, p);
            (dx * about(|p| p.shows_ms_cm, y, p), dx * dx)
        });
        let (xy, xx) = products.fold((0.0, 0.0), |sum, term| (sum.0 + term.0, sum.1 + term.1));
        let slope = xy / xx;
        Line {
            offset: y - slope * x,
            slope,
        }
    };
    if line.slope > 0.0 {
        return Ok(Some(line));
    }
    let what = "the meter does not show more where there is more".to_owned();
    let mend = "Check which check solution is which, and the meter.".to_owned();
    Err(Refusal::of("points", Problem::Contradiction { what, mend }))
}

fn health(slope_off: f64, offset: f64, good: (f64, f64), usable: (f64, f64)) -> Health {
    let within = |(slope, zero): (f64, f64)| slope_off.abs() <= slope && offset.abs() <= zero;
    if within(good) {
        Health::Good
    } else if within(usable) {
        Health::Calibrate
    } else {
        Health::Doubtful
    }
}

fn at_aim(line: Line, aim: f64) -> AtAim {
    let true_ms_cm = line.truth(aim);
    AtAim {
        shows_ms_cm: aim,
        true_ms_cm,
        off_pct: 100.0 * (true_ms_cm / aim - 1.0),
        show_instead_ms_cm: line.offset + line.slope * aim,
    }
}

fn reading(shows: Shows, scale: Option<u32>, line: Option<Line>) -> ReadingRow {
    let (ec_ms_cm, on_scales) = match shows {
        Shows::Ec(ec) => (Some(ec), Vec::new()),
        Shows::Ppm(ppm) => {
            let on = |scale: u32| ppm / f64::from(scale);
            let rows = Tds::SCALES.map(|scale| OnScale {
                scale,
                ec_ms_cm: on(scale),
            });
            (scale.map(on), rows.to_vec())
        }
    };
    ReadingRow {
        ec_ms_cm,
        on_scales,
        tds: ec_ms_cm.map_or_else(Vec::new, |ec| Tds::of(ec).to_vec()),
        true_ms_cm: ec_ms_cm.zip(line).map(|(ec, line)| line.truth(ec)),
    }
}

/// Offset at 7 and slope of a pH meter.
fn ph(checks: &[(f64, f64)]) -> Result<Option<PhMeter>, Refusal> {
    let rows: Vec<PointRow> = checks
        .iter()
        .map(|(truth, shows)| PointRow {
            true_ms_cm: *truth,
            shows_ms_cm: *shows,
            off_pct: None,
            raw_ms_cm: None,
        })
        .collect();
    // One buffer tells the offset, not the slope.
    let line = match rows.as_slice() {
        [one] => Some(Line {
            offset: one.shows_ms_cm - one.true_ms_cm,
            slope: 1.0,
        }),
        many => line(many)?,
    };
    Ok(line.map(|line| {
        let offset_at_7 = line.offset + 7.0 * line.slope - 7.0;
        let off_pct = 100.0 * (line.slope - 1.0);
        let swap = |(offset, slope): (f64, f64)| (slope, offset);
        PhMeter {
            offset_at_7,
            slope_pct: 100.0 * line.slope,
            verdict: health(off_pct, offset_at_7, swap(GOOD_PH), swap(USABLE_PH)),
        }
    }))
}

/// What to weigh for check solutions.
fn solutions(wanted: &[f64]) -> Result<Vec<CheckSolution>, NotConverged> {
    let mut rows = Vec::new();
    for ec_ms_cm in wanted {
        for salt in [CheckSalt::Kcl, CheckSalt::Nacl] {
            let off = |grams: f64| Ok(solution(salt, grams).ec_ms_cm()? - ec_ms_cm);
            if let Some(g_per_l) = root(off, (0.0, MOST_SALT), CLOSE)? {
                rows.push(CheckSolution {
                    salt: salt.formula(),
                    ec_ms_cm: *ec_ms_cm,
                    g_per_l,
                });
            }
        }
    }
    Ok(rows)
}

/// What a proportioner delivers: the ratio at which water and stocks read what was found.
fn dose(doser: &Doser, line: Option<Line>) -> Result<DoserReport, NotConverged> {
    let source = Source::new(&doser.water)?;
    let water = Liquid::of_water(&source);
    let mut stocks = Liquid::default();
    for tank in &doser.stocks.tanks {
        stocks += Liquid::of_mix(&tank.mix);
    }
    let ec = |share: f64| {
        let mut feed = water;
        feed += stocks * share;
        feed.ec_ms_cm()
    };
    let found_ms_cm = line.map_or(doser.shows_ms_cm, |line| line.truth(doser.shows_ms_cm));
    let share = root(|share| Ok(ec(share)? - found_ms_cm), (0.0, 1.0), CLOSE)?;
    let set = 1.0 / doser.ratio;
    Ok(DoserReport {
        ratio: doser.ratio,
        expected_ms_cm: ec(set)?,
        found_ms_cm,
        delivers_ratio: share.filter(|share| *share > 0.0).map(|share| 1.0 / share),
        off_pct: share.map(|share| 100.0 * (share / set - 1.0)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: OIML R 56 (1981), primary standards of potassium chloride; the check solution sold
    /// as 1413 µS/cm is 0.01 mol/L, 0.7455 g/L (0.01 x 74.551).
    #[test]
    fn a_check_solution_of_potassium_chloride() {
        let rows = solutions(&[1.413]).expect("solved");
        let kcl = &rows[0];
        println!("KCl for 1.413 mS/cm: {:.4} g/L for 0.7455", kcl.g_per_l);
        assert!((kcl.g_per_l / 0.7455 - 1.0).abs() < 0.003, "{kcl:?}");
    }

    #[test]
    fn a_line_through_checks() {
        let row = |true_ms_cm, shows_ms_cm| PointRow {
            true_ms_cm,
            shows_ms_cm,
            off_pct: None,
            raw_ms_cm: None,
        };
        let two = line(&[row(0.0, 0.05), row(1.413, 1.463)]);
        let two = two.expect("a line").expect("points");
        assert!((two.offset - 0.05).abs() < 1e-12 && (two.slope - 1.0).abs() < 1e-12);
        let one = line(&[row(1.413, 1.3423)])
            .expect("a line")
            .expect("points");
        assert!((one.slope - 0.949_96).abs() < 1e-4 && one.offset == 0.0);
        assert!(line(&[row(1.0, 2.0), row(2.0, 1.0)]).is_err());
        assert_eq!(line(&[]), Ok(None));
    }
}
