"""How far a ferment is, and where it is going, told from its warmth and its gravities."""
