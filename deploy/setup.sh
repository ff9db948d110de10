# Shared by demo.sh, test.sh and install.sh: finds or makes what a checkout needs. Read with `.`.
# Runs under any POSIX shell, as root, with sudo, or with neither.

say() { printf 'wormtub: %s\n' "$*"; }

fail() {
    printf 'wormtub: %s\n' "$*" >&2
    exit 1
}

# as_root CMD...: runs it with the rights to install, or says by its status that there are none.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        sudo -n "$@"
    elif command -v sudo >/dev/null 2>&1 && [ -t 0 ]; then
        sudo "$@"
    else
        return 126
    fi
}

# install_debian PACKAGE...: installs Debian packages; one plain sentence where that cannot be done.
install_debian() {
    command -v apt-get >/dev/null 2>&1 ||
        fail "$* is missing and there is no apt-get here; install it and run this again."
    say "installing $* (Debian packages)"
    _log=$(mktemp)
    if as_root env DEBIAN_FRONTEND=noninteractive apt-get update -qq >"$_log" 2>&1 &&
        as_root env DEBIAN_FRONTEND=noninteractive \
            apt-get install -y -qq --no-install-recommends "$@" >>"$_log" 2>&1; then
        rm -f "$_log"
        return 0
    fi
    tail -n 5 "$_log" >&2
    rm -f "$_log"
    fail "$* is missing and could not be installed; run 'apt-get install $*' as root, then run this again."
}

new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }

# find_python: sets PYTHON to a Python of 3.11 or later.
find_python() {
    for PYTHON in "${WORMTUB_PYTHON:-python3}" /usr/bin/python3 python3.13 python3.12 python3.11; do
        new_enough "$PYTHON" && return 0
    done
    install_debian python3
    PYTHON=/usr/bin/python3
    new_enough "$PYTHON" ||
        fail "Python 3.11 or later is needed and this system offers an older one; Debian 12 or Raspberry Pi OS of 2023 and later have it."
}

# make_venv DIR: an empty virtual environment with a way to install into it, in PIP.
make_venv() {
    rm -rf "$1"
    if "$PYTHON" -m venv "$1" >/dev/null 2>&1; then
        PIP="$1/bin/python -m pip"
        return 0
    fi
    rm -rf "$1"
    # Debian keeps the part that brings pip in a package of its own; a pip outside serves as well.
    if "$PYTHON" -m venv --without-pip "$1" >/dev/null 2>&1 &&
        "$PYTHON" -m pip --python "$1/bin/python" --version >/dev/null 2>&1; then
        PIP="$PYTHON -m pip --python $1/bin/python"
        return 0
    fi
    rm -rf "$1"
    install_debian python3-venv
    PYTHON=/usr/bin/python3
    "$PYTHON" -m venv "$1" >/dev/null ||
        fail "a virtual environment cannot be made in $1; see the message above, and check that the folder can be written and the disk has room."
    PIP="$1/bin/python -m pip"
}

# prepare_venv DIR LOCKFILE: DIR holds exactly what LOCKFILE says, and this checkout. Quick when it
# already does; a first try that broke off half-way left no stamp and starts over.
prepare_venv() {
    _stamp="$1/.made-from"
    _want=$(cat "$2" pyproject.toml | cksum)
    if [ -x "$1/bin/wormtub" ] && [ "$(cat "$_stamp" 2>/dev/null)" = "$_want" ] &&
        "$1/bin/python" -c 'import api, fastapi, numpy' 2>/dev/null; then
        return 0
    fi
    [ -w . ] || fail "the folder $(pwd) cannot be written; copy the checkout to a folder of your own and run this again."
    find_python
    say "making a virtual environment in $1 with $("$PYTHON" --version)"
    make_venv "$1"
    say "installing the locked packages (a few minutes on a Raspberry Pi)"
    # A folder of wheels in WORMTUB_WHEELS serves a machine without internet.
    _from=${WORMTUB_WHEELS:+--no-index --find-links $WORMTUB_WHEELS}
    # shellcheck disable=SC2086 # PIP and _from are lists of words
    $PIP install --quiet --disable-pip-version-check --no-warn-script-location --only-binary :all: \
        $_from --require-hashes -r "$2" ||
        fail "the packages could not be installed; check the network (or set WORMTUB_WHEELS to a folder of wheels) and the disk's free space, then run this again."
    # shellcheck disable=SC2086
    $PIP install -qq --disable-pip-version-check --no-warn-script-location --no-deps \
        --no-build-isolation --editable . ||
        fail "wormtub itself could not be installed into $1; see the message above."
    printf '%s' "$_want" >"$_stamp"
}
