"""Run inside a network of its own: a service, and somebody who comes by a real address of it.

    python tests/system/doors_in_a_network.py DATA

Prints the statuses of what was asked, as JSON. The house's address is 192.168.77.1; 1.2.3.4 stands
for the internet.
"""

import json
import subprocess
import sys
from pathlib import Path

import httpx

sys.path.insert(0, str(ROOT := Path(__file__).parents[2]))

from tests.doors_help import headers_of

HOUSE, INTERNET, PORT = "192.168.77.1", "1.2.3.4", 8080


def main(data):
    for words in (
        "link set lo up",
        f"addr add {HOUSE}/24 dev lo",
        f"addr add {INTERNET}/32 dev lo",
    ):
        subprocess.run(["ip", *words.split()], check=True)
    serve = ["serve", "--data", str(data), "--host", "0.0.0.0", "--port", str(PORT)]
    command = [sys.executable, "-m", "api.cli", *serve]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        process.stdout.readline()
        print(json.dumps(asked(data)))
        process.terminate()


def asked(data):
    watch = headers_of(data, "watch")
    return {
        "machine": ask("127.0.0.1", "127.0.0.1", "/api/live"),
        "stranger": ask(HOUSE, HOUSE, "/api/live"),
        "stranger's page": ask(HOUSE, HOUSE, "/vessels.html"),
        "alive": ask(HOUSE, HOUSE, "/api/alive"),
        "claims to be at the machine": ask(HOUSE, HOUSE, "/api/live", host="127.0.0.1:8080"),
        "claims by a proxy": ask(HOUSE, HOUSE, "/api/live", **{"x-forwarded-for": "127.0.0.1"}),
        "signed in": ask(HOUSE, HOUSE, "/api/live", **watch),
        "internet": ask(HOUSE, INTERNET, "/api/alive"),
        "internet, signed in": ask(HOUSE, INTERNET, "/api/live", **watch),
        "another name": ask(HOUSE, HOUSE, "/api/alive", host="evil.example"),
    }


def ask(to, by, path, **headers):
    coming = httpx.HTTPTransport(local_address=by)
    with httpx.Client(transport=coming, timeout=20) as client:
        return client.get(f"http://{to}:{PORT}{path}", headers=headers).status_code


if __name__ == "__main__":
    main(Path(sys.argv[1]))
