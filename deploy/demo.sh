#!/bin/sh
# Shows the main job on a simulated bus: a spirit run that is logged, kept in SQLite and served.
# Usage: sh deploy/demo.sh [wormtub demo's options]     WORMTUB_PORT=8080 sets the port.
set -eu
cd "$(dirname "$0")/.."
. deploy/setup.sh
say "a demonstration on simulated probes; nothing outside this folder is changed but missing Debian packages"
prepare_venv "${WORMTUB_VENV:-.venv}" deploy/requirements.lock
exec "${WORMTUB_VENV:-.venv}/bin/wormtub" demo "$@"
