"""What was measured: reads the probes on schedule and keeps every reading."""
