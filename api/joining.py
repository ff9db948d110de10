"""A page's modules as one file on the wire: a phone asks once, not seventy times over slow radio.

What lies in web/ stays plain ES modules, which any server could serve as they are. Joined, each
stands in a function of its own that runs once, when it is first imported: the order, the names and
the lateness of `await import()` stay what they are apart. Nothing is renamed, and nothing left out
but comments.
"""

import os.path
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

# The forms the house's modules use, each at the start of its line; any other is refused.
IMPORT: Final = re.compile(r'^import (?:(\{[^}]*\}) from )?"(\.{1,2}/[\w./-]+)";$', re.MULTILINE)
EXPORT: Final = re.compile(
    r"^export (?=(?:(?:async )?function\*?|const|class) ([\w$]+))", re.MULTILINE
)
LATE: Final = re.compile(r'\bawait import\("(\.{1,2}/[\w./-]+)"\)')
ADDRESS: Final = "import.meta.url"
# A comment that has its lines to itself: a quarter of the text, and for people only.
DOCUMENTED: Final = re.compile(r"^[ \t]*/\*\*(?:[^*]|\*(?!/))*\*/[ \t]*\n", re.MULTILINE)
OTHER: Final = re.compile(
    r"^(?:import|export|await)\b.*|^(?:const|let) .*= await\b.*|\bawait import\b.*", re.MULTILINE
)
# Nearly all of it runs at once: V8, told so, compiles it off the page's own thread.
COMPILED_AHEAD: Final = "//# allFunctionsCalledOnLoad\n"
# As apart, what fails fails for whoever imports it; unlike apart, it may be tried again.
HEAD: Final = (
    f"{COMPILED_AHEAD}const $once = (make) => {{ let made; return () => (made ??= make()); }};\n"
)
SHEET: Final = re.compile(r'^@import url\("([\w./-]+)"\);\n', re.MULTILINE)


class JoiningError(ValueError):
    """A module that cannot stand in a file with others; the sentence says why."""


def join(entry: Path, root: Path) -> tuple[str, tuple[Path, ...]]:
    """Return a module with all it imports, now or late, as one module; and the files it is made of.

    Raises JoiningError for a form of import or export that is not among those above and for a ring
    of imports, FileNotFoundError for a module that is not there.
    """
    walk = _Walk(entry, root)
    walk.take(entry)
    while walk.late:
        walk.take(walk.late.pop())
    text = HEAD
    for module, body in walk.taken.items():
        name = walk.name(module)
        text += f"// {walk.short(module)}\nconst {name} = $once(() => {{\n{body}}});\n"
    return f"{text}{walk.name(entry)}();\n", tuple(walk.taken)


def join_sheets(entry: Path) -> tuple[str, tuple[Path, ...]]:
    """Return a style sheet with those it imports, and the files it is made of.

    They hold no other addresses, which would mean something else from where they are joined.
    """
    parts = [entry]

    def imported(found: re.Match[str]) -> str:
        text, more = join_sheets(beside(entry, found[1]))
        parts.extend(more)
        return text

    return SHEET.sub(imported, entry.read_text(encoding="utf-8")), tuple(parts)


def beside(module: Path, path: str) -> Path:
    """Return the file a module means by a path."""
    return Path(os.path.normpath(module.parent / path))


@dataclass(slots=True)
class _Walk:
    entry: Path
    root: Path
    taken: dict[Path, str] = field(default_factory=dict)
    under_way: list[Path] = field(default_factory=list)
    late: list[Path] = field(default_factory=list)

    def take(self, module: Path) -> None:
        if module in self.under_way:
            ring = " needs ".join(map(self.short, [*self.under_way, module]))
            raise JoiningError(f"Modules go round in a ring: {ring}. Break it at one of them.")
        if module not in self.taken:
            self.under_way.append(module)
            self.taken[module] = self.body(module)
            self.under_way.pop()

    def body(self, module: Path) -> str:
        def imported(found: re.Match[str]) -> str:
            names, path = found.groups()
            self.take(other := beside(module, path))
            taken = f"const {names.replace(' as ', ': ')} = " if names else ""
            return f"{taken}{self.name(other)}();"

        def imported_late(found: re.Match[str]) -> str:
            self.late.append(other := beside(module, found[1]))
            return f"await {self.name(other)}()"

        text = DOCUMENTED.sub("", module.read_text(encoding="utf-8"))
        text = IMPORT.sub(imported, text)
        exports = ", ".join(EXPORT.findall(text))
        text = LATE.sub(imported_late, EXPORT.sub("", text))
        if found := OTHER.search(text):
            raise JoiningError(
                f"{self.short(module)} says “{found[0]}”, which cannot be joined. Write it as"
                ' import { name } from "./file.js"; export a function, const or class by name;'
                " await in a function."
            )
        way = Path(os.path.relpath(module, self.entry.parent)).as_posix()
        text = text.replace(ADDRESS, f'new URL("{way}", {ADDRESS}).href')
        return f"{text}\nreturn {{ {exports} }};\n"

    def name(self, module: Path) -> str:
        return "$" + re.sub(r"\W", "_", self.short(module))

    def short(self, module: Path) -> str:
        return module.relative_to(self.root).as_posix()
