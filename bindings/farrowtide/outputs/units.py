"""Units and numbers as printed."""

from __future__ import annotations

import math

MISSING = "\N{EN DASH}"  # as printed
MOST_DECIMALS = 4
US_UNITS = {"kg": ("lb", 1 / 0.45359237), "kg/d": ("lb/d", 1 / 0.45359237)}  # the pound by its definition


def rounded_up(value: float) -> str:
    """To one digit that is not zero, of at most MOST_DECIMALS."""
    decimals = min(-math.floor(math.log10(value)), MOST_DECIMALS)
    return f"{math.ceil(value * 10**decimals) / 10**decimals:.{decimals}f}"


def clock(hours: float) -> str:
    """Hours since midnight as "07:30"."""
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
