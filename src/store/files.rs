//! Reading and writing files, so that a bad file is named and a good one is never lost.
//!
//! In: a path.  Out: text, or a fault that says what to do. Knows nothing of what the text means.

use saltwright_fertilizers::{Fault, Problem};
use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::Path;

/// Largest file that is read, bytes.
pub const MAX_BYTES: u64 = 16 * 1024 * 1024;

/// A fault of a file as a whole.
pub fn fault(path: &Path, reason: impl Into<String>, mend: &'static str) -> Fault {
    let reason = reason.into();
    Fault {
        file: Some(path.display().to_string()),
        line: None,
        field: String::new(),
        problem: Problem::Unreadable { reason, mend },
    }
}

/// Reads a text file of at most [`MAX_BYTES`].
pub fn read_text(path: &Path) -> Result<String, Fault> {
    let known = fs::metadata(path).map_err(|error| unread(path, &error))?;
    if known.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file in it."));
    }
    let file = File::open(path).map_err(|error| unread(path, &error))?;
    let mut bytes = Vec::new();
    // The length is not believed: a pipe has none, and a file may grow while it is read.
    let read = file.take(MAX_BYTES + 1).read_to_end(&mut bytes);
    read.map_err(|error| unread(path, &error))?;
    if known.len() > MAX_BYTES || bytes.len() as u64 > MAX_BYTES {
        let problem = Problem::TooMany {
            things: "MiB",
            count: usize::try_from(known.len().max(MAX_BYTES + 1).div_ceil(1024 * 1024))
                .unwrap_or(usize::MAX),
            most: 16,
        };
        let mut fault = fault(path, "", "");
        fault.problem = problem;
        return Err(fault);
    }
    if bytes.contains(&0) {
        return Err(fault(
            path,
            "this is no text file",
            "Save it as CSV, TOML or JSON text.",
        ));
    }
    String::from_utf8(bytes)
        .map_err(|_| fault(path, "this is not UTF-8 text", "Save it as text in UTF-8."))
}

fn unread(path: &Path, error: &std::io::Error) -> Fault {
    let mend = match error.kind() {
        std::io::ErrorKind::NotFound => "Check the path.",
        std::io::ErrorKind::PermissionDenied => "Check who may read it.",
        _ => "Check that it is a readable file.",
    };
    fault(
        path,
        format!("this file cannot be read ({})", error.kind()),
        mend,
    )
}

/// Writes a file beside its place and then moves it there, so that a failed write leaves what was
/// there before.
pub fn write_text(path: &Path, text: &str) -> Result<(), Fault> {
    let said = |error: &std::io::Error| {
        let reason = format!("this file cannot be written ({})", error.kind());
        fault(
            path,
            reason,
            "Check that the folder exists and may be written to.",
        )
    };
    if path.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file to write."));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut aside = tempfile::NamedTempFile::new_in(folder).map_err(|error| said(&error))?;
    let written = aside.write_all(text.as_bytes());
    written
        .and_then(|()| aside.as_file().sync_all())
        .map_err(|error| said(&error))?;
    aside.persist(path).map_err(|error| said(&error.error))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::expect_used)]
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_old_file() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("mix.csv");
        write_text(&path, "old").expect("written");
        assert!(write_text(&path.join("below"), "new").is_err());
        assert_eq!(read_text(&path).expect("readable"), "old");
        write_text(&path, "new").expect("written");
        assert_eq!(read_text(&path).expect("readable"), "new");
        let left = fs::read_dir(folder.path()).expect("a folder").count();
        assert_eq!(left, 1, "nothing is left aside");
    }
}
