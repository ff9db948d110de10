"""The command line around the calculations: in process, and once as a real process."""

import json
import shlex
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from api.cli import app
from calc.catalogue import CATALOGUE, calculate

runner = CliRunner()
every_entry = pytest.mark.parametrize("entry", CATALOGUE.values(), ids=lambda entry: entry.name)
MASH = ("target_temperature_c=66", "grain_mass_kg=100", "liquor_volume_l=268")


def calc(*words: str):
    return runner.invoke(app, ["calc", *words])


def test_alone_lists_every_calculation_once_under_its_subject():
    lines = calc().stdout.splitlines()
    names = [line.split()[0] for line in lines if line.startswith("  ")]
    assert sorted(names) == sorted(CATALOGUE)


@every_entry
def test_a_name_explains_what_it_takes_and_its_example_runs(entry):
    said = calc(entry.name).stdout
    for part in (entry.question, entry.source, *entry.cautions):
        assert part in said
    for item in entry.takes + entry.gives:
        assert f"  {item.name} " in said
    example = next(line for line in said.splitlines() if line.startswith("  wormtub calc "))
    _, _, *words = shlex.split(example)
    result = calc(*words, "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout) == calculate(entry.name, **entry.example)


@every_entry
def test_an_answer_is_the_sentence_the_numbers_the_cautions_and_the_source(entry):
    pairs = [f"{k}={_text(v)}" for k, v in entry.example.items()]
    said = calc(entry.name, *pairs).stdout
    assert entry.answer.split("{")[0] in said
    for item in entry.gives:
        assert (item.name in said.split()) == (item.name != entry.why)
    for part in (f"Source: {entry.source}", *(f"Caution: {text}" for text in entry.cautions)):
        assert part in said


def test_a_reason_is_the_sentence_and_no_row():
    said = calc("vapour-strength", "head_temperature_c=70", "pressure_hpa=1013").stdout
    assert said.startswith("Cooler than any vapour")
    assert "cannot tell" in said
    assert "Why" not in said


def _text(value):
    return ",".join(map(str, value)) if isinstance(value, tuple) else str(value)


def test_the_worked_mash_in_words_and_in_us_units():
    given = (*MASH, "grain_temperature_c=27", "moisture_percent=2")
    assert calc("liquor-temperature", *given).stdout.startswith(
        "Liquor at 69.0 °C brings the mash to 66.0 °C, with 2.68 L/kg of grain.\n"
    )
    assert "156.3 °F" in calc("liquor-temperature", *given, "--us").stdout


def test_lists_go_by_commas():
    result = calc("grist", "grains=maize, distillers-malt", "masses_kg=80,20", "--json")
    assert json.loads(result.stdout)["cook_first"] == "maize (70 to 75 °C)"


@every_entry
def test_every_declaration_is_strict_json(entry):
    def refuse(word):
        pytest.fail(f"{word} is not JSON")

    said = json.loads(calc(entry.name, "--json").stdout, parse_constant=refuse)
    assert said["question"] == entry.question


def test_a_declaration_for_machines_is_the_one_the_service_gives():
    said = json.loads(calc("grist", "--json").stdout)
    assert [item["name"] for item in said["takes"]][:2] == ["grains", "masses_kg"]
    assert said["us_units"]["kg"]["unit"] == "lb"


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("plato", "1.040"), '"1.040" is not KEY=VALUE; write for example sg=1.056.'),
        (("plato", "sg=thick"), "Specific gravity (sg) is 'thick'; give a number."),
        (("plato", "sg=1.04", "sg=1.05"), "sg is given twice; give it once."),
        (("plato", "sgg=1.04"), '"plato" does not take "sgg"; did you mean "sg"?'),
        (("plato", "sg=2"), "must lie between 0.975 and 1.18."),
        (("plato", "sg=nan"), "must lie between 0.975 and 1.18."),
        (("grist", "grains=rye,hay", "masses_kg=1,2"), "grains is 'hay'; choose one of"),
        (("grist", "grains=rye", "masses_kg=1,2"), "grains has 1, masses_kg has 2."),
        (("grist", "grains=rye"), '"grist" needs masses_kg in kg'),
    ],
)
def test_bad_words_give_one_sentence_and_exit_code_2(words, part):
    result = calc(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert part in result.stderr
    assert result.stderr.count("\n") == 1


def test_unknown_name_is_one_sentence_on_stderr_and_exit_code_2():
    result = calc("platoo")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.count("\n") == 1
    assert "platoo" in result.stderr


def test_real_process_ends_with_exit_code_2_and_no_traceback():
    done = subprocess.run(
        [sys.executable, "-m", "api.cli", "calc", "no-such-thing", "x=1"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.count("\n") == 1


def test_list_for_machines_is_json():
    names = [entry["name"] for entry in json.loads(calc("--json").stdout)]
    assert names == list(CATALOGUE)


def test_building_the_command_loads_neither_numpy_nor_the_service():
    heavy = ("numpy", "fastapi", "pydantic", "rich")
    code = f"import sys, api.cli; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"
