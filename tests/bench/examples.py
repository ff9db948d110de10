"""Look longer for what breaks a property: the suite's own property tests, on more examples.

The suite itself tries 40 of each, or what a test says of itself.

python tests/bench/examples.py [EXAMPLES]
"""

from suite_again import run_again

if __name__ == "__main__":
    run_again("-m", "hypothesis", variable="WORMTUB_TEST_EXAMPLES", most=1000, what="examples")
