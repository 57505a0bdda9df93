#!/usr/bin/env bash
# Runs every test of the project. Needs Rust (cargo); everything else comes with the crates.
set -euo pipefail
cd "$(dirname "$0")/.."
if ! command -v cargo >/dev/null 2>&1; then
    echo "The tests need Rust: cargo was not found. Install a Rust toolchain, then run this again." >&2
    exit 1
fi
# The laws solve thousands of random problems: optimised, they take seconds.
exec cargo test --workspace --release "$@"
