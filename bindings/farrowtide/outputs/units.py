"""How numbers, units, clock times and durations are printed: the only place that knows US units.

Numbers are kept in SI units and converted where they are shown. Which tables are shown and which stay in SI is told in
scenarios/README.md; `causes.csv` and the tables of a calibration are in the units of the coefficients.

`units` is "si", "us", or some dimensions in US units: "us:temperature+weight". The last is what "as_written" comes to for
a scenario (`units_of`).
"""

from __future__ import annotations

import functools
import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from farrowtide import _core
from farrowtide.errors import PlausibilityWarning, UserError

if TYPE_CHECKING:
    from farrowtide.scenarios.scenario import Scenario

MISSING = "\N{EN DASH}"  # printed for a missing value
MAX_DECIMALS = 4
Number = TypeVar("Number", float, np.ndarray)


DIMENSIONS = ("temperature", "weight", "volume", "length")
AS_WRITTEN = "as_written"
UNITS_PATTERN = rf"^(si|us|us:({'|'.join(DIMENSIONS)})(\+({'|'.join(DIMENSIONS)}))*)$"  # what units_of returns


@dataclass(frozen=True)
class UsUnit:
    """A unit shown in place of an SI unit: value in it = factor x value + offset; differences have no offset."""

    name: str
    dimension: str
    factor: float
    offset: float = 0.0
    more_decimals: int = 0  # than in the SI unit, so that what matters is not printed as zero, nor digits that do not


_LB, _GAL, _IN = 1 / 0.45359237, 1 / 3.785411784, 1 / 25.4  # by their definitions
US_UNITS = {
    "kg": UsUnit("lb", "weight", _LB),
    "kg/d": UsUnit("lb/d", "weight", _LB),
    "L": UsUnit("gal", "volume", _GAL),
    "L/d": UsUnit("gal/d", "volume", _GAL),
    "L/min": UsUnit("gal/min", "volume", _GAL, more_decimals=1),
    "mm": UsUnit("inch", "length", _IN, more_decimals=1),
    "g": UsUnit("oz", "weight", 16 * _LB / 1000, more_decimals=1),
    "degC": UsUnit("degF", "temperature", 9 / 5, 32.0, more_decimals=-1),
    "K": UsUnit("degF", "temperature", 9 / 5),
}
_WRITTEN_UNITS = {  # dimension and system of what a scenario may be written in
    **dict.fromkeys(("degC", "\N{DEGREE SIGN}C"), ("temperature", "si")),
    **dict.fromkeys(("degF", "\N{DEGREE SIGN}F"), ("temperature", "us")),
    **dict.fromkeys(("kg", "g", "mg", "t"), ("weight", "si")),
    **dict.fromkeys(("lb", "lbs", "oz"), ("weight", "us")),
    **dict.fromkeys(("L", "l", "mL", "ml", "m3"), ("volume", "si")),
    **dict.fromkeys(("gal", "ft3"), ("volume", "us")),
    **dict.fromkeys(("m", "cm", "mm", "m2"), ("length", "si")),
    **dict.fromkeys(("in", "ft", "ft2"), ("length", "us")),
}
_SI_UNITS = {us.name: si for si, us in US_UNITS.items() if si != "K"}  # no value declared in K is put into a sentence
_NUMBER = r"-?\d+(?:,\d{3})*(?:\.\d+)?"
_QUANTITY = re.compile(
    rf"(?<![\w.,-])(?:(?P<first>{_NUMBER})(?P<between> to | or over ))?(?P<last>{_NUMBER}) "
    rf"(?P<unit>{'|'.join(sorted(map(re.escape, [*US_UNITS, *_SI_UNITS]), key=len, reverse=True))})(?![\w/])"
)
_WHERE_SEEN = re.compile(r"(\(replicate [^)]*\))")
_VALUE_WITH_UNIT = re.compile(rf"({_NUMBER}(?:e-?\d+)?) (\S+)")
_WRITTEN = re.compile(r"\s*[-+]?[\d.]+(?:[eE][-+]?\d+)?\s*([^\W\d]\w*|\N{DEGREE SIGN}[CF])(?:/\w+)?\s*")


def count(number: int, noun: str) -> str:
    """ "1 room", "2 rooms"."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def require_units(units: str) -> None:
    """Raises UserError unless these are units in which something can be shown."""
    us_dimensions(units)


@functools.lru_cache(maxsize=64)
def us_dimensions(units: str) -> frozenset[str]:
    """The dimensions that are shown in US units. Raises UserError for what is not in the form described above."""
    if not re.fullmatch(UNITS_PATTERN, units):
        raise UserError(f"units = '{units}': 'si', 'us' or 'as_written'")
    return frozenset(DIMENSIONS if units == "us" else units.partition(":")[2].split("+"))


def units_of(units: str, scenario: Scenario) -> str:
    """The units in which results of a scenario are shown: for "as_written", each dimension in the system in which its
    author writes it more often than in the other; in SI where it is written in neither, or as often in both.

    Raises UserError for unknown `units`.
    """
    if units != AS_WRITTEN:
        require_units(str(units))
        return units
    found = Counter(
        _WRITTEN_UNITS[match[1]]
        for text in _texts(_core.written(scenario._core))
        if (match := _WRITTEN.fullmatch(text)) and match[1] in _WRITTEN_UNITS
    )
    us = [name for name in DIMENSIONS if found[name, "us"] > found[name, "si"]]
    return "us" if len(us) == len(DIMENSIONS) else f"us:{'+'.join(us)}" if us else "si"


def _texts(written: Any) -> Iterator[str]:
    if isinstance(written, dict):
        written = list(written.values())
    if isinstance(written, list):
        for part in written:
            yield from _texts(part)
    elif isinstance(written, str):
        yield written


def rounded_up(value: float) -> str:
    """A number above 0 rounded up to its first significant digit, with at most MAX_DECIMALS decimals."""
    decimals = min(-math.floor(math.log10(value)), MAX_DECIMALS)
    return f"{math.ceil(value * 10**decimals) / 10**decimals:.{decimals}f}"


def clock(hours: float) -> str:
    """Hours since midnight as a clock time such as "07:30"."""
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def duration(minutes: float) -> str:
    """A duration as people say it: "45 min", "25 h 17 min", "2 h"."""
    hours, rest = divmod(round(abs(minutes)), 60)
    sign = "\N{MINUS SIGN}" if round(minutes) < 0 else ""
    return sign + (" ".join([f"{hours:,} h"] * (hours > 0) + [f"{rest} min"] * (rest > 0)) or "0 min")


def us_unit(unit: str, units: str) -> UsUnit | None:
    """What is shown in place of an SI unit; None where that is shown itself. Raises UserError for unknown `units`."""
    us = US_UNITS.get(unit)
    return us if us and us.dimension in us_dimensions(units) else None


def unit_in(units: str, unit: str) -> str:
    """The name of the unit in which values in the SI unit `unit` are shown."""
    us = us_unit(unit, units)
    return us.name if us else unit


def value_in(units: str, value: Number, unit: str, *, difference: bool = False) -> Number:
    """A value, or an array of them, in the unit that is shown; a `difference` of temperatures has no offset."""
    us = us_unit(unit, units)
    return value * us.factor + (0.0 if difference else us.offset) if us else value


def sentence_in(units: str, sentence: str) -> str:
    """The sentence with its SI quantities in the units that are shown, with the digits that suit each: in US units "20 degC"
    is "68 degF" and "2 kg/d" "4.41 lb/d". What is in US units stays: it is a name, or quoted from a file.
    """
    chosen = us_dimensions(units)
    return _QUANTITY.sub(lambda match: _in_us_units(match, chosen), sentence)


def settings_in(units: str, sentence: str) -> str:
    """As sentence_in, of a sentence about settings, which holds no name: all its quantities are in the units that are shown.
    In SI units "75 degF" is "23.9 degC", and a temperature has one decimal at most.
    """
    chosen = us_dimensions(units)
    return _QUANTITY.sub(lambda match: _in_si_units(match, chosen), sentence_in(units, sentence))


def warning_in(units: str, warning: PlausibilityWarning) -> PlausibilityWarning:
    """The warning with its quantities as in sentence_in; names of alternatives and cases stay as they are."""
    place = warning.place if warning.kind == "identical alternatives" else sentence_in(units, warning.place)
    parts = _WHERE_SEEN.split(warning.problem)  # every other one is about a replicate, with names
    problem = "".join(part if odd % 2 else sentence_in(units, part) for odd, part in enumerate(parts))
    advice = sentence_in(units, warning.advice)
    shown = PlausibilityWarning(warning.kind, place, problem, advice, warning.where, warning.finished)
    for note in getattr(warning, "__notes__", ()):
        shown.add_note(sentence_in(units, note))
    return shown


def as_written(sentence: str, values: Iterable[tuple[str, str]]) -> str:
    """The sentence with quantities as the scenario's author wrote them: "75 degF" for "23.89 degC".

    `values`: pairs of a value in its declared unit ("23.888888888888889 degC") and as it is written ("75 degF").
    """
    written = [
        (_number(number), unit, text)
        for value, text in values
        for number, unit in _VALUE_WITH_UNIT.findall(value)[:1]
        if unit != "K"  # of "2 degF" nobody could tell whether it is a difference
    ]

    def author_wrote(match: re.Match[str]) -> str:
        if match["first"]:
            return match[0]
        for number, unit, text in written:
            same_unit = unit in (match["unit"], f"{match['unit']}/d")  # a daily step of 0.5 kg/d is "0.5 kg more"
            if same_unit and math.isclose(
                _number(match["last"]), number, rel_tol=1e-5, abs_tol=0.00501 * (unit == "degC")
            ):
                return text
        return match[0]

    return _QUANTITY.sub(author_wrote, sentence)


def recorded(units: str) -> dict[str, Any]:
    """The entry of a provenance that says in which units a file is; SI units go without saying."""
    require_units(units)
    return {} if units == "si" else {"units": units}


def _in_us_units(match: re.Match[str], chosen: frozenset[str]) -> str:
    us = US_UNITS.get(match["unit"])
    if us is None or us.dimension not in chosen:
        return match[0]
    return _quantity(match, us.name, lambda number: number * us.factor + us.offset)


def _in_si_units(match: re.Match[str], chosen: frozenset[str]) -> str:
    unit = _SI_UNITS.get(match["unit"], match["unit"])
    us = US_UNITS[unit]
    if us.dimension in chosen or (unit == match["unit"] != "degC"):
        return match[0]
    if unit == match["unit"]:
        return _quantity(match, unit, lambda number: number)
    return _quantity(match, unit, lambda number: (number - us.offset) / us.factor)


def _quantity(match: re.Match[str], unit: str, converted: Callable[[float], float]) -> str:
    ends = [_short(converted(_number(end)), unit) for end in (match["first"], match["last"]) if end]
    return f"{(match['between'] or '').join(ends)} {unit}"


def _number(text: str) -> float:
    return float(text.replace(",", ""))


def _short(value: float, unit: str) -> str:
    """One decimal of a temperature, otherwise three digits."""
    if unit in ("degC", "degF"):
        return f"{round(value, 1):g}"
    return f"{value:.3g}" if abs(round(value)) < 1000 else f"{value:.0f}"
