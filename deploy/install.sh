#!/bin/sh
# Installs Wormtub on Raspberry Pi OS or Debian (bookworm or trixie, 64 bit) as two services.
# Usage: sudo sh deploy/install.sh [--one-wire PIN|--no-one-wire] [--wheels DIR]
#        sudo sh deploy/install.sh --back          the release before this one, and its data
#        sudo sh deploy/install.sh --uninstall     takes the program away and keeps the data
# Run again after fetching a newer checkout, it upgrades: a backup, the schema, a way back.
set -eu
cd "$(dirname "$0")/.."
. deploy/setup.sh
. deploy/place.sh
. deploy/releases.sh
. deploy/one_wire.sh

one_wire=ask
action=put_in
while [ $# -gt 0 ]; do
    case $1 in
    --one-wire) one_wire=${2:-}; check_pin "$one_wire"; shift ;;
    --no-one-wire) one_wire=no ;;
    --wheels) WORMTUB_WHEELS=$(cd "${2:?--wheels takes a folder of wheels}" && pwd); shift ;;
    --back) action=back ;;
    --uninstall) action=take_away ;;
    *) fail "$1 is not known here; the first lines of deploy/install.sh say what is." ;;
    esac
    shift
done
[ "$(id -u)" -eq 0 ] || fail "installing takes the rights of root; run 'sudo sh deploy/install.sh'."

put_in() {
    check_system
    need_packages
    make_user
    new_release
    keep_way_back
    place_files
    switch_release
    first_settings
    offer_one_wire "$one_wire"
    start_services
    first_owner
    say "installed $(basename "$release"); the pages are at $(address) and, on this machine, $(address localhost)"
    say "a phone first takes the house's certificate from $(address)/doors.html; deploy/README.md says how, and how to watch from afar"
    say "its authority's fingerprint, to compare there, is $fingerprint"
    say "this is a watch, not a safety device: heat cut-out, relief and ventilation are hardware and work with the Pi unplugged"
}

take_away() {
    stop_services
    rm -f "$UNITS"/wormtub-* "$RULES" "$LINK"
    reload
    rm -rf "$HOME_DIR"
    say "the program is gone; your data and its backups stay in $DATA (remove the folder and the user 'wormtub' yourself if you mean to)"
}

$action
