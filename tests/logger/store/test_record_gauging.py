"""What was read, at 20 °C: to calc's last digit, with its error, and refused where it cannot be."""

import pytest

from calc.alcoholometer import true_strength
from calc.contents import contents_by_volume, contents_by_weight
from logger.errors import ConflictError, RangeError
from logger.store.gauging import (
    INSTRUMENTS,
    Content,
    Strength,
    check_distilled,
    check_drawn,
    content_of,
    strength_of,
)
from logger.store.record_tables import Gauged


def read(**fields):
    return Gauged.model_construct(**dict.fromkeys(Gauged.model_fields) | fields)


@pytest.mark.parametrize(
    ("reading_abv", "temperature_c"), [(40.0, 25.0), (63.5, 12.5), (5.0, 18.0)]
)
def test_a_reading_goes_through_calc(reading_abv, temperature_c):
    found = strength_of(read(reading_abv=reading_abv, temperature_c=temperature_c))
    assert found.abv == true_strength(reading_abv, temperature_c).abv_at_20_c
    assert found.error_abv == INSTRUMENTS["alcoholometer_20c"].error_abv


def test_an_error_that_is_stated_counts():
    found = strength_of(read(reading_abv=40.0, temperature_c=20.0, reading_error_abv=0.1))
    assert found == Strength(pytest.approx(40.0), 0.1)


def test_a_volume_is_at_the_temperature_it_was_measured_at():
    warm = read(volume_l=10.0, volume_temperature_c=30.0, reading_abv=60.0, temperature_c=20.0)
    assert content_of(warm).volume_l == pytest.approx(
        contents_by_volume(10.0, 60.0, 30.0).volume_at_20_c_l, abs=1e-12
    )
    same = read(volume_l=10.0, reading_abv=60.0, temperature_c=30.0)
    abv = true_strength(60.0, 30.0).abv_at_20_c
    assert content_of(same).volume_l == contents_by_volume(10.0, abv, 30.0).volume_at_20_c_l
    assert content_of(read(volume_l=10.0)) == Content(10.0, 0.1, None)


def test_a_mass_needs_a_strength_and_the_tare():
    weighed = read(mass_kg=1.5)
    assert content_of(weighed) == Content(None, None, None)
    found = content_of(weighed, Strength(65.0, 0.3), tare_kg=0.5)
    assert found.volume_l == contents_by_weight(1.0, 65.0).volume_at_20_c_l
    assert content_of(weighed, tare_kg=None) is None
    with pytest.raises(RangeError, match="less than the empty jar") as refused:
        content_of(weighed, tare_kg=1.6)
    assert refused.value.field == "mass_kg"


def test_the_error_of_the_alcohol_is_both_errors_together():
    content = Content(10.0, 0.1, Strength(60.0, 0.3))
    assert content.pure_alcohol_l == pytest.approx(6.0)
    assert content.pure_alcohol_error_l == pytest.approx(
        ((0.1 * 0.6) ** 2 + (10 * 0.003) ** 2) ** 0.5
    )
    assert Content(10.0, 0.1, None).pure_alcohol_error_l is None


def test_what_cannot_be_read_is_refused_at_its_field():
    cases = [
        ({"reading_abv": 60.0}, "temperature_c", "needs the temperature"),
        (
            {"reading_abv": 30.0, "temperature_c": 20.0, "instrument": "from_gravities"},
            "reading_abv",
            "shows 0 to 25",
        ),
        ({"reading_abv": 0.1, "temperature_c": 39.0}, "reading_abv", "must lie between"),
    ]
    for fields, field, says in cases:
        with pytest.raises(RangeError, match=says) as refused:
            strength_of(read(**fields))
        assert refused.value.field == field
    check_distilled(Strength(97.2, 0.3))
    with pytest.raises(RangeError, match="distilling gives no more than"):
        check_distilled(Strength(97.3, 0.3))


def test_no_more_is_drawn_than_there_was():
    held = Content(1.0, 0.01, Strength(60.0, 0.3))
    check_drawn("jar 1", held, [read(volume_l=0.4), read(volume_l=0.6)])
    check_drawn("jar 1", held, [read(volume_l=0.4), read()])
    check_drawn("jar 1", None, [read(volume_l=9.0)])
    with pytest.raises(ConflictError, match=r"held 1\.000 L at 20 °C, .* comes to 1\.100 L"):
        check_drawn("jar 1", held, [read(volume_l=0.4), read(volume_l=0.7)])
    with pytest.raises(ConflictError, match="Nothing is left"):
        check_drawn("jar 1", held, [read(), read(volume_l=0.1)])
