"""The wires: one-wire masters and Linux IIO channels, read and graded."""
