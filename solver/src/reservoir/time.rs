//! Moments of a journal as days, so that intervals can be told; no clock and no zone is needed.

use saltwright_fertilizers::document::{Limits, Node};
use saltwright_fertilizers::{Faults, Problem, Value};

/// Days before and after the first of March of the year 0, far beyond any journal.
pub const DAYS: Limits = Limits::new(0.0, 4e6, " days");

/// A moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Days, from any beginning that the whole list shares.
    pub day: f64,
    /// True where it came as a date.
    pub is_date: bool,
}

impl Moment {
    /// Reads `2026-03-02T08:00`, `2026-03-02 08:00`, `2026-03-02`, or a number of days.
    pub fn read(node: &Node, path: &str, faults: &mut Faults) -> Option<Self> {
        let found = match &node.value {
            Value::Number(day) => DAYS.check(*day).map(|day| Self {
                day,
                is_date: false,
            }),
            Value::Text(text) => parse(text).ok_or_else(|| Problem::Unreadable {
                reason: format!(
                    "\"{}\" is no moment",
                    text.chars().take(40).collect::<String>()
                ),
                mend: "Write it like 2026-03-02T08:00, or as a number of days.",
            }),
            _ => Err(Problem::WrongShape {
                found: node.shape(),
                wanted: "a date and time, or a number of days",
            }),
        };
        found
            .map_err(|problem| faults.add(node.line, path, problem))
            .ok()
    }

    /// The moment so many days later, as it would be written.
    pub fn later(&self, days: f64) -> String {
        let day = self.day + days;
        if !self.is_date {
            return format!("day {day:.0}");
        }
        let (year, month, day) = date(day.floor());
        format!("{year:04}-{month:02}-{day:02}")
    }
}

/// A date with or without a time of day; a zone behind it is passed over.
fn parse(text: &str) -> Option<Moment> {
    let text = text.trim();
    let (date, time) = text.split_at_checked(10).unwrap_or((text, ""));
    let mut parts = date.split('-');
    let mut part = |low: u32, high: u32| {
        let number: u32 = parts.next()?.parse().ok()?;
        (low..=high).contains(&number).then_some(number)
    };
    let (year, month, day) = (part(1, 9999)?, part(1, 12)?, part(1, 31)?);
    let time = time.trim_start_matches(['T', 't', ' ']);
    let minutes = if time.is_empty() {
        0.0
    } else {
        let mut clock = time.split(':');
        let hour: f64 = clock.next()?.parse().ok()?;
        let minutes = clock.next()?;
        let minute: f64 = minutes.get(..2)?.parse().ok()?;
        // Behind minutes with a zone stand the minutes of the zone.
        let seconds = clock.next().filter(|_| minutes.len() == 2);
        let second: f64 = seconds.map_or(Some(0.0), |text| text.get(..2)?.parse().ok())?;
        let is_whole = (0.0..24.0).contains(&hour)
            && (0.0..60.0).contains(&minute)
            && (0.0..61.0).contains(&second);
        is_whole.then_some(60.0 * hour + minute + second / 60.0)?
    };
    Some(Moment {
        day: days(year, month, day) + minutes / 1440.0,
        is_date: true,
    })
}

/// Days since the first of March of the year 0, in the Gregorian calendar: months counted from
/// March have 30.6 days on the average, rounded so that each begins where it should.
fn days(year: u32, month: u32, day: u32) -> f64 {
    let (year, month) = if month < 3 {
        (year - 1, month + 9)
    } else {
        (year, month - 3)
    };
    let whole = 365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + day - 1;
    f64::from(whole)
}

/// The date of a day of [`days`].
fn date(day: f64) -> (u32, u32, u32) {
    // A year is 365.2425 days; the guess is at most a year off.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within `DAYS`
    let mut year = (day.max(0.0) / 365.2425) as u32 + 2;
    while year > 1 && days(year, 3, 1) > day {
        year -= 1;
    }
    let months = [3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 1, 2];
    let of = |month: u32| if month < 3 { year + 1 } else { year };
    let begun = months
        .into_iter()
        .rev()
        .find(|month| days(of(*month), *month, 1) <= day);
    let month = begun.unwrap_or(3);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // below 31
    let rest = (day - days(of(month), month, 1)).max(0.0) as u32;
    (of(month), month, rest + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The Gregorian calendar: 2000 was a leap year, 1900 was none.
    #[test]
    fn dates_are_days_apart() {
        let day = |text: &str| parse(text).unwrap_or_else(|| panic!("{text}")).day;
        assert!((day("2026-03-02T20:00") - day("2026-03-02 08:00") - 0.5).abs() < 1e-9);
        assert!((day("2024-03-01") - day("2024-02-28") - 2.0).abs() < 1e-9);
        assert!((day("1900-03-01") - day("1900-02-28") - 1.0).abs() < 1e-9);
        assert!((day("2027-01-01") - day("2026-01-01") - 365.0).abs() < 1e-9);
        for (text, seconds) in [
            ("2026-03-02T08:00:30+01:00", 30.0),
            ("2026-03-02T08:00+01:30", 0.0),
            ("2026-03-02 08:00Z", 0.0),
            ("2026-03-02 08:01:00", 60.0),
        ] {
            let later = 86_400.0 * (day(text) - day("2026-03-02T08:00"));
            assert!((later - seconds).abs() < 1e-3, "{text}: {later}");
        }
        for text in [
            "",
            "2026-13-01",
            "2026-03",
            "yesterday",
            "2026-03-02T25:00",
            "2026-03-02T8",
            "2026-03-02T08:00:99",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_later_day_is_written_as_it_came() {
        let first = parse("2026-12-28T08:00").expect("a date");
        assert_eq!(first.later(6.0), "2027-01-03");
        assert_eq!(
            parse("2024-02-28").expect("a date").later(1.0),
            "2024-02-29"
        );
        for (text, days) in [
            ("2026-01-31", 1.0),
            ("2026-03-01", 0.0),
            ("2000-02-29", 365.0),
        ] {
            let later = parse(text).expect("a date").later(days);
            let back = parse(&later).expect("read back").day - parse(text).expect("a date").day;
            assert!((back - days).abs() < 1e-9, "{text} {later}");
        }
        let number = Moment {
            day: 3.0,
            is_date: false,
        };
        assert_eq!(number.later(4.0), "day 7");
    }
}
