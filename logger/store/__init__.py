"""What is kept: the tables, the history of scans and its summaries, the facts people enter."""
