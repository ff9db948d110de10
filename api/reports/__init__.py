"""Reports of a run or a batch: one page for paper, and all its data as CSV and JSON."""
