"""What cannot be true is pointed out, with the slip that made it among the likeliest.

Each case is a true record, spoiled by one slip: the strengths a glass instrument would have shown
come from calc's own table (OIML R 22), the cases are invented.
"""

from dataclasses import replace

import pytest

from api.record.amounts import Taken
from api.record.claims import Claim, Limit
from api.record.slips import doubts
from calc.alcoholometer import expected_reading
from calc.contents import contents_by_volume

JARS = tuple(
    Taken(f"jar {n}", 4.0, 72.0 - 3.0 * n, volume_error_l=0.02, abv_error=0.2, is_jar=True)
    for n in range(1, 7)
)
HELD_L = sum(one.amount().pure_alcohol_l for one in JARS)
RECEIVER = Taken("the receiver", 24.0, HELD_L / 24.0 * 100.0, 20.0, HELD_L / 24.0 * 100.0, 20.0,
                 volume_error_l=0.05, abv_error=0.1)  # fmt: skip
CHARGE = Taken("the charge", 190.0, 9.0, 20.0, 9.0, 20.0, volume_error_l=1.0, abv_error=0.1)


def merged(jars, receiver=RECEIVER):
    return Claim("spirit run", (receiver,), tuple(jars), "the receiver", "the jars", "as much")


def charged(jars, charge=CHARGE):
    return Claim("spirit run", (charge,), tuple(jars), "the charge", "the jars")


def read_warm(jar, at_c):
    """The reading the jar's spirit gives when warm, entered as its strength."""
    return replace(jar, abv=expected_reading(jar.abv, at_c))


def kinds(doubt):
    return [slip.kind for slip in doubt.slips]


def test_a_true_record_raises_no_doubt():
    assert doubts([merged(JARS), charged(JARS)]) == []


def test_less_than_the_charge_is_no_contradiction():
    assert doubts([charged(JARS[:2])]) == []


def test_a_difference_within_the_errors_is_none():
    off = replace(RECEIVER, abv=RECEIVER.abv * 1.005)
    assert doubts([merged(JARS, off)]) == []


WARM = tuple(read_warm(one, 31.0) for one in JARS)
HOT_VOLUME = replace(
    RECEIVER,
    volume_l=contents_by_volume(24.0, RECEIVER.abv, 20.0).volume_l * 1.013,
    volume_temperature_c=None,
)
NARROW = tuple(  # measured well, and corrected
    replace(
        one,
        volume_error_l=0.002,
        abv_error=0.02,
        reading_abv=expected_reading(one.abv, 24.0),
        temperature_c=24.0,
    )
    for one in JARS
)
SPOILED = {
    "jars not corrected": (merged(WARM), "not_corrected", "the jars"),
    "one jar not corrected": (
        merged(
            [
                replace(NARROW[0], abv=NARROW[0].abv + 4.0, reading_abv=None, temperature_c=20.0),
                *NARROW[1:],
            ],
            replace(RECEIVER, abv_error=0.02, temperature_c=19.0),
        ),
        "not_corrected",
        "jar 1",
    ),
    "receiver's volume read hot": (
        merged(
            NARROW, replace(HOT_VOLUME, abv_error=0.02, volume_error_l=0.02, temperature_c=19.0)
        ),
        "volume_hot",
        "the receiver",
    ),
    "a jar missed": (merged([*JARS[:2], *JARS[3:]]), "jar_missed", "spirit run"),
    "a jar twice": (merged([*JARS, JARS[3]]), "jar_twice", "jar 4"),
    "digits of a volume": (
        merged(JARS, replace(RECEIVER, volume_l=42.0)),
        "digits",
        "the receiver",
    ),
    "digits of a strength": (
        merged(
            [
                *NARROW[:4],
                replace(NARROW[4], abv=75.0, reading_abv=75.0, temperature_c=20.5),
                *NARROW[5:],
            ],
            replace(RECEIVER, temperature_c=19.0),
        ),
        "digits",
        "jar 5",
    ),
    "a strength in proof": (merged([replace(JARS[0], abv=138.0 * 0.7), *JARS[1:]]), None, None),
    "more out of the still than went in": (
        charged(JARS, replace(CHARGE, volume_l=109.0)),
        None,
        None,
    ),
    "bottled more than the cask held": (
        Claim(
            "lot 7",
            (Taken("the cask", 30.0, 60.0, volume_error_l=0.1, abv_error=0.1),),
            (Taken("the bottles", 50.4, 40.0, volume_error_l=0.2, abv_error=0.1),),
            "the cask",
            "the bottles",
        ),
        None,
        None,
    ),
}


@pytest.mark.parametrize("case", SPOILED)
def test_a_spoiled_record_is_doubted(case):
    claim, kind, about = SPOILED[case]
    [doubt] = doubts([claim])
    assert f"{abs(doubt.excess_l):.2f} L" in doubt.sentence
    if kind is not None:
        assert (kind, about) in [(slip.kind, slip.about) for slip in doubt.slips]


@pytest.mark.parametrize(
    "case", ["jars not corrected", "a jar missed", "a jar twice", "digits of a strength"]
)
def test_the_slip_that_was_made_is_the_likeliest(case):
    claim, kind, about = SPOILED[case]
    [doubt] = doubts([claim])
    assert (doubt.slips[0].kind, doubt.slips[0].about) == (kind, about)


def test_a_reading_that_was_corrected_is_not_blamed():
    right = [replace(one, reading_abv=one.abv + 2.0, temperature_c=27.0) for one in JARS]
    [doubt] = doubts([charged(right, replace(CHARGE, abv=7.5, temperature_c=18.0))])
    assert "not_corrected" not in kinds(doubt)


def test_slips_are_told_from_likely_to_unlikely():
    for claim, _, _ in SPOILED.values():
        [doubt] = doubts([claim])
        costs = [slip.cost for slip in doubt.slips]
        assert costs == sorted(costs)
        assert len({(slip.kind, slip.about) for slip in doubt.slips}) == len(costs)


def test_a_strength_no_still_can_give():
    [doubt] = doubts([Limit(Taken("jar 1", 1.0, 98.4), 97.2, "distillation can give")])
    assert "98.4 % vol" in doubt.sentence
    assert "not_corrected" in kinds(doubt)


def test_a_strength_no_dilution_can_give():
    blend = Taken("the blend", 20.0, 64.0, reading_abv=64.0, temperature_c=20.0)
    [doubt] = doubts([Limit(blend, 60.0, "the strongest that went into it")])
    assert doubt.slips[0].kind == "not_corrected"
    assert doubts([Limit(replace(blend, abv=60.5), 60.0, "that")]) == []  # within its error
