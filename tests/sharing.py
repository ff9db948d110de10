"""Which tests go to which worker: a file at a time, but for what takes long to begin with."""

from pathlib import Path

ROOT = Path(__file__).parents[1]
LONGEST_FIRST = ("system", "browser")  # so that short files are left to even out the workers' end
# Files on the one demonstration, which takes long to work out its past: one worker takes them all,
# in this order: the first looks at it as it begins, the last ends it.
ON_THE_DEMONSTRATION = (
    "tests/system/test_demo_begins.py",
    *(
        f"tests/browser/test_{name}.py"
        for name in (
            *("accessibility", "alarms", "estimates", "faults", "first_load", "live", "look"),
            *("runs", "simulation", "table", "time_axis"),
        )
    ),
    "tests/system/test_demo_ends.py",
)


def file_of(item):
    return item.path.relative_to(ROOT).as_posix()


def is_on_the_demonstration(item):
    return file_of(item) in ON_THE_DEMONSTRATION


def place(item):
    """Say how early an item runs: first what goes to one worker whole, then by its room."""
    if is_on_the_demonstration(item):
        return 0, ON_THE_DEMONSTRATION.index(file_of(item))
    room = item.path.parent.name if item.path.parent.parent == ROOT / "tests" else ""
    return 1, LONGEST_FIRST.index(room) if room in LONGEST_FIRST else len(LONGEST_FIRST)


def scheduler(config, log):
    """Make what hands a file at a time to each worker; None where another way is asked for."""
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 - only where xdist runs

    class ByFile(LoadFileScheduling):
        def _split_scope(self, nodeid):
            file = super()._split_scope(nodeid)
            return "the demonstration" if file in ON_THE_DEMONSTRATION else file

    return ByFile(config, log) if config.getvalue("dist") == "loadfile" else None
