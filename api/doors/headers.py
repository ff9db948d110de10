"""The headers on every answer."""

from collections.abc import Mapping
from typing import Final

# plotly.js finds its style sheet linked and draws with the CSSOM, which no policy restricts, so
# nothing inline is needed. Images it makes of a chart are data: and blob: addresses.
CONTENT_SECURITY_POLICY: Final = (
    "default-src 'none'; "
    "script-src 'self'; "
    "style-src 'self'; "
    "img-src 'self' data: blob:; "
    "font-src 'self'; "
    "connect-src 'self'; "
    "manifest-src 'self'; "
    "worker-src 'self'; "
    "base-uri 'none'; "
    "form-action 'self'; "
    "frame-ancestors 'none'"
)
# No Strict-Transport-Security: it would bind the machine's name on every port, and a house whose
# own certificate was renewed late could then not be reached at all.
HEADERS: Final = {
    "content-security-policy": CONTENT_SECURITY_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",  # frame-ancestors for browsers that do not know it
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}

# A script or a sheet is never shown by itself: what binds a page says nothing to it, and sixty of
# them come with a first look. A worker is bound by its own answer's policy, as a page is.
PARTS: Final = ("text/javascript", "text/css")
WORKER: Final = "/worker.js"
OF_PARTS: Final = {
    name: HEADERS[name] for name in ("x-content-type-options", "cross-origin-resource-policy")
}


def headers_for(path: str, content_type: str) -> Mapping[str, str]:
    """Return the headers that belong on an answer of a type."""
    return OF_PARTS if content_type.startswith(PARTS) and path != WORKER else HEADERS
