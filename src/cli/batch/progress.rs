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
    read: Cell<u64>,
    answered: Cell<u64>,
    refused: Cell<u64>,
    skipped: Cell<u64>,
}

impl Progress {
    /// Nothing done yet.
    pub fn new(size: Option<u64>, stats: bool) -> Self {
        let now = Instant::now();
        Self {
            started: now,
            shown: Cell::new(now),
            // Beside reports on the same terminal a line of progress would only be in the way.
            on_terminal: std::io::stderr().is_terminal() && !std::io::stdout().is_terminal(),
            stats,
            size: size.filter(|bytes| *bytes > 0),
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
        self.read.set(self.read.get() + block.length);
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
        let read = self.read.get() as f64;
        let left = self.size.map(|size| {
            let size = size as f64;
            let seconds = self.started.elapsed().as_secs_f64() * (size - read) / read.max(1.0);
            format!(
                ", {:.0} % of the file, about {seconds:.0} s left",
                100.0 * read / size
            )
        });
        format!("{done} lines, {rate} a second{}", left.unwrap_or_default())
    }
}
