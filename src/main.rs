//! The `saltwright` command.

use std::process::ExitCode;

/// Requests ask for memory many times in small pieces, and the C library of a static build hands it out
/// slowly and to one thread at a time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    saltwright::cli::run()
}
