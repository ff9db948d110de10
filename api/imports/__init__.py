"""Past runs from files: a recorded trace, with jars and marks that were noted at the time."""
