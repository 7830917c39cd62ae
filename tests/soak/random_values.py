"""Random values of single keys as hypothesis strategies, each within what its declaration allows."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

from hypothesis import strategies as st

from farrowtide.scenarios.declarations import Declaration

MINUTES = st.integers(0, 24 * 60 - 1)  # of a day
NAMES = st.sampled_from(["a", "b", "2 feeds", "[/b]", "=1+1", "20 °C, günstig", "x.y"]) | st.text(
    st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=12
)
_LARGEST_INTEGER = 2**31 - 1
_LOW_HIGH_BETWEEN = st.sampled_from([0, 1, 2, 2])
_SOME_MORE = 4  # entries of a list beyond the fewest, where its number is not limited
SEEDS = st.integers(0, _LARGEST_INTEGER)

# What one of a unit is in kg, m, L, s, J or K; units of one dimension are offered together.
_SIZES = {
    **{"kg": 1.0, "g": 1e-3, "mg": 1e-6, "t": 1e3, "lb": 0.45359237, "oz": 0.45359237 / 16},
    **{"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 0.0254, "ft": 0.3048},
    **{"L": 1.0, "mL": 1e-3, "m3": 1e3, "gal": 3.785411784, "ft3": 28.316846592},
    **{"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0, "wk": 604800.0},
    **{"J": 1.0, "kJ": 1e3, "MJ": 1e6, "kcal": 4184.0, "Mcal": 4.184e6, "kWh": 3.6e6},
    **{"K": 1.0, "degC": 1.0, "degF": 5 / 9, "-": 1.0, "%": 0.01},
}


def converted(value: float, declared: str, unit: str) -> float:
    """A value in the declared unit of a key, in another of its units; they differ before a "/" only."""
    if (declared, unit) == ("degC", "degF"):
        return value * 9 / 5 + 32
    return value * _SIZES[declared.split("/")[0]] / _SIZES[unit.split("/")[0]]


def clock(minute: int) -> str:
    """The time of day of a minute; minutes of the next day begin again at 00:00."""
    return f"{minute // 60 % 24:02d}:{minute % 60:02d}"


def ends(key: Declaration) -> tuple[float, float]:
    """The ends of the range of a number, which every number has."""
    if key.low is None or key.high is None:
        raise ValueError(f"{key.name}: a number without a range")
    return key.low, key.high


def plain(draw: st.DrawFn, key: Declaration, *, low: float = -math.inf, high: float = math.inf) -> float:
    """A number in the declared unit, within the key's range and these limits: often an end of it, else four figures."""
    lowest, highest = (-_LARGEST_INTEGER, _LARGEST_INTEGER) if None in (key.low, key.high) else ends(key)
    lowest, highest = max(low, lowest), min(high, highest)
    if key.kind == "integer":
        lowest, highest = math.ceil(lowest), math.floor(highest)
    if (where := draw(_LOW_HIGH_BETWEEN)) < 2:
        return (lowest, highest)[where]
    if key.kind == "integer":
        return draw(st.integers(lowest, highest))
    return min(max(float(f"{draw(st.floats(lowest, highest)):.4g}"), lowest), highest)


def written(draw: st.DrawFn, key: Declaration, value: float) -> float | str:
    """A number as it is written: bare or, unless it is an end of the range, in one of its units."""
    units = [unit for unit in key.units if unit.split("/")[0] in _SIZES and key.unit.split("/")[0] in _SIZES]
    if key.kind == "integer" or not units or value in (key.low, key.high) or not draw(st.booleans()):
        return value
    unit = units[draw(st.integers(0, len(units) - 1))]
    return f"{converted(value, key.unit, unit)!r} {unit}"


@st.composite
def numbers(draw: st.DrawFn, key: Declaration, low: float = -math.inf, high: float = math.inf) -> float | str:
    """Numbers within the key's range and these limits, as they are written."""
    return written(draw, key, plain(draw, key, low=low, high=high))


def entries(key: Declaration, entry: st.SearchStrategy[Any], *, unique: bool = False) -> st.SearchStrategy[list[Any]]:
    """Lists of as many entries as the key allows; of some more than the fewest, where their number is not limited."""
    most = key.max_items or key.min_items + _SOME_MORE
    return st.lists(entry, min_size=key.min_items, max_size=most, unique=unique)


@cache
def simple(key: Declaration) -> st.SearchStrategy[Any]:
    """The values of a key that holds no further keys."""
    strategies: dict[str, Callable[[], st.SearchStrategy[Any]]] = {
        "number": lambda: numbers(key),
        "integer": lambda: numbers(key),
        "boolean": st.booleans,
        "string": lambda: NAMES,
        "choice": lambda: st.sampled_from(key.options),
        "time_of_day": lambda: MINUTES.map(clock),
        "times_of_day": lambda: entries(key, MINUTES, unique=True).map(lambda times: [clock(t) for t in sorted(times)]),
        "numbers": lambda: entries(key, numbers(key)),
        "integers": lambda: entries(key, st.integers(*map(int, ends(key))), unique=True).map(sorted),
        "strings": lambda: st.lists(st.sampled_from(key.options), min_size=key.min_items, unique=True),
    }
    if key.kind not in strategies:
        raise ValueError(f"{key.name}: nothing is known of keys of the kind '{key.kind}'")
    return strategies[key.kind]()
