//! How far a run has come: a line on a terminal, a summary at the end.

use super::lines::Answers;
use crate::view::round;
use std::cell::Cell;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

/// How often the line on a terminal is written anew.
const EVERY: Duration = Duration::from_millis(500);

/// Counts of a run.
pub struct Progress {
    started: Instant,
    shown: Cell<Instant>,
    on_terminal: bool,
    stats: bool,
    /// Bytes of the input, where known.
    size: Option<u64>,
    /// Where in it this run began, and how far it has come.
    began: Cell<Option<u64>>,
    read: Cell<u64>,
    answered: Cell<u64>,
    refused: Cell<u64>,
    skipped: Cell<u64>,
}

impl Progress {
    /// Nothing done yet. Beside reports on the same terminal a line of progress would only be in the
    /// way.
    pub fn new(size: Option<u64>, stats: bool, beside_reports: bool) -> Self {
        let now = Instant::now();
        Self {
            started: now,
            shown: Cell::new(now),
            on_terminal: std::io::stderr().is_terminal() && !beside_reports,
            stats,
            size,
            began: Cell::new(None),
            read: Cell::new(0),
            answered: Cell::new(0),
            refused: Cell::new(0),
            skipped: Cell::new(0),
        }
    }

    /// Lines that an earlier run answered.
    pub fn skip(&self, lines: u64) {
        self.skipped.set(lines);
    }

    /// Counts a block that is written.
    pub fn add(&self, block: &Answers) {
        if self.began.get().is_none() {
            self.began.set(Some(block.place.0));
        }
        self.read.set(block.place.1);
        self.answered.set(self.answered.get() + block.answered);
        self.refused.set(self.refused.get() + block.refused);
        if self.on_terminal && self.shown.get().elapsed() >= EVERY {
            self.shown.set(Instant::now());
            let mut stderr = std::io::stderr().lock();
            let line = self.line();
            // A terminal that went away takes no line, and that is no reason to stop.
            let _ = write!(stderr, "\r\x1b[K{line}").and_then(|()| stderr.flush());
        }
    }

    /// The summary.
    pub fn finish(&self) {
        let mut stderr = std::io::stderr().lock();
        if self.on_terminal {
            let _ = write!(stderr, "\r\x1b[K");
        }
        if self.on_terminal || self.stats {
            let skipped = self.skipped.get();
            let before = if skipped > 0 {
                format!(", {skipped} answered before")
            } else {
                String::new()
            };
            let _ = writeln!(
                stderr,
                "{} answered, {} refused{before}; {} s, {} a second.",
                self.answered.get(),
                self.refused.get(),
                round::three(self.started.elapsed().as_secs_f64()),
                round::plain(self.rate()),
            );
        }
    }

    #[allow(clippy::cast_precision_loss)] // shown with three digits
    fn rate(&self) -> f64 {
        let done = self.answered.get() + self.refused.get();
        done as f64 / self.started.elapsed().as_secs_f64().max(1e-9)
    }

    #[allow(clippy::cast_precision_loss)] // shown with three digits
    fn line(&self) -> String {
        let done = self.answered.get() + self.refused.get();
        let rate = round::plain(self.rate());
        let left = self.size.map(|size| {
            let share = 100.0 * self.read.get() as f64 / size as f64;
            let left = self.left(size).map_or_else(String::new, |seconds| {
                format!(", about {} left", round::wait(seconds))
            });
            format!(", {} % of the file{left}", round::share(share))
        });
        format!("{done} lines, {rate} a second{}", left.unwrap_or_default())
    }

    /// Seconds until the end of the input, at the pace so far.
    #[allow(clippy::cast_precision_loss)] // shown with two digits
    fn left(&self, size: u64) -> Option<f64> {
        let done = self.read.get().checked_sub(self.began.get()?)?;
        let left = size.saturating_sub(self.read.get());
        let pace = self.started.elapsed().as_secs_f64() / done as f64;
        (done > 0).then_some(pace * left as f64)
    }
}
