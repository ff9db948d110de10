"""What a notice says: which place, its value and limit, the first thing to do, and a link."""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final

from api.alarms.amounts import turned
from api.alarms.model import Priority
from api.alarms.words import RULES, RuleWords
from logger.store.alarm_tables import AlarmEvent

PAGE: Final = "/alarms.html"
PRIORITIES: Final = {Priority.LOW: "Low", Priority.MEDIUM: "Medium", Priority.HIGH: "HIGH"}
REPEATED: Final = "Nobody has acknowledged this yet, after {minutes} min."
RETURNED: Final = "It has gone back to normal by itself; nobody has acknowledged it, after {} min."
MAYBE_REPEAT: Final = "May be a repeat: the service cannot tell whether the first one arrived."
SIMULATED: Final = "Simulated: {}"  # nobody shall run to a still that is none
MAYBE_TITLE: Final = "may be a repeat"
TEST_TITLE: Final = "Test from {site}"
TEST_BODY: Final = (
    "This is a test, asked for on the alarms page. Notices of alarms will arrive here like this.\n"
    "{link}"
)
CAUTIONS: Final = """\
Wormtub is a watch, not a safety device: it switches nothing, and it can be late or silent.
The heat cut-out, the pressure relief and the ventilation are hardware, and have to work with the \
Pi unplugged.
A flame or steam heater goes on in a power cut, while the watch and a water pump stop.
A notice needs the network, the target's service and a phone that is on: it may arrive late, \
twice or never. The sounder at the still needs none of them.
Have the heartbeat watched from outside the house, so that a dead Pi is noticed.
Stay with a still that is hot. Follow your local codes, and ask licensed practitioners.\
""".splitlines()
HEAT: Final = {
    "flame": "{} is heated by flame: in a power cut it goes on while the watch and a water pump "
    "stop. Let the water run without mains power, or the cut-out shut the gas.",
    "steam": "{} is heated by steam: in a power cut it goes on while the watch and a water pump "
    "stop. Let the water run without mains power, or the cut-out shut the valve.",
    "none": "Nobody has said what heats {}; say it on the vessels page: a flame or steam heater "
    "goes on in a power cut.",
}


@dataclass(frozen=True, slots=True)
class Speaker:
    """Says an event as a notice does, in the site's time and units."""

    zone: tzinfo
    link: str  # where people open the pages, without the page
    us_units: bool = False
    simulated: bool = False

    def title(self, event: AlarmEvent) -> str:
        """Name the alarm and its place in one line."""
        name = f"{PRIORITIES[Priority(event.priority)]}: {words_of(event.rule).name}, {event.where}"
        return SIMULATED.format(name) if self.simulated else name

    def body(self, event: AlarmEvent, more: str = "") -> str:
        """Say value, limit, first action and time, each on a line of its own."""
        lines = (
            more,
            self._measured(event),
            words_of(event.rule).first_action,
            f"Since {event.at.astimezone(self.zone):%H:%M on %-d %B}.",
            self.link + PAGE,
        )
        return "\n".join(line for line in lines if line)

    def _measured(self, event: AlarmEvent) -> str:
        if event.value is None:
            return f"{event.where}: {event.why}" if event.why else event.where
        value = self._shown(event.value, event.unit)
        limit = "" if event.limit is None else f" (limit {self._shown(event.limit, event.unit)})"
        return f"{event.where}: {value}{limit}"

    def _shown(self, value: float, unit: str) -> str:
        shown, sign = turned(value, unit, us_units=self.us_units)
        return f"{round(shown, 1):g} {sign}".rstrip()


def held_since(now: datetime, event: AlarmEvent, *, returned: bool) -> str:
    """Say for how long nobody has acknowledged an alarm."""
    minutes = max(0, round((now - event.at).total_seconds() / 60.0))
    return RETURNED.format(minutes) if returned else REPEATED.format(minutes=minutes)


def words_of(rule: str) -> RuleWords:
    """Give a rule's texts; one that is no longer shipped goes by its key."""
    return RULES.get(rule) or RuleWords(rule.replace("_", " ").capitalize())
