"""`wormtub replay`: a recorded trace judged as live readings are."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from api.alarms.replay import Said

STAGES = ("mash", "ferment", "strip", "spirit")
MOST_TOLD = 20  # sentences about rows that cannot be read


def register(app: typer.Typer) -> None:
    """Add the word to the command."""
    app.command(name="replay")(run)


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE.csv", help="As wormtub export writes it.")],
    *,
    stage: Annotated[str, typer.Option("--stage", metavar="|".join(STAGES), help="What it was.")],
    charge_volume_l: Annotated[
        float | None, typer.Option("--charge-volume-l", metavar="L", help="What was in the pot.")
    ] = None,
    charge_abv: Annotated[
        float | None, typer.Option("--charge-abv", metavar="ABV", help="Its strength, % vol.")
    ] = None,
    jars: Annotated[
        Path | None,
        typer.Option(
            "--jars",
            metavar="FILE.csv",
            help="What was collected: time, volume_l, reading_abv, temperature_c.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object a line.")] = False,
) -> None:
    """Say which alarms a trace raises, and what its temperatures mean.

    Without a column pressure_hpa the pressure at sea level is taken, within 30 hPa.
    """
    from api.alarms.ground import Charge
    from api.alarms.replay import replay

    _check(stage, charge_volume_l, charge_abv)
    known = any(one is not None for one in (charge_volume_l, charge_abv, jars))
    charge = Charge(volume_l=charge_volume_l, abv=charge_abv) if known else None
    wrong: list[str] = []
    show = _as_json if as_json else _as_text
    for said in replay(file, stage, charge, jars, _teller(wrong)):
        typer.echo(show(said))
    if wrong:
        if len(wrong) > MOST_TOLD:
            typer.echo(f"{len(wrong) - MOST_TOLD} more rows were left out.", err=True)
        raise typer.Exit(2)


def _check(stage: str, volume_l: float | None, abv: float | None) -> None:
    from calc.errors import OutOfRangeError
    from calc.quantities import ABV, VOLUME
    from logger.errors import SettingsError

    if stage not in STAGES:
        raise SettingsError(f'--stage is "{stage}"; give {", ".join(STAGES[:-1])} or {STAGES[-1]}.')
    if volume_l is not None:
        VOLUME.check(volume_l, "--charge-volume-l")
        if volume_l == 0.0:
            raise OutOfRangeError(
                "The charge (--charge-volume-l) is 0 L; give what was in the pot.",
                quantity="--charge-volume-l",
            )
    if abv is not None:
        ABV.check(abv, "--charge-abv")


def _teller(wrong: list[str]) -> Callable[[str], None]:
    def tell(sentence: str) -> None:
        wrong.append(sentence)
        if len(wrong) <= MOST_TOLD:
            typer.echo(sentence, err=True)

    return tell


def _as_json(said: "Said") -> str:
    import orjson

    return orjson.dumps(_record(said)).decode()


def _record(said: "Said") -> dict[str, Any]:
    from dataclasses import asdict

    from api.alarms.replay import AlarmLine

    if isinstance(said, AlarmLine):
        return {"kind": "alarm"} | asdict(said)
    found = {"kind": "estimate", "quantity": said.estimate.quantity, "at": said.at}
    found |= {} if said.vessel is None else {"vessel": said.vessel}
    told = {key: _rounded(getattr(said.estimate, key)) for key in ("value", "low", "high")}
    why = {} if said.estimate.value is not None else {"why": said.estimate.why}
    return found | told | why


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _as_text(said: "Said") -> str:
    from api.alarms.replay import AlarmLine
    from api.alarms.words import RULES

    at = said.at.isoformat(sep=" ", timespec="seconds")
    if isinstance(said, AlarmLine):
        limit = "" if said.limit is None else f" (limit {said.limit:g})"
        value = "" if said.value is None else f": {said.value:g}{limit}"
        name = RULES[said.rule].name
        return f"{at}  {said.priority:6}  {said.state:14}  {name}, {said.place}{value}"
    one = said.estimate
    name = one.quantity if said.vessel is None else f"{said.vessel}, {one.quantity}"
    if one.value is None:
        return f"{at}  {name}: cannot tell. {one.why}"
    if one.low is None or one.high is None:
        return f"{at}  {name}: {one.value:.4g}"
    return f"{at}  {name}: {one.value:.4g} ({one.low:.4g} to {one.high:.4g})"
