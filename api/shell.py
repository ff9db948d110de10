"""What a browser keeps so that the pages open without a network: their files, and which build."""

import re
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from typing import Final

from pydantic import BaseModel

from api.access import Role, needs
from api.assets import TYPES, WEB, WHOLE
from api.routing import Router

KEPT: Final = frozenset(TYPES) - {".LICENSE", ".txt", ".json", ".ico"}
NOT_KEPT: Final = frozenset({"worker.js", "package.json"})  # a browser keeps its worker by itself

# Scripts and sheets are kept as the pages name them: most come whole, with all they import.
NAMED: Final = re.compile(rf'\b(?:src|href)="([^"?]+\.(?:js|css)(?:\?{WHOLE})?)"')

router = Router(prefix="/shell", tags=["pages"], dependencies=[needs(Role.WATCH)])


class Shell(BaseModel):
    """The pages' files, by their addresses, and a name that changes whenever one of them does."""

    build: str
    files: list[str]


@router.get("")
def shell() -> Shell:
    """Say which files the pages consist of."""
    files = tuple(sorted(path for path in WEB.rglob("*") if _is_kept(path)))
    return _shell(tuple((path, path.stat().st_mtime_ns) for path in files))


@lru_cache(maxsize=2)
def _shell(files: tuple[tuple[Path, int], ...]) -> Shell:
    build = blake2b(digest_size=9)
    for path, _ in files:
        build.update(f"{path.relative_to(WEB)}\0".encode())
        build.update(path.read_bytes())
    others = {_address(path) for path, _ in files if path.suffix != ".js"}
    pages = (path.read_text(encoding="utf-8") for path, _ in files if path.suffix == ".html")
    named = {name for page in pages for name in NAMED.findall(page)}
    return Shell(build=build.hexdigest(), files=sorted(others | named))


def _is_kept(path: Path) -> bool:
    relative = path.relative_to(WEB)
    hidden = any(part.startswith(".") for part in relative.parts)
    return path.is_file() and path.suffix in KEPT and not hidden and path.name not in NOT_KEPT


def _address(path: Path) -> str:
    name = path.relative_to(WEB).as_posix()
    return "./" if name == "index.html" else name
