"""Blends by balance; the choice of jars against trying them one by one; botanicals."""

from itertools import product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc.alcoholometry import abv_from_abw, density
from calc.blending import MOST_JARS, blend, botanicals, jars_for_target
from calc.errors import OutOfRangeError, QuantityError
from calc.mixture import Mixture
from calc.proofing import dilution
from calc.proofing_steps import addition


def _jar_sets(most: int) -> st.SearchStrategy[tuple[tuple[float, ...], tuple[float, ...]]]:
    jar = st.tuples(st.floats(0.05, 50), st.floats(0, 100))
    jars = st.lists(jar, min_size=1, max_size=most)
    return jars.map(lambda jars: (tuple(v for v, _ in jars), tuple(s for _, s in jars)))


jar_sets, few_jars = _jar_sets(8), _jar_sets(5)


@given(jar_sets, st.floats(0, 40))
def test_blend_keeps_alcohol_and_mass(jars, temperature):
    volumes, strengths = jars
    found = blend(volumes, strengths, temperature)
    apart = [Mixture.of_volume(v, s, temperature) for v, s in zip(volumes, strengths, strict=True)]
    after = Mixture.of_volume(found.volume_l, found.abv, temperature)
    alcohol = sum(jar.ethanol_kg for jar in apart)
    assert after.ethanol_kg == pytest.approx(alcohol, rel=1e-9, abs=1e-9)
    assert after.mass_kg == pytest.approx(sum(jar.mass_kg for jar in apart), rel=1e-9)
    assert found.contraction_l == pytest.approx(sum(volumes) - found.volume_l, abs=1e-9)


@given(jar_sets)
def test_order_of_the_jars_does_not_matter(jars):
    volumes, strengths = jars
    found, back = blend(volumes, strengths), blend(volumes[::-1], strengths[::-1])
    assert found.abv == pytest.approx(back.abv, abs=1e-9)
    assert found.volume_l == pytest.approx(back.volume_l, rel=1e-12)


@given(st.floats(1, 100), st.floats(2, 99), st.floats(0.05, 0.95), st.floats(0, 40))
def test_blending_water_in_undoes_like_dilution(volume, abv, share, temperature):
    diluted = dilution(volume, abv, max(abv * share, 0.5), temperature)
    found = blend((volume, diluted.water_volume_l), (abv, 0.0), temperature)
    assert found.volume_l == pytest.approx(diluted.final_volume_l, rel=1e-9)
    assert found.abv == pytest.approx(max(abv * share, 0.5), abs=1e-8)


def test_equal_volumes_of_ethanol_and_water():
    # Computed from OIML R 22: 50 + 50 make 96.46 at 20 C.
    found = blend((50.0, 50.0), (100.0, 0.0))
    assert found.volume_l == pytest.approx(96.46, abs=0.005)
    assert found.pure_alcohol_l == pytest.approx(50.0, abs=1e-9)


def _tried_one_by_one(jars, target, litres):
    """Return the least volume at the target that whole jars make with water, by plain search."""
    volumes, strengths = jars
    best = None
    for chosen in product((False, True), repeat=len(volumes)):
        taken = [i for i, is_in in enumerate(chosen) if is_in]
        if not taken:
            continue
        both = blend(tuple(volumes[i] for i in taken), tuple(strengths[i] for i in taken))
        if both.abv >= target:
            made = dilution(both.volume_l, both.abv, target).final_volume_l
            if made >= litres and (best is None or made < best):
                best = made
    return best


@settings(max_examples=25)
@given(few_jars, st.floats(20, 60), st.floats(0.1, 100))
def test_jars_chosen_are_the_best_of_all_choices(jars, target, litres):
    found = jars_for_target(*jars, target, litres)
    best = _tried_one_by_one(jars, target, litres)
    if best is None:
        assert found.jars is None
        assert found.why.endswith(".")
    else:
        assert found.final_volume_l == pytest.approx(best, rel=1e-8)
        assert found.final_abv == pytest.approx(target, abs=1e-8)


def test_jars_named_are_the_jars_reckoned():
    volumes, strengths = (1.0, 0.9, 1.1, 1.0, 0.8), (76.0, 74.0, 71.5, 68.0, 63.0)
    found = jars_for_target(volumes, strengths, 43.0, 5.0)
    numbers = [int(word) - 1 for word in found.jars.split(", ")]
    both = blend(tuple(volumes[i] for i in numbers), tuple(strengths[i] for i in numbers))
    assert both.abv == pytest.approx(found.blend_abv, abs=1e-9)
    assert both.volume_l == pytest.approx(found.blend_volume_l, abs=1e-9)
    done = addition(both.volume_l, both.abv, found.water_volume_l)
    assert done.abv == pytest.approx(43.0, abs=1e-8)
    assert done.final_volume_l == pytest.approx(found.final_volume_l, rel=1e-9)


def test_jars_without_water_come_as_near_as_they_can():
    found = jars_for_target((1.0, 1.0, 1.0), (70.0, 63.0, 50.0), 60.0, 1.9, "none")
    assert found.jars == "1, 3"
    assert found.water_volume_l == 0
    assert found.final_abv == found.blend_abv == pytest.approx(60.0, abs=0.3)
    one = jars_for_target((1.0, 1.0, 1.0), (70.0, 60.0, 50.0), 60.0, 1.0, "none")
    assert one.jars == "2"


def test_jars_that_cannot_say_why():
    found = jars_for_target((1.0, 1.0), (40.0, 41.0), 60.0, 1.0)
    assert found.jars is None
    assert found.why == (
        "No choice of these jars makes 1 L at that strength: together they make 2.000 L and hold "
        "0.810 L of pure alcohol; lower the volume or the strength, or add jars."
    )
    short = jars_for_target((1.0,), (60.0,), 60.0, 2.0, "none")
    assert short.jars is None
    # Enough by the labels of the jars, too little once they have contracted.
    contracted = jars_for_target((1.0, 1.0), (0.0, 96.0), 48.0, 2.0, "none")
    assert "together they make 1.9" in contracted.why
    assert "make 0.000 L" in jars_for_target((0.0,), (60.0,), 60.0, 1.0).why


def test_jars_are_refused_in_a_sentence():
    with pytest.raises(QuantityError, match=r"jar_volume_l has 2, jar_abv has 1\.$"):
        blend((1.0, 1.0), (40.0,))
    with pytest.raises(QuantityError, match="at least one row"):
        blend((), ())
    with pytest.raises(OutOfRangeError, match="come to 0 L"):
        blend((0.0, 0.0), (40.0, 50.0))
    many = MOST_JARS + 1
    with pytest.raises(QuantityError, match=rf"There are {many} jars .* at most {MOST_JARS}"):
        jars_for_target((1.0,) * many, (60.0,) * many, 40.0, 5.0)


def test_the_most_jars_are_still_chosen_among():
    volumes, strengths = (1.0,) * MOST_JARS, tuple(50.0 + i for i in range(MOST_JARS))
    found = jars_for_target(volumes, strengths, 40.0, 10.0)
    assert 10.0 - 1e-9 <= found.final_volume_l < 10.05


@given(st.floats(0.1, 1000), st.floats(1, 96))
def test_botanicals_go_with_pure_alcohol(volume, abv):
    found = botanicals(volume, abv, (20.0, 10.0, 0.5))
    assert found.botanical_g == pytest.approx(
        [volume * abv / 100 * rate for rate in (20.0, 10.0, 0.5)], rel=1e-9
    )
    assert found.total_g == pytest.approx(sum(found.botanical_g))


@given(st.floats(0.1, 100), st.floats(1, 96), st.floats(0, 40))
def test_botanicals_follow_the_alcohol_not_the_warmth(volume, abv, temperature):
    mass = Mixture.of_volume(volume, abv, temperature)
    assume(mass.mass_kg > 0)
    litres = 1000 * mass.mass_kg / density(mass.abw_fraction, 20.0)
    warm = botanicals(volume, abv, (10.0,), temperature)
    assert warm.pure_alcohol_l == pytest.approx(
        litres * abv_from_abw(mass.abw_fraction) / 100, rel=1e-9
    )
