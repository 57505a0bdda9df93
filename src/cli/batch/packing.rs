//! Compressed files, by the ending of their name: `.gz` (RFC 1952) and `.zst` (RFC 8878).
//!
//! What is written is one whole member or frame after another, each of whole lines, so that a file
//! whose end is cut off is sound up to its last whole one.

use std::io::{self, BufRead, Read, Write};
use std::path::Path;

/// Largest window of a `.zst` that is read, as a power of two: 8 MiB, what RFC 8878, section 3.1.1.1.2,
/// asks every decoder to hold. A file may ask for more, and memory shall not depend on it.
const LARGEST_WINDOW: u32 = 23;
/// Level of zstd: on reports the fastest packs tighter than the usual level does.
const ZSTD_LEVEL: i32 = 1;

/// How a file is compressed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Packing {
    /// Not at all.
    #[default]
    Plain,
    /// gzip.
    Gzip,
    /// Zstandard.
    Zstd,
}

impl Packing {
    /// By the ending of the name, which is taken off.
    pub fn of(path: &Path) -> (Self, &Path) {
        let ending = path.extension().map(std::ffi::OsStr::to_ascii_lowercase);
        let packing = match ending.as_ref().and_then(|ending| ending.to_str()) {
            Some("gz") => Self::Gzip,
            Some("zst") => Self::Zstd,
            _ => return (Self::Plain, path),
        };
        (packing, path.file_stem().map_or(path, Path::new))
    }

    /// What a file holds.
    pub fn open(self, file: impl BufRead + Send + 'static) -> io::Result<Box<dyn Read + Send>> {
        Ok(match self {
            Self::Plain => Box::new(file),
            Self::Gzip => Box::new(flate2::bufread::MultiGzDecoder::new(file)),
            Self::Zstd => {
                let mut decoder = zstd::Decoder::with_buffer(file)?;
                decoder.window_log_max(LARGEST_WINDOW)?;
                Box::new(decoder)
            }
        })
    }

    /// A member or frame that holds this.
    pub fn pack(self, text: Vec<u8>) -> io::Result<Vec<u8>> {
        match self {
            Self::Plain => Ok(text),
            Self::Gzip => {
                let mut encoder =
                    flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
                encoder.write_all(&text)?;
                encoder.finish()
            }
            Self::Zstd => {
                let mut compressor = zstd::bulk::Compressor::new(ZSTD_LEVEL)?;
                compressor.include_checksum(true)?;
                compressor.compress(&text)
            }
        }
    }

    /// Hands what the next member or frame holds to `take`, piece by piece; false at the end of the
    /// file. Behind it, `file` stands where the next one begins.
    pub fn next(self, file: &mut impl BufRead, mut take: impl FnMut(&[u8])) -> io::Result<bool> {
        if file.fill_buf()?.is_empty() {
            return Ok(false);
        }
        let mut held: Box<dyn Read> = match self {
            Self::Plain => Box::new(file),
            Self::Gzip => Box::new(flate2::bufread::GzDecoder::new(file)),
            Self::Zstd => {
                let mut decoder = zstd::Decoder::with_buffer(file)?.single_frame();
                decoder.window_log_max(LARGEST_WINDOW)?;
                Box::new(decoder)
            }
        };
        let mut piece = [0; 8192];
        loop {
            match held.read(&mut piece)? {
                0 => return Ok(true),
                length => take(&piece[..length]),
            }
        }
    }
}
