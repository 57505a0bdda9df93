//! `saltwright purchase RECIPE --season 120m3 --prices FILE`: which whole bags to buy.

use super::answer::{ask_by, keep_all, mismatch};
use super::input::optional;
use super::origins::Origins;
use super::typed::volume;
use super::{Ending, Stop, formulate};
use crate::view::{csv, purchase, text};
use saltwright_fertilizers::units::parse_number;
use saltwright_fertilizers::{Faults, Node};
use saltwright_recipes::Library;
use saltwright_solver::job::{Report, answer_watched};
use saltwright_solver::purchase::Progress;
use std::cell::Cell;
use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Options of `purchase`.
#[derive(Debug, clap::Args)]
#[command(allow_negative_numbers = true, next_line_help = true)]
pub struct Args {
    /// Finished solution of the whole season, like "120 m3" or "30000 gal"
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    season: Option<String>,
    /// Seconds to search at most (4 where left out); Ctrl-C ends it too
    #[arg(long, value_name = "SECONDS")]
    search: Option<String>,
    /// What prices are in: a label, like EUR
    #[arg(long)]
    currency: Option<String>,
    #[command(flatten)]
    formulate: formulate::Args,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let (common, mut faults) = (&args.formulate.common, Faults::default());
    let mut origins = Origins::default();
    let mut request = Node::table([("job", Node::text("purchase"))]);
    let known = common.shelf(&mut request, library, &mut faults);
    let sold = common.bags(&mut request, &mut origins, &mut faults);
    if common.fertilizers.is_none() && args.formulate.only.is_empty() && !sold.is_empty() {
        // What is sold or at home is what may be used.
        let sold = sold.iter().filter(|id| known.get(id).is_some());
        request.set("fertilizers", Node::texts(sold));
    }
    let fill = &args.formulate;
    fill.fill(&mut request, &known, library, &mut origins, &mut faults);
    let season = args.season.as_deref();
    let season = season.and_then(|typed| volume(typed, "--season", &mut faults));
    let search = optional(args.search.as_ref(), "--search", parse_number, &mut faults);
    let entries = [
        ("season_m3", season.map(|litres| Node::number(litres.m3()))),
        ("search_s", search),
        ("currency", args.currency.as_ref().map(Node::text)),
    ];
    request.fill(entries);
    let watched = Watched::new();
    let answered = |request: &Node| {
        let answer = answer_watched(request, library, &mut |progress| watched.goes_on(progress));
        watched.clear();
        answer
    };
    let answer = ask_by((&request, faults), &answered, &origins, common.json, out)?;
    let Report::Purchase(report) = answer else {
        return mismatch();
    };
    if !common.json {
        let sheet = purchase::sheet(&report, common.show(), &|id| known.dangers(id));
        write!(out, "{}", text::render(&sheet))?;
    }
    if let Some(path) = &common.out {
        let formulation = &report.formulation;
        let files = [
            ("", "the mix", csv::mix(&formulation.mix)),
            (
                "-nutrients",
                "the nutrients",
                csv::nutrients(&formulation.nutrients),
            ),
            ("-bags", "the bags", csv::bags(&report.buy)),
        ];
        keep_all(path, &files, common.json, out)?;
    }
    Ok(Ending::Within)
}

/// A search that is watched: a line of progress on a terminal, and an end by Ctrl-C.
struct Watched {
    stop: Arc<AtomicBool>,
    shown: Cell<bool>,
}

impl Watched {
    fn new() -> Self {
        Self {
            stop: Arc::default(),
            shown: Cell::new(false),
        }
    }

    fn goes_on(&self, progress: &Progress) -> bool {
        if !self.shown.replace(true) {
            until_interrupted(Arc::clone(&self.stop));
        }
        let mut stderr = std::io::stderr().lock();
        if stderr.is_terminal() {
            let line = purchase::progress(progress);
            let _ = write!(stderr, "\r\x1b[K{line}").and_then(|()| stderr.flush());
        }
        !self.stop.load(Ordering::Relaxed)
    }

    fn clear(&self) {
        let mut stderr = std::io::stderr().lock();
        if self.shown.get() && stderr.is_terminal() {
            let _ = write!(stderr, "\r\x1b[K").and_then(|()| stderr.flush());
        }
    }
}

/// Raises the flag at the first Ctrl-C. Where signals cannot be heard, Ctrl-C ends the program as
/// usual.
fn until_interrupted(flag: Arc<AtomicBool>) {
    std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_io()
            .build();
        let Ok(runtime) = runtime else { return };
        if runtime.block_on(tokio::signal::ctrl_c()).is_ok() {
            flag.store(true, Ordering::Relaxed);
        }
    });
}
