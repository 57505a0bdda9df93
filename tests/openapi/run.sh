#!/usr/bin/env bash
# Tests the machine face against its own description: requests that fit and requests that do not are
# made from it by the thousand, sent to a server, and every answer is held against it.
#   tests/openapi/run.sh [cases a job]        (100 where left out; about three minutes)
# Needs Rust, python3 with venv, and the package index of Python once.
set -euo pipefail
cd "$(dirname "$0")/../.."
cases=${1:-100}
seed=${SEED:-1}
work=$(mktemp -d)
trap 'kill "${server:-}" 2>/dev/null || true; rm -rf "$work"' EXIT
cargo build --quiet --release
program=${CARGO_TARGET_DIR:-target}/release/saltwright

python3 -m venv "$work/venv"
"$work/venv/bin/pip" install --quiet --disable-pip-version-check -r tests/openapi/requirements.txt

"$program" serve --port 0 >"$work/said" &
server=$!
until grep -q "Ctrl+C" "$work/said"; do sleep 0.1; done
site=$(sed -n 's|^Open \(http://.*\)/$|\1|p' "$work/said")

status=0
"$work/venv/bin/st" --config-file tests/openapi/schemathesis.toml run "$site/api" --url "$site" \
    --checks all --phases examples,coverage,fuzzing --max-examples "$cases" --seed "$seed" \
    --suppress-health-check all --continue-on-failure \
    --report har --report-har-path "$work/cases.har" || status=$?
python3 tests/openapi/tally.py "$work/cases.har"
exit "$status"
