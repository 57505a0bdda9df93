//! The `saltwright` command.

use std::process::ExitCode;

/// Requests ask for memory many times in small pieces, and the C library of a static build hands it out
/// slowly and to one thread at a time.
#[cfg(all(unix, feature = "jemalloc"))]
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> ExitCode {
    saltwright::cli::run()
}
