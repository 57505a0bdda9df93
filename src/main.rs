//! The `saltwright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    saltwright::cli::run()
}
