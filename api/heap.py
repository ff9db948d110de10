"""The service's heap, kept small.

The C library gives each thread a heap of its own and keeps what was freed there for that thread.
The service has a dozen threads that each need much now and then, and never at the same time.
"""

import ctypes
from typing import Final

# <malloc.h> of the GNU C library; mallopt(3)
M_TRIM_THRESHOLD: Final = -1
M_MMAP_THRESHOLD: Final = -3
M_ARENA_MAX: Final = -8
LARGE_BYTES: Final = 128 * 1024  # the library's own limits, which it would raise by itself


def keep_small() -> None:
    """Let all threads share one heap, and give back at once what is large; before any starts."""
    mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
    if mallopt is None:  # another C library: its heap is its own affair
        return
    for option, value in (
        (M_ARENA_MAX, 1),
        (M_MMAP_THRESHOLD, LARGE_BYTES),
        (M_TRIM_THRESHOLD, LARGE_BYTES),
    ):
        mallopt(option, value)
