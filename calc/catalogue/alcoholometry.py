"""Entries of the catalogue: alcoholometry."""

from calc.catalogue.entry import Calculation

CALCULATIONS: tuple[Calculation, ...] = ()
