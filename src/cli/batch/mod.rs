//! `saltwright batch`: requests in, reports out, one JSON document a line, in the same order.
//!
//! ```text
//! reader thread -> blocks of lines -> workers -> blocks of answers -> this thread, in order -> out
//! ```
//!
//! Nothing of one line reaches another, so that what comes out does not depend on the number of
//! threads. So many blocks are on the way at most, and the reader waits for the writer: memory does
//! not grow with the input.

mod lines;
mod pipeline;
mod progress;
mod resume;

use super::{Ending, Stop};
use crate::store::files::{fault, unread, unwritten};
use progress::Progress;
use saltwright_recipes::Library;
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Write};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

/// Options of `batch`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    /// File of requests; standard input where left out
    file: Option<PathBuf>,
    /// Write the reports to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Go on behind what a run that was ended has left in --out
    #[arg(long, requires = "out")]
    resume: bool,
    /// Requests worked on at once; as many as processors where left out
    #[arg(long, value_name = "N")]
    threads: Option<NonZeroUsize>,
    /// Say at the end on standard error how many, how long, how fast
    #[arg(long)]
    stats: bool,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let name = args.file.as_deref().unwrap_or(Path::new("standard input"));
    let input = open(args.file.as_deref())?;
    let size = args.file.as_ref().and_then(|path| path.metadata().ok());
    let progress = Progress::new(size.map(|known| known.len()), args.stats);
    let threads = args
        .threads
        .or_else(|| std::thread::available_parallelism().ok());
    let work = pipeline::Work {
        library,
        threads: threads.map_or(1, NonZeroUsize::get),
        progress: &progress,
        name,
    };
    match &args.out {
        None => work.run(input, 0, &mut BufWriter::new(out), Stop::from)?,
        Some(path) => {
            let (file, done) = resume::open(path, args.resume)?;
            progress.skip(done);
            let failed = |error: std::io::Error| unwritten(path, &error).into();
            let mut file = BufWriter::new(file);
            work.run(input, done, &mut file, failed)?;
            let kept = file
                .into_inner()
                .map_err(std::io::IntoInnerError::into_error);
            kept.and_then(|file| file.sync_all()).map_err(failed)?;
        }
    }
    progress.finish();
    Ok(Ending::Within)
}

/// What is read; a lock on standard input would not go to another thread.
fn open(path: Option<&Path>) -> Result<Box<dyn Read + Send>, Stop> {
    let Some(path) = path else {
        return Ok(Box::new(std::io::stdin()));
    };
    if path.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file in it.").into());
    }
    let file = File::open(path).map_err(|error| unread(path, &error))?;
    Ok(Box::new(file))
}

/// Reading in large steps, whoever is behind it.
fn buffered(input: Box<dyn Read + Send>) -> BufReader<Box<dyn Read + Send>> {
    /// Bytes a step.
    const STEP: usize = 64 * 1024;
    BufReader::with_capacity(STEP, input)
}
