"""Parameters of the activity model of ethanol and water, written by tests/fit/equilibrium.py.

The logarithms of the activity coefficients follow from the excess Gibbs energy

    g/RT = x1 x2 sum_k c_k (x1 - x2)^k,    c_k = A_k + B_k u + C_k u^2,    u = 1000 K/T - 1000/350

with x1 the mole fraction of ethanol. Fitted by least squares (soft L1 loss) to

- Carey & Lewis 1932, Ind. Eng. Chem. 24, 882 (101.325 kPa): y, and T where x >= 0.3
- Kamihama et al. 2012, J. Chem. Eng. Data 57, 339 (101.3 kPa), every second row: T, y
- Pemberton & Mash 1978, doi 10.1016/0021-9614(78)90160-X (30 C): P
- Wichterle et al., Landolt-Boernstein compilation (50 C): P
- Wichterle et al., Landolt-Boernstein compilation (90 C): P
- azeotropes retrieved from several sources, 30 to 160 kPa: x

How it predicts each table when fitted to the others is printed by the same script.
"""

REFERENCE_K = 350.0
A = (1.2208, -0.3665, 0.1231, -0.0336)
B = (0.1635, 0.0448, -0.3003, 0.3158)
C = (-0.4678, 0.0, 0.0, 0.0)
