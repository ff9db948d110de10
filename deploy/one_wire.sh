# The one-wire line of the Pi's boot settings: offered, never forced. Read with `.` by install.sh.

BOOT=/boot/firmware/config.txt

# check_pin PIN: before anything is touched.
check_pin() {
    case $1 in
    *[!0-9]* | '' | ???*) fail "--one-wire takes the number of a GPIO pin, usually 4; it was given '$1'." ;;
    esac
}

# offer_one_wire PIN|ask|no
offer_one_wire() {
    _boot=$BOOT
    [ -e "$_boot" ] || _boot=/boot/config.txt
    [ -e "$_boot" ] || return 0
    if grep -Eqs '^[[:space:]]*dtoverlay=w1-gpio' "$_boot"; then
        return 0
    fi
    _pin=$1
    if [ "$_pin" = ask ] && [ -t 0 ]; then
        printf 'wormtub: the one-wire bus is off. Add "dtoverlay=w1-gpio,gpiopin=4" to %s? [y/N] ' "$_boot"
        read -r _answer
        case $_answer in [yY]*) _pin=4 ;; *) _pin=no ;; esac
    fi
    case $_pin in
    ask | no)
        say "the one-wire bus is left off; to switch it on, add the line dtoverlay=w1-gpio,gpiopin=4 to $_boot and restart"
        ;;
    *)
        cp -p "$_boot" "$_boot.before-wormtub"
        printf '\n[all]\n# one-wire probes, read by wormtub\ndtoverlay=w1-gpio,gpiopin=%s\n' "$_pin" >>"$_boot"
        say "the one-wire bus is on at GPIO $_pin after a restart; the file as it was is $_boot.before-wormtub"
        ;;
    esac
}
