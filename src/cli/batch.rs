//! `saltwright batch`: requests in, reports out, one JSON document a line, in the same order.
//!
//! A line is answered before the next is read; nothing of one line reaches another. A line beyond
//! `MAX_LINE` is refused without being held.

use super::{Ending, Stop};
use crate::store::files::{fault, unread};
use saltwright_fertilizers::Problem;
use saltwright_recipes::Library;
use saltwright_solver::job::{Answer, Id, Outcome, answer};
use saltwright_solver::refusal::Refusal;
use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Longest line that is read, bytes.
const MAX_LINE: usize = 1024 * 1024;

/// Options of `batch`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// File of requests; standard input where left out
    file: Option<PathBuf>,
}

/// Runs it.
pub fn run(args: &Args, library: &Library, out: &mut dyn Write) -> Result<Ending, Stop> {
    let mut out = BufWriter::new(out);
    match &args.file {
        Some(path) if path.is_dir() => {
            return Err(fault(path, "this is a folder", "Name a file in it.").into());
        }
        Some(path) => {
            let file = File::open(path).map_err(|error| unread(path, &error))?;
            answer_all(BufReader::new(file), path, library, &mut out)?;
        }
        None => {
            let stdin = std::io::stdin().lock();
            answer_all(stdin, Path::new("standard input"), library, &mut out)?;
        }
    }
    out.flush()?;
    Ok(Ending::Within)
}

fn answer_all(
    mut input: impl BufRead,
    name: &Path,
    library: &Library,
    out: &mut impl Write,
) -> Result<(), Stop> {
    let mut line = Vec::new();
    loop {
        line.clear();
        let read = read_line(&mut input, &mut line).map_err(|error| unread(name, &error))?;
        let Some(length) = read else {
            return Ok(());
        };
        let answer = if length > MAX_LINE {
            let (things, most) = ("bytes in a line", MAX_LINE);
            refused(Problem::TooMany {
                things,
                count: length,
                most,
            })
        } else {
            match std::str::from_utf8(&line) {
                Ok(text) if text.trim().is_empty() => continue,
                Ok(text) => answer(text.trim_start_matches('\u{feff}'), library),
                Err(_) => refused(Problem::Unreadable {
                    reason: "this line is not UTF-8 text".into(),
                    mend: "Write requests as UTF-8.",
                }),
            }
        };
        serde_json::to_writer(&mut *out, &answer).map_err(std::io::Error::from)?;
        out.write_all(b"\n")?;
    }
}

/// Reads one line into `line`, holding at most [`MAX_LINE`] bytes of it; its whole length comes
/// back, or `None` at the end of the input.
fn read_line(input: &mut impl BufRead, line: &mut Vec<u8>) -> std::io::Result<Option<usize>> {
    let mut length = 0;
    loop {
        let chunk = match input.fill_buf() {
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            chunk => chunk?,
        };
        if chunk.is_empty() {
            return Ok((length > 0).then_some(length));
        }
        let end = chunk.iter().position(|byte| *byte == b'\n');
        let taken = end.unwrap_or(chunk.len());
        let room = MAX_LINE.saturating_sub(line.len());
        line.extend_from_slice(&chunk[..taken.min(room)]);
        length += taken;
        let used = taken + usize::from(end.is_some());
        input.consume(used);
        if end.is_some() {
            return Ok(Some(length));
        }
    }
}

fn refused(problem: Problem) -> Answer {
    Answer {
        job: None,
        id: Id::None,
        outcome: Outcome::Refused(Refusal::of("", problem)),
    }
}
