"""The names and addresses this machine goes by on its own networks."""

import fcntl
from pathlib import Path
from socket import AF_INET, SOCK_DGRAM, gethostname, socket
from struct import pack
from typing import Final

from api.doors.addresses import address_of

IPV6: Final = Path("/proc/net/if_inet6")
INTERFACES: Final = Path("/sys/class/net")
SIOCGIFADDR: Final = 0x8915  # netdevice(7)


def own_names() -> list[str]:
    """Return the machine's names, then its private addresses."""
    own = gethostname().lower().rstrip(".")
    first = own.partition(".")[0]
    names = {own, first, f"{first}.local", "localhost"}
    return [*sorted(names), *own_addresses()]


def own_addresses() -> list[str]:
    """Return the addresses of the machine's interfaces that are not public."""
    found = {"127.0.0.1", "::1", *_ipv4(), *_ipv6()}
    known = {one: address_of(one) for one in found}
    return sorted(one for one, address in known.items() if address and not address.is_global)


def _ipv4() -> list[str]:
    found = []
    with socket(AF_INET, SOCK_DGRAM) as asking:
        for interface in sorted(one.name for one in INTERFACES.iterdir()):
            try:
                answer = fcntl.ioctl(asking, SIOCGIFADDR, pack("256s", interface.encode()[:15]))
            except OSError:
                continue  # without an address of its own
            found.append(".".join(map(str, answer[20:24])))
    return found


def _ipv6() -> list[str]:
    """Read the addresses that last: a link's own is of no use without naming the link."""
    lines = IPV6.read_text().split("\n") if IPV6.exists() else []
    digits = [line.split()[0] for line in lines if line.strip()]
    written = [":".join(one[at : at + 4] for at in range(0, 32, 4)) for one in digits]
    known = [address_of(one) for one in written]
    return [str(one) for one in known if one and not one.is_link_local]
