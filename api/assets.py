"""The page's own files, served as they lie in web/: compressed once, kept, and never guessed at."""

import gzip
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from typing import Annotated, Final

import brotli
from fastapi import Header, Request, Response
from starlette.convertors import PathConvertor, register_url_convertor

from api.access import Asking, Role, needs
from api.doors.entrance import stands_open, to_sign_in
from api.routing import Router

WEB: Final = Path(__file__).resolve().parent.parent / "web"
TYPES: Final = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/vnd.microsoft.icon",
    ".woff2": "font/woff2",
    ".txt": "text/plain; charset=utf-8",
    ".LICENSE": "text/plain; charset=utf-8",
}
COMPRESSED_ALREADY: Final = {".png", ".ico", ".woff2"}
VENDOR: Final = "vendor"
VERSIONED: Final = re.compile(r"\d+\.\d+")  # in a file's name
A_YEAR: Final = "public, max-age=31536000, immutable"
A_DAY: Final = "public, max-age=86400"
ASK_FIRST: Final = "no-cache"  # kept, but only used after asking whether it is still current
SMALL: Final = 1000  # bytes; below this, compressing gains nothing

NO_PAGE: Final = b"""<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>No such page - Wormtub</title>
<h1>There is no page at this address</h1>
<p><a href="/">Go to the live page</a>.</p>
</html>
"""

# In the order of preference: (name, the sibling made ahead, how to make it here).
# The largest file costs 70 ms and 40 ms, once; a sibling may be packed harder.
ENCODINGS: Final[tuple[tuple[str, str, Callable[[bytes], bytes]], ...]] = (
    ("br", ".br", lambda raw: bytes(brotli.compress(raw, quality=9))),
    ("gzip", ".gz", lambda raw: gzip.compress(raw, compresslevel=9, mtime=0)),
)


class PageConvertor(PathConvertor):
    """Any address but the API's, so that pages need not be looked for among all its routes."""

    regex = r"(?!api(?:/|$)).*"


register_url_convertor("page", PageConvertor())
router = Router(include_in_schema=False, dependencies=[needs(Role.ANYONE)])


@dataclass(frozen=True, slots=True)
class Packed:
    """A file as it goes over the wire."""

    body: bytes
    encoding: str | None
    etag: str


@router.api_route("/{path:page}", methods=["GET", "HEAD"])
def asset(
    request: Request,
    asking: Asking,
    path: str,
    accept_encoding: Annotated[str, Header()] = "",
    if_none_match: Annotated[str, Header()] = "",
) -> Response:
    """Serve one file of web/, or say that there is none."""
    file = find(path)
    if asking.role is Role.ANYONE and (file is None or not stands_open(WEB, file)):
        return to_sign_in(path, request.url.query)
    if file is None:
        return Response(NO_PAGE, status_code=404, media_type=TYPES[".html"])
    packed = pack(file, accepted(accept_encoding))
    headers = _headers(file, packed)
    if packed.etag in if_none_match:
        return Response(status_code=304, headers=headers)
    body = b"" if request.method == "HEAD" else packed.body
    headers["content-length"] = str(len(packed.body))
    return Response(body, media_type=TYPES[file.suffix], headers=headers)


def find(path: str) -> Path | None:
    """Return the file an address means: itself, `NAME.html`, or a folder's index."""
    if any(part.startswith(".") for part in path.split("/")) or "\0" in path or "\\" in path:
        return None
    name = path if path and not path.endswith("/") else f"{path}index.html"
    for candidate in (name, f"{name}.html"):
        file = (WEB / candidate).resolve()
        if file.suffix in TYPES and file.is_relative_to(WEB) and file.is_file():
            return file
    return None


def accepted(header: str) -> tuple[str, ...]:
    """Return the encodings a browser takes (RFC 9110, 12.5.3) that we have, best first."""
    offers = (part.replace(" ", "").lower() for part in header.split(","))
    taken = {name for name, _, q in (o.partition(";q=") for o in offers) if _weight(q) > 0}
    return tuple(name for name, _, _ in ENCODINGS if name in taken)


def pack(file: Path, encodings: tuple[str, ...]) -> Packed:
    """Return a file packed as well as the browser takes it."""
    state = file.stat()
    best = encodings[0] if encodings and file.suffix not in COMPRESSED_ALREADY else None
    return _packed(file, best, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=256)
def _packed(file: Path, encoding: str | None, _mtime_ns: int, size: int) -> Packed:
    raw = file.read_bytes()
    if encoding is None or size < SMALL:
        return Packed(raw, None, _etag(raw))
    suffix, make = next((s, m) for name, s, m in ENCODINGS if name == encoding)
    ahead = file.with_name(file.name + suffix)
    body = ahead.read_bytes() if ahead.is_file() else make(raw)
    return Packed(body, encoding, _etag(body))


def _headers(file: Path, packed: Packed) -> dict[str, str]:
    headers = {
        "etag": packed.etag,
        "cache-control": _kept(file),
    }
    if packed.encoding:
        headers |= {"content-encoding": packed.encoding, "vary": "Accept-Encoding"}
    return headers


def _kept(file: Path) -> str:
    if VENDOR not in file.parts[len(WEB.parts) : -1]:
        return ASK_FIRST
    return A_YEAR if VERSIONED.search(file.name) else A_DAY


def _etag(body: bytes) -> str:
    return f'"{blake2b(body, digest_size=12).hexdigest()}"'


def _weight(text: str) -> float:
    try:
        return float(text) if text else 1.0
    except ValueError:
        return 0.0
