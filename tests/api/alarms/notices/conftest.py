"""A receiver on the loopback, where notices arrive as they would at a target."""

from http.server import BaseHTTPRequestHandler, HTTPServer, ThreadingHTTPServer
from threading import Thread

import orjson
import pytest


class Bell:
    """Takes what is posted to it, and keeps titles and bodies."""

    def __init__(self) -> None:
        self.heard, self.status = [], 200
        bell = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self):
                said = orjson.loads(self.rfile.read(int(self.headers["content-length"])))
                bell.heard.append((said["title"], said["message"]))
                self.send_response(bell.status)
                self.end_headers()

            def log_message(self, *words):
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"json://127.0.0.1:{self.server.server_port}/bell"
        self.thread = Thread(target=self.server.serve_forever, args=(0.02,))
        self.thread.start()

    def close(self):
        self.server.shutdown()
        self.thread.join()
        self.server.server_close()


@pytest.fixture
def bell():
    made = Bell()
    yield made
    made.close()


@pytest.fixture
def listener():
    """Where a heartbeat is heard, under /beat."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(200 if self.path == "/beat" else 404)
            self.end_headers()

        def log_message(self, *words):
            pass

    with HTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = Thread(target=server.serve_forever, args=(0.02,))
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()
