"""Cut the power at many instants: the suite's own test, as often as wanted for each way to survive.

The suite itself cuts 150 times where only what was synced survives, and 50 times for each of the
other ways: with any part of the writes under way, with all of them, and where nothing was synced.

python tests/bench/power_cuts.py [INSTANTS]
"""

from suite_again import run_again

if __name__ == "__main__":
    run_again(
        "tests/system/test_power_cut.py",
        variable="WORMTUB_TEST_POWER_CUTS",
        most=150,
        what="instants for each way",
    )
