"""systemd's notifications, as sd_notify(3) describes them; nothing where nobody listens."""

import os
import socket


def notify(message: str) -> bool:
    """Send one message to the manager that started this process; False where there is none."""
    path = os.environ.get("NOTIFY_SOCKET", "")
    if not path:
        return False
    address = "\0" + path[1:] if path.startswith("@") else path
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as out:
        try:
            out.sendto(message.encode(), address)
        except OSError:
            return False  # the manager went away: no reason to stop logging
    return True
