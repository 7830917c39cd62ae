"""How numbers, units and clock times are printed: the only place that knows US units.

Numbers are kept in SI units. What is read by people (terminal, report, pictures, sentences) is converted where it is
shown; tables in files (CSV, JSON, Parquet) stay in SI and name the unit in the column or beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from farrowtide.errors import PlausibilityWarning, UserError

MISSING = "\N{EN DASH}"  # printed for a missing value
MAX_DECIMALS = 4
Number = TypeVar("Number", float, np.ndarray)


@dataclass(frozen=True)
class UsUnit:
    """A unit shown in place of an SI unit: value in it = factor x value + offset; differences have no offset."""

    name: str
    factor: float
    offset: float = 0.0
    more_decimals: int = 0  # than in the SI unit, so that what matters is not printed as zero


_LB, _GAL, _IN = 1 / 0.45359237, 1 / 3.785411784, 1 / 25.4  # by their definitions
US_UNITS = {
    "kg": UsUnit("lb", _LB),
    "kg/d": UsUnit("lb/d", _LB),
    "L": UsUnit("gal", _GAL),
    "L/d": UsUnit("gal/d", _GAL),
    "L/min": UsUnit("gal/min", _GAL, more_decimals=1),
    "mm": UsUnit("inch", _IN, more_decimals=1),
    "g": UsUnit("oz", 16 * _LB / 1000),
    "degC": UsUnit("degF", 9 / 5, 32.0),
    "K": UsUnit("degF", 9 / 5),
}
_NUMBER = r"-?\d+(?:\.\d+)?"
_QUANTITY = re.compile(
    rf"(?<![\w.-])(?:(?P<first>{_NUMBER})(?P<between> to | or over ))?(?P<last>{_NUMBER}) "
    rf"(?P<unit>{'|'.join(sorted(map(re.escape, US_UNITS), key=len, reverse=True))})(?![\w/])"
)
_VALUE_WITH_UNIT = re.compile(rf"({_NUMBER}(?:e-?\d+)?) (\S+)")


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


def us_unit(unit: str, units: str) -> UsUnit | None:
    """What is shown in place of an SI unit; None where that is shown itself. Raises UserError for unknown `units`."""
    require_units(units)
    return US_UNITS.get(unit) if units == "us" else None


def unit_in(units: str, unit: str) -> str:
    """The name of the unit in which values in the SI unit `unit` are shown."""
    us = us_unit(unit, units)
    return us.name if us else unit


def value_in(units: str, value: Number, unit: str, *, difference: bool = False) -> Number:
    """A value, or an array of them, in the unit that is shown; a `difference` of temperatures has no offset."""
    us = us_unit(unit, units)
    return value * us.factor + (0.0 if difference else us.offset) if us else value


def sentence_in(units: str, sentence: str) -> str:
    """The sentence with its quantities in US units if `units` is "us": "20 degC" is "68 degF", "2 kg/d" "4.41 lb/d"."""
    require_units(units)
    return _QUANTITY.sub(_in_us_units, sentence) if units == "us" else sentence


def warning_in(units: str, warning: PlausibilityWarning) -> PlausibilityWarning:
    """The warning with its quantities as in sentence_in; names of alternatives and cases stay as they are."""
    place = warning.place if warning.kind == "identical alternatives" else sentence_in(units, warning.place)
    problem, advice = (sentence_in(units, text) for text in (warning.problem, warning.advice))
    shown = PlausibilityWarning(warning.kind, place, problem, advice, warning.where, warning.finished)
    for note in getattr(warning, "__notes__", ()):
        shown.add_note(sentence_in(units, note))
    return shown


def as_written(sentence: str, values: Iterable[tuple[str, str]]) -> str:
    """The sentence with quantities as the scenario's author wrote them: "75 degF" for "23.89 degC".

    `values`: pairs of a value in its declared unit ("23.888888888888889 degC") and as it is written ("75 degF").
    """
    written = [
        (float(number), unit, text) for value, text in values for number, unit in _VALUE_WITH_UNIT.findall(value)[:1]
    ]

    def author_wrote(match: re.Match[str]) -> str:
        if match["first"]:
            return match[0]
        for number, unit, text in written:
            same_unit = unit in (match["unit"], f"{match['unit']}/d")  # a daily step of 0.5 kg/d is "0.5 kg more"
            if same_unit and math.isclose(
                float(match["last"]), number, rel_tol=1e-5, abs_tol=0.00501 * (unit == "degC")
            ):
                return text
        return match[0]

    return _QUANTITY.sub(author_wrote, sentence)


def recorded(units: str) -> dict[str, Any]:
    """The entry of a provenance that says in which units a file is; SI units go without saying."""
    require_units(units)
    return {} if units == "si" else {"units": units}


def _in_us_units(match: re.Match[str]) -> str:
    us = US_UNITS[match["unit"]]
    first, last = (
        None if number is None else _short(float(number) * us.factor + us.offset, us)
        for number in (match["first"], match["last"])
    )
    return f"{first}{match['between']}{last} {us.name}" if first else f"{last} {us.name}"


def _short(value: float, us: UsUnit) -> str:
    """One decimal of a temperature; otherwise two decimals, or three digits below 1."""
    if us.name == "degF":
        return f"{round(value, 1):g}"
    return f"{value:.3g}" if abs(value) < 1 else f"{round(value, 2):g}"
