"""The buckets of a chart: how wide, and which summaries they are made of. Pure."""

from dataclasses import dataclass, replace
from typing import Final, Self

from logger.errors import RangeError
from logger.store.summary import STEPS_S

BUCKETS_LOW: Final = 2
BUCKETS_HIGH: Final = 10_000


@dataclass(frozen=True, slots=True)
class Grid:
    """Buckets side by side, aligned to their own width; each is made of whole entries."""

    step_s: int  # of the entries: 1 (the readings themselves), 10, 60 or 600
    bucket_s: int  # a multiple of step_s
    first_slot: int  # a multiple of bucket_s
    buckets: int

    @classmethod
    def over(cls, from_slot: int, to_slot: int, buckets: int) -> Self:
        """Cover a range with whole buckets, as narrow as at most `buckets` of them can be.

        Their width is a multiple of the coarsest summary no wider than a bucket must be.
        """
        _check(from_slot, to_slot, buckets)
        needed_s = -(-(to_slot - from_slot) // buckets)
        step_s = max(step_s for step_s in (1, *STEPS_S) if step_s <= needed_s)
        bucket_s = -(-needed_s // step_s) * step_s
        while _touched(from_slot, to_slot, bucket_s) > buckets:
            bucket_s += step_s
        return cls.of_width(step_s, bucket_s, from_slot, to_slot)

    @classmethod
    def of_width(cls, step_s: int, bucket_s: int, from_slot: int, to_slot: int) -> Self:
        """Cover a range with whole buckets of a given width."""
        first_slot = from_slot // bucket_s * bucket_s
        return cls(step_s, bucket_s, first_slot, _touched(from_slot, to_slot, bucket_s))

    @property
    def end_slot(self) -> int:
        """Say where the last bucket ends."""
        return self.first_slot + self.buckets * self.bucket_s

    @property
    def entries(self) -> int:
        """Count the entries the buckets are made of."""
        return self.buckets * self.bucket_s // self.step_s

    def entry(self, slot: int) -> int:
        """Say which entry a slot lies in, counted from the first."""
        return (slot - self.first_slot) // self.step_s

    def slot(self, entry: int) -> int:
        """Say where an entry begins."""
        return self.first_slot + entry * self.step_s

    def within(self, from_slot: int, to_slot: int) -> Self:
        """Keep the buckets that touch a range; perhaps none."""
        low, high = max(from_slot, self.first_slot), min(to_slot, self.end_slot)
        if low >= high:
            return replace(self, buckets=0)
        return self.of_width(self.step_s, self.bucket_s, low, high)


def _touched(from_slot: int, to_slot: int, bucket_s: int) -> int:
    return -(-to_slot // bucket_s) - from_slot // bucket_s


def _check(from_slot: int, to_slot: int, buckets: int) -> None:
    if to_slot <= from_slot:
        raise RangeError("The range ends before it begins; give an end after the begin.")
    if not BUCKETS_LOW <= buckets <= BUCKETS_HIGH:
        raise RangeError(
            f"{buckets} buckets were asked for; ask for {BUCKETS_LOW} to {BUCKETS_HIGH}."
        )
