# Releases side by side, one of them current, and the way back. Read with `.` by install.sh.

# new_release: this checkout, in a folder of its own with a virtual environment of its own.
new_release() {
    _version=$(sed -n 's/^version = "\(.*\)"/\1/p' pyproject.toml | head -n 1)
    release=$RELEASES/$_version-$(date -u +%Y%m%dT%H%M%SZ)
    say "putting this checkout into $release"
    mkdir -p "$release"
    tar -c --exclude-vcs --exclude='.venv*' --exclude='*_cache' --exclude=__pycache__ --exclude=node_modules \
        --exclude=./tests . | tar -x -C "$release" --no-same-owner
    (
        cd "$release"
        trap 'rm -rf "$release"' EXIT
        prepare_venv .venv deploy/requirements.lock
        ! is_pi || echo /usr/lib/python3/dist-packages >.venv/"$(cd .venv && echo lib/python3.*/site-packages)"/debian-gpio.pth
        .venv/bin/python -m compileall -q api calc logger
        chmod -R go-w . && chmod -R a+rX .
        trap - EXIT
    ) || exit 1
}

# keep_way_back: before anything of the old release is touched, its data are copied and checked.
keep_way_back() {
    before=
    [ -e "$DATA/wormtub.db" ] || return 0
    before=$(readlink "$CURRENT" 2>/dev/null || true)
    say "a backup before the upgrade"
    as_wormtub "$release/.venv/bin/wormtub" backup --to "$DATA/backups" --label upgrade >"$release/backup-before" ||
        { rm -rf "$release"; fail "the backup failed, so nothing was changed; the sentence above says why."; }
    ! is_running || systemctl stop --quiet $SERVICES 2>/dev/null || true
    as_wormtub "$release/.venv/bin/wormtub" migrate ||
        { bring_data_back; ! is_running || systemctl start $SERVICES; rm -rf "$release"; fail "the schema could not be brought up, so the release before goes on."; }
}

switch_release() {
    if [ -n "${before:-}" ]; then
        echo "$before" >"$release/release-before"
    fi
    point_to "$release"
    ln -sfn "$CURRENT/.venv/bin/wormtub" "$LINK"
    drop_old
}

# point_to RELEASE: in one step, so that there is never none.
point_to() {
    ln -sfn "$1" "$CURRENT.new"
    mv -T "$CURRENT.new" "$CURRENT"
}

# drop_old: the current one and the one before stay.
drop_old() {
    for _old in "$RELEASES"/*; do
        [ "$_old" = "$release" ] || [ "$_old" = "${before:-}" ] || rm -rf "$_old"
    done
}

bring_data_back() {
    _backup=$(tail -n 1 "$release/backup-before")
    # as it is: the program it goes back to knows no newer schema than its own
    as_wormtub "$release/.venv/bin/wormtub" restore "$_backup" --yes --keep-schema
}

# back_out: an upgrade whose services do not come up is undone at once.
back_out() {
    [ -n "${before:-}" ] ||
        fail "the services do not come up; 'journalctl -u wormtub-log -u wormtub-serve -n 50' says why."
    say "the new release does not come up; going back to $before"
    back
    fail "the upgrade was undone; 'journalctl -u wormtub-log -u wormtub-serve -n 50' says why."
}

# back: the release before the current one, with the data as they were before the upgrade.
back() {
    release=$(readlink "$CURRENT") || fail "nothing is installed here."
    [ -s "$release/release-before" ] || fail "there is no release before $release to go back to."
    _before=$(cat "$release/release-before")
    [ -x "$_before/.venv/bin/wormtub" ] || fail "the release $_before is not there any more."
    ! is_running || systemctl stop --quiet $SERVICES 2>/dev/null || true
    bring_data_back
    point_to "$_before"
    install -m 0644 "$_before"/deploy/units/wormtub-* "$UNITS/"
    reload
    ! is_running || systemctl restart $SERVICES
    say "back at $_before, with the data of before the upgrade; what was recorded since is in $DATA/backups"
}
