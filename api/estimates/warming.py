"""What a still's estimator looks up is made before it is stepped: it takes a tenth of a second."""

from typing import Final

from api.estimates.still.members import TABLE_HPA, UNKNOWN_HPA, table_hpa
from calc.run_balance import boiling_table, column_table
from calc.strength_table import azeotrope_k

WEATHER: Final = range(-2, 3)  # tables either way of the site's pressure, in most weather


def warm(known_hpa: float | None) -> None:
    """Make the tables near a pressure; they are kept, so that it is done once."""
    hpa = known_hpa or UNKNOWN_HPA.value
    azeotrope_k(hpa)
    for away in WEATHER:
        near = table_hpa(hpa) + away * TABLE_HPA
        boiling_table(near)
        column_table(near)
