"""Entries of the catalogue: mash."""

from calc.catalogue.entry import Calculation

CALCULATIONS: tuple[Calculation, ...] = ()
