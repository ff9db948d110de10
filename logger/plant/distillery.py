"""The small rye distillery of the demonstration: invented, as are all its numbers and names."""

from dataclasses import dataclass, replace
from typing import Final

from logger.plant.parameters import PlantSize, ProbeError
from logger.plant.weather import Weather

DAY_S: Final = 86_400.0


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
CALIBRATED: Final = ProbeError()


def demo_size() -> PlantSize:
    """Give the distillery: copper still of 300 L with two plates, mash tun and two fermenters."""
    base = PlantSize(weather=Weather(mean_hpa=1008.0, storm_hpa=5.0))
    return replace(
        base,
        still=replace(base.still, stages=2, loss_w_k=20.0),
        errors={"room": ProbeError(1.0, 0.35)},  # the copy reads high
    )


def mash_and_ferment(fermenter: str, batch: str) -> str:
    """Give the part of a batch that ends with a wash."""
    return f"""
        batch {batch}
        stage mash tun mash
        pour 215 L at 71 C into mash tun
        add 38 kg rye to mash tun
        add 27 kg rye malt to mash tun
        warm mash tun to 64 C with 5 kW
        wait 80 min
        stop warming mash tun
        cool mash tun to 27 C
        wait until mash below 28 C at most 9 h
        stop cooling mash tun
        move mash tun to {fermenter}
        stage mash tun empty
        stage {fermenter} ferment
        pour 20 L at 20 C into {fermenter}
        pitch 160 g yeast into {fermenter}
        cool {fermenter} to 33 C
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
        wait 10 min
        water off
        wait until pot below 60 C at most 30 h
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
        heat still with 9 kW
        wait until collected above 0.6 L at most 2 h
        collect into heads
        wait until collected above 4 L at most 3 h
        collect into hearts {batch}
        wait until spout below 60 % vol at most 8 h
        collect into feints
        heat still with 12 kW
        wait until spout below 8 % vol at most 6 h
        heat off
        wait 10 min
        water off
        wait until pot below 60 C at most 30 h
        empty still
        stage still empty
    """


def batch_script(fermenter: str, batch: str) -> str:
    """Give a whole batch from mash to bottle."""
    spirit = spirit_run(f"charge still from lot low wines {batch}", batch)
    return f"""
        {mash_and_ferment(fermenter, batch)}
        wait until {fermenter} is done at most 4 d
        wait 6 h
        stop cooling {fermenter}
        {distil(fermenter, batch)}
        {spirit}
        water down hearts {batch} to 43 % vol
        bottle hearts {batch}
    """


LIVE_CHARGE: Final = "pour 190 L of 24 % vol at 17 C into still"


def live_script() -> str:
    """Give what goes on live: a ferment beside, and spirit runs one after another."""
    return f"""
        {mash_and_ferment("fermenter 1", "rye 3")}
        {spirit_run(LIVE_CHARGE, "rye 3")}
        wait 30 min
        empty fermenter 1
        again
    """
