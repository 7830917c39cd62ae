"""What is the same in several alternatives and cases, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from farrowtide import _core
from farrowtide.outputs.units import clock
from farrowtide.scenarios.reference import keys
from farrowtide.scenarios.scenario import Scenario

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def alike(variants: Mapping[tuple[str, str], Scenario], read: Callable[[Scenario], str]) -> dict[str, str]:
    """What is read off the alternatives and cases -> in which of them; in the order of the file."""
    found: dict[str, list[tuple[str, str]]] = {}
    for pair, scenario in variants.items():
        found.setdefault(read(scenario), []).append(pair)
    return {value: _who(pairs, list(variants)) for value, pairs in found.items()}


def _who(pairs: list[tuple[str, str]], everything: list[tuple[str, str]]) -> str:
    if len(pairs) == len(everything):
        return "all"
    rest = list(pairs)
    names = []
    for position in (1, 0):  # whole alternatives, then whole cases, then one by one
        for value in dict.fromkeys(pair[position] for pair in everything):
            whole = [pair for pair in everything if pair[position] == value]
            if set(whole) <= set(rest):
                names.append(value)
                rest = [pair for pair in rest if pair not in whole]
    return "; ".join([*names, *(f"{name} in {case}" for case, name in rest)])


def roster(scenario: Scenario) -> str:
    """The shifts, and who is there at night."""
    at_night = _core.timetable(scenario._core)["night_people"]
    shifts = [_shift(shift) for shift in _core.roster(scenario._core)]
    return "; ".join([*shifts, *([f"every night between the shifts: {at_night} at work"] if at_night else [])])


def timetables(variants: Mapping[tuple[str, str], Scenario]) -> dict[str, str]:
    """The numbers of farm and timetable that are not the same everywhere, in words -> where; empty if there are none."""
    found = {pair: one.farm | _core.timetable(one._core) for pair, one in variants.items()}
    differing = [name for name in next(iter(found.values())) if len({numbers[name] for numbers in found.values()}) > 1]

    def told(one: Scenario) -> str:
        numbers = one.farm | _core.timetable(one._core)
        return ", ".join(f"{name.replace('_', ' ')} {numbers[name]}" for name in differing)

    return alike(variants, told) if differing else {}


def start_of(scenario: Scenario) -> str:
    """The date on which it begins."""
    return next(value for key, value, *_ in keys(scenario) if key == "start")


def _shift(shift: Mapping[str, Any]) -> str:
    days = "every day" if len(shift["weekdays"]) == 7 else ", ".join(_WEEKDAYS[day] for day in shift["weekdays"])
    words = f"{days} {clock(shift['from_h'])}-{clock(shift['until_h'])}: {shift['people']} at work"
    if shift["break_min"]:
        begins = "in the middle" if shift["break_from_h"] is None else f"from {clock(shift['break_from_h'])}"
        words += f", break of {shift['break_min']:g} min {begins}"
    return words + (f", each missing on {100 * shift['absence']:g} % of days" if shift["absence"] else "")
