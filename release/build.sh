#!/usr/bin/env bash
# Builds what is given away: one program, its bill of materials, completions, manual pages, licences
# and a checksum of each file, in target/release-files/NAME.
#
# The program is static (musl) where that target is installed or rustup can install it, and musl-gcc is
# there for the database library (on Debian, as root, it is installed); else it needs the C library of
# this machine, and the name says so. TARGET=... asks for a target by name.
set -euo pipefail
cd "$(dirname "$0")/.."
say() { echo "release: $*" >&2; }
host=$(rustc -vV | sed -n 's/^host: //p')

# A commit is named only where the tree is that commit.
if commit=$(git rev-parse --verify --short=12 HEAD 2>/dev/null) && [ -z "$(git status --porcelain)" ]; then
    export SALTWRIGHT_COMMIT=$commit
else
    unset SALTWRIGHT_COMMIT
    say "no commit is named: this is no git tree, or one with changes"
fi

installed() { [ -d "$(rustc --print sysroot)/lib/rustlib/$1/lib" ]; }
target=${TARGET:-}
if [ -z "$target" ]; then
    target=${host/-gnu/-musl}
    if ! command -v musl-gcc >/dev/null 2>&1 && [ -f /etc/debian_version ] && [ "$(id -u)" = 0 ]; then
        { apt-get update -qq && apt-get install -y -qq --no-install-recommends musl-tools; } >/dev/null || true
    fi
    if ! installed "$target" && ! rustup target add "$target" >/dev/null 2>&1; then
        say "$target is not installed and rustup cannot install it; the program needs the C library of $host"
        target=$host
    elif ! command -v musl-gcc >/dev/null 2>&1; then
        say "there is no musl-gcc; the program needs the C library of $host"
        target=$host
    fi
fi
say "building for $target"
cargo build --release --locked --target "$target" --package saltwright
built=${CARGO_TARGET_DIR:-target}/$target/release/saltwright

version=$(sed -n '/^\[workspace.package\]/,/^\[/s/^version = "\(.*\)"/\1/p' Cargo.toml)
name=saltwright-$version-$target
out=${CARGO_TARGET_DIR:-target}/release-files/$name
rm -rf "$out"
mkdir -p "$out/completions" "$out/man" "$out/docs"
cp "$built" README.md CHANGELOG.md LICENSE-* "$out/"
cp docs/*.png "$out/docs/"
cargo metadata --format-version 1 --locked --filter-platform "$target" |
    python3 release/bill.py Cargo.lock >"$out/bill-of-materials.cdx.json"

# The program as it is given away runs, and writes its own completions and pages.
program=$out/saltwright
case $target in
"$host" | "${host/-gnu/-musl}")
    "$program" --version
    for shell in bash zsh fish powershell elvish; do
        "$program" completions "$shell" >"$out/completions/saltwright.$shell"
    done
    "$program" man "$out/man" >/dev/null
    "$program" formulate hoagland-2 --water rain-barrel --tank 20L >/dev/null
    ;;
*) say "$target does not run here: completions and pages are left out" && rmdir "$out/completions" "$out/man" ;;
esac
case $target in
*-musl)
    if readelf --dynamic "$program" | grep NEEDED; then
        say "the program is not static" && exit 1
    fi
    ;;
esac

(cd "$out" && find . -type f ! -name SHA256SUMS -print0 | LC_ALL=C sort -z | xargs -0 sha256sum >SHA256SUMS)
(cd "$out" && sha256sum --quiet --check SHA256SUMS)
say "$(wc -c <"$program") bytes of program, $(grep -c '"purl"' "$out/bill-of-materials.cdx.json") parts"
echo "$out"
