//! Lines of requests in blocks, and what each is answered with.

use super::asked::{Asked, refused};
use super::packing::Packing;
use super::source::Source;
use super::told::Told;
use crate::cli::Stop;
use saltwright_fertilizers::Problem;
use saltwright_recipes::Library;
use saltwright_solver::job::{Answer, Outcome};
use std::io::{self, BufRead};

/// Longest line that is read, bytes.
const MAX_LINE: usize = 1024 * 1024;
/// Lines after which a block is full: few, because a run that is ended redoes those in hand.
const MOST_LINES: usize = 4;
/// The same where a block is compressed: more lines pack tighter.
const MOST_LINES_PACKED: usize = 32;
/// Bytes after which a block is full.
const MOST_BYTES: usize = 128 * 1024;

/// Lines that are answered together. A line beyond [`MAX_LINE`] is refused without being held.
#[derive(Default)]
pub struct Block {
    lines: Vec<Line>,
    bytes: usize,
    /// Bytes of the input, as they lie on the disk, that were taken before and with it.
    place: (u64, u64),
}

/// A line of the input.
pub struct Line {
    /// At most [`MAX_LINE`] bytes of it.
    text: Vec<u8>,
    length: usize,
}

/// What became of a block.
#[derive(Default)]
pub struct Answers {
    /// Lines, compressed where the output is.
    pub text: Vec<u8>,
    /// How many reports.
    pub answered: u64,
    /// How many refusals.
    pub refused: u64,
    /// Bytes of the input, as they lie on the disk, that were taken before and with it.
    pub place: (u64, u64),
}

/// How requests are written, what they are answered with, and how the answers are.
pub struct Desk<'a> {
    /// What is shipped, and what is the grower's own.
    pub library: &'a Library,
    /// How requests are written.
    pub asked: Asked,
    /// How answers are.
    pub told: Told,
    /// How these are compressed.
    pub packing: Packing,
}

/// Blocks of an input, without lines that are blank.
pub struct Blocks {
    /// Where they come from.
    pub source: Source,
    /// What stands between cells; a row without any that is filled is blank.
    pub separator: Option<u8>,
    /// Lines still to be passed over, because they were answered before.
    pub skip: u64,
    /// Of the output. Where it is compressed nobody waits for an answer, and blocks end at the same
    /// lines however fast requests come.
    pub packing: Packing,
}

impl Blocks {
    /// The next block: until it is full, or nothing more is there for now, so that whoever waits for
    /// an answer gets it. `None` at the end of the input.
    pub fn next(&mut self) -> Result<Option<Block>, Stop> {
        let is_plain = self.packing == Packing::Plain;
        let most_lines = if is_plain {
            MOST_LINES
        } else {
            MOST_LINES_PACKED
        };
        let mut block = Block::default();
        loop {
            let before = self.source.taken();
            let Some(line) = Line::read(&mut self.source)? else {
                return Ok((!block.lines.is_empty()).then_some(block));
            };
            if !line.is_blank(self.separator) {
                if self.skip > 0 {
                    self.skip -= 1;
                } else {
                    if block.lines.is_empty() {
                        block.place.0 = before;
                    }
                    block.bytes += line.text.len();
                    block.lines.push(line);
                }
            }
            block.place.1 = self.source.taken();
            let is_full = block.lines.len() >= most_lines || block.bytes >= MOST_BYTES;
            let is_awaited = is_plain && self.source.is_waiting();
            if is_full || (is_awaited && !block.lines.is_empty()) {
                return Ok(Some(block));
            }
        }
    }
}

/// Reads one line into `line`, holding at most [`MAX_LINE`] bytes of it; its length comes back, or
/// `None` at the end of the input.
fn read_line(input: &mut impl BufRead, line: &mut Vec<u8>) -> io::Result<Option<usize>> {
    let mut length = 0;
    loop {
        let chunk = match input.fill_buf() {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
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

impl Block {
    /// Answers every line.
    pub fn answer(self, desk: &Desk<'_>) -> io::Result<Answers> {
        let mut answers = Answers {
            place: self.place,
            ..Answers::default()
        };
        for line in self.lines {
            let answer = line.answer(desk);
            match answer.outcome {
                Outcome::Report(_) => answers.answered += 1,
                Outcome::Refused(_) => answers.refused += 1,
            }
            desk.told.write(&answer, &mut answers.text)?;
        }
        answers.text = desk.packing.pack(answers.text)?;
        Ok(answers)
    }
}

impl Line {
    /// The next line, or `None` at the end of the input.
    pub fn read(source: &mut Source) -> Result<Option<Self>, Stop> {
        let mut text = Vec::new();
        match read_line(source, &mut text) {
            Ok(length) => Ok(length.map(|length| Self { text, length })),
            Err(error) => Err(source.failed(&error)),
        }
    }

    /// Whether it holds nothing but blanks, and these separators.
    pub fn is_blank(&self, separator: Option<u8>) -> bool {
        let is_blank = |byte: &u8| byte.is_ascii_whitespace() || Some(*byte) == separator;
        self.text.iter().all(is_blank)
    }

    /// Its text, or why it cannot be had.
    pub fn text(&self) -> Result<&str, Problem> {
        if self.length > MAX_LINE {
            let (things, most) = ("bytes in a line", MAX_LINE);
            return Err(Problem::TooMany {
                things,
                count: self.length,
                most,
            });
        }
        std::str::from_utf8(&self.text).map_err(|_| Problem::Unreadable {
            reason: "this line is not UTF-8 text".into(),
            mend: "Write requests as UTF-8.",
        })
    }

    fn answer(&self, desk: &Desk<'_>) -> Answer {
        match self.text() {
            Ok(text) => desk.asked.answer(text, desk.library),
            Err(problem) => refused("", problem),
        }
    }
}
