"""Modules joined into one file do what they do apart, by the same engine."""

import subprocess

import pytest

from api.joining import JoiningError, join, join_sheets

MODULES = {
    "page/page.js": """
import "../shared/words.js";
import { count, up as more } from "../shared/count.js";
import {
  said,
  Teller,
} from "./teller.js";

/** @param {import("./teller.js").Teller} teller */
async function late(teller) {
  const { mount } = await import("../late/mount.js");
  const again = await import("../late/mount.js");
  teller.tell(`late ${mount()} ${again.mount === mount} ${count()}`);
}

said(`first ${count()}`);
more();
said(new URL("../beside.css", import.meta.url).href.endsWith("apart/beside.css"));
void late(new Teller());
""",
    "page/teller.js": """import { count, up } from "../shared/count.js";
import { PREFIX } from "../shared/words.js";
const kept = "teller's own";
console.log("teller stands", count());
up();
export function said(text) {
  console.log(PREFIX, text, kept.length);
}
export class Teller {
  tell(text) {
    said(text);
  }
}
""",
    "shared/count.js": """let counted = 0;
const kept = "count's own";
console.log("count stands", kept);
export function count() {
  return counted;
}
export async function slowly() {}
export function up() {
  counted += 1;
}
""",
    "shared/words.js": """console.log("words stand");
export const PREFIX = "said:";
""",
    "late/mount.js": """import { up } from "../shared/count.js";
import { home } from "../page/teller2.js";
console.log("late stands");
export function mount() {
  up();
  return home;
}
""",
    "page/teller2.js": """const beside = new URL("./x", import.meta.url).href;
export const home = beside.split("/").at(-2);
""",
}


@pytest.fixture
def web(tmp_path):
    root = tmp_path / "apart"
    for name, text in MODULES.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text)
    (root / "package.json").write_text('{"type": "module"}')
    return root


def run(file):
    done = subprocess.run(["node", file], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_joined_they_do_what_they_do_apart(web):
    apart = run(web / "page" / "page.js")
    text, parts = join(web / "page" / "page.js", web)
    (web / "page" / "whole.mjs").write_text(text)
    assert run(web / "page" / "whole.mjs") == apart
    assert apart.index("late stands") > apart.index("said: first 1")
    assert sorted(part.relative_to(web).as_posix() for part in parts) == sorted(MODULES)


def test_a_ring_of_imports_is_named(web):
    words = web / "shared" / "words.js"
    words.write_text('import { said } from "../page/teller.js";\n' + words.read_text())
    with pytest.raises(JoiningError, match=r"shared/words\.js needs page/teller\.js needs"):
        join(web / "page" / "page.js", web)


def test_a_late_import_of_what_stands_already_is_no_ring(web):
    words = web / "shared" / "words.js"
    words.write_text(
        words.read_text() + 'export const late = async () => await import("../page/teller.js");\n'
    )
    assert len(join(web / "page" / "page.js", web)[1]) == len(MODULES)


@pytest.mark.parametrize(
    "line",
    [
        "export default 1;", "export let x = 1;", "export { x };", 'export * from "./y.js";',
        "export const { x } = {};", 'import x from "./y.js";', 'import * as x from "./y.js";',
        "import { x } from './y.js';", 'import { x } from "bare";', "await import(name);",
        "await 1;", "const y = await 1;",
    ],
)  # fmt: skip
def test_a_form_that_cannot_be_joined_is_named(web, line):
    words = web / "shared" / "words.js"
    words.write_text(f"{words.read_text()}{line}\n")
    with pytest.raises(JoiningError, match=r"shared/words\.js says “") as refused:
        join(web / "page" / "page.js", web)
    assert line.rstrip(";").split(" from")[0] in str(refused.value)


def test_a_module_that_is_not_there_is_named(web):
    (web / "shared" / "words.js").unlink()
    with pytest.raises(FileNotFoundError, match=r"words\.js"):
        join(web / "page" / "page.js", web)


def test_sheets_are_joined_in_their_order(tmp_path):
    (tmp_path / "all.css").write_text(
        '/* All. */\n@import url("a.css");\n@import url("b.css");\np { x: 3 }\n'
    )
    (tmp_path / "a.css").write_text('@import url("c.css");\np { x: 1 }\n')
    (tmp_path / "b.css").write_text("p { x: 2 }\n")
    (tmp_path / "c.css").write_text("p { x: 0 }\n")
    text, parts = join_sheets(tmp_path / "all.css")
    assert text == "/* All. */\np { x: 0 }\np { x: 1 }\np { x: 2 }\np { x: 3 }\n"
    assert {part.name for part in parts} == {"all.css", "a.css", "b.css", "c.css"}
