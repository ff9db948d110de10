"""What anyone may be shown: the sign-in page and what it is made of. The rest leads there."""

import re
from functools import lru_cache
from pathlib import Path
from typing import Final
from urllib.parse import quote

from starlette.responses import RedirectResponse, Response

from api.errors import SignInError, refusal

PAGE: Final = "doors.html"
NAMED: Final = re.compile(r'\b(?:href|src)="([^"#?:]+)"')


def stands_open(web: Path, file: Path) -> bool:
    """Say whether a file is the sign-in page or one that it names."""
    page = web / PAGE
    return page.is_file() and file in _named(web, page.stat().st_mtime_ns)


@lru_cache(maxsize=4)
def _named(web: Path, _mtime_ns: int) -> frozenset[Path]:
    page = web / PAGE
    named = NAMED.findall(page.read_text(encoding="utf-8"))
    return frozenset({page, *((web / name).resolve() for name in named)})


def to_sign_in(path: str, query: str) -> Response:
    """Lead a page to the sign-in, which leads back to it; anything else is told."""
    name = path.rpartition("/")[2]
    if "." in name and not name.endswith(".html"):
        return refusal(SignInError("Sign in first; nothing here is shown without it."))
    up = "../" * path.count("/")
    back = quote(f"{path}?{query}" if query else path, safe="/")
    return RedirectResponse(f"{up or './'}{PAGE}?to={back}", 303, {"cache-control": "no-store"})
