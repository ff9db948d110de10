"""Entries of the catalogue: vapour."""

from calc.catalogue.entry import Calculation

CALCULATIONS: tuple[Calculation, ...] = ()
