"""How ethanol and water mix in the plant: the modified UNIFAC (Dortmund) group contributions.

Chosen because it is another published set than the one estimates are made with: its parameters
were fitted to other measurements, of many mixtures, and it is used here as printed.
J. Gmehling, J. Li and M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178, doi 10.1021/ie00013a024.
"""

from typing import Any, Final

import numpy as np

GAS_J_MOL_K: Final = 8.314462618  # CODATA 2018, exact

# Groups: CH3, CH2, OH (primary), H2O. Volume R and surface Q as printed.
_R: Final = np.array([0.6325, 0.6325, 1.2302, 1.7334])
_Q: Final = np.array([1.0608, 0.7081, 0.8927, 2.4561])
_GROUPS: Final = np.array([[1.0, 1.0, 1.0, 0.0], [0.0, 0.0, 0.0, 1.0]])  # ethanol, water
_MAIN: Final = (0, 0, 1, 2)  # of each group: CH2, OH, H2O
# a + b T + c T^2 in kelvin, between main groups (row with column).
_INTERACTION: Final = {
    (0, 1): (2777.0, -4.674, 1.551e-3),
    (0, 2): (1391.3, -3.6156, 1.144e-3),
    (1, 0): (1606.0, -4.746, 9.181e-4),
    (1, 2): (-801.9, 3.824, -7.514e-3),
    (2, 0): (-17.253, 0.8389, 9.021e-4),
    (2, 1): (1460.0, -8.673, 1.641e-2),
}
_SMALL_K: Final = 0.05


def log_gammas(x: Any, kelvin: Any) -> Any:
    """Give the logarithms of the activity coefficients: last axis ethanol, water."""
    x, kelvin = np.broadcast_arrays(np.asarray(x, float), np.asarray(kelvin, float))
    xs = np.stack([x, 1.0 - x], axis=-1)
    psi = _psi(kelvin)
    pure = np.stack([_group_logs(_GROUPS[i] / _GROUPS[i].sum(), psi) for i in (0, 1)], axis=-2)
    counts = xs @ _GROUPS
    mixed = _group_logs(counts / counts.sum(axis=-1, keepdims=True), psi)
    residual = ((mixed[..., None, :] - pure) * _GROUPS).sum(axis=-1)
    return _combinatorial(xs) + residual


def excess_j_mol(x: Any, kelvin: Any) -> Any:
    """Give the heat of mixing of the liquid: -R T^2 d(gE/RT)/dT of the same model."""

    def g(at_k: Any) -> Any:
        logs = log_gammas(x, at_k)
        return x * logs[..., 0] + (1.0 - x) * logs[..., 1]

    slope = (g(kelvin + _SMALL_K) - g(kelvin - _SMALL_K)) / (2.0 * _SMALL_K)
    return -GAS_J_MOL_K * kelvin**2 * slope


def _combinatorial(xs: Any) -> Any:
    r, q = _GROUPS @ _R, _GROUPS @ _Q
    r34 = r**0.75
    v34 = r34 / (xs @ r34)[..., None]
    v, f = r / (xs @ r)[..., None], q / (xs @ q)[..., None]
    return 1.0 - v34 + np.log(v34) - 5.0 * q * (1.0 - v / f + np.log(v / f))


def _psi(kelvin: Any) -> Any:
    a = np.zeros((*kelvin.shape, 4, 4))
    for m in range(4):
        for n in range(4):
            if (pair := (_MAIN[m], _MAIN[n])) in _INTERACTION:
                c0, c1, c2 = _INTERACTION[pair]
                a[..., m, n] = c0 + kelvin * (c1 + kelvin * c2)
    return np.exp(-a / kelvin[..., None, None])


def _group_logs(fractions: Any, psi: Any) -> Any:
    """Give ln Gamma of each group in a mixture of group fractions."""
    theta = fractions * _Q
    theta = theta / theta.sum(axis=-1, keepdims=True)
    into = np.einsum("...m,...mk->...k", np.broadcast_to(theta, psi.shape[:-1]), psi)
    back = np.einsum("...km,...m->...k", psi, theta / into)
    return _Q * (1.0 - np.log(into) - back)
