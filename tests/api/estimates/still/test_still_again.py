"""The same facts give the same estimates, in whatever order and pieces they came."""

from api.estimates.ground import JarGround, Measured, SpoutReading
from api.estimates.still.estimator import StillEstimator


def facts(run):
    at = run.steps[-60].slot
    spout = (SpoutReading(at, Measured(run.true("spout_abv", at - run.ground.from_slot), 0.3)),)
    jar = JarGround(run.steps[-80].slot, None, holds_l=2.0)
    return run.changed(spout=spout, jars=(jar,), first_drop_slot=run.steps[-100].slot)


def test_known_after_the_fact_as_if_known_from_the_start(short, names, good):
    early, late = StillEstimator(short.still), StillEstimator(short.still)
    early.know(facts(short), good)
    late.know(short.ground, good)
    for step in short.steps:
        late.see([step])
    early.see(short.steps)
    assert names(early) != names(late)
    late.know(facts(short), good)
    assert names(early) == names(late)


def test_rebuilt_as_it_was(short, names, good):
    one, other = StillEstimator(short.still), StillEstimator(short.still)
    one.know(facts(short), good)
    for i in range(0, len(short.steps), 7):
        one.see(short.steps[i : i + 7])
        one.tell()
    other.see(short.steps)  # as after a restart: what is stored, then what is known
    other.know(facts(short), good)
    assert names(one) == names(other)


def test_every_quantity_is_told_or_says_why(short, names, good):
    estimator = StillEstimator(short.still)
    estimator.know(facts(short), good)
    estimator.see(short.steps)
    told = names(estimator)
    assert len(told) == len(estimator.tell())
    for one in told.values():
        assert (one.value is None) == (one.why is not None), one.quantity
        if one.value is not None:
            assert one.low <= one.low_68 <= one.value <= one.high_68 <= one.high
            assert one.rests_on
    assert told["minutes_to_jar_full"].value > 0.0
    assert told["reflux_ratio"].value < 0.2
    assert any("pot still" in said for said in told["reflux_ratio"].rests_on)
