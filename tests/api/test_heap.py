"""The service's heap: one for all threads, seen by what the C library says of itself."""

import re
import subprocess
import sys

import pytest

PROGRAM = """
import ctypes, threading
from api import heap
{first}
libc = ctypes.CDLL(None)
libc.malloc.restype = ctypes.c_void_p
all_there = threading.Barrier(4)
def take():
    libc.malloc(5000)
    all_there.wait()
threads = [threading.Thread(target=take) for _ in range(4)]
[one.start() for one in threads]
[one.join() for one in threads]
libc.malloc_info(0, ctypes.c_void_p.in_dll(libc, "stdout"))
libc.fflush(None)
"""


def heaps(first):
    asked = (sys.executable, "-c", PROGRAM.format(first=first))
    told = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    return len(re.findall(r"<heap ", told))


@pytest.mark.skipif(sys.platform != "linux", reason="of the GNU C library")
def test_all_threads_share_one_heap():
    assert heaps("") > 1
    assert heaps("heap.keep_small()") == 1
