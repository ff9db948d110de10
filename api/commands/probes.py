"""`wormtub probes`: what hangs on the bus, in plain words."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from api.commands import options

if TYPE_CHECKING:
    from logger.bus.inventory import ProbeFacts
    from logger.bus.sweep import Bus
    from logger.reading import Reading


SWEEP_S = 2.0
UNITS = {"c": "°C", "hpa": "hPa"}
SUPPLIES = {"external": "supply of its own", "parasite": "supplied by the data line"}
WHY = {
    "POWER_ON": "it says 85 °C as after power-on; its supply or a contact may be loose",
    "LOW_SUPPLY": "its supply is too low while it measures; use three wires",
    "BUS_LOW": "the data line is shorted to ground",
    "CRC": "what it says arrives damaged; check contacts, cable length and pull-up resistor",
    "EMPTY": "it does not answer; check its plug",
    "TORN": "its file does not hold what the kernel writes",
    "GONE": "it has left the bus",
    "TIMED_OUT": f"it did not answer within {SWEEP_S:g} s",
    "OUT_OF_RANGE": "it says what it cannot measure; check its wires",
}


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="probes")(run)


def run(
    config: options.Config = None,
    data: options.Data = None,
    bus: options.Bus = None,
    iio: options.Iio = None,
) -> None:
    """Show what is on the bus: each probe, its supply and resolution, and what it reads now.

    This takes a scan of its own: a logger on the same bus may lose one meanwhile.
    """
    from logger.bus.sweep import open_bus
    from logger.settings import load

    settings = load(config, data=data, bus=bus, iio=iio)
    wires = open_bus(settings)
    try:
        for line in _lines(wires, settings.bus):
            typer.echo(line)
    finally:
        wires.close()


def _lines(wires: "Bus", place: Path) -> Iterator[str]:
    from logger.bus.inventory import probes_on

    readings = _readings(wires)
    asked = {one.probe_id: one for one in probes_on(place)}  # silent ones may still say this much
    facts = [asked.get(one.probe_id, one) for one in wires.facts()]
    if not facts:
        yield (
            f"No thermometer hangs on {place}. Check the wiring, the pull-up resistor, and that "
            "the line dtoverlay=w1-gpio is in config.txt."
        )
        return
    yield f"{len(facts)} on {place}:"
    for one in facts:
        yield from _about(one, readings[one.probe_id])
    if any(one.likely_copy for one in facts):
        yield (
            "A likely copy may be some degrees off, more so when hot: check it in ice and in "
            "steam before trusting it."
        )


def _readings(wires: "Bus") -> "dict[str, Reading]":
    """Sweep as long as that brings news: probes without a supply are heard one by one."""
    from logger.reading import Grade

    heard: dict[str, Reading] = {}
    while True:
        scan = {r.series.probe_id: r for r in wires.read_scan(deadline_s=SWEEP_S)}
        news = {
            probe_id: reading
            for probe_id, reading in scan.items()
            if probe_id not in heard and reading.grade is not Grade.TIMED_OUT
        }
        heard |= news
        if not news or len(heard) == len(scan):
            return scan | heard


def _about(facts: "ProbeFacts", reading: "Reading") -> Iterator[str]:
    what = [facts.kind, facts.master]
    what += [f"{facts.resolution_bits} bit"] if facts.resolution_bits is not None else []
    what += [SUPPLIES[facts.supply]] if facts.supply in SUPPLIES and facts.master != "iio" else []
    what += ["read in bulk"] if facts.bulk else []
    what += ["likely a copy"] if facts.likely_copy else []
    yield f"{facts.probe_id}  {_said(reading)}"
    yield f"    {', '.join(what)}"


def _said(reading: "Reading") -> str:
    if reading.value is None:
        return f"no reading: {WHY[reading.grade.name]}"
    name, _, unit = reading.series.quantity.rpartition("_")
    return (
        f"{reading.value:.2f} {UNITS.get(unit, unit)} {name if unit not in UNITS else ''}".rstrip()
    )
