"""Look longer for what breaks a property: the suite's own property tests, on more examples.

The suite itself tries 40 of each, or what a test says of itself.

python tests/bench/examples.py [EXAMPLES]
"""

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

HOUSE = Path(__file__).parents[2]


def main() -> None:
    """Run the tests and say how long it took."""
    examples = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    began = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-m", "hypothesis", "-q", "--timeout=0"],
        env=os.environ | {"WORMTUB_TEST_EXAMPLES": str(examples)},
        cwd=HOUSE,
        check=False,
    )
    print(f"{examples} examples in {perf_counter() - began:.0f} s, exit {ran.returncode}")
    sys.exit(ran.returncode)


if __name__ == "__main__":
    main()
