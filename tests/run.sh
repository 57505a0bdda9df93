#!/usr/bin/env bash
# Runs every test of the project: with Rust alone those of the program, with Chromium and Node.js
# those of the page in a browser, too. On Debian what is missing is installed; elsewhere the end of
# the output says what did not run and what to install.
set -euo pipefail
cd "$(dirname "$0")/.."
if ! command -v cargo >/dev/null 2>&1; then
    echo "The tests need Rust: cargo was not found. Install a Rust toolchain, then run this again." >&2
    exit 1
fi

needed=(chromium chromedriver npm)
missing() {
    for program in "${needed[@]}"; do
        command -v "$program" >/dev/null 2>&1 || echo "$program"
    done
}
if [ -n "$(missing)" ] && [ -f /etc/debian_version ] && [ "$(id -u)" = 0 ]; then
    export DEBIAN_FRONTEND=noninteractive
    # Only what is missing: a Node.js from elsewhere cannot stand beside Debian's.
    wanted=$(missing | sed 's/^chromedriver$/chromium-driver/; s/^npm$/nodejs npm/')
    # shellcheck disable=SC2086
    apt-get update -qq && apt-get install -y -qq --no-install-recommends $wanted >/dev/null || true
fi
# The accessibility rules, in the version that tests/browser/package.json names.
rules=tests/browser/node_modules/axe-core/package.json
wanted=$(sed -n 's/.*"axe-core": "\(.*\)".*/\1/p' tests/browser/package.json)
if command -v npm >/dev/null 2>&1 && ! grep -qs "\"version\": \"$wanted\"" "$rules"; then
    npm install --silent --no-package-lock --no-audit --no-fund --prefix tests/browser || true
fi
unmet=$(missing)
[ -f "$rules" ] || unmet="$unmet axe-core"

# A thousand clients at once need as many open files.
ulimit -n 4096 2>/dev/null || true
if [ -z "${unmet// /}" ]; then
    # The laws solve thousands of random problems: optimised, they take seconds.
    exec cargo test --workspace --release "$@"
fi
cargo test --workspace --exclude saltwright-browser-tests --release "$@"
cat >&2 <<END

NOT RUN: the tests of the page in a browser (tests/browser), because these are missing:
$unmet
On Debian, as root:  apt-get install chromium chromium-driver nodejs npm
Elsewhere: install Chromium, the ChromeDriver of the same version (as chromedriver) and Node.js
with npm, all in PATH. Then run tests/run.sh again; it fetches axe-core by npm.
All other tests passed.
END
exit 1
