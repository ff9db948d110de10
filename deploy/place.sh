# Where an installation stands and what it is made of. Read with `.` by install.sh.

HOME_DIR=/opt/wormtub
RELEASES=$HOME_DIR/releases
CURRENT=$HOME_DIR/current
DATA=/var/lib/wormtub
UNITS=/etc/systemd/system
RULES=/etc/udev/rules.d/60-wormtub.rules
LINK=/usr/local/bin/wormtub
SERVICES="wormtub-log.service wormtub-serve.service"
BUTTON=wormtub-button.service
TIMER=wormtub-certificate.timer

check_system() {
    [ "$(getconf LONG_BIT)" = 64 ] ||
        fail "this system is 32 bit and some packages come for 64 bit only; write the card anew with the 64-bit Raspberry Pi OS."
    command -v systemctl >/dev/null 2>&1 ||
        fail "there is no systemd here to run the services; Raspberry Pi OS and Debian have it."
}

# Debian's own packages: only what is missing, so that nothing is fetched where all is there.
need_packages() {
    _missing=
    "${WORMTUB_PYTHON:-python3}" -c 'import ensurepip' 2>/dev/null || _missing="$_missing python3-venv"
    command -v adduser >/dev/null 2>&1 || _missing="$_missing adduser"
    # the pins' driver: its wheel does not fit every Python, Debian's package does
    ! is_pi || [ -e /usr/lib/python3/dist-packages/lgpio.py ] || _missing="$_missing python3-lgpio"
    # shellcheck disable=SC2086 # a list of packages
    [ -z "$_missing" ] || install_debian $_missing
}

is_pi() { grep -qs 'Raspberry Pi' /proc/device-tree/model; }

make_user() {
    getent passwd wormtub >/dev/null ||
        adduser --quiet --system --group --no-create-home --home "$DATA" wormtub
    ! getent group gpio >/dev/null || adduser --quiet wormtub gpio
    install -d -o wormtub -g wormtub -m 0750 "$DATA"
}

# as_wormtub CMD...: as the services' own user, so that every file of the data folder is its own.
as_wormtub() {
    setpriv --reuid wormtub --regid wormtub --init-groups \
        env HOME="$DATA" WORMTUB_DATA="$DATA" "$@"
}

place_files() {
    install -m 0644 deploy/units/wormtub-* "$UNITS/"
    if [ -d /etc/udev ] || command -v udevadm >/dev/null 2>&1; then
        install -D -m 0644 deploy/60-wormtub.rules "$RULES"
    fi
    reload
}

is_running() { [ -d /run/systemd/system ]; }

reload() {
    ! is_running || systemctl daemon-reload
    ! command -v udevadm >/dev/null 2>&1 || ! is_running || {
        udevadm control --reload && udevadm trigger --subsystem-match=w1 --action=change
    } || say "the rule for the bulk read takes effect after a restart of the machine"
}

stop_services() {
    # shellcheck disable=SC2086 # a list of services
    if is_running; then
        systemctl disable --quiet --now $SERVICES $BUTTON $TIMER 2>/dev/null || true
    else
        systemctl disable --quiet $SERVICES $BUTTON $TIMER 2>/dev/null || true
    fi
}

start_services() {
    # shellcheck disable=SC2086
    systemctl enable --quiet $SERVICES $TIMER $(with_button)
    if ! is_running; then
        say "systemd does not run here; the services start with the machine"
        return 0
    fi
    systemctl restart $TIMER wormtub-serve.service || back_out
    answers || back_out
    [ -z "$(with_button)" ] || systemctl restart $BUTTON || back_out
    systemctl restart wormtub-log.service 2>/dev/null || [ ! -d /sys/bus/w1/devices ] || back_out
    [ -d /sys/bus/w1/devices ] || grep -qs '^bus' "$DATA/wormtub.toml" ||
        say "the one-wire bus is not there yet; the logger tries until it is, after a restart of the machine"
}

# with_button: its service too, where the settings name a pin for it.
with_button() { ! grep -Eqs '^[[:space:]]*button_pin' "$DATA/wormtub.toml" || echo $BUTTON; }

# address [HOST]: where the pages are by the settings; HOST in the place of "every address".
address() {
    as_wormtub "$CURRENT/.venv/bin/python" -P -c "from api.doors.reach import EVERY_ADDRESS
from api.server import address
from logger.settings import load
settings = load()
host = '${1:-}' if settings.host in EVERY_ADDRESS else ''
print(address(settings.model_copy(update={'host': host} if host else {})))"
}

# answers: the service says that it is there, within a minute.
answers() {
    _left=60
    _alive=$(address localhost)/api/alive || return 1
    until "$CURRENT/.venv/bin/python" -c "import ssl, urllib.request as ask
ask.urlopen('$_alive', timeout=5, context=ssl._create_unverified_context())" 2>/dev/null; do
        _left=$((_left - 1))
        [ $_left -gt 0 ] || return 1
        sleep 1
    done
}

# The file is the owner's from then on; a later install leaves it as it is.
first_settings() {
    if ! [ -e "$DATA/wormtub.toml" ]; then
        install -o wormtub -g wormtub -m 0640 deploy/wormtub.installed.toml "$DATA/wormtub.toml"
    fi
    fingerprint=$(as_wormtub "$CURRENT/.venv/bin/wormtub" certificate) || back_out
    fingerprint=$(printf '%s\n' "$fingerprint" | sed -n '/fingerprint/ { n; s/^ *//p; }')
}

# The passphrase is printed once, here, and kept nowhere.
first_owner() {
    [ -z "$(as_wormtub "$CURRENT/.venv/bin/wormtub" people list)" ] ||
        return 0
    as_wormtub "$CURRENT/.venv/bin/wormtub" people add owner --role own
}
