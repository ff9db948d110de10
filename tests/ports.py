"""Ports of this machine."""

import socket


def find_port():
    """Find a port of the loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
