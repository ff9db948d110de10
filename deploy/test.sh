#!/bin/sh
# Installs what the tests need and runs them all.
# Usage: sh deploy/test.sh [pytest's options]
set -eu
cd "$(dirname "$0")/.."
. deploy/setup.sh
say "installing what the tests need, then running them all"
venv=${WORMTUB_TEST_VENV:-.venv-test}
missing=
command -v git >/dev/null 2>&1 || missing="$missing git"
command -v chromium >/dev/null 2>&1 || missing="$missing chromium"
command -v node >/dev/null 2>&1 || missing="$missing nodejs"
command -v npm >/dev/null 2>&1 || missing="$missing npm"
command -v strace >/dev/null 2>&1 || missing="$missing strace"
command -v systemd-analyze >/dev/null 2>&1 || missing="$missing systemd"
# shellcheck disable=SC2086 # a list of packages
[ -z "$missing" ] || install_debian $missing
prepare_venv "$venv" deploy/requirements-test.lock
if ! [ tests/web/node_modules/.package-lock.json -nt tests/web/package-lock.json ]; then
    say "installing the front end's checkers (npm)"
    (cd tests/web && npm ci --silent --no-audit --no-fund) ||
        fail "the front end's checkers could not be installed; check the network and run this again."
    touch tests/web/node_modules/.package-lock.json
fi
# three at a time, a file at a time: much of the suite waits for real processes, and two cores are
# busy only where one more goes on meanwhile
exec "$venv/bin/python" -m pytest -n 3 --dist loadfile --no-loadscope-reorder "$@"
