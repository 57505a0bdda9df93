//! The grower's own folder: where the journal lies.

use super::journal;
use std::path::{Path, PathBuf};

/// The environment variable that names the folder.
pub const VARIABLE: &str = "SALTWRIGHT_FOLDER";

/// A folder, and how it was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder that was named, else that of the environment, else the working folder.
    pub fn find(named: Option<&Path>) -> Self {
        let environment = || {
            let path = std::env::var_os(VARIABLE)?;
            (!path.is_empty()).then(|| PathBuf::from(path))
        };
        let path = named.map(Path::to_owned).or_else(environment);
        Self {
            path: path.unwrap_or_default(),
        }
    }

    /// Its journal, whether there is one yet or not.
    pub fn journal(&self) -> PathBuf {
        self.path.join(journal::FILE)
    }
}
