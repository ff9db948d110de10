"""What numbers mean: pure functions, no input or output, no clock, no framework."""
