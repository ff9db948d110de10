"""A rule is one declaration that says everything an alarm needs, or it is refused."""

from dataclasses import replace

import pytest

from api.alarms import rules as rules_module
from api.alarms.model import Priority
from api.alarms.rules import RuleError, checked, registered
from api.alarms.shipped import SHIPPED
from api.alarms.words import RULES, RuleWords
from calc.errors import OutOfRangeError

HOT = SHIPPED["coolant_out_hot"]
# injury or fire within minutes, and nothing else
HIGH = {
    "no_outlet_rise", "boil_over", "coolant_out_hot", "coolant_surge", "coolant_loss",
    "spout_jump", "spout_hot", "element_near", "water_off_while_hot", "heat_lost", "unattended",
}  # fmt: skip


def test_every_rule_says_cause_consequence_first_action_basis_and_time():
    for name, rule in SHIPPED.items():
        assert rule.basis, name
        assert rule.time_to_act_s > 0, name
        if rule.priority is not None:
            assert all((rule.words.cause, rule.words.consequence, rule.words.first_action)), name
    assert set(RULES) == set(SHIPPED)


def test_high_is_for_injury_or_fire_within_minutes():
    high = {name for name, rule in SHIPPED.items() if rule.priority is Priority.HIGH}
    assert high == HIGH
    assert max(SHIPPED[name].time_to_act_s for name in high) <= 300


@pytest.mark.parametrize("part", ["first_action", "cause", "consequence"])
def test_a_rule_nobody_could_act_on_is_refused(monkeypatch, part):
    words = replace(RULES["spout_hot"], **{part: ""})
    monkeypatch.setattr(rules_module, "RULES", {"spout_hot": words})
    with pytest.raises(RuleError, match=part.replace("_", " ")):
        registered([SHIPPED["spout_hot"]])
    registered([replace(SHIPPED["spout_hot"], priority=None)])  # as an event it may be


def test_a_rule_without_basis_or_name_or_declared_twice_is_refused(monkeypatch):
    with pytest.raises(RuleError, match="basis"):
        registered([replace(HOT, basis="")])
    with pytest.raises(RuleError, match="twice"):
        registered([HOT, HOT])
    monkeypatch.setattr(rules_module, "RULES", {"coolant_out_hot": RuleWords("")})
    with pytest.raises(RuleError, match="no name"):
        registered([HOT])


@pytest.mark.parametrize("limit", [300.0, -80.0, float("nan"), float("inf")])
def test_a_limit_outside_the_sensors_range_is_refused_in_a_sentence(limit):
    with pytest.raises(OutOfRangeError, match="reaches from -55 °C to 125 °C"):
        checked(HOT, replace(HOT.limits, limit=limit))


def test_a_deadband_larger_than_the_band_is_refused_in_a_sentence():
    with pytest.raises(OutOfRangeError, match="it would never return"):
        checked(HOT, replace(HOT.limits, deadband=36.0))
    with pytest.raises(OutOfRangeError, match="deadband"):
        checked(HOT, replace(HOT.limits, deadband=-1.0))


def test_a_delay_of_more_than_a_day_is_refused():
    with pytest.raises(OutOfRangeError, match="on_delay_s"):
        checked(HOT, replace(HOT.limits, on_delay_s=100_000))


def test_a_refusal_speaks_the_houses_unit():
    with pytest.raises(OutOfRangeError, match=r"is 572 °F; .* from -67 °F to 257 °F"):
        checked(HOT, replace(HOT.limits, limit=300.0), us_units=True)
    with pytest.raises(OutOfRangeError, match=r"is 108 °F, .* limit 158 °F .* only 63 °F"):
        checked(HOT, replace(HOT.limits, deadband=60.0), us_units=True)
    jump = SHIPPED["coolant_jump"]
    with pytest.raises(OutOfRangeError, match=r"is 180 °F/min; .* to 108 °F/min"):
        checked(jump, replace(jump.limits, limit=100.0), us_units=True)
