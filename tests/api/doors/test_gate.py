"""By HTTPS, whoever does not finish the greeting is let go, and holds nobody up."""

import asyncio
import socket
import ssl
from datetime import UTC, datetime

import pytest

from api.doors import certificate, gate
from api.server import Server


class Greets(asyncio.Protocol):
    def connection_made(self, transport):
        transport.write(b"come in")
        transport.close()


@pytest.fixture
def files(tmp_path):
    return certificate.see_to(tmp_path, ["stillhouse"], datetime.now(UTC)).files


def serving(files):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(files.service, files.service_key)
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    return listening, context


async def left(reader):
    """Wait until the other end lets go."""
    try:
        return await asyncio.wait_for(reader.read(), 20)
    except ConnectionResetError:
        return b""


async def visited(files):
    listening, context = serving(files)
    loop = asyncio.get_running_loop()
    server = await loop.create_server(Greets, sock=listening, ssl=context, backlog=20)
    at = listening.getsockname()
    silent = [await asyncio.open_connection(*at) for _ in range(gate.MOST_OF_ONE)]
    one_more, writer = await asyncio.open_connection(*at)
    assert await left(one_more) == b""  # at once, while the others are waited for
    assert sum(server._greeting.values()) == len(silent)
    writer.close()
    for reader, writer in silent:
        assert await left(reader) == b""
        writer.close()
    trusting = ssl.create_default_context(cafile=str(files.authority))
    welcome, writer = await asyncio.open_connection(*at, ssl=trusting, server_hostname="stillhouse")
    assert await welcome.read() == b"come in"
    writer.close()
    assert not server._greeting
    server.close()
    await server.wait_closed()
    listening.close()


def test_the_greeting_is_bounded_in_time_and_in_number(files, monkeypatch):
    monkeypatch.setattr(gate, "HEAD_S", 1.0)
    monkeypatch.setattr(gate, "MOST_OF_ONE", 3)
    monkeypatch.setattr(gate, "is_loopback", lambda _: False)
    with asyncio.Runner(loop_factory=gate.GatedLoop) as runner:
        runner.run(visited(files))


def test_the_service_has_a_gate(serve, stillhouse):
    app = serve().app
    assert Server(app, stillhouse.settings).config.get_loop_factory() is gate.GatedLoop
