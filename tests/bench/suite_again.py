"""The suite's own tests, run again with more of what they try: for the benches beside this."""

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

HOUSE = Path(__file__).parents[2]


def run_again(*tests: str, variable: str, most: int, what: str) -> None:
    """Run tests with as many as the command line says, say how long it took, and end as they do."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else most
    began = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", *tests, "-q", "--timeout=0"],
        env=os.environ | {variable: str(count)},
        cwd=HOUSE,
        check=False,
    )
    print(f"{count} {what} in {perf_counter() - began:.0f} s, exit {ran.returncode}")
    sys.exit(ran.returncode)
