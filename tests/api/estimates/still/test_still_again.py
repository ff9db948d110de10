"""The same facts give the same estimates, in whatever order and pieces they came."""

from dataclasses import replace

from api.estimates.ground import JarGround, Measured, SpoutReading
from api.estimates.still.estimator import StillEstimator
from api.estimates.still.following import Follower


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


def changes(run):
    """Changes of a record, as a distiller makes them beside the still and later."""
    at = [step.slot for step in run.steps]
    jar = JarGround(at[-150], None, holds_l=2.0)
    full = replace(jar, to_slot=at[-100], volume_l=Measured(1.9, 0.02))
    dropped = run.changed(first_drop_slot=at[-160], jars=(jar,))
    yield dropped
    followed = replace(dropped, jars=(full, JarGround(at[-100], None)))
    yield followed
    yield replace(followed, spout=(SpoutReading(at[-90], Measured(40.0, 0.5)),))
    yield replace(followed, end_abv=5.0)  # changes what is told, not what is learned
    yield replace(followed, powers_w=(*run.ground.powers_w, (at[-70], 900.0)))
    yield replace(followed, jars=(replace(full, volume_l=Measured(2.1, 0.02)),))
    yield replace(followed, heat_off_slot=at[-20])
    yield replace(followed, charge_abv=Measured(8.5, 0.15))


def test_each_change_is_as_if_known_from_the_start(short, names, good):
    late = StillEstimator(short.still)
    late.know(short.ground, good)
    late.see(short.steps)
    for ground in changes(short):
        late.know(ground, good)
        fresh = StillEstimator(short.still)
        fresh.know(ground, good)
        fresh.see(short.steps)
        assert names(late) == names(fresh)


def test_what_is_new_costs_only_what_it_touches(short, good, monkeypatch):
    stepped = []
    went = Follower.step
    monkeypatch.setattr(Follower, "step", lambda self, one: (stepped.append(1), went(self, one)))
    estimator = StillEstimator(short.still)
    estimator.know(short.ground, good)
    estimator.see(short.steps)
    stepped.clear()
    at = short.steps[-1].slot
    estimator.know(short.changed(jars=(JarGround(at, None),)), good)
    assert len(stepped) <= 1
    reading = SpoutReading(at - 300, Measured(30.0, 0.5))
    estimator.know(short.changed(jars=(JarGround(at, None),), spout=(reading,)), good)
    assert 0 < len(stepped) <= 2 * 20  # from the last place kept before it
