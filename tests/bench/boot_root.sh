#!/bin/sh
# Boots the systemd of a Debian root in namespaces of its own, as pid 1 there; ends when killed.
# Usage: unshare --mount --pid --uts --ipc --cgroup --fork --kill-child --propagation private \
#            sh tests/bench/boot_root.sh DIR      (as root; install_root.sh calls it)
set -eu
root=$1
mount --bind "$root" "$root"
mount -t tmpfs tmpfs "$root/run"
mkdir -p "$root/run/lock" "$root/old"
mount -t proc proc "$root/proc"
mount -t sysfs sysfs "$root/sys"
if [ "$(stat -f -c %T /sys/fs/cgroup)" = tmpfs ]; then # the older hierarchy: systemd needs its own part
    mount -t tmpfs tmpfs "$root/sys/fs/cgroup"
    for part in /sys/fs/cgroup/*/; do
        mkdir -p "$root$part"
        mount --bind "$part" "$root$part"
    done
else
    mount --bind /sys/fs/cgroup "$root/sys/fs/cgroup"
fi
mount -t tmpfs tmpfs "$root/dev"
for node in null zero full random urandom tty; do
    touch "$root/dev/$node"
    mount --bind "/dev/$node" "$root/dev/$node"
done
mkdir "$root/dev/shm" "$root/dev/pts"
mount -t tmpfs tmpfs "$root/dev/shm"
mount -t devpts devpts "$root/dev/pts" -o newinstance,ptmxmode=0666
ln -s /proc/self/fd "$root/dev/fd"
ln -s pts/ptmx "$root/dev/ptmx"
cd "$root"
pivot_root . old # a changed root alone would forbid the services' own user namespaces
umount -l /old
exec env -i container=wormtub PATH=/usr/sbin:/usr/bin:/sbin:/bin TERM=dumb \
    /lib/systemd/systemd --log-target=console --show-status=1
