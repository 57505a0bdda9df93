//! Threads: one reads, some answer, one writes in order.

use super::lines::{Answers, Block, Blocks, Desk};
use super::progress::Progress;
use crate::cli::Stop;
use std::collections::BTreeMap;
use std::io::Write;
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};

/// Blocks on the way for each worker: enough to keep it busy while another is slow.
const ON_THE_WAY: usize = 4;

/// What a run needs.
pub struct Work<'a> {
    /// What is asked and told how.
    pub desk: &'a Desk<'a>,
    /// How many answer at once.
    pub threads: usize,
    /// How far it has come.
    pub progress: &'a Progress,
}

/// A block with its place, or how reading ended.
type Numbered<T> = (u64, Result<T, Stop>);

impl Work<'_> {
    /// Answers every block, in order.
    pub fn run(
        &self,
        input: Blocks,
        out: &mut impl Write,
        failed: impl Fn(std::io::Error) -> Stop,
    ) -> Result<(), Stop> {
        // A block needs a place to come in, and gives it back once it is written.
        let (places, taken) = sync_channel::<()>(ON_THE_WAY * self.threads);
        let (to_workers, blocks) = channel::<Numbered<Block>>();
        let (to_writer, answers) = channel::<Numbered<Answers>>();
        let blocks = Mutex::new(blocks);
        let desk = self.desk;
        std::thread::scope(|scope| {
            let unanswered = to_writer.clone();
            scope.spawn(move || read(input, &places, &to_workers, &unanswered));
            for _ in 0..self.threads {
                let to_writer = to_writer.clone();
                let blocks = &blocks;
                scope.spawn(move || answer(blocks, desk, &to_writer));
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
        let mut early: BTreeMap<u64, Result<Answers, Stop>> = BTreeMap::new();
        let mut next = 0;
        while let Ok((at, block)) = answers.recv() {
            early.insert(at, block);
            while let Some(block) = early.remove(&next) {
                let block = block?;
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
    mut input: Blocks,
    places: &SyncSender<()>,
    to_workers: &Sender<Numbered<Block>>,
    to_writer: &Sender<Numbered<Answers>>,
) {
    for at in 0.. {
        let sent = match input.next() {
            Ok(None) => return,
            Ok(Some(block)) => places.send(()).is_ok() && to_workers.send((at, Ok(block))).is_ok(),
            Err(stop) => {
                // Nobody listens where the writer ended first.
                let _ = to_writer.send((at, Err(stop)));
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
    desk: &Desk<'_>,
    to_writer: &Sender<Numbered<Answers>>,
) {
    loop {
        let next = match blocks.lock() {
            Ok(blocks) => blocks.recv(),
            Err(_) => return,
        };
        let Ok((at, block)) = next else { return };
        let answers = block.and_then(|block| Ok(block.answer(desk)?));
        if to_writer.send((at, answers)).is_err() {
            return;
        }
    }
}
