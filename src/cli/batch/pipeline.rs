//! Threads: one reads, some answer, one writes in order.

use super::buffered;
use super::lines::{Answers, Block, Blocks};
use super::progress::Progress;
use crate::cli::Stop;
use crate::store::files::unread;
use saltwright_recipes::Library;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::Path;
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};

/// Blocks on the way for each worker: enough to keep it busy while another is slow.
const ON_THE_WAY: usize = 4;

/// What a run needs.
pub struct Work<'a> {
    /// What is shipped.
    pub library: &'a Library,
    /// How many answer at once.
    pub threads: usize,
    /// How far it has come.
    pub progress: &'a Progress,
    /// The input as it was named.
    pub name: &'a Path,
}

/// A block with its place, or how reading ended.
type Numbered<T> = (u64, std::io::Result<T>);

impl Work<'_> {
    /// Answers every line behind the first `skip`, in order.
    pub fn run(
        &self,
        input: Box<dyn Read + Send>,
        skip: u64,
        out: &mut impl Write,
        failed: impl Fn(std::io::Error) -> Stop,
    ) -> Result<(), Stop> {
        // A block needs a place to come in, and gives it back once it is written.
        let (places, taken) = sync_channel::<()>(ON_THE_WAY * self.threads);
        let (to_workers, blocks) = channel::<Numbered<Block>>();
        let (to_writer, answers) = channel::<Numbered<Answers>>();
        let blocks = Mutex::new(blocks);
        let library = self.library;
        std::thread::scope(|scope| {
            let unanswered = to_writer.clone();
            scope.spawn(move || read(input, skip, &places, &to_workers, &unanswered));
            for _ in 0..self.threads {
                let to_writer = to_writer.clone();
                let blocks = &blocks;
                scope.spawn(move || answer(blocks, library, &to_writer));
            }
            drop(to_writer);
            // Dropping what waits ends the reader and the workers, whatever ended this one.
            self.write(&answers, taken, out, failed)
        })
    }

    /// Writes what comes, in order.
    fn write(
        &self,
        answers: &Receiver<Numbered<Answers>>,
        taken: Receiver<()>,
        out: &mut impl Write,
        failed: impl Fn(std::io::Error) -> Stop,
    ) -> Result<(), Stop> {
        let mut early: BTreeMap<u64, std::io::Result<Answers>> = BTreeMap::new();
        let mut next = 0;
        while let Ok((at, block)) = answers.recv() {
            early.insert(at, block);
            while let Some(block) = early.remove(&next) {
                let block = block.map_err(|error| unread(self.name, &error))?;
                out.write_all(&block.text).map_err(&failed)?;
                self.progress.add(&block);
                // The reader may be through already.
                let _ = taken.try_recv();
                next += 1;
            }
            if early.is_empty() {
                out.flush().map_err(&failed)?;
            }
        }
        drop(taken);
        out.flush().map_err(failed)
    }
}

/// Reads blocks until the input or the writer ends; a fault of the input is the last block.
fn read(
    input: Box<dyn Read + Send>,
    skip: u64,
    places: &SyncSender<()>,
    to_workers: &Sender<Numbered<Block>>,
    to_writer: &Sender<Numbered<Answers>>,
) {
    let mut blocks = Blocks::new(buffered(input), skip);
    for at in 0.. {
        let sent = match blocks.next(|input| input.buffer().is_empty()) {
            Ok(None) => return,
            Ok(Some(block)) => places.send(()).is_ok() && to_workers.send((at, Ok(block))).is_ok(),
            Err(error) => {
                // Nobody listens where the writer ended first.
                let _ = to_writer.send((at, Err(error)));
                return;
            }
        };
        if !sent {
            return;
        }
    }
}

/// Answers blocks as they come.
fn answer(
    blocks: &Mutex<Receiver<Numbered<Block>>>,
    library: &Library,
    to_writer: &Sender<Numbered<Answers>>,
) {
    loop {
        let next = match blocks.lock() {
            Ok(blocks) => blocks.recv(),
            Err(_) => return,
        };
        let Ok((at, block)) = next else { return };
        let answers = block.and_then(|block| block.answer(library));
        if to_writer.send((at, answers)).is_err() {
            return;
        }
    }
}
