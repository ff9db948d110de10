#!/bin/sh
# The README's two commands in a clean Debian root, where nothing installed earlier can hide an
# omission: as root, then as a plain user with neither sudo nor python3-venv.
# Usage: sh tests/bench/clean_root.sh DIR [bookworm|trixie] [demo|test|user]...   (as root; needs debootstrap)
# The mirror and the certificates are the machine's own; DIR is kept for the next try.
set -eu
here=$(cd "$(dirname "$0")/../.." && pwd)
root=$1
suite=${2:-bookworm}
[ $# -gt 2 ] && shift 2 || set -- demo user test
mirror=$(sed -n 's/^URIs: *//p' /etc/apt/sources.list.d/debian.sources | head -n 1)
ca=/etc/ssl/certs/ca-certificates.crt

if ! [ -e "$root/.ready" ]; then
    debootstrap --variant=minbase --include=python3,ca-certificates,git,adduser "$suite" "$root" "$mirror" >/dev/null
    cp "$ca" "$root$ca"
    chroot "$root" adduser --disabled-password --gecos '' distiller >/dev/null
    touch "$root/.ready"
fi
cp /etc/resolv.conf /etc/hosts "$root/etc/"
mountpoint -q "$root/proc" || mount -t proc proc "$root/proc"
mountpoint -q "$root/dev" || mount --rbind --make-rslave /dev "$root/dev"
mountpoint -q "$root/sys" || mount --rbind --make-rslave /sys "$root/sys"
trap 'umount -R "$root/proc" "$root/dev" "$root/sys" 2>/dev/null || true' EXIT

# inside USER COMMAND: a login with nothing of this machine's environment but the certificates.
inside() {
    chroot "$root" /usr/bin/env -i PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin \
        PIP_CERT=$ca NODE_EXTRA_CA_CERTS=$ca LANG=C.UTF-8 HOME="/home/$1" CI="${CI:-}" \
        su -m "$1" -s /bin/sh -c "$2"
}

# fresh USER: a fresh clone in an empty folder of that user's.
fresh() {
    rm -rf "$root/home/$1/wormtub"
    mkdir -p "$root/home/$1"
    git clone --quiet "$here" "$root/home/$1/wormtub"
    chroot "$root" chown -R "$1" "/home/$1"
}

# demo_answers USER: starts the demo, asks its page, stops it, and starts it once more.
demo_answers() {
    for try in first second; do
        inside "$1" "cd ~/wormtub && timeout -s INT 600 sh deploy/demo.sh --port 8123" >"$root/tmp/demo.log" 2>&1 &
        i=0
        until python3 -c 'import urllib.request as u; print(len(u.urlopen("http://127.0.0.1:8123/").read()), "bytes of page"); print(u.urlopen("http://127.0.0.1:8123/api/live").read()[:200])' 2>/dev/null; do
            i=$((i + 1))
            [ $i -lt 300 ] || { cat "$root/tmp/demo.log"; exit 1; }
            kill -0 $! 2>/dev/null || { cat "$root/tmp/demo.log"; exit 1; }
            sleep 2
        done
        cat "$root/tmp/demo.log"
        pkill -INT -f "wormtub demo --port 8123" || true
        wait $! || true
        echo "== demo as $1, $try time: answered after $((i * 2)) s"
    done
}

for part in "$@"; do
    case $part in
    demo) fresh root && demo_answers root ;;
    user)
        # With python3-venv out of reach and pip at hand, as on a shared machine.
        chroot "$root" /usr/bin/env DEBIAN_FRONTEND=noninteractive sh -c \
            'apt-get -qq update && apt-get -y -qq install --no-install-recommends python3-pip && apt-get -y -qq remove python3-venv python3.11-venv 2>/dev/null || true' >/dev/null
        fresh distiller && demo_answers distiller
        ;;
    test) fresh root && inside root "cd ~/wormtub && sh deploy/test.sh" ;;
    esac
done
