"""What a still's estimator looks up is made before it is stepped: it takes a tenth of a second."""

from typing import Final

import numpy as np

from calc.run_balance import boiling_table, column_table
from calc.strength_table import azeotrope_k

STEP_HPA: Final = 5  # the tables stand so far apart
WEATHER_HPA: Final = 10  # about the site's pressure, in most weather


def warm(hpa: float) -> None:
    """Make the tables near a pressure; they are kept, so that it is done once."""
    azeotrope_k(hpa)
    near = round(hpa / STEP_HPA) * STEP_HPA
    for one in range(near - WEATHER_HPA, near + WEATHER_HPA + 1, STEP_HPA):
        boiling_table(float(one))
        column_table(float(one))
    np.median(np.zeros(2))  # which is loaded when it is asked for first
