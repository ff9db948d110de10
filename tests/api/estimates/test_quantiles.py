"""Quantiles by one sort are those of numpy, whatever is sorted."""

import numpy as np
import pytest

from api.estimates.quantiles import BAND, quantiles


@pytest.mark.parametrize("count", [2, 7, 120, 300])
def test_quantiles_are_numpys(count):
    values = np.random.default_rng(count).normal(size=count)
    assert np.allclose(quantiles(values), np.quantile(values, BAND), rtol=0, atol=1e-12)
