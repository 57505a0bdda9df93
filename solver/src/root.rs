//! Where a rising or falling figure meets the one asked for.

/// Tries after which the interval is only halved.
const SMOOTH: usize = 20;
/// Tries in all: halving alone would be down to 1e-12 of the interval by then.
const MOST: usize = 60;

/// The place between `low` and `high` where `off` is zero, by false position in the Illinois
/// variant, then halving; none where both ends have the same sign.
///
/// `close` is the size of `off` that counts as zero.
///
/// # Errors
/// What `off` fails with.
pub(crate) fn root<E>(
    mut off: impl FnMut(f64) -> Result<f64, E>,
    (low, high): (f64, f64),
    close: f64,
) -> Result<Option<f64>, E> {
    let mut low = (low, off(low)?);
    let mut high = (high, off(high)?);
    for (at, off) in [low, high] {
        if off.abs() <= close {
            return Ok(Some(at));
        }
    }
    if low.1.signum() == high.1.signum() {
        return Ok(None);
    }
    let mut last_side = 0;
    for step in 0..MOST {
        let share = if step < SMOOTH {
            (low.1 / (low.1 - high.1)).clamp(0.001, 0.999)
        } else {
            0.5
        };
        let at = low.0 + share * (high.0 - low.0);
        let found = off(at)?;
        if found.abs() <= close {
            return Ok(Some(at));
        }
        let side = if found.signum() == low.1.signum() {
            low = (at, found);
            -1
        } else {
            high = (at, found);
            1
        };
        if side == last_side {
            if side < 0 {
                high.1 *= 0.5;
            } else {
                low.1 *= 0.5;
            }
        }
        last_side = side;
    }
    Ok(Some(0.5 * (low.0 + high.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_or_there_is_none() {
        let cube = |x: f64| Ok::<f64, ()>(x * x * x - 2.0);
        let found = root(cube, (0.0, 10.0), 1e-12).expect("no fault");
        assert!((found.expect("inside") - 2.0_f64.cbrt()).abs() < 1e-9);
        assert_eq!(root(cube, (2.0, 3.0), 1e-12), Ok(None));
        // Bent either way it is met before halving begins, which would take some forty tries.
        for bent in [|x: f64| x * x * x - 2.0, |x: f64| 2.0 - (10.0 - x).powi(3)] {
            let mut tries = 0;
            let counted = |x: f64| {
                tries += 1;
                Ok::<f64, ()>(bent(x))
            };
            assert!(matches!(root(counted, (0.0, 10.0), 1e-9), Ok(Some(_))));
            assert!(tries < SMOOTH, "{tries}");
        }
        let falling = |x: f64| Ok::<f64, ()>(1.0 - x);
        assert_eq!(root(falling, (0.0, 1.0), 1e-9), Ok(Some(1.0)));
        // A leap is closed in on from both sides.
        let leap = |x: f64| Ok::<f64, ()>(if x < 0.3 { -1.0 } else { 1.0 });
        let found = root(leap, (0.0, 1.0), 1e-9).expect("no fault");
        assert!((found.expect("inside") - 0.3).abs() < 1e-9);
    }
}
