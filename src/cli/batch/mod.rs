//! `saltwright batch`: requests in, reports out, a line each, in the same order.
//!
//! ```text
//! reader thread -> blocks of lines -> workers -> blocks of answers -> this thread, in order -> out
//! ```
//!
//! Nothing of one line reaches another, so that what comes out does not depend on the number of
//! threads. So many blocks are on the way at most, and the reader waits for the writer: memory does
//! not grow with the input.

mod asked;
mod lines;
mod packing;
mod path;
mod pipeline;
mod progress;
mod resume;
mod source;
mod told;

use super::{Ending, Stop};
use crate::store::files::{fault, unwritten};
use asked::{Asked, Head};
use clap::ValueEnum;
use lines::{Blocks, Desk, Line};
use packing::Packing;
use progress::Progress;
use saltwright_fertilizers::Faults;
use saltwright_recipes::Library;
use source::Source;
use std::fs::File;
use std::io::{BufWriter, IsTerminal, Write};
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use told::Told;

/// Options of `batch`.
#[derive(Debug, clap::Args)]
#[command(next_line_help = true)]
pub struct Args {
    /// File of requests, .jsonl, .csv, also .gz or .zst; else standard input
    file: Option<PathBuf>,
    /// Write the reports to this file, .jsonl, .csv, also .gz or .zst
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Go on behind what a run that was ended has left in --out
    #[arg(long, requires = "out")]
    resume: bool,
    /// Read requests as jsonl or csv, whatever the file is called
    #[arg(long, value_name = "FORM", hide_possible_values = true)]
    from: Option<Form>,
    /// Write reports as jsonl or csv, whatever the file is called
    #[arg(long, value_name = "FORM", hide_possible_values = true)]
    to: Option<Form>,
    /// Columns of reports as CSV, like id,cost_per_m3,mix.urea.g_per_l
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',')]
    columns: Vec<String>,
    /// Requests worked on at once; as many as processors where left out
    #[arg(long, value_name = "N")]
    threads: Option<NonZeroUsize>,
    /// Say at the end on standard error how many, how long, how fast
    #[arg(long)]
    stats: bool,
}

/// How a line is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Form {
    /// A JSON document
    Jsonl,
    /// A row of a table
    Csv,
}

impl Form {
    /// As asked for, or as the name of the file tells.
    fn of(asked: Option<Self>, path: Option<&Path>) -> Self {
        let is_csv = path.is_some_and(|path| {
            let (_, path) = Packing::of(path);
            let ending = path.extension();
            ending.is_some_and(|ending| ending.eq_ignore_ascii_case("csv"))
        });
        asked.unwrap_or(if is_csv { Self::Csv } else { Self::Jsonl })
    }
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let told = told(args, library)?;
    let out_path = args.out.as_deref();
    apart(args.file.as_deref(), out_path)?;
    let packing = out_path.map_or(Packing::Plain, |path| Packing::of(path).0);
    let mut source = Source::open(args.file.as_deref())?;
    let asked = match Form::of(args.from, args.file.as_deref()) {
        Form::Csv => Asked::Table(head(&mut source)?),
        Form::Jsonl => Asked::Json,
    };
    let beside_reports = out_path.is_none() && std::io::stdout().is_terminal();
    let progress = Progress::new(source.size, args.stats, beside_reports);
    let head = told.head()?;
    let desk = Desk {
        library,
        asked,
        told,
        packing,
    };
    let threads = args
        .threads
        .or_else(|| std::thread::available_parallelism().ok());
    let work = pipeline::Work {
        desk: &desk,
        threads: threads.map_or(1, NonZeroUsize::get),
        progress: &progress,
    };
    let mut blocks = Blocks {
        source,
        separator: desk.asked.separator(),
        skip: 0,
        packing,
    };
    match out_path {
        None => {
            let mut out = BufWriter::new(out);
            out.write_all(&head)?;
            work.run(blocks, &mut out, Stop::from)?;
        }
        Some(path) => {
            let kept = resume::open(path, packing, &head, args.resume)?;
            progress.skip(kept.answered);
            let failed = |error: std::io::Error| unwritten(path, &error).into();
            let mut file = BufWriter::new(kept.file);
            if kept.lacks_head && !head.is_empty() {
                let head = packing.pack(head).and_then(|head| file.write_all(&head));
                head.map_err(failed)?;
            }
            blocks.skip = kept.answered;
            work.run(blocks, &mut file, failed)?;
            let kept = file
                .into_inner()
                .map_err(std::io::IntoInnerError::into_error);
            kept.and_then(|file| keep(&file)).map_err(failed)?;
        }
    }
    progress.finish();
    Ok(Ending::Within)
}

/// How reports are to be written.
fn told(args: &Args, library: &Library) -> Result<Told, Stop> {
    match Form::of(args.to, args.out.as_deref()) {
        Form::Csv => Ok(Told::table(&args.columns, library)?),
        Form::Jsonl if args.columns.is_empty() => Ok(Told::Json),
        Form::Jsonl => {
            let words = "--columns are for reports as CSV: add --to csv, or --out FILE.csv";
            Err(Stop::Usage(words.into()))
        }
    }
}

/// Waits until it is on the disk, where it goes to one.
fn keep(file: &File) -> std::io::Result<()> {
    if file.metadata()?.is_file() {
        return file.sync_all();
    }
    Ok(())
}

/// Refuses to write over what is read.
fn apart(input: Option<&Path>, out: Option<&Path>) -> Result<(), Stop> {
    let (Some(input), Some(out)) = (input, out) else {
        return Ok(());
    };
    match (input.canonicalize(), out.canonicalize()) {
        (Ok(read), Ok(written)) if read == written && read.is_file() => {
            let reason = "the requests stand in this file";
            let mend = "Write the reports to another one.";
            Err(fault(out, reason, mend).into())
        }
        _ => Ok(()),
    }
}

/// The column heads of a table: its first line that is not blank.
fn head(source: &mut Source) -> Result<Head, Stop> {
    let name = source.name.display().to_string();
    let line = loop {
        match Line::read(source)? {
            Some(line) if line.is_blank(None) => {}
            line => break line,
        }
    };
    match line.as_ref().map_or(Ok(""), Line::text) {
        Ok(text) => Ok(Head::read(text, &name)?),
        Err(problem) => {
            let mut faults = Faults::in_file(&name);
            faults.add(None, "", problem);
            Err(faults.into_list().into())
        }
    }
}
