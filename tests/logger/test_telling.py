"""The button's way to a service that answers over TLS, by whatever certificate it was given."""

import ssl
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest

from api.doors import certificate
from logger.settings import Settings
from logger.telling import Loopback

END = "-----END CERTIFICATE-----\n"


class Runs(BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200)
        self.end_headers()
        self.wfile.write(b'{"runs": []}')

    def log_message(self, *_):
        pass


@pytest.mark.parametrize("certificates", [2, 1], ids=["with its authority", "without"])
def test_the_service_is_asked_over_tls_where_it_has_a_certificate(tmp_path, certificates):
    files = certificate.see_to(tmp_path, ["still.lan"], datetime.now(UTC)).files
    chain = files.service.read_text().split(END)
    cert = tmp_path / "given.pem"
    cert.write_text(END.join([*chain[:certificates], ""]))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(cert, files.service_key)
    with ThreadingHTTPServer(("127.0.0.1", 0), Runs) as server:
        server.socket = context.wrap_socket(server.socket, server_side=True)
        Thread(target=server.serve_forever, daemon=True).start()
        own = {"port": server.server_port, "tls_cert": cert, "tls_key": files.service_key}
        answer = Loopback(Settings(data=tmp_path, **own)).ask("GET", "/api/record/now")
        server.shutdown()
    assert (answer.status, answer.body) == (200, {"runs": []})
