"""Entries of the catalogue: fermentation."""

from calc.catalogue.entry import Calculation

CALCULATIONS: tuple[Calculation, ...] = ()
