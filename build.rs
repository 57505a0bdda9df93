//! What `--version` tells of how the program was built.
//!
//! In: what cargo says of the build, and the commit where the caller names it.  Out: variables for
//! `src/cli/version.rs`. Asks no version control and reads no file.

use std::env;
use std::process::Command;

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed=SALTWRIGHT_COMMIT");
    let told = |name: &str| env::var(name).ok().filter(|value| !value.is_empty());
    let compiler = told("RUSTC").and_then(|rustc| {
        let output = Command::new(rustc).arg("--version").output().ok()?;
        let line = String::from_utf8(output.stdout).ok()?;
        Some(line.trim().to_owned()).filter(|line| !line.is_empty())
    });
    let facts = [
        ("COMMIT", told("SALTWRIGHT_COMMIT")),
        ("TARGET", told("TARGET")),
        ("PROFILE", told("PROFILE")),
        ("COMPILER", compiler),
    ];
    for (name, value) in facts {
        let value = value.unwrap_or_else(|| "unknown".to_owned());
        println!("cargo::rustc-env=SALTWRIGHT_BUILD_{name}={value}");
    }
}
