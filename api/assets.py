"""The page's own files, served as they lie in web/: compressed once, kept, and never guessed at.

A module or sheet asked for with `?whole` comes with all it imports, in one file (joining.py).
"""

import gzip
import re
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Annotated, Final

import brotli
from fastapi import Header, Request, Response
from starlette.convertors import PathConvertor, register_url_convertor

from api.access import Asking, Role, needs
from api.doors.entrance import stands_open, to_sign_in
from api.joining import join, join_sheets
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
WHOLE: Final = "whole"  # the query by which a module or a sheet comes with all it imports
NAMED_WHOLE: Final = re.compile(rf'\b(?:src|href)="([^"?]+)\?{WHOLE}"')
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
# What is packed here is packed once; a sibling may be packed harder. The largest page's modules,
# 283 kB, come to 74.3 kB at 6, for 4 MB and 16 ms; at 9 to 72.6 kB, for 33 MB and 50 ms.
BROTLI: Final = 6
ENCODINGS: Final[tuple[tuple[str, str, Callable[[bytes], bytes]], ...]] = (
    ("br", ".br", lambda raw: bytes(brotli.compress(raw, quality=BROTLI))),
    ("gzip", ".gz", lambda raw: gzip.compress(raw, compresslevel=9, mtime=0)),
)


class PageConvertor(PathConvertor):
    """Any address but the API's, so that pages need not be looked for among all its routes."""

    regex = r"(?!api(?:/|$)).*"


register_url_convertor("page", PageConvertor())
router = Router(include_in_schema=False, dependencies=[needs(Role.ANYONE)])


@dataclass(frozen=True, slots=True)
class Packed:
    """What goes over the wire, and when the files it was made of were written."""

    body: bytes
    encoding: str | None
    etag: str
    made_of: dict[Path, int]

    def is_current(self) -> bool:
        """Say whether the files are still those it was made of."""
        return all(
            file.is_file() and file.stat().st_mtime_ns == at for file, at in self.made_of.items()
        )


_kept_packed: dict[tuple[Path, str | None, bool], Packed] = {}


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
    whole = request.url.query == WHOLE and file in wholes()
    packed = pack(file, accepted(accept_encoding), whole=whole)
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


def wholes() -> frozenset[Path]:
    """Return the modules and sheets that pages ask for with all they import."""
    pages = (page.read_text(encoding="utf-8") for page in WEB.glob("*.html"))
    return frozenset(WEB / name for page in pages for name in NAMED_WHOLE.findall(page))


def pack(file: Path, encodings: tuple[str, ...], *, whole: bool = False) -> Packed:
    """Return a file, or a module with all it imports, packed as well as the browser takes it."""
    best = encodings[0] if encodings and file.suffix not in COMPRESSED_ALREADY else None
    kept = _kept_packed.get((file, best, whole))
    if kept is None or not kept.is_current():
        kept = _kept_packed[file, best, whole] = _packed(file, best, whole=whole)
    return kept


def _packed(file: Path, encoding: str | None, *, whole: bool) -> Packed:
    parts: tuple[Path, ...] = (file,)
    if whole:
        text, parts = join_sheets(file) if file.suffix == ".css" else join(file, WEB)
        raw = text.encode()
    else:
        raw = file.read_bytes()
    made_of = {part: part.stat().st_mtime_ns for part in parts}
    if encoding is None or len(raw) < SMALL:
        return Packed(raw, None, _etag(raw), made_of)
    suffix, make = next((s, m) for name, s, m in ENCODINGS if name == encoding)
    ahead = file.with_name(file.name + suffix)
    body = ahead.read_bytes() if ahead.is_file() else make(raw)
    return Packed(body, encoding, _etag(body), made_of)


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
