//! Where a run that was ended left off: every whole line in its output was answered.

use crate::cli::Stop;
use crate::store::files::{fault, unread, unwritten};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Seek, SeekFrom};
use std::path::Path;

/// Opens the output: anew, or behind its last whole line. How many lines it holds comes back.
///
/// A line that was cut off is taken away; its request is answered again.
pub fn open(path: &Path, resume: bool) -> Result<(File, u64), Stop> {
    if path.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file in it.").into());
    }
    let unwritten = |error| Stop::from(unwritten(path, &error));
    if !resume {
        return Ok((File::create(path).map_err(unwritten)?, 0));
    }
    let mut options = OpenOptions::new();
    let options = options.read(true).write(true).create(true).truncate(false);
    let mut file = options.open(path).map_err(unwritten)?;
    let (lines, end) = whole_lines(&file).map_err(|error| unread(path, &error))?;
    let cut = file.set_len(end).and_then(|()| file.seek(SeekFrom::End(0)));
    cut.map_err(unwritten)?;
    Ok((file, lines))
}

/// Whole lines, and where the last one ends.
fn whole_lines(file: &File) -> std::io::Result<(u64, u64)> {
    let mut reader = BufReader::new(file);
    let (mut lines, mut end, mut at) = (0, 0, 0);
    loop {
        let chunk = reader.fill_buf()?;
        if chunk.is_empty() {
            return Ok((lines, end));
        }
        for (byte, place) in chunk.iter().zip(at + 1..) {
            if *byte == b'\n' {
                lines += 1;
                end = place;
            }
        }
        let length = chunk.len();
        at += length as u64;
        reader.consume(length);
    }
}
