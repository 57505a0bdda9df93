//! Lines of requests in blocks, and what each is answered with.

use saltwright_fertilizers::Problem;
use saltwright_recipes::Library;
use saltwright_solver::job::{Answer, Id, Outcome, answer};
use saltwright_solver::refusal::Refusal;
use std::io::BufRead;

/// Longest line that is read, bytes.
const MAX_LINE: usize = 1024 * 1024;
/// Lines after which a block is full.
const MOST_LINES: usize = 32;
/// Bytes after which a block is full.
const MOST_BYTES: usize = 128 * 1024;

/// Lines that are answered together. A line beyond [`MAX_LINE`] is refused without being held.
#[derive(Default)]
pub struct Block {
    lines: Vec<Line>,
    bytes: usize,
    /// Bytes of the input that it takes up.
    pub length: u64,
}

struct Line {
    /// At most [`MAX_LINE`] bytes of it.
    text: Vec<u8>,
    length: usize,
}

/// What became of a block.
#[derive(Default)]
pub struct Answers {
    /// Lines of JSON.
    pub text: Vec<u8>,
    /// How many reports.
    pub answered: u64,
    /// How many refusals.
    pub refused: u64,
    /// Bytes of the input.
    pub length: u64,
}

/// Blocks of an input, without lines that are blank.
pub struct Blocks<R> {
    input: R,
    /// Lines still to be passed over, because they were answered before.
    skip: u64,
}

impl<R: BufRead> Blocks<R> {
    pub const fn new(input: R, skip: u64) -> Self {
        Self { input, skip }
    }

    /// The next block: until it is full, or nothing more is there for now, so that whoever waits for
    /// an answer gets it. `None` at the end of the input.
    pub fn next(&mut self, is_waiting: impl Fn(&R) -> bool) -> std::io::Result<Option<Block>> {
        let mut block = Block::default();
        loop {
            let mut text = Vec::new();
            let Some((length, taken)) = read_line(&mut self.input, &mut text)? else {
                return Ok((block.length > 0).then_some(block));
            };
            block.length += taken;
            if !text.iter().all(u8::is_ascii_whitespace) {
                if self.skip > 0 {
                    self.skip -= 1;
                } else {
                    block.bytes += text.len();
                    block.lines.push(Line { text, length });
                }
            }
            let is_full = block.lines.len() >= MOST_LINES || block.bytes >= MOST_BYTES;
            if is_full || (is_waiting(&self.input) && !block.lines.is_empty()) {
                return Ok(Some(block));
            }
        }
    }
}

/// Reads one line into `line`, holding at most [`MAX_LINE`] bytes of it; its length and what was
/// taken of the input come back, or `None` at its end.
fn read_line(
    input: &mut impl BufRead,
    line: &mut Vec<u8>,
) -> std::io::Result<Option<(usize, u64)>> {
    let mut length = 0;
    loop {
        let chunk = match input.fill_buf() {
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            chunk => chunk?,
        };
        if chunk.is_empty() {
            return Ok((length > 0).then_some((length, length as u64)));
        }
        let end = chunk.iter().position(|byte| *byte == b'\n');
        let taken = end.unwrap_or(chunk.len());
        let room = MAX_LINE.saturating_sub(line.len());
        line.extend_from_slice(&chunk[..taken.min(room)]);
        length += taken;
        let used = taken + usize::from(end.is_some());
        input.consume(used);
        if end.is_some() {
            return Ok(Some((length, length as u64 + 1)));
        }
    }
}

impl Block {
    /// Answers every line.
    pub fn answer(self, library: &Library) -> std::io::Result<Answers> {
        let mut answers = Answers {
            length: self.length,
            ..Answers::default()
        };
        for line in self.lines {
            let answer = line.answer(library);
            match answer.outcome {
                Outcome::Report(_) => answers.answered += 1,
                Outcome::Refused(_) => answers.refused += 1,
            }
            serde_json::to_writer(&mut answers.text, &answer)?;
            answers.text.push(b'\n');
        }
        Ok(answers)
    }
}

impl Line {
    fn answer(&self, library: &Library) -> Answer {
        if self.length > MAX_LINE {
            let (things, most) = ("bytes in a line", MAX_LINE);
            return refused(Problem::TooMany {
                things,
                count: self.length,
                most,
            });
        }
        match std::str::from_utf8(&self.text) {
            Ok(text) => answer(text.trim_start_matches('\u{feff}'), library),
            Err(_) => refused(Problem::Unreadable {
                reason: "this line is not UTF-8 text".into(),
                mend: "Write requests as UTF-8.",
            }),
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
