//! `saltwright --version`: which program this is and how it was built.

/// Version, commit, target, profile and compiler, a line each; what the build could not tell is
/// called unknown. A commit is known where the build was given one in `SALTWRIGHT_COMMIT`, as
/// `release/build.sh` does from a clean tree.
pub const FACTS: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    "\ncommit   ",
    env!("SALTWRIGHT_BUILD_COMMIT"),
    "\ntarget   ",
    env!("SALTWRIGHT_BUILD_TARGET"),
    "\nprofile  ",
    env!("SALTWRIGHT_BUILD_PROFILE"),
    "\ncompiler ",
    env!("SALTWRIGHT_BUILD_COMPILER"),
);
