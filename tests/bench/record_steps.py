"""Hold the record against its model for many steps: the suite's own test, at any length.

python tests/bench/record_steps.py [STEPS]
"""

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

TEST = Path(__file__).parents[1] / "api" / "record" / "test_record_steps.py"


def main() -> None:
    """Run the test and say how long it took."""
    steps = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    began = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", str(TEST), "-q", "--timeout=0"],
        env=os.environ | {"WORMTUB_TEST_RECORD_STEPS": str(steps)},
        cwd=TEST.parents[3],
        check=False,
    )
    print(f"{steps} steps in {perf_counter() - began:.0f} s, exit {ran.returncode}")
    sys.exit(ran.returncode)


if __name__ == "__main__":
    main()
