//! When something was at the tank: an instant, and what the clock on the wall showed.
//!
//! In: what is typed, and a [`Clock`].  Out: a [`Moment`], or a problem in words. A journal that
//! is carried to another time zone still shows the morning reading in the morning.

use jiff::civil::{DateTime, Time};
use jiff::fmt::temporal::Pieces;
use jiff::tz::{Offset, TimeZone};
use jiff::{Timestamp, ToSpan};
use saltwright_fertilizers::Problem;

/// What time it is, and where.
#[derive(Clone, Debug)]
pub struct Clock {
    /// Now.
    pub now: Timestamp,
    /// The zone in which times are typed.
    pub zone: TimeZone,
}

impl Clock {
    /// The clock of this machine.
    pub fn system() -> Self {
        Self {
            now: Timestamp::now(),
            zone: TimeZone::system(),
        }
    }

    /// Now.
    pub fn moment(&self) -> Moment {
        self.of_instant(self.now)
    }

    fn of_instant(&self, instant: Timestamp) -> Moment {
        Moment {
            second: instant.as_second(),
            offset_s: self.zone.to_offset(instant).seconds(),
        }
    }

    /// Reads `2026-03-02 08:00`, `08:00` (today), `yesterday 08:00`, or any of them with an offset
    /// such as `+01:00`.
    pub fn read(&self, typed: &str) -> Result<Moment, Problem> {
        let typed = typed.trim();
        let today = self.zone.to_datetime(self.now).date();
        let (day, time) = match typed.strip_prefix("yesterday") {
            Some(time) => (today.yesterday().ok(), time.trim()),
            None => (Some(today), typed),
        };
        // A time alone.
        if time.chars().all(|c| c.is_ascii_digit() || c == ':') {
            let time: Time = time.parse().map_err(|_| unreadable(typed))?;
            let day = day.ok_or_else(|| unreadable(typed))?;
            return self.of_civil(day.to_datetime(time));
        }
        let pieces = Pieces::parse(typed).map_err(|_| unreadable(typed))?;
        let time = pieces.time().ok_or_else(|| unreadable(typed))?;
        let civil = pieces.date().to_datetime(time);
        match pieces.to_numeric_offset() {
            Some(offset) => of_offset(civil, offset),
            None => self.of_civil(civil),
        }
    }

    /// What the wall clock here shows. Where clocks are put forward the time after the gap counts,
    /// where they are put back the earlier of the two.
    fn of_civil(&self, civil: DateTime) -> Result<Moment, Problem> {
        let instant = self.zone.to_timestamp(civil);
        within(instant.map_or(i64::MAX, Timestamp::as_second)).map(|second| Moment {
            second,
            offset_s: Timestamp::from_second(second)
                .map_or(0, |instant| self.zone.to_offset(instant).seconds()),
        })
    }

    /// What the wall clock here showed at a Unix time in milliseconds.
    pub fn minute_of_ms(&self, millisecond: i64) -> String {
        Timestamp::from_millisecond(millisecond).map_or_else(
            |_| String::new(),
            |instant| self.of_instant(instant).minute(),
        )
    }

    /// True for what lies more than a day ahead: a slip of the pen, or of the clock.
    pub fn is_ahead(&self, moment: Moment) -> bool {
        let tomorrow = self.now.checked_add(24.hours());
        tomorrow.is_ok_and(|tomorrow| moment.second > tomorrow.as_second())
    }
}

/// The wall clock at a tank. Ordered by the instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment {
    /// Unix time.
    pub second: i64,
    /// Seconds by which the clock on the wall was ahead of UTC.
    pub offset_s: i32,
}

impl Moment {
    fn civil(self) -> Option<DateTime> {
        let offset = Offset::from_seconds(self.offset_s).ok()?;
        let instant = Timestamp::from_second(self.second).ok()?;
        Some(offset.to_datetime(instant))
    }

    /// `2026-03-02T08:00:00+01:00`, as RFC 3339 writes it.
    pub fn iso(self) -> String {
        let time = self
            .civil()
            .map(|civil| civil.strftime("%Y-%m-%dT%H:%M:%S").to_string());
        time.unwrap_or_default() + &self.offset()
    }

    /// `+01:00`.
    pub fn offset(self) -> String {
        let sign = if self.offset_s < 0 { '-' } else { '+' };
        let minutes = self.offset_s.abs() / 60;
        format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }

    /// `2026-03-02 08:00`, with seconds where there are any.
    pub fn wall(self) -> String {
        let Some(civil) = self.civil() else {
            return String::new();
        };
        let form = if civil.second() == 0 {
            "%Y-%m-%d %H:%M"
        } else {
            "%Y-%m-%d %H:%M:%S"
        };
        civil.strftime(form).to_string()
    }

    /// `2026-03-02 08:00`: what a list has room for.
    pub fn minute(self) -> String {
        self.wall().chars().take("2026-03-02 08:00".len()).collect()
    }

    /// `2 Mar`.
    pub fn day(self) -> String {
        self.civil()
            .map_or_else(String::new, |civil| civil.strftime("%-d %b").to_string())
    }
}

/// A wall clock with its offset. Offsets of whole minutes only: nothing else has been a legal time
/// since the first meters were sold, and RFC 3339 cannot write it.
fn of_offset(civil: DateTime, offset: Offset) -> Result<Moment, Problem> {
    let instant = offset.to_timestamp(civil);
    let second = within(instant.map_or(i64::MAX, Timestamp::as_second))?;
    Ok(Moment {
        second,
        offset_s: offset.seconds(),
    })
}

/// Before 1990 there was no tank of this journal, after 2200 there is none; a year typed wrongly is
/// the likelier reading.
fn within(second: i64) -> Result<i64, Problem> {
    const FIRST: i64 = 631_152_000; // 1990-01-01
    const LAST: i64 = 7_258_118_400; // 2200-01-01
    if (FIRST..LAST).contains(&second) {
        return Ok(second);
    }
    Err(Problem::Unreadable {
        reason: "this lies outside the years 1990 to 2199".into(),
        mend: "Check the year.",
    })
}

fn unreadable(typed: &str) -> Problem {
    let shown: String = typed.chars().take(40).collect();
    Problem::Unreadable {
        reason: format!("\"{shown}\" is not a date and a time"),
        mend: "Write it like \"2026-03-02 08:00\", or 08:00 for today.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clock() -> Clock {
        Clock {
            now: "2026-07-01T10:00:00Z".parse().expect("an instant"),
            zone: TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").expect("a zone"),
        }
    }

    #[test]
    fn times_as_people_write_them() {
        for (typed, iso) in [
            ("2026-03-02 08:00", "2026-03-02T08:00:00+01:00"),
            ("2026-03-02T08:00:30", "2026-03-02T08:00:30+01:00"),
            ("2026-07-02 08:00", "2026-07-02T08:00:00+02:00"),
            ("2026-03-02T08:00-05:00", "2026-03-02T08:00:00-05:00"),
            ("2026-03-02T08:00:00+05:30", "2026-03-02T08:00:00+05:30"),
            ("08:15", "2026-07-01T08:15:00+02:00"),
            ("yesterday 18:00", "2026-06-30T18:00:00+02:00"),
            // The clock is put forward at 2 and back at 3.
            ("2026-03-29 02:30", "2026-03-29T03:30:00+02:00"),
            ("2026-10-25 02:30", "2026-10-25T02:30:00+02:00"),
        ] {
            let read = clock()
                .read(typed)
                .unwrap_or_else(|problem| panic!("{typed}: {problem}"));
            assert_eq!(read.iso(), iso, "{typed}");
            assert_eq!(clock().read(&read.iso()).ok(), Some(read), "{typed}");
        }
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for typed in [
            "",
            "noon",
            "2026-03-02",
            "20260302",
            "8",
            "02/03/2026 08:00",
            "25:00",
            "2026-02-30 08:00",
            "0026-03-02 08:00",
            "9999-03-02 08:00",
        ] {
            assert!(clock().read(typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_slip_into_next_year_is_noticed() {
        let clock = clock();
        let ahead = |typed| clock.is_ahead(clock.read(typed).expect("a time"));
        assert!(ahead("2027-03-02 08:00") && !ahead("2026-07-02 08:00"));
    }
}
