"""What the tests ask a service on this machine with: `httpx.get(url, verify=PLAIN)`.

By itself httpx reads every certificate authority there is for each request, 60 ms of work; and
many ask again and again until something is so. Nothing is trusted here: these ask without TLS.
"""

import ssl

PLAIN = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
