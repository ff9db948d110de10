"""Cut the power at many instants: the suite's own test, as often as wanted for each way to survive.

The suite itself cuts 150 times where only what was synced survives, and 50 times for each of the
other ways: with any part of the writes under way, with all of them, and where nothing was synced.

python tests/bench/power_cuts.py [INSTANTS]
"""

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

TEST = Path(__file__).parents[1] / "system" / "test_power_cut.py"


def main() -> None:
    """Run the test and say how long it took."""
    instants = int(sys.argv[1]) if len(sys.argv) > 1 else 150
    began = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", str(TEST), "-q", "--timeout=0"],
        env=os.environ | {"WORMTUB_TEST_POWER_CUTS": str(instants)},
        cwd=TEST.parents[2],
        check=False,
    )
    print(
        f"{instants} instants for each way in {perf_counter() - began:.0f} s, exit {ran.returncode}"
    )
    sys.exit(ran.returncode)


if __name__ == "__main__":
    main()
