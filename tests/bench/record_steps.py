"""Hold the record against its model for many steps: the suite's own test, at any length.

python tests/bench/record_steps.py [STEPS]
"""

from suite_again import run_again

if __name__ == "__main__":
    run_again(
        "tests/api/record/test_record_steps.py",
        variable="WORMTUB_TEST_RECORD_STEPS",
        most=10_000,
        what="steps",
    )
