#!/bin/sh
# deploy/install.sh for real in a clean Debian root with a systemd of its own: install, upgrade, the
# way back, uninstall, a folder of wheels; services in their sandbox, probes simulated, row counts
# compared.
# Usage: sh tests/bench/install_root.sh DIR [bookworm|trixie]     (as root; needs debootstrap)
# The mirror and the certificates are the machine's own; DIR is kept for the next try.
set -eu
here=$(cd "$(dirname "$0")/../.." && pwd)
root=$1
suite=${2:-bookworm}
mirror=$(sed -n 's/^URIs: *//p' /etc/apt/sources.list.d/debian.sources | head -n 1)
ca=/etc/ssl/certs/ca-certificates.crt
data=/var/lib/wormtub
bus=/run/simulated/w1

if ! [ -e "$root/.ready" ]; then
    debootstrap --variant=minbase --include=python3,ca-certificates,git,adduser,systemd,systemd-sysv,udev,dbus \
        "$suite" "$root" "$mirror" >/dev/null
    cp "$ca" "$root$ca"
    echo stillhouse >"$root/etc/hostname"
    touch "$root/.ready"
fi
cp /etc/resolv.conf /etc/hosts "$root/etc/"
rm -rf "$root/srv/wormtub" "$root/srv/wheels" "$root/opt/wormtub" "$root$data"
git clone --quiet "$here" "$root/srv/wormtub"

unshare --mount --pid --uts --ipc --cgroup --fork --kill-child --propagation private \
    sh "$here/tests/bench/boot_root.sh" "$root" >"$root/boot.log" 2>&1 &
outer=$!
trap 'kill -KILL $outer 2>/dev/null || true' EXIT
inner=
until inner=$(pgrep -P "$outer" 2>/dev/null) && [ "$(cat "/proc/$inner/comm")" = systemd ]; do sleep 0.2; done

# inside CMD...: in the booted root, with nothing of this machine's environment but the certificates.
inside() {
    nsenter -t "$inner" -m -p -u -i -C -r -w /usr/bin/env -i PIP_CERT=$ca LANG=C.UTF-8 HOME=/root \
        PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin "$@"
}
step() { printf '\n== %s\n' "$*"; }
must() { "$@" || { echo "FAILED: $*"; inside journalctl -n 40 --no-pager -o cat; exit 1; }; }
until inside systemctl is-active --quiet basic.target; do sleep 0.5; done

# count TABLE-OR-EXPRESSION: of the store, read as its owner.
count() {
    inside /opt/wormtub/current/.venv/bin/python -c "import sqlite3
print(sqlite3.connect('file:$data/wormtub.db?mode=ro', uri=True).execute('select $1').fetchone()[0])"
}
scans="count(*) + (select count(*) * 600 from blocks) from recent_scans"
wait_for_scans() {
    i=0
    until [ "$(count "$scans" 2>/dev/null || echo 0)" -gt "$1" ]; do
        i=$((i + 1)); [ $i -lt 60 ] || must false; sleep 1
    done
}

step "install ($suite)"
must inside sh /srv/wormtub/deploy/install.sh --no-one-wire
inside systemctl is-active wormtub-serve
step "a simulated bus, since there is no wire here"
inside sh -c "sed -i '1i bus = \"$bus\"' $data/wormtub.toml"
inside systemd-run --quiet --unit=simulated --uid=wormtub --property=RuntimeDirectory=simulated \
    /opt/wormtub/current/.venv/bin/wormtub simulate --bus $bus
until inside test -d $bus/w1_bus_master1; do sleep 0.2; done
inside systemctl restart wormtub-log wormtub-serve
wait_for_scans 5
must inside systemctl is-active wormtub-log wormtub-serve
step "the sandbox as the units ask for it"
inside systemd-analyze verify /etc/systemd/system/wormtub-log.service /etc/systemd/system/wormtub-serve.service
inside systemd-analyze security --no-pager wormtub-log wormtub-serve 2>/dev/null | grep -i overall || true
step "a backup to a stick, from within the logger's sandbox, and another port"
inside sh -c "mkdir -p /media/stick && mount -t tmpfs tmpfs /media/stick && install -d -o wormtub /media/stick/wormtub"
inside sed -i -e '1i backup_to = "/media/stick/wormtub"' -e 's/^port = .*/port = 9443/' $data/wormtub.toml
inside systemctl restart wormtub-log wormtub-serve
must inside sh -c "nsenter -t \$(systemctl show -p MainPID --value wormtub-log) -m setpriv --reuid wormtub \
    --regid wormtub --clear-groups env WORMTUB_DATA=$data /opt/wormtub/current/.venv/bin/wormtub backup"
step "one minute and more: the watchdog is content"
before=$(inside systemctl show -p NRestarts --value wormtub-serve wormtub-log | tr '\n' ' ')
sleep 75
[ "$before" = "$(inside systemctl show -p NRestarts --value wormtub-serve wormtub-log | tr '\n' ' ')" ] ||
    must false
step "upgrade"
had=$(count "$scans")
must inside sh /srv/wormtub/deploy/install.sh --no-one-wire
wait_for_scans "$had"
inside ls $data/backups
step "the way back"
must inside sh /srv/wormtub/deploy/install.sh --back
wait_for_scans "$had"
step "uninstall keeps the data"
must inside sh /srv/wormtub/deploy/install.sh --uninstall
[ ! -e "$root/opt/wormtub" ] && [ -s "$root$data/wormtub.db" ] && [ ! -e "$root/usr/local/bin/wormtub" ]
! inside systemctl cat wormtub-serve >/dev/null 2>&1
step "install again, from a folder of wheels alone, finds them"
version=$(inside python3 -c 'import sys; print(".".join(map(str, sys.version_info[:2])))')
WORMTUB_PYTHON="$here/.venv/bin/python" sh "$here/deploy/wheels.sh" "$root/srv/wheels" "$version" "$(uname -m)"
must inside env PIP_INDEX_URL=http://127.0.0.1:9/ \
    sh /srv/wormtub/deploy/install.sh --no-one-wire --wheels /srv/wheels
[ "$(count "$scans")" -ge "$had" ]
inside systemctl stop simulated
echo
echo "== all of it went through on $suite"
