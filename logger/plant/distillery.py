"""The small rye distillery of the demonstration: invented, as are all its numbers and names."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from logger.bus.iio import Channel
from logger.plant.condenser import CondenserSize
from logger.plant.parameters import PlantSize, ProbeError
from logger.plant.plant import Plant
from logger.plant.run import Run
from logger.plant.weather import Weather


@dataclass(frozen=True, slots=True)
class DemoProbe:
    """A probe of the demonstration, and where it hangs."""

    probe_id: str
    vessel: str | None  # None: in the room
    place: str
    feels: str  # the plant's name for the place
    genuine: bool = True


DEMO_PROBES: Final = (
    DemoProbe("28-0000075a1b2c", "still", "pot", "pot"),
    DemoProbe("28-0000075a3c41", "still", "head", "head"),
    DemoProbe("28-0000075b0e77", "still", "column", "column"),
    DemoProbe("28-00000762a915", "still", "coolant_in", "coolant_in"),
    DemoProbe("28-0000076313d0", "still", "coolant_out", "coolant_out"),
    DemoProbe("28-00000763c8fe", "still", "spout", "spout"),
    DemoProbe("28-0000078e5512", "fermenter 1", "ferment", "fermenter 1.ferment"),
    DemoProbe("28-0000078e61d9", "fermenter 2", "ferment", "fermenter 2.ferment"),
    DemoProbe("28-0000077f2e08", "mash tun", "mash", "mash"),
    DemoProbe("28-3ce104572b9a", None, "room", "room", genuine=False),  # a copy: the demo says so
)


def demo_size() -> PlantSize:
    """Give the distillery: a copper still with two plates and reflux, mash tun and fermenters."""
    base = PlantSize(weather=Weather(mean_hpa=1008.0, storm_hpa=5.0))
    return replace(
        base,
        still=replace(
            base.still,
            stages=2,
            loss_w_k=20.0,
            reflux=CondenserSize(exchange_w_k=250.0, cooling_w_k=40.0, water_kg=1.5),
            head_probe="after_reflux",
        ),
        errors={"room": ProbeError(1.0, 0.35)},  # the copy reads high
    )


def mash_and_ferment(fermenter: str, batch: str) -> str:
    """Give the part of a batch that ends with a wash."""
    return f"""
        batch {batch}
        stage mash tun mash
        pour 210 L at 69 C into mash tun
        add 38 kg rye to mash tun
        add 27 kg rye malt to mash tun
        warm mash tun to 61 C with 5 kW
        wait 80 min
        stop warming mash tun
        cool mash tun to 29 C
        wait until mash below 30 C at most 9 h
        stop cooling mash tun
        move mash tun to {fermenter}
        stage mash tun empty
        stage {fermenter} ferment
        pour 15 L at 20 C into {fermenter}
        pitch 300 g yeast into {fermenter}
        cool {fermenter} to 31 C
    """


def distil(fermenter: str, batch: str) -> str:
    """Give the part that makes low wines of a wash, and spirit of the low wines."""
    return f"""
        stage {fermenter} empty
        charge still from {fermenter} without grain
        empty {fermenter}
        stage still strip
        collect into low wines {batch}
        heat still with 18 kW
        wait until pot above 70 C at most 4 h
        water on 8.5 L/min
        wait until spout below 3 % vol at most 9 h
        heat off
        wait until head below 55 C at most 2 h
        water off
        wait 10 min
        empty still
        stage still empty
    """


def spirit_run(charge: str, batch: str) -> str:
    """Give a spirit run: slow through foreshots, heads, hearts and tails, and cold at the end."""
    return f"""
        {charge}
        stage still spirit
        collect into foreshots
        heat still with 13 kW
        wait until pot above 72 C at most 4 h
        water on 4 L/min
        wait until head above 70 C at most 2 h
        reflux water 0.8 L/min
        heat still with 11 kW
        wait until collected above 0.6 L at most 2 h
        collect into heads
        wait until collected above 4 L at most 3 h
        collect into hearts {batch}
        wait until collected above 8 L at most 3 h
        heat still with 10 kW
        wait until spout below 60 % vol at most 8 h
        collect into feints
        reflux water 0 L/min
        heat still with 12 kW
        wait until spout below 8 % vol at most 6 h
        heat off
        wait until head below 55 C at most 2 h
        water off
        wait 10 min
        empty still
        stage still empty
    """


def batch_script(fermenter: str, batch: str) -> str:
    """Give a whole batch from mash to bottle, by itself."""
    return f"""
        {mash_and_ferment(fermenter, batch)}
        wait until {fermenter} is done at most 4 d
        wait 20 h
        {finish(fermenter, batch)}
    """


def finish(fermenter: str, batch: str) -> str:
    """Give the part of a batch from wash to bottle."""
    charge = f"charge still from lot low wines {batch}"
    return f"""
        batch {batch}
        stop cooling {fermenter}
        {distil(fermenter, batch)}
        {spirit_run(charge, batch)}
        water down hearts {batch} to 43 % vol
        bottle hearts {batch}
    """


PAST_HOURS: Final = 112.0
PAST: Final = f"""
    {mash_and_ferment("fermenter 1", "rye 1")}
    wait until hour 24
    {mash_and_ferment("fermenter 2", "rye 2")}
    wait until hour 76
    {finish("fermenter 1", "rye 1")}
    wait until hour 100
    {finish("fermenter 2", "rye 2")}
    wait until hour {PAST_HOURS:g}
"""

# What goes on live: a ferment, and spirit runs of low wines kept from before, one after another.
OPENS_AT_HOUR: Final = 22.5
CHARGE_L: Final = 190.0
CHARGE_ABV: Final = 24.0
CHARGE_C: Final = 17.0
CHARGE: Final = f"pour {CHARGE_L:g} L of {CHARGE_ABV:g} % vol at {CHARGE_C:g} C into still"
LIVE: Final = f"""
    {mash_and_ferment("fermenter 1", "rye 3")}
    wait until hour 20.5
    batch rye 0
    from here
    {spirit_run(CHARGE, "rye 0")}
    wait 30 min
    again
"""
# A platform for 150 kg under the rack of jars: its cell gives 2 mV/V, fed with 5 V.
CELL_KG_MV: Final = 15.0
RACK_KG: Final = 31.5  # with two dozen empty jars
BEGINS_AT_S: Final = 8 * 3600.0  # of the day, by the scenario's clock
OPENS_AT_S: Final = BEGINS_AT_S + OPENS_AT_HOUR * 3600.0


def live_run() -> Run:
    """Begin what goes on live, at its first second."""
    return Run(LIVE, demo_size(), start_s=BEGINS_AT_S)


def past_run() -> Run:
    """Begin the two finished batches, at their first second."""
    return Run(PAST, demo_size(), start_s=BEGINS_AT_S)


HEARTS_AT_S: Final = 1500.0
HEARTS: Final = """
    batch rye 0
    stage still spirit
    pour 190 L of 22 % vol at 84 C into still
    water on 4 L/min
    reflux water 0.8 L/min
    heat still with 11 kW
    collect into hearts rye 0
    wait until spout below 8 % vol at most 12 h
    heat off
"""


def hearts_run() -> Run:
    """Give a spirit run that is well into its hearts, made in a moment: for trying things out."""
    run = Run(HEARTS, demo_size(), start_s=BEGINS_AT_S)
    run.advance(BEGINS_AT_S + HEARTS_AT_S)
    return run


def opened_run() -> Run:
    """Give what goes on live as it stands when the demonstration opens."""
    run = live_run()
    run.advance(OPENS_AT_S)
    return run


def demo_channels(bus: Path) -> tuple[Channel, Channel]:
    """Give the settings that read barometer and scale beside a simulated bus folder."""
    folder = bus.parent / "iio"
    return (
        Channel(device="bmp280", channel="pressure", folder=folder),
        Channel(
            device="hx711", channel="voltage0", name="scale", quantity="mass_kg",
            scale=CELL_KG_MV, counts_per_unit=200, low=0.0, high=150.0, folder=folder,
        ),
    )  # fmt: skip


def on_the_scale_kg(plant: Plant) -> float:
    """Say what weighs on the platform under the spout: the rack of jars, and all that came over."""
    return RACK_KG + plant.run_off_kg
