"""Which tests go to which worker: a file at a time, but for what takes long to begin with."""

from pathlib import Path

ROOT = Path(__file__).parents[1]
LONGEST_FIRST = ("system", "browser")  # so that short files are left to even out the workers' end
# Files on the one demonstration, which takes long to work out its past: one worker takes them all.
ON_THE_DEMONSTRATION = frozenset(
    f"tests/browser/test_{name}.py"
    for name in (
        *("accessibility", "alarms", "estimates", "faults", "first_load", "live", "look", "runs"),
        *("simulation", "table", "time_axis"),
    )
)


def is_on_the_demonstration(item):
    return item.path.relative_to(ROOT).as_posix() in ON_THE_DEMONSTRATION


def place(item):
    """Say how early an item runs: first what goes to one worker whole, then by its room."""
    room = item.path.parent.name if item.path.parent.parent == ROOT / "tests" else ""
    early = LONGEST_FIRST.index(room) if room in LONGEST_FIRST else len(LONGEST_FIRST)
    return not is_on_the_demonstration(item), early


def scheduler(config, log):
    """Make what hands a file at a time to each worker; None where another way is asked for."""
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 - only where xdist runs

    class ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid):
            file = super()._split_scope(nodeid)
            return "the demonstration" if file in ON_THE_DEMONSTRATION else file

    return ByFile(config, log) if config.getvalue("dist") == "loadfile" else None
