"""How numbers, units and clock times are printed."""

from __future__ import annotations

import math
import re

from farrowtide.errors import UserError

MISSING = "\N{EN DASH}"  # printed for a missing value
MAX_DECIMALS = 4
US_UNITS = {"kg": ("lb", 1 / 0.45359237), "kg/d": ("lb/d", 1 / 0.45359237)}  # the pound by its definition
_QUANTITY = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (degC|kg/d|kg)(?![\w/])")


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


def sentence_in(units: str, sentence: str) -> str:
    """The sentence with its quantities in US units if `units` is "us": "20 degC" is "68 degF", "2 kg/d" "4.41 lb/d"."""
    return _QUANTITY.sub(_in_us_units, sentence) if units == "us" else sentence


def _in_us_units(match: re.Match[str]) -> str:
    value, unit = float(match[1]), match[2]
    if unit == "degC":
        return f"{round(value * 9 / 5 + 32, 1):g} degF"
    us_unit, factor = US_UNITS[unit]
    return f"{round(value * factor, 2):g} {us_unit}"
