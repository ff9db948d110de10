"""What the command says and writes of past runs: `import-run` and `report`, in this process."""

import csv
import json

import numpy as np
import pytest
from typer.testing import CliRunner

from api.cli import app
from calc.blending import blend
from tests.api.reviews.shed import BEGAN, JARS, MARKS, a_trace

SECONDS = np.arange(0, 21_600, 60)
STILL = ("--still", "pot still", "--purpose", "spirit", "--batch", "old rye")


@pytest.fixture
def said(shed):
    """Run a word of the command on the shed's data."""

    def invoke(word, *words):
        data = shed.house.settings.data
        return CliRunner().invoke(app, [word, *map(str, words), "--data", str(data)])

    return invoke


@pytest.fixture
def files(tmp_path):
    """The files of a past run."""
    pot = np.minimum(20.0 + SECONDS * 0.02, 95.0)
    texts = {"trace": a_trace(SECONDS, pot, pot - 2.0), "jars": JARS, "marks": MARKS}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, "utf-8")
    return {name: tmp_path / name for name in texts}


def test_a_past_run_is_imported_and_reported(said, shed, files, tmp_path):
    rest = ("--jars", files["jars"], "--marks", files["marks"])
    charge = ("--charge-volume-l", 84, "--charge-abv", 28)
    ended = said("import-run", files["trace"], *STILL, *rest, *charge)
    assert ended.exit_code == 0, ended.output
    told, _, run = ended.output.strip().rpartition(" ")
    assert told == "360 lines, 6 marks and 4 jars are imported as a run of old rye on pot still:"

    ended = said(
        "report", "old rye", "--to", tmp_path / "page.html", "--csv", tmp_path / "tables",
        "--json", tmp_path / "all.json",
    )  # fmt: skip
    assert ended.exit_code == 0, ended.output
    assert f"{tmp_path / 'page.html'} is written." in ended.output
    assert "old rye" in (tmp_path / "page.html").read_text("utf-8")
    with (tmp_path / "tables/1-spirit-jars.csv").open(encoding="utf-8", newline="") as file:
        jars = list(csv.DictReader(file))
    assert [float(one["volume_l"]) for one in jars] == [0.5, 2.0, 9.0, 4.0]
    with (tmp_path / "tables/batch-balance.csv").open(encoding="utf-8", newline="") as file:
        assert next(csv.reader(file))[-2:] == ["pure_alcohol_l", "pure_alcohol_error_l"]
    whole = blend((0.5, 2.0, 9.0, 4.0), (81.0, 78.0, 70.0, 35.0))

    ended = said("report", run, "--json", tmp_path / "run.json")
    assert ended.exit_code == 0, ended.output
    alone = json.loads((tmp_path / "run.json").read_bytes())
    [within] = json.loads((tmp_path / "all.json").read_bytes())["runs"]
    for one in (alone, within):
        assert one["review"]["totals"]["pure_alcohol_l"] == pytest.approx(whole.pure_alcohol_l)


def test_what_the_command_cannot_take_it_says(said, shed, files):
    ended = said("import-run", files["trace"], *STILL[2:], "--still", "column")
    assert 'There is no still "column"; the stills here: pot still.' in ended.output
    files["trace"].write_text(f"time,pot\n{BEGAN.isoformat()},20\nyesterday,21\n", "utf-8")
    ended = said("import-run", files["trace"], *STILL)
    assert "line 3" in ended.output
    ended = said("report", "young rye")
    assert 'There is no run and no batch "young rye"' in ended.output
    assert shed.counts() == shed.fresh
