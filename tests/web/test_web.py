"""The page's files: its pure modules under node, and what the files promise each other."""

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import brotli
import pytest

from api.assets import wholes
from api.joining import COMPILED_AHEAD, join
from api.reports.order import BATCH_TABLES, TABLES
from logger.reading import Grade

HERE = Path(__file__).parent
WEB = HERE.parents[1] / "web"
IMPORT = re.compile(r'^(?:import |(?:import|export)\b[^;]*?from )"([^"]+)"', re.MULTILINE)
PAGES = sorted(path.relative_to(WEB) for path in WEB.glob("*.html"))


class Tags(HTMLParser):
    """Collects a page's tags."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def named(self, tag: str, **wanted: str) -> list[dict[str, str | None]]:
        return [a for name, a in self.found if name == tag and wanted.items() <= a.items()]


def imported(entry: Path, seen: set[Path]) -> set[Path]:
    """Return all modules an entry needs, itself left out."""
    for name in IMPORT.findall(entry.read_text()):
        module = (entry.parent / name).resolve()
        if module not in seen:
            seen.add(module)
            imported(module, seen)
    return seen


def test_pure_modules_pass_their_tests_under_node():
    node = shutil.which("node")
    assert node, "node is missing; run sh deploy/test.sh, which installs it"
    tests = sorted(map(str, HERE.glob("*.test.mjs")))
    assert len(tests) > 5
    done = subprocess.run(
        [node, "--test", *tests], cwd=HERE, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("page", PAGES, ids=str)
def test_page_asks_once_for_all_its_modules(page):
    tags = Tags((WEB / page).read_text())
    [entry] = tags.named("script", type="module")
    name, _, query = entry["src"].partition("?")
    preloaded = {(WEB / a["href"]).resolve() for a in tags.named("link", rel="modulepreload")}
    if str(page) == "doors.html":  # whoever is not signed in is served what stands there by name
        assert preloaded == imported(WEB / name, set())
        return
    assert (query, preloaded) == ("whole", set())
    text, parts = join(WEB / name, WEB)
    assert len(parts) == text.count(" = $once(")
    assert set(parts) >= imported(WEB / name, {WEB / name})


def test_pages_joined_are_read_by_an_engine(tmp_path):
    for entry in (file for file in wholes() if file.suffix == ".js"):
        (tmp_path / f"{entry.stem}.mjs").write_text(join(entry, WEB)[0])
    found = sorted(map(str, tmp_path.iterdir()))
    assert len(found) == len(PAGES) - 1
    for file in found:
        done = subprocess.run(["node", "--check", file], capture_output=True, check=False)
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("page", PAGES, ids=str)
def test_page_holds_nothing_inline(page):
    tags = Tags((WEB / page).read_text())
    assert not tags.named("style")
    assert all(a.get("src") for a in tags.named("script"))
    inline = [a for _, a in tags.found if any(k == "style" or k.startswith("on") for k in a)]
    assert not inline


@pytest.mark.parametrize("page", PAGES, ids=str)
def test_page_names_only_files_that_are_there(page):
    for tag, attributes in Tags((WEB / page).read_text()).found:
        name = attributes.get("src" if tag == "script" else "href")
        if name and tag in {"script", "link"} and not name.startswith("api/"):
            assert (WEB / page).parent.joinpath(name.removesuffix("?whole")).is_file(), name


def test_sheets_hold_no_addresses_but_of_sheets():
    for path in WEB.rglob("*.css"):
        assert "url(" not in re.sub(
            r'^@import url\("[^"]+\.css"\);$', "", path.read_text(), flags=re.MULTILINE
        )


def test_no_sheet_of_a_page_reaches_into_the_banner():
    """A class that the banner uses is styled by nobody else, unless within something of theirs."""
    made = "".join(path.read_text() for path in (WEB / "banner").glob("*.js"))
    used = {name for said in re.findall(r'class: "([^"]+)"', made) for name in said.split()}
    used -= {"main", "quiet"}  # every press's
    assert "reading" in used
    bare = re.compile(rf"\.({'|'.join(used)})\b[^ >+~]*")
    for path in WEB.rglob("*.css"):
        if path.parent.name in {"banner", "shared"}:
            continue
        text = re.sub(r"/\*.*?\*/", "", path.read_text(), flags=re.DOTALL)
        for selectors in re.findall(r"(?<=[;{}\n])([^;{}]+)\{", text):
            reaching = [one for one in map(str.strip, selectors.split(",")) if bare.fullmatch(one)]
            assert not reaching, f"{path.relative_to(WEB)}: {reaching}"


def test_no_address_outside_the_machine_is_named():
    for path in WEB.rglob("*"):
        if path.suffix in {".js", ".css", ".html"} and "vendor" not in path.parts:
            addresses = set(re.findall(r"https?://[^\s\"'`)]+", path.read_text()))
            assert addresses <= {"http://www.w3.org/2000/svg"}, path.name


def test_no_field_of_the_record_cuts_what_is_typed():
    """The service refuses what is too long in one sentence; a field would drop its end unsaid."""
    for path in (WEB / "record").rglob("*.js"):
        assert "maxlength" not in path.read_text().lower(), path.name


@pytest.mark.parametrize(
    ("page", "module", "tables"),
    [("run", "tables.js", TABLES), ("batches", "files.js", BATCH_TABLES)],
    ids=["run", "batch"],
)
def test_the_page_of_a_run_or_a_batch_offers_every_table_there_is(page, module, tables):
    text = (WEB / page / module).read_text()
    [names] = re.findall(r"^const FILES = \[(.*)\];", text, re.MULTILINE)
    assert tuple(re.findall(r'"(\w+)"', names)) == tables


def test_every_grade_has_its_word_reason_and_remedy():
    texts = (WEB / "texts.js").read_text()
    for grade in Grade:
        if grade is not Grade.OK:
            for kind in ("grade", "why", "todo"):
                assert f'"{kind}.{grade.name.lower()}":' in texts, f"{kind}.{grade.name.lower()}"


def test_packed_library_is_the_library():
    for packed in WEB.glob("vendor/*.br"):
        assert brotli.decompress(packed.read_bytes()) == packed.with_suffix("").read_bytes()


def test_library_is_compiled_off_the_page_s_thread():
    for library in WEB.glob("vendor/*.min.js"):
        assert library.read_text().startswith(f"{COMPILED_AHEAD}/**\n* plotly.js (basic")


def test_vendored_files_carry_their_licence():
    for library in WEB.glob("vendor/*.min.js"):
        licence = library.with_name(library.name.removesuffix(".min.js") + ".LICENSE")
        assert "Permission is hereby granted" in licence.read_text()


def test_lock_names_no_registry():
    assert "resolved" not in (HERE / "package-lock.json").read_text()
