//! Reading and writing files, so that a bad file is named and a good one is never lost.
//!
//! In: a path.  Out: text, or a fault that says what to do. Knows nothing of what the text means.

use saltwright_fertilizers::{Fault, Problem};
use std::fs::{self, File, Permissions};
use std::io::{Error, ErrorKind, Read, Write};
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

/// Reads a text file of at most [`MAX_BYTES`]; a larger one is refused before it is read.
pub fn read_text(path: &Path) -> Result<String, Fault> {
    let known = fs::metadata(path).map_err(|error| unread(path, &error))?;
    if known.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file in it."));
    }
    if known.len() > MAX_BYTES {
        return Err(too_large(path, known.len()));
    }
    let file = File::open(path).map_err(|error| unread(path, &error))?;
    let mut bytes = Vec::new();
    // The length is not believed: a pipe has none, and a file may grow while it is read.
    let read = file.take(MAX_BYTES + 1).read_to_end(&mut bytes);
    read.map_err(|error| unread(path, &error))?;
    if bytes.len() as u64 > MAX_BYTES {
        return Err(too_large(path, bytes.len() as u64));
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

fn too_large(path: &Path, bytes: u64) -> Fault {
    const MEBIBYTE: u64 = 1024 * 1024;
    let most = usize::try_from(MAX_BYTES / MEBIBYTE).unwrap_or(usize::MAX);
    let count = usize::try_from(bytes.div_ceil(MEBIBYTE)).unwrap_or(usize::MAX);
    let things = "MiB";
    let problem = Problem::TooMany {
        things,
        count,
        most,
    };
    Fault {
        problem,
        ..fault(path, "", "")
    }
}

/// The fault of a file that could not be read.
pub fn unread(path: &Path, error: &Error) -> Fault {
    let (reason, mend) = match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => {
            ("there is no such file".to_owned(), "Check the path.")
        }
        ErrorKind::PermissionDenied => (
            "this file may not be read".to_owned(),
            "Check who may read it.",
        ),
        kind => (
            format!("this file cannot be read ({kind})"),
            "Check that it is a readable file.",
        ),
    };
    fault(path, reason, mend)
}

/// The fault of a file that could not be written.
pub fn unwritten(path: &Path, error: &Error) -> Fault {
    let (reason, mend) = match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => (
            "there is no such folder to write to".to_owned(),
            "Make the folder, or name another.",
        ),
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => (
            "this may not be written to".to_owned(),
            "Check who may write there, or name another place.",
        ),
        ErrorKind::StorageFull => (
            "the disk is full".to_owned(),
            "Make room, or name another place.",
        ),
        kind => (
            format!("this cannot be written ({kind})"),
            "Name another place.",
        ),
    };
    fault(path, reason, mend)
}

/// Makes a folder in one that is there; one that is there already is left as it is.
pub fn make(folder: &Path) -> Result<(), Fault> {
    match fs::create_dir(folder) {
        Err(_) if folder.is_dir() => Ok(()),
        made => made.map_err(|error| unwritten(folder, &error)),
    }
}

/// Writes a file aside and then moves it to its place, so that a failed write leaves what was
/// there before.
pub fn write_text(path: &Path, text: &str) -> Result<(), Fault> {
    if path.is_dir() {
        return Err(fault(path, "this is a folder", "Name a file to write."));
    }
    // A link stays a link: the file that it names is replaced.
    let place = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let old = fs::metadata(&place).ok();
    if old.as_ref().is_some_and(|old| !old.is_file()) {
        // A pipe or a terminal cannot be replaced.
        return fs::write(&place, text).map_err(|error| unwritten(path, &error));
    }
    replace(&place, text, old.map(|old| old.permissions())).map_err(|error| unwritten(path, &error))
}

fn replace(place: &Path, text: &str, permissions: Option<Permissions>) -> Result<(), Error> {
    let folder = match place.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut aside = builder().tempfile_in(folder)?;
    aside.write_all(text.as_bytes())?;
    if let Some(permissions) = permissions {
        aside.as_file().set_permissions(permissions)?;
    }
    aside.as_file().sync_all()?;
    aside.persist(place)?;
    Ok(())
}

/// Files of the grower are readable like any other, not private like temporary ones.
#[cfg(unix)]
fn builder() -> tempfile::Builder<'static, 'static> {
    use std::os::unix::fs::PermissionsExt;
    let mut builder = tempfile::Builder::new();
    builder.permissions(Permissions::from_mode(0o666));
    builder
}

#[cfg(not(unix))]
fn builder() -> tempfile::Builder<'static, 'static> {
    tempfile::Builder::new()
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

    #[test]
    fn what_is_too_large_is_refused_by_its_length() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("big");
        let file = File::create(&path).expect("made");
        file.set_len(MAX_BYTES).expect("sparse");
        let said = read_text(&path).expect_err("zeros").to_string();
        assert!(said.contains("no text file"), "{said}");
        file.set_len(1 << 40).expect("sparse");
        let said = read_text(&path).expect_err("large").to_string();
        assert!(
            said.contains("1048576 MiB are more than the limit of 16"),
            "{said}"
        );
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        write_text(&file, "old").expect("written");
        fs::set_permissions(&file, Permissions::from_mode(0o640)).expect("set");
        std::os::unix::fs::symlink(&file, &link).expect("linked");
        write_text(&link, "new").expect("written");
        assert_eq!(read_text(&file).expect("readable"), "new");
        assert!(link.is_symlink());
        let mode = fs::metadata(&file).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
    }
}
