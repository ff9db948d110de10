"""The books close on whatever was moved and measured truly: to 1e-6 L, of every lot and of all."""

import os
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.record.amounts import Amount, total
from api.record.ledger import Bulk, Gauging, Movement, account, as_booked, books, overdrawn
from api.record.stocking import COLUMNS, stock
from calc.mixture import Mixture

EXAMPLES = int(os.environ.get("WORMTUB_EXAMPLES", "60"))
START = datetime(2026, 3, 1, tzinfo=UTC)
LOTS = [UUID(int=n) for n in range(6)]
INSIDE = ("merge", "blend", "dilute", "move", "bottle", "charge", "collect")
OUTWARD = ("sample", "discard", "destroy", "loss", "use")
CLOSES_L = 1e-6

part = st.floats(0.0, 1.0)
lots = st.integers(0, len(LOTS) - 1)
deed = st.one_of(
    st.tuples(st.just("receive"), lots, st.floats(0.1, 500.0), st.floats(0.0, 96.0)),
    st.tuples(st.sampled_from(INSIDE), lots, lots, part),
    st.tuples(st.sampled_from(OUTWARD), lots, part),
    st.tuples(st.just("gauge"), lots),
)


def bulk_of(held):
    if held.mass_kg <= 0.0:
        return Bulk()
    return Bulk(held.volume_l(20.0), Amount(held.pure_alcohol_l, 0.001))


def shared(held, share):
    return Mixture(held.ethanol_kg * share, held.water_kg * share)


def true_record(deeds):
    """Carry deeds out on true mixtures, and write down what was truly moved and found."""
    truth = dict.fromkeys(LOTS, Mixture(0.0, 0.0))
    movements, gaugings = [], []
    for number, (way, *how) in enumerate(deeds):
        at, made = START + timedelta(hours=number), UUID(int=1000 + number)
        if way == "receive":
            came = Mixture.of_volume(how[1], how[2])
            truth[LOTS[how[0]]] += came
            movements.append(Movement(made, at, way, None, LOTS[how[0]], bulk_of(came)))
        elif way == "gauge":
            gaugings.append(Gauging(made, at, LOTS[how[0]], bulk_of(truth[LOTS[how[0]]])))
        else:
            source = LOTS[how[0]]
            target = LOTS[how[1]] if way in INSIDE else None
            if source == target:
                continue
            went = shared(truth[source], how[-1])
            truth[source] = shared(truth[source], 1.0 - how[-1])
            if target is not None:
                truth[target] += went
            movements.append(Movement(made, at, way, source, target, bulk_of(went)))
    return truth, movements, gaugings


@settings(max_examples=EXAMPLES, deadline=None)
@given(st.lists(deed, max_size=30))
def test_books_of_a_true_record_close(deeds):
    truth, movements, gaugings = true_record(deeds)
    made = books(movements, gaugings)
    for lot, book in made.items():
        held = book[-1].held.alcohol.pure_alcohol_l
        assert abs(held - truth[lot].pure_alcohol_l) <= CLOSES_L
        assert abs(account(made, {lot}.__contains__).residual_l) <= CLOSES_L
        assert overdrawn(book) is None
    whole = account(made, lambda _: True)
    assert abs(whole.residual_l) <= CLOSES_L
    missing = whole.difference.alcohol.pure_alcohol_l  # nothing was found that was not known
    assert abs(missing) <= CLOSES_L


@settings(max_examples=EXAMPLES, deadline=None)
@given(st.lists(deed, max_size=30), st.integers(0, 30), st.integers(0, 30), st.sets(lots))
def test_each_row_of_the_stock_book_adds_up(deeds, first, last, chosen):
    _, movements, gaugings = true_record(deeds)
    made = books(movements, gaugings)
    ours = {LOTS[n] for n in chosen}
    low, high = (START + timedelta(hours=n, minutes=-1) for n in sorted((first, last)))
    row = stock(made, ours.__contains__, low, high)
    for measure in (lambda b: b.alcohol.pure_alcohol_l, lambda b: b.volume_l):
        sums = {name: measure(getattr(row, name)) for name in COLUMNS}
        came = sums["opening"] + sums["received"] + sums["produced"] + sums["difference"]
        went = sum(sums[name] for name in ("used", "lost", "destroyed", "sampled"))
        assert abs(came - went - sums["closing"]) <= CLOSES_L


def test_a_gauging_sets_the_book_right_and_says_by_how_much():
    tub = LOTS[0]
    received = Bulk(100.0, Amount(40.0, 0.3))
    found = Bulk(98.0, Amount(39.1, 0.2))
    made = books(
        [Movement(UUID(int=1), START, "receive", None, tub, received)],
        [Gauging(UUID(int=2), START + timedelta(days=1), tub, found)],
    )
    assert [step.way for step in made[tub]] == ["receive", "gauged"]
    assert made[tub][-1].held == found
    assert made[tub][-1].change.alcohol.pure_alcohol_l == 39.1 - 40.0
    row = stock(made, {tub}.__contains__, START, START + timedelta(days=2))
    assert row.difference.volume_l == -2.0
    assert row.closing == found


def test_what_is_gauged_first_was_made():
    wash = LOTS[1]
    made = books([], [Gauging(UUID(int=2), START, wash, Bulk(200.0, Amount(16.0, 0.5)))])
    row = stock(made, {wash}.__contains__, START, START + timedelta(days=1))
    assert row.produced.volume_l == 200.0
    assert account(made, {wash}.__contains__).made.alcohol.pure_alcohol_l == 16.0


def test_a_lot_that_gave_more_than_it_had_is_found():
    tub = LOTS[0]
    moves = [
        Movement(UUID(int=1), START, "receive", None, tub, Bulk(10.0, Amount(4.0, 0.1))),
        Movement(
            UUID(int=2), START + timedelta(hours=1), "use", tub, None, Bulk(12.0, Amount(4.8, 0.1))
        ),
    ]
    found = overdrawn(books(moves, [])[tub])
    assert found is not None
    assert found.source == UUID(int=2)
    within = [moves[0], Movement(moves[1].id, moves[1].at, "use", tub, None, moves[0].bulk)]
    assert overdrawn(books(within, [])[tub]) is None


def test_errors_add_as_independent_ones():
    both = total([Amount(1.0, 0.3), Amount(2.0, 0.4)])
    assert both == Amount(3.0, 0.5)
    assert (both - Amount(3.0, 0.0)).error_l == 0.5


def test_all_that_was_there_takes_its_alcohol_along():
    """Its last strength was read before weaker liquid came; what goes is what the book holds."""
    tub, still = LOTS[0], LOTS[1]
    hours = [START + timedelta(hours=hour) for hour in range(3)]
    came, weaker = Bulk(10.0, Amount(4.0, 0.1)), Bulk(5.0, Amount(1.0, 0.1))
    said = Bulk(15.0, Amount(6.0, 0.15))  # by its volume and the strength of before
    moves = [
        Movement(UUID(int=1), hours[0], "receive", None, tub, came),
        Movement(UUID(int=2), hours[1], "receive", None, tub, weaker),
        Movement(UUID(int=3), hours[2], "charge", tub, still, said, is_all=True),
    ]
    made = books(moves, [])
    assert made[tub][-1].held == Bulk()
    assert made[still][-1].held.volume_l == 15.0
    assert made[still][-1].held.alcohol.pure_alcohol_l == pytest.approx(5.0, abs=1e-12)
    assert as_booked(moves, made)[2].bulk == made[still][-1].held
    assert account(made, {tub, still}.__contains__).residual_l == pytest.approx(0.0, abs=1e-12)
