"""The record: batches, runs, marks, jars, lots, and the books kept of them."""
