"""Widths of a ferment's bands beside its members', written by tests/fit/ferment_widths.py.

By quantity, whether a gravity was read, and side of the peak: what the 68 % and the 95 % band of
the members are multiplied by. From 240 simulated runs; none is narrowed to less than 0.4.
"""

from typing import Final

from api.estimates.widening import Widths

WIDTHS: Final[Widths] = {
    ("abv", "read", "falling"): (0.71, 0.67),
    ("abv", "read", "rising"): (0.80, 0.75),
    ("abv", "unread", "falling"): (0.86, 0.70),
    ("abv", "unread", "rising"): (0.76, 0.68),
    ("fermented_percent", "read", "falling"): (1.23, 1.02),
    ("fermented_percent", "read", "rising"): (0.67, 0.70),
    ("fermented_percent", "unread", "falling"): (1.38, 1.09),
    ("fermented_percent", "unread", "rising"): (0.75, 0.77),
    ("gravity_sg", "read", "falling"): (0.93, 0.83),
    ("gravity_sg", "read", "rising"): (0.93, 0.98),
    ("gravity_sg", "unread", "falling"): (1.19, 0.94),
    ("gravity_sg", "unread", "rising"): (0.88, 0.75),
    ("heat_rate_w", "read", "falling"): (1.03, 1.00),
    ("heat_rate_w", "read", "rising"): (0.81, 0.73),
    ("heat_rate_w", "unread", "falling"): (1.10, 1.00),
    ("heat_rate_w", "unread", "rising"): (0.87, 0.81),
    ("hours_since_peak", "read", "falling"): (0.84, 0.92),
    ("hours_since_peak", "unread", "falling"): (0.79, 0.85),
    ("hours_to_end", "read", "falling"): (0.73, 1.00),
    ("hours_to_end", "read", "rising"): (1.27, 1.03),
    ("hours_to_end", "unread", "falling"): (0.80, 1.00),
    ("hours_to_end", "unread", "rising"): (1.30, 1.03),
    ("hours_to_peak", "read", "rising"): (1.08, 0.95),
    ("hours_to_peak", "unread", "rising"): (0.83, 0.84),
    ("loss_w_per_k", "read", "falling"): (0.95, 1.03),
    ("loss_w_per_k", "read", "rising"): (0.71, 0.65),
    ("loss_w_per_k", "unread", "falling"): (1.16, 0.98),
    ("loss_w_per_k", "unread", "rising"): (0.76, 0.68),
}
