"""What holds for every calculation offered, whatever it works out."""

import doctest
import inspect
import re
from collections.abc import Iterator
from fractions import Fraction
from string import Formatter
from typing import Any

import numpy as np
import pytest

from calc.catalogue import CATALOGUE, calculate, curve, find, read_text
from calc.catalogue.entry import NO_SOURCE, Calculation, Field
from calc.catalogue.wording import sentence
from calc.errors import OutOfRangeError, QuantityError, UnknownCalculationError, WormtubError
from calc.quantities import CANNOT_TELL

ENTRIES = list(CATALOGUE.values())
every_entry = pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)

# What a name in each unit may end in.
ENDINGS = {
    "°C": ("_c",),
    "K": ("_k", "temperature_error_c"),  # a fixed name
    "K/min": ("_k_min",),
    "K/h": ("_k_h",),
    "kg/h": ("_kg_h",),
    "% vol": ("abv", "abv_low", "abv_high", "_percent", "abv_change"),
    "kg/kg": ("_fraction",),
    "mol/mol": ("_fraction",),
    "°proof": ("_proof",),
    "kg/m³": ("_kg_m3",),
    "hPa": ("_hpa",),
    "L": ("_l",),
    "mL": ("_ml",),
    "kg": ("_kg",),
    "g": ("_g",),
    "g/L": ("_g_l", "_g_per_l"),
    "L/kg": ("_l_kg", "_l_per_kg"),
    "m³": ("_m3",),
    "m³/h": ("_m3_h",),
    "L/h": ("_l_h",),
    "L/min": ("_l_min",),
    "mL/min": ("_ml_min",),
    "1/h": ("_per_h",),
    "kW": ("_kw",),
    "W": ("_w",),
    "W/K": ("_w_k",),
    "kWh": ("_kwh",),
    "kJ": ("_kj",),
    "kJ/K": ("_kj_k",),
    "kJ/(kg K)": ("_kj_kg_k",),
    "MJ": ("_mj",),
    "m": ("_m",),
    "cm": ("_cm",),
    "mm": ("_mm",),
    "h": ("_h",),
    "min": ("_min",),
    "days": ("_days",),
    "years": ("_years",),
    "%": ("_percent",),
    "%/year": ("_percent_per_year",),
    "ppm": ("_ppm",),
    "°P": ("plato",),
    "°L": ("_lintner",),
    "L/t": ("_l_t",),
    "L/100 kg": ("_l_100_kg",),
    "°WK": ("_wk",),
    "proof gal": ("_proof_gal",),
    "wine gal": ("_wine_gal",),
    "bottles": ("_count",),
    "per L": ("_per_l",),
}


def _numbers(entry: Calculation) -> list[Field]:
    return [taken for taken in entry.takes if taken.quantity]


def _flat(value: Any) -> Iterator[float]:
    for one in value if isinstance(value, list | tuple) else [value]:
        if isinstance(one, float):
            yield one


def _answer_or_refusal(entry: Calculation, **changed: Any) -> dict[str, Any] | str:
    try:
        return calculate(entry.name, **{**entry.example, **changed})
    except WormtubError as refused:
        return str(refused)


@every_entry
def test_name_and_question_are_plain(entry):
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", entry.name)
    assert re.fullmatch(r"[A-Z].+\?", entry.question)
    assert entry.question.count("?") == 1
    assert entry.subject


@every_entry
def test_docstring_tells_all_in_order(entry):
    doc = inspect.cleandoc(entry.function.__doc__)
    assert entry.summary.endswith(".")
    assert doc.split("\n")[1] == "", "the summary is one line"
    sections = re.findall(r"^(\w+)\n-{3,}$", doc, re.MULTILINE)
    wanted = ["Parameters", "Returns", "Raises", "Notes", "References", "Examples"]
    assert [s for s in sections if s in wanted] == wanted
    assert entry.notes
    for taken in entry.takes:
        assert re.search(rf"^[\w, ]*\b{taken.name}\b[\w, ]* : ", doc, re.MULTILINE), taken.name


@every_entry
def test_source_is_named_or_said_to_be_missing(entry):
    year_or_clause = r"\b(1[89]|20)\d\d\b|\bCFR\b|\bHMRC\b"
    assert NO_SOURCE in entry.source or re.search(year_or_clause, entry.source), entry.source


@every_entry
def test_docstring_example_runs(entry):
    globs = dict(vars(inspect.getmodule(inspect.unwrap(entry.function))))
    parser = doctest.DocTestParser()
    examples = parser.get_doctest(entry.function.__doc__, globs, entry.name, None, None)
    assert examples.examples
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    said: list[str] = []
    assert runner.run(examples, out=said.append).failed == 0, "".join(said)


@every_entry
def test_example_is_complete_and_within_bounds(entry):
    known = {taken.name: taken for taken in entry.takes}
    assert set(entry.example) <= set(known)
    assert {t.name for t in entry.takes if t.required} <= set(entry.example)
    for name, value in entry.example.items():
        if known[name].quantity:
            known[name].quantity.check(value, name)
        else:
            assert value in known[name].choices or isinstance(value, str | tuple)


@every_entry
def test_example_calculates(entry):
    found = calculate(entry.name, **entry.example)
    assert list(found) == [given.name for given in entry.gives]
    assert not entry.why or found[entry.why] is None, "the example has an answer"
    for given in entry.gives:
        if given.quantity and found[given.name] is not None:
            assert all(np.isfinite(v) for v in _flat(found[given.name]))
            given.quantity.check(found[given.name], given.name)


@every_entry
def test_answer_is_a_sentence_of_its_own_numbers(entry):
    placeholders = {name for _, name, _, _ in Formatter().parse(entry.answer) if name}
    given = {g.name for g in entry.gives}
    assert placeholders <= {t.name for t in entry.takes} | given
    assert placeholders & given
    found = calculate(entry.name, **entry.example)
    for units in ("metric", "us"):
        said = sentence(entry, entry.example, found, units)
        assert re.fullmatch(r"\S.*[.!]", said, re.DOTALL), said


@every_entry
def test_answer_speaks_of_no_number_that_was_left_out(entry):
    least = {t.name: entry.example[t.name] for t in entry.takes if t.required}
    left_out = {t.name: None for t in entry.takes if not t.required}
    for given in (least, least | left_out):
        found = _answer_or_refusal(entry, **left_out)
        if not isinstance(found, str) and None not in found.values():
            assert CANNOT_TELL not in sentence(entry, given, found)


@every_entry
def test_an_array_answers_for_each_or_is_refused(entry):
    for taken in _numbers(entry):
        if taken.many or taken.name not in entry.example:
            continue
        alone = _answer_or_refusal(entry)
        twice = np.full(2, entry.example[taken.name])
        found = _answer_or_refusal(entry, **{taken.name: twice})
        if isinstance(found, str):
            assert re.fullmatch(rf"{taken.name} is an array.*\.", found)
        else:
            for name, value in found.items():
                if isinstance(value, list) and not isinstance(alone[name], list):
                    assert value == pytest.approx([alone[name]] * 2)


@every_entry
def test_an_empty_list_is_refused(entry):
    for taken in entry.takes:
        if taken.many:
            with pytest.raises(QuantityError, match=rf"{taken.name} is empty; .*\.$"):
                calculate(entry.name, **{**entry.example, taken.name: ()})


@every_entry
def test_any_kind_of_number_answers_as_a_float_does(entry):
    alone = _answer_or_refusal(entry)
    for taken in _numbers(entry):
        if not taken.many and taken.name in entry.example:
            value = entry.example[taken.name]
            for kind in (np.float64, np.array, Fraction):
                assert _answer_or_refusal(entry, **{taken.name: kind(value)}) == alone


@every_entry
def test_what_is_neither_a_number_nor_a_choice_is_refused(entry):
    for taken in entry.takes:
        for value in (object(), {}, b"x", 1j, 10**400, np.array("a"), np.array(["a", "b"])):
            said = _answer_or_refusal(entry, **{taken.name: value})
            assert isinstance(said, str), (taken.name, value)
            assert taken.name in said


@every_entry
def test_names_end_in_their_unit(entry):
    declared = [(f.name, f.quantity) for f in entry.takes + entry.gives if f.quantity]
    declared += entry.curve.fields.items() if entry.curve else []
    for name, quantity in declared:
        if quantity.unit:
            assert name.endswith(ENDINGS[quantity.unit]) or re.search(r"_at_\d+_[cf](_|$)", name), (
                f"{name} is in {quantity.unit}"
            )


@every_entry
def test_each_bound_broken_gives_one_clear_sentence(entry):
    for taken in _numbers(entry):
        low, high = taken.quantity.low, taken.quantity.high
        beyond = 0.001 * (high - low)
        for limit, value in ((low, low - beyond), (high, high + beyond), (low, float("nan"))):
            broken = (value,) if taken.many else value
            with pytest.raises(OutOfRangeError) as caught:
                calculate(entry.name, **{**entry.example, taken.name: broken})
            said = str(caught.value)
            assert caught.value.quantity == taken.name
            assert f"{limit:.10g}" in said
            assert taken.name in said
            assert taken.quantity.unit in said
            assert said.endswith(".")
            assert "\n" not in said


@every_entry
def test_what_is_at_the_bounds_answers_or_says_why_not(entry):
    for taken in _numbers(entry):
        for value in (taken.quantity.low, taken.quantity.high):
            at = tuple(value for _ in entry.example.get(taken.name, (0,))) if taken.many else value
            found = _answer_or_refusal(entry, **{taken.name: at})
            if isinstance(found, str):
                assert found.endswith((".", "?"))
            else:
                numbers = [v for values in found.values() for v in _flat(values)]
                assert np.isfinite(numbers).all(), (taken.name, value, found)


@every_entry
def test_a_missing_an_unknown_and_a_wrong_kind_of_quantity_are_refused(entry):
    for taken in entry.takes:
        if taken.required:
            rest = {k: v for k, v in entry.example.items() if k != taken.name}
            with pytest.raises(QuantityError, match=rf"needs {taken.name}\b.*\.$"):
                calculate(entry.name, **rest)
        wrong = ["seven", True, None] if taken.many else ["seven", True, [1.0, 2.0]]
        for value in wrong[: 3 if taken.required or not taken.many else 2]:
            if not taken.quantity and not taken.choices:
                continue
            with pytest.raises(QuantityError, match=rf"{taken.name}\b.*\.$"):
                calculate(entry.name, **{**entry.example, taken.name: value})
    with pytest.raises(QuantityError, match=r'does not take "depth_fathoms"; .*[.?]$'):
        calculate(entry.name, **entry.example, depth_fathoms=3.0)


@every_entry
def test_words_of_a_form_calculate_as_numbers_do(entry):
    words = {
        name: ", ".join(str(v) for v in value) if isinstance(value, tuple) else str(value)
        for name, value in entry.example.items()
    }
    again = calculate(entry.name, **read_text(entry.name, words))
    assert again == calculate(entry.name, **entry.example)


@pytest.mark.parametrize("entry", [e for e in ENTRIES if e.curve], ids=lambda entry: entry.name)
def test_curve_runs_at_the_example(entry):
    drawn = curve(entry.name, **entry.example)
    named = [entry.curve.x, *entry.curve.lines, *(entry.curve.band or ())]
    assert set(named) <= set(drawn)
    assert set(entry.curve.fields) == set(drawn)
    assert len({len(values) for values in drawn.values()}) == 1
    assert len(drawn[entry.curve.x]) > 1
    assert None not in drawn[entry.curve.x]
    for name in entry.curve.lines:
        assert sum(value is not None for value in drawn[name]) > len(drawn[name]) / 2
    assert entry.curve.title


def test_a_curve_is_drawn_for_one_number_each():
    with pytest.raises(QuantityError, match=r"pressure_hpa is an array.*\.$"):
        curve("vapour-strength", head_temperature_c=84.0, pressure_hpa=np.array([1000.0, 1013.0]))


@every_entry
def test_curve_is_asked_for_only_where_there_is_one(entry):
    if entry.curve is None:
        with pytest.raises(UnknownCalculationError, match="has no curve"):
            curve(entry.name, **entry.example)


@pytest.mark.parametrize(
    "entry", [e for e in ENTRIES if e.subject == "Hazards"], ids=lambda e: e.name
)
def test_hazards_carry_cautions_that_defer_to_local_codes(entry):
    assert entry.cautions
    assert any("follow local codes" in caution.lower() for caution in entry.cautions)


@pytest.mark.parametrize(
    "entry", [e for e in ENTRIES if e.subject in ("Proofing", "Blending")], ids=lambda e: e.name
)
def test_handling_strong_spirit_carries_the_caution_of_fire(entry):
    assert any("no flame" in caution for caution in entry.cautions)


@pytest.mark.parametrize(
    ("name", "takes", "gives"),
    [
        ("density", "abw_fraction temperature_c", "density_kg_m3"),
        ("true-strength", "reading_abv temperature_c reference_temperature_c glass", "abv"),
        (
            "dilution",
            "volume_l abv target_abv temperature_c",
            "water_volume_l water_mass_kg final_volume_l",
        ),
        ("boiling-point", "abv pressure_hpa", "temperature_c vapour_abv"),
        (
            "vapour-strength",
            "head_temperature_c pressure_hpa temperature_error_c pressure_error_hpa",
            "abv abv_low abv_high",
        ),
        (
            "simple-distillation",
            "volume_l abv pressure_hpa end_spout_abv",
            "collected_volume_l collected_abv residue_volume_l residue_abv recovery",
        ),
        ("total-reflux-stages", "pot_abv top_abv pressure_hpa", "stages"),
    ],
)
def test_published_names_are_kept(name, takes, gives):
    entry = find(name)
    assert set(takes.split()) <= {taken.name for taken in entry.takes}
    assert set(gives.split()) <= {given.name for given in entry.gives}


def test_an_unknown_calculation_is_refused_with_the_nearest_name():
    with pytest.raises(UnknownCalculationError, match='did you mean "dilution"'):
        calculate("dilutoin")
    with pytest.raises(UnknownCalculationError, match=r'no calculation called "zzz".*\.$'):
        find("zzz")


def test_names_are_used_once():
    names = [entry.name for entry in ENTRIES]
    assert len(names) == len(set(names)) == len(CATALOGUE)
