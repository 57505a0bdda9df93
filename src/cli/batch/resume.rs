//! Where a run that was ended left off: every whole line in its output was answered.

use super::packing::Packing;
use crate::cli::Stop;
use crate::store::files::{fault, unread, unwritten};
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

/// An output, and how much of it is there.
pub struct Output {
    /// Open behind what is kept.
    pub file: File,
    /// Lines of answers that it holds.
    pub answered: u64,
    /// Whether the line of column heads still has to be written.
    pub lacks_head: bool,
}

/// What an earlier run has left, as far as it is whole.
#[derive(Default)]
struct Kept {
    lines: u64,
    /// Where it ends in the file.
    end: u64,
    /// Its first line, as far as it is as long as the head.
    first: Vec<u8>,
}

/// Opens the output: anew, or behind its last whole line or, compressed, its last whole block.
///
/// What was cut off is taken away; its requests are answered again. `head` is the line of column heads
/// that the output opens with, if any.
pub fn open(path: &Path, packing: Packing, head: &[u8], resume: bool) -> Result<Output, Stop> {
    if path.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file in it.").into());
    }
    let unwritten = |error| Stop::from(unwritten(path, &error));
    if !resume {
        return Ok(Output {
            file: File::create(path).map_err(unwritten)?,
            answered: 0,
            lacks_head: true,
        });
    }
    let mut options = OpenOptions::new();
    let options = options.read(true).write(true).create(true).truncate(false);
    let mut file = options.open(path).map_err(unwritten)?;
    let kept = Kept::scan(&file, packing, head.len()).map_err(|error| damaged(path, &error))?;
    if kept.lines > 0 && kept.first != head {
        let reason = "this was written with other columns";
        let mend = "Ask for the same columns as before, or write to another file.";
        return Err(fault(path, reason, mend).into());
    }
    let cut = file.set_len(kept.end);
    cut.and_then(|()| file.seek(SeekFrom::End(0)))
        .map_err(unwritten)?;
    Ok(Output {
        file,
        answered: kept.lines.saturating_sub(u64::from(!head.is_empty())),
        lacks_head: kept.lines == 0,
    })
}

/// An output that does not hold what a run would have left in it.
fn damaged(path: &Path, error: &io::Error) -> Stop {
    match error.kind() {
        ErrorKind::InvalidData | ErrorKind::InvalidInput | ErrorKind::Other => {
            let reason = "this is damaged, or not what a run of batch has left";
            let mend = "Write to another file.";
            fault(path, reason, mend).into()
        }
        _ => unread(path, error).into(),
    }
}

impl Kept {
    /// Reads through a file, keeping so many bytes of its beginning.
    fn scan(file: &File, packing: Packing, head: usize) -> io::Result<Self> {
        let mut file = Counted {
            inner: BufReader::new(file),
            taken: 0,
        };
        let mut kept = Self::default();
        loop {
            // Lines so far with those of this block, and what of it lies behind its last one.
            let (mut lines, mut open) = (kept.lines, 0);
            let first = &mut kept.first;
            let read = packing.next(&mut file, |piece| {
                let room = head - first.len();
                first.extend_from_slice(&piece[..room.min(piece.len())]);
                lines += newlines(piece);
                open = match piece.iter().rposition(|byte| *byte == b'\n') {
                    Some(last) => (piece.len() - last - 1) as u64,
                    None => open + piece.len() as u64,
                };
            });
            match read {
                Ok(true) if packing == Packing::Plain || open == 0 => {
                    kept.lines = lines;
                    kept.end = file.taken - open;
                }
                Ok(true) => return Err(ErrorKind::InvalidData.into()),
                Ok(false) => return Ok(kept),
                Err(error) if error.kind() == ErrorKind::UnexpectedEof => return Ok(kept),
                Err(error) => return Err(error),
            }
        }
    }
}

fn newlines(piece: &[u8]) -> u64 {
    piece.split(|byte| *byte == b'\n').count() as u64 - 1
}

/// A file that tells how much of it was taken.
struct Counted<R> {
    inner: R,
    taken: u64,
}

impl<R: BufRead> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.inner.read(into)?;
        self.taken += length as u64;
        Ok(length)
    }
}

impl<R: BufRead> BufRead for Counted<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        self.inner.fill_buf()
    }
    fn consume(&mut self, length: usize) {
        self.taken += length as u64;
        self.inner.consume(length);
    }
}
