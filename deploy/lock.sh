#!/bin/sh
# Locks every version anew: names, versions and hashes only, for Python 3.11 and later, any platform.
# Usage: sh deploy/lock.sh [--upgrade]      (needs uv from the Python package index)
set -eu
cd "$(dirname "$0")/.."
lock() {
    uv pip compile pyproject.toml --group build "$@" --universal --python-version 3.11 \
        --generate-hashes --no-emit-index-url --no-emit-find-links --no-header --no-annotate --quiet
}
lock -o deploy/requirements.lock "$@"
lock --group test -c deploy/requirements.lock -o deploy/requirements-test.lock "$@"
