#!/bin/sh
# Collects the wheels of a Raspberry Pi without internet into a folder, on a machine that has it.
# Usage: sh deploy/wheels.sh DIR [3.11|3.13] [aarch64|x86_64]
# Then, on the Pi: sudo sh deploy/install.sh --wheels DIR
set -eu
into=${1:?the first word is the folder to collect into}
python=${2:-3.11}
machine=${3:-aarch64}
cd "$(dirname "$0")/.."
. deploy/setup.sh
find_python
for glibc in 2_17 2_28 2_34; do set -- "$@" --platform "manylinux_${glibc}_$machine"; done
shift "$(($# - 6))"
$PYTHON -m pip download --quiet --disable-pip-version-check --only-binary :all: --no-deps \
    --python-version "$python" --implementation cp "$@" --platform "manylinux2014_$machine" \
    --require-hashes -r deploy/requirements.lock --dest "$into" ||
    fail "the wheels could not be collected; check the network, and that python3 has pip."
say "the wheels for Python $python on $machine are in $into"
