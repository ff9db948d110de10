"""How a mash keeps its rests, told from its warmth."""
