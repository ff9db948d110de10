"""Platinum resistance thermometers: from resistance to temperature.

Source: IEC 60751:2008, the Callendar-Van Dusen equation with its coefficients for platinum of
alpha 3851e-6 per kelvin.
"""

from math import nan, sqrt

RTD_CHIP = "max31865"  # its driver shows the ratio to the reference resistor as a 15 bit code
RTD_CODES = 32768
R0_OHM = 100.0  # Pt100

_A, _B, _C = 3.9083e-3, -5.775e-7, -4.183e-12
_HIGHEST_OHM = 390.481  # 850 °C, where the equation ends


def ohms(temperature_c: float) -> float:
    """Give a Pt100's resistance at -200 to 850 °C."""
    below = _C * (temperature_c - 100) * temperature_c**3 if temperature_c < 0 else 0.0
    return R0_OHM * (1 + _A * temperature_c + _B * temperature_c**2 + below)


def celsius(resistance_ohm: float) -> float:
    """Give a Pt100's temperature; not a number where the wire must be open or shorted."""
    if not 18.0 <= resistance_ohm <= _HIGHEST_OHM:  # 18.52 ohm at -200 °C
        return nan
    guess_c = (-_A + sqrt(_A**2 - 4 * _B * (1 - resistance_ohm / R0_OHM))) / (2 * _B)
    for _ in range(4 if guess_c < 0 else 0):  # Newton; exact already above 0 °C
        slope = R0_OHM * (_A + 2 * _B * guess_c + _C * (4 * guess_c**3 - 300 * guess_c**2))
        guess_c -= (ohms(guess_c) - resistance_ohm) / slope
    return guess_c
