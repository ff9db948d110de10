"""Scripts: read as they are written, refused with the line that cannot be done."""

import pytest

from logger.errors import PlantError
from logger.plant.distillery import LIVE, PAST, demo_size
from logger.plant.run import Run
from logger.plant.script import FORMS, read

EXAMPLES = {
    "n": "3", "t": "21.5", "duration": "20 min", "grain": "rye malt", "tank": "mash tun",
    "lot": "low wines", "place": "pot", "case": "storm", "trouble": "storm", "stage": "mash",
}  # fmt: skip


@pytest.mark.parametrize(("name", "form"), FORMS)
def test_every_form_is_read_as_itself(name, form):
    words = form
    for kind, example in EXAMPLES.items():
        words = words.replace(f"<{kind}>", example)
    [found] = read(words).in_turn
    assert found.name == name


@pytest.mark.parametrize("text", [PAST, LIVE])
def test_the_demonstration_s_scripts_are_read(text):
    assert len(read(text, demo_size()).in_turn) > 20


def test_remarks_blank_lines_and_spaces_count_for_nothing():
    script = read("\n  # nothing yet\n\n  heat   still with 9 kW   # at last\n")
    [only] = script.in_turn
    assert (only.line, only.name, only.values) == (4, "heat", (9.0,))


def test_lines_with_a_time_stand_in_order_of_time():
    script = read("at 1d 02:10 heat off\nwater off\nat 00:00:30 water on 3 L/min")
    assert [one.at_s for one in script.timed] == [30.0, 93_600.0 + 600.0]
    assert [one.name for one in script.in_turn] == ["water_off"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("water off\nboyl still", 'Line 2: "boyl" is no instruction; a line begins with at or'),
        ("heat still with 12 horses", 'Line 1: "heat still with 12 horses" is not understood;'),
        ("heat high", 'Line 1: "heat high" is not understood; write heat still with <n> kW or hea'),
        ("\n\nadd 3 kg spelt to mash tun", 'Line 3: there is no "spelt" in store; there are rye,'),
        ("empty bucket", 'Line 1: there is no vessel "bucket"; there are mash tun, ferm'),
        ("stage still singing", 'Line 1: "singing" is no stage; there are mash, ferment,'),
        ("wait until nose above 3 C at most 2 h", 'Line 1: there is no place "nose"'),
        ("fault coolant-gone", 'Line 1: "coolant-gone" is no fault of the plant'),
        ("mend everything", 'Line 1: "everything" is no fault of the plant'),
        ("pour 3 L at 300 C into mash tun", "Line 1: 300 C cannot be; give from -20 to 110 C."),
        ("at 01:00 wait 5 min", 'Line 1: "wait 5 min" has no time of its own'),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_one_sentence_with_its_line(text, says):
    with pytest.raises(PlantError) as refused:
        read(text)
    assert str(refused.value).startswith(says)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("charge still from lot gin", 'Line 1: nothing has been collected into "gin".'),
        ("charge still from mash tun", "Line 1: the mash tun is empty"),
        ("pour 400 L of 9 % vol at 20 C into still", "Line 1: The still takes 300 L"),
        ("pour 900 L at 20 C into mash tun", "Line 1: the mash tun takes 400 L; 900 L more"),
        ("pitch 3 g yeast into still", "Line 1: that is done in a tank, not in the still."),
        ("again", "Line 1: again would never end"),
        ("pour 3 L of 150 % vol at 20 C into still", "Line 1: Strength (abv) is 150 % vol;"),
        ("water off\nwater down gin to 0 % vol", 'Line 2: "gin" has 0.0 % vol; water takes it to'),
    ],
)
def test_what_cannot_be_done_is_one_sentence_with_its_line(text, says):
    with pytest.raises(PlantError) as refused:
        Run(text)
    assert str(refused.value).startswith(says)


def test_a_wait_holds_back_what_follows_and_a_time_does_not():
    run = Run(
        """
        at 00:10 water on 3 L/min
        wait 20 min
        heat still with 2 kW
        """
    )
    run.advance(599.0)
    assert (run.plant.water_l_min["product"], run.plant.power_w) == (0.0, 0.0)
    run.advance(600.0)
    assert (run.plant.water_l_min["product"], run.plant.power_w) == (3.0, 0.0)
    run.advance(1200.0)
    assert run.plant.power_w == 2000.0
    assert run.finished


def test_again_goes_back_to_from_here():
    run = Run("wait 1 min\nfrom here\nwater on 1 L/min\nwait 1 min\nwater off\nwait 1 min\nagain")
    seen = []
    for minute in range(1, 8):
        run.advance(minute * 60.0 + 1.0)
        seen.append(run.plant.water_l_min["product"])
    assert seen == [1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0]
    assert not run.finished


def test_a_fault_for_a_while_ends_by_itself():
    run = Run("at 00:01 fault coolant-stopped for 3 min\nwait 10 min")
    run.advance(120.0)
    assert run.truth().troubles == ("coolant-stopped",)
    run.advance(241.0)
    assert run.truth().troubles == ()


def test_spirit_is_watered_down_to_its_strength_and_bottled():
    run = Run("wait 1 min")
    lot = run.plant.lot("hearts")
    lot.take(run.plant.bring(10.0, 68.0, 20.0))
    again = Run("wait 1 min\nwater down hearts to 43 % vol\nwait 1 min\nbottle hearts")
    again.plant.lot("hearts").take(again.plant.bring(10.0, 68.0, 20.0))
    again.advance(61.0)
    assert again.truth().lots["hearts"].abv == pytest.approx(43.0, abs=0.02)
    again.advance(200.0)
    assert again.truth().lots["hearts"].volume_l == 0.0
    assert again.plant.balance().alcohol_error < 1e-9
