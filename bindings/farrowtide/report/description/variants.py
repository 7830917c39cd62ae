"""What alternatives and cases have in common, and where they differ."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from farrowtide import _core
from farrowtide.outputs.units import clock, count
from farrowtide.scenarios.reference import keys
from farrowtide.scenarios.scenario import Scenario

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def alike(variants: Mapping[tuple[str, str], Scenario], read: Callable[[Scenario], str]) -> dict[str, str]:
    """Each value that `read` gives -> the alternatives and cases that have it, in the order of the file."""
    pairs_of: dict[str, list[tuple[str, str]]] = {}
    for pair, scenario in variants.items():
        pairs_of.setdefault(read(scenario), []).append(pair)
    return {value: _who(pairs, list(variants)) for value, pairs in pairs_of.items()}


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
    """The shifts, and how many people are on duty at night."""
    at_night = _core.timetable(scenario._core)["night_people"]
    shifts = [_shift(shift) for shift in _core.roster(scenario._core)]
    return "; ".join([*shifts, *([f"every night between the shifts: {at_night} at work"] if at_night else [])])


def farm_in_words(scenario: Scenario) -> str:
    """What is simulated in a line: rooms, crates, start and staff, of the scenario as written."""
    farm = scenario.farm
    rooms = count(farm["rooms"], "room")
    return f"{rooms} of {count(farm['sows_per_room'], 'crate')}, from {start_of(scenario)}; staff: {roster(scenario)}"


def timetables(variants: Mapping[tuple[str, str], Scenario]) -> dict[str, str]:
    """The numbers of farm and timetable that differ between alternatives or cases -> where they hold; may be empty."""
    numbers_of = {pair: _numbers(scenario) for pair, scenario in variants.items()}
    first = next(iter(numbers_of.values()))
    differing = [name for name in first if len({numbers[name] for numbers in numbers_of.values()}) > 1]

    def in_words(scenario: Scenario) -> str:
        numbers = _numbers(scenario)
        return ", ".join(f"{name.replace('_', ' ')} {numbers[name]}" for name in differing)

    return alike(variants, in_words) if differing else {}


def _numbers(scenario: Scenario) -> dict[str, int]:
    return scenario.farm | _core.timetable(scenario._core)


def start_of(scenario: Scenario) -> str:
    """The date on which the scenario begins."""
    return next(value for key, value, *_ in keys(scenario) if key == "start")


def _shift(shift: Mapping[str, Any]) -> str:
    days = "every day" if len(shift["weekdays"]) == 7 else ", ".join(_WEEKDAYS[day] for day in shift["weekdays"])
    words = f"{days} {clock(shift['from_h'])}-{clock(shift['until_h'])}: {shift['people']} at work"
    if shift["break_min"]:
        begins = "in the middle" if shift["break_from_h"] is None else f"from {clock(shift['break_from_h'])}"
        words += f", break of {shift['break_min']:g} min {begins}"
    return words + (f", each missing on {100 * shift['absence']:g} % of days" if shift["absence"] else "")
