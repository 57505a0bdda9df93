//! What is read: a file or standard input, compressed or not.

use super::packing::Packing;
use crate::cli::Stop;
use crate::store::files::{fault, unread};
use std::fs::File;
use std::io::{self, BufRead, BufReader, ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Bytes of a step of reading.
const STEP: usize = 64 * 1024;

/// Text to be read, whoever is behind it.
pub struct Source {
    /// As it was named.
    pub name: PathBuf,
    /// Bytes as they lie on the disk, where known.
    pub size: Option<u64>,
    packing: Packing,
    text: BufReader<Box<dyn Read + Send>>,
    taken: Arc<AtomicU64>,
}

impl Source {
    /// Opens a file; standard input where none is named.
    pub fn open(path: Option<&Path>) -> Result<Self, Stop> {
        let taken = Arc::new(AtomicU64::new(0));
        let metered = |inner| Metered {
            inner,
            taken: taken.clone(),
        };
        let Some(path) = path else {
            // A lock on standard input would not go to another thread.
            return Ok(Self {
                name: "standard input".into(),
                size: None,
                packing: Packing::Plain,
                text: buffered(Box::new(metered(Box::new(io::stdin())))),
                taken,
            });
        };
        if path.is_dir() {
            return Err(fault(path, "this is a folder", "Name a file in it.").into());
        }
        let file = File::open(path).map_err(|error| unread(path, &error))?;
        let size = file.metadata().ok().map(|known| known.len());
        let (packing, _) = Packing::of(path);
        let packed = BufReader::with_capacity(STEP, metered(Box::new(file)));
        let text = packing.open(packed).map_err(|error| unread(path, &error))?;
        Ok(Self {
            name: path.to_owned(),
            size: size.filter(|bytes| *bytes > 0),
            packing,
            text: buffered(text),
            taken,
        })
    }

    /// Bytes taken of what lies on the disk.
    pub fn taken(&self) -> u64 {
        self.taken.load(Ordering::Relaxed)
    }

    /// Nothing more is there for now.
    pub fn is_waiting(&self) -> bool {
        self.text.buffer().is_empty()
    }

    /// What is wrong where reading failed.
    pub fn failed(&self, error: &io::Error) -> Stop {
        let is_damage = matches!(
            error.kind(),
            ErrorKind::UnexpectedEof
                | ErrorKind::InvalidData
                | ErrorKind::InvalidInput
                | ErrorKind::Other
        );
        if self.packing != Packing::Plain && is_damage {
            let reason = format!("this compressed file cannot be read on ({error})");
            let mend = "It is cut off, damaged, or packed with a window above 8 MiB: pack it anew.";
            return fault(&self.name, reason, mend).into();
        }
        unread(&self.name, error).into()
    }
}

fn buffered(text: Box<dyn Read + Send>) -> BufReader<Box<dyn Read + Send>> {
    BufReader::with_capacity(STEP, text)
}

impl Read for Source {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.text.read(into)
    }
}

impl BufRead for Source {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        self.text.fill_buf()
    }
    fn consume(&mut self, length: usize) {
        self.text.consume(length);
    }
}

/// Counts what is read.
struct Metered {
    inner: Box<dyn Read + Send>,
    taken: Arc<AtomicU64>,
}

impl Read for Metered {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.inner.read(into)?;
        self.taken.fetch_add(length as u64, Ordering::Relaxed);
        Ok(length)
    }
}
