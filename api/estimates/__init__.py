"""What the temperatures mean: estimates with their bands, or why they cannot be told."""
