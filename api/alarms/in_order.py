"""Which rows of a trace run forward in time: as many as can; a bad row costs only itself."""

from array import array
from collections.abc import Iterable, Mapping
from typing import Final

SAME: Final = "is the same as the row before"
BEFORE: Final = "lies before the row before it"
AFTER: Final = "lies after the rows that follow it"


def out_of_order(times: Iterable[tuple[int, int]]) -> Mapping[int, str]:
    """Take (line, time) of every row; gives the lines to leave out, and how each is out of order.

    What stays is the longest stretch of rows whose times rise (patience sorting, from the end, so
    that the earlier of two rows stays where either could). Where all rise, nothing is sorted.
    """
    lines, at = array("q"), array("q")
    rises = True
    for line, time in times:
        rises = rises and (not at or time > at[-1])
        lines.append(line)
        at.append(time)
    if rises:
        return {}
    kept = _longest_rise(at)
    return {lines[place]: how for place, how in _ways(at, kept).items()}


def _longest_rise(at: "array[int]") -> bytearray:
    """Mark the rows that stay."""
    heads = array("q")  # by length less one: the row, with the latest time, such a rise begins at
    follows = array("q", bytes(8 * len(at)))
    for place in reversed(range(len(at))):
        length = _longer(at, heads, at[place])
        follows[place] = heads[length - 1] if length else -1
        if length == len(heads):
            heads.append(place)
        else:
            heads[length] = place
    kept, place = bytearray(len(at)), heads[-1]
    while place >= 0:
        kept[place], place = 1, follows[place]
    return kept


def _longer(at: "array[int]", heads: "array[int]", time: int) -> int:
    """Say how many rows can follow one with this time: a bisection, for the times fall."""
    low, high = 0, len(heads)
    while low < high:
        middle = (low + high) // 2
        if at[heads[middle]] > time:
            low = middle + 1
        else:
            high = middle
    return low


def _ways(at: "array[int]", kept: bytearray) -> dict[int, str]:
    found: dict[int, str] = {}
    before: int | None = None  # the time of the row that stayed last
    for place, time in enumerate(at):
        if kept[place]:
            before = time
        elif before is None or time > before:
            found[place] = AFTER
        else:
            found[place] = SAME if time == before else BEFORE
    return found
