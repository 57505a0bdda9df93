//! Checks away from 25 °C: what a check solution conducts there, and whether the meter shows that
//! instead of carrying it to 25 °C.
//!
//! A meter without compensation, or with it switched off, looks as if its slope were off by 2 % for
//! each degree; calibrated by that, it is off ever after.

use super::report::PointRow;
use super::request::{CheckSalt, Point, Truth};
use super::{CLOSE, MOST_SALT, solution};
use crate::chemistry::{Conditions, EC_CELSIUS, NotConverged};
use crate::root::root;

/// How far the EC there must lie from that at 25 °C, relative, before the two are told apart: the
/// error of a slope that calibrates away on its own would hide it below that. Judgement.
const TOLD_APART: f64 = 0.05;

/// What a check solution conducts at a temperature, mS/cm; one that is known by its EC counts as
/// potassium chloride. None where the conductivity model ends.
pub(super) fn raw_ms_cm(point: &Point, celsius: f64) -> Result<Option<f64>, NotConverged> {
    if !EC_CELSIUS.contains(&celsius) {
        return Ok(None);
    }
    let (salt, grams) = match point.truth {
        Truth::Salt(salt, grams) => (salt, Some(grams)),
        Truth::Ec(ec) => {
            let off = |grams: f64| Ok(solution(CheckSalt::Kcl, grams).ec_ms_cm()? - ec);
            (CheckSalt::Kcl, root(off, (0.0, MOST_SALT), CLOSE)?)
        }
    };
    let at = Conditions::at(celsius);
    let raw = |grams: f64| solution(salt, grams).raw_ms_cm(&at);
    grams.map(raw).transpose()
}

/// False where every check is shown as it conducts, nearer than as it would at 25 °C; none where
/// the two cannot be told apart.
pub(super) fn compensates(points: &[PointRow]) -> Option<bool> {
    let mut votes = points.iter().filter_map(|point| {
        let raw = point.raw_ms_cm?;
        let apart = (raw / point.true_ms_cm - 1.0).abs();
        let off = |truth: f64| (point.shows_ms_cm / truth - 1.0).abs();
        (apart > TOLD_APART).then(|| off(point.true_ms_cm) <= off(raw))
    });
    let first = votes.next()?;
    votes.all(|vote| vote == first).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(shows_ms_cm: f64) -> PointRow {
        PointRow {
            true_ms_cm: 1.413,
            shows_ms_cm,
            off_pct: None,
            raw_ms_cm: Some(1.15),
        }
    }

    #[test]
    fn a_meter_without_compensation_is_told_from_one_that_is_off() {
        assert_eq!(compensates(&[row(1.14)]), Some(false));
        assert_eq!(compensates(&[row(1.38)]), Some(true));
        assert_eq!(compensates(&[row(1.14), row(1.41)]), None);
        let near = PointRow {
            raw_ms_cm: Some(1.40),
            ..row(1.39)
        };
        assert_eq!(compensates(&[near]), None);
    }
}
