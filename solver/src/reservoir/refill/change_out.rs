//! When to change the solution, and what that lets go.

use super::report::DrainOption;

/// Shares of the tank that are compared.
const SHARES: [f64; 3] = [1.0, 0.5, 0.25];

/// Days until what rises by so much a day comes from `now` to `limit`; none where it never does.
///
/// days = (limit - now)/(rise a day), rise = (supplied - taken) x litres drunk a day/litres
pub(super) fn days_to(now: f64, limit: f64, per_day: f64) -> Option<f64> {
    if now >= limit {
        return Some(0.0);
    }
    (per_day > 0.0).then(|| (limit - now) / per_day)
}

/// Whole and partial change-outs that keep what rises below its limit.
///
/// Letting out a share f at the limit and filling up with a fresh feed takes it down by
/// f (limit - fresh), so it lasts f (limit - fresh)/rise days and lets go f V litres: the litres a
/// day, V rise/(limit - fresh), do not depend on f; what the roots stand in does.
pub(super) fn options(fresh: f64, limit: f64, per_day: f64, litres: f64) -> Vec<DrainOption> {
    if per_day <= 0.0 || fresh >= limit {
        return Vec::new();
    }
    let option = |share: f64| {
        let falls = share * (limit - fresh);
        let every_days = falls / per_day;
        DrainOption {
            share_pct: 100.0 * share,
            every_days,
            litres_per_day: share * litres / every_days,
            mean_mg_l: limit - falls / 2.0,
        }
    };
    SHARES.map(option).to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the steady-state arithmetic of closed systems (Sonneveld), recomputed: 500 L, 40 L
    /// drunk a day, sodium 1.5 mmol/L in the supply, 1.0 taken, limit 8, start 1.5: 162.5 days.
    #[test]
    fn sodium_in_a_closed_loop() {
        let per_day = (1.5 - 1.0) * 40.0 / 500.0;
        let days = days_to(1.5, 8.0, per_day).expect("it rises");
        assert!((days - 162.5).abs() < 1e-9);
        // No discharge where the supply brings no more than is taken.
        assert_eq!(days_to(1.5, 8.0, 0.0), None);
        assert_eq!(days_to(9.0, 8.0, 0.0), Some(0.0));
    }

    /// A drain followed day by day lets go the litres a day that are told, whatever its share.
    #[test]
    fn partial_drains_let_go_the_same_litres() {
        let (fresh, limit, per_day, litres) = (20.0, 184.0, 0.8, 500.0);
        for option in options(fresh, limit, per_day, litres) {
            let share = option.share_pct / 100.0;
            let (mut holds, mut let_go, mut days, mut sum) = (limit, 0.0, 0.0, 0.0);
            while days < 20_000.0 {
                if holds >= limit {
                    holds -= share * (holds - fresh);
                    let_go += share * litres;
                }
                holds += per_day * 0.1;
                sum += holds * 0.1;
                days += 0.1;
            }
            assert!(
                (let_go / days / option.litres_per_day - 1.0).abs() < 0.02,
                "{option:?}"
            );
            assert!(
                (sum / days / option.mean_mg_l - 1.0).abs() < 0.02,
                "{option:?}"
            );
        }
        assert!(options(20.0, 184.0, -0.1, 500.0).is_empty());
    }
}
