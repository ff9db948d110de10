"""Entries of the catalogue: heat."""

from calc.catalogue.entry import Calculation

CALCULATIONS: tuple[Calculation, ...] = ()
