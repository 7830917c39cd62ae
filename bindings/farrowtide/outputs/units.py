"""How numbers, units and clock times are printed."""

from __future__ import annotations

import math

from farrowtide.errors import UserError

MISSING = "\N{EN DASH}"  # printed for a missing value
MAX_DECIMALS = 4
US_UNITS = {"kg": ("lb", 1 / 0.45359237), "kg/d": ("lb/d", 1 / 0.45359237)}  # the pound by its definition


def count(number: int, noun: str) -> str:
    """ "1 room", "2 rooms"."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def require_units(units: str) -> None:
    """Raises UserError unless the units are "si" or "us"."""
    if units not in ("si", "us"):
        raise UserError(f"units = '{units}': 'si' or 'us'")


def rounded_up(value: float) -> str:
    """A number above 0 rounded up to its first significant digit, with at most MAX_DECIMALS decimals."""
    decimals = min(-math.floor(math.log10(value)), MAX_DECIMALS)
    return f"{math.ceil(value * 10**decimals) / 10**decimals:.{decimals}f}"


def clock(hours: float) -> str:
    """Hours since midnight as a clock time such as "07:30"."""
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
