"""What may be wrong with a room, as changes of a scenario: the causes that the model knows."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from farrowtide import _core
from farrowtide.errors import ScenarioError
from farrowtide.scenarios.scenario import Scenario

Changes = dict[str, Any]
_FULL, _PARTIAL = "room.drinkers.full_block_hazard", "room.drinkers.partial_block_hazard"
_WARMER_K, _COLDER_K = 6, 4  # than planned; large enough to be told from chance
_LATER_H, _LAST_LATER_H = 3, 0.5
_NIGHT_H = 23.5
_SLOW_SHARE = 0.1  # of the planned flow
_LESS = 0.8  # of the planned allowance
_ILL_LOGIT = 2


@dataclass(frozen=True)
class Fault:
    """A fault: what is said of it, where to look, and the scenario with it (None where it has none of the kind)."""

    name: str
    label: str
    look: str
    change: Callable[[Mapping[str, str], Scenario], Changes | None]

    def of(self, scenario: Scenario) -> Scenario | None:
        """The scenario with this fault from loading to weaning; None where it cannot have it."""
        settings = {path: value for path, value, *_ in _core.settings_in_effect(scenario._core)}
        changes = self.change(settings, scenario)
        if changes is None:
            return None
        try:
            return scenario.override(changes)
        except ScenarioError:  # beyond the range of a key
            return None


def _warmer(by_k: float) -> Callable[[Mapping[str, str], Scenario], Changes]:
    def change(settings: Mapping[str, str], scenario: Scenario) -> Changes:
        if settings["climate.kind"] == "imposed":
            return {"climate.temperature": _number(settings["climate.temperature"]) + by_k}
        planned = scenario.set_points_by_day
        first, last = planned[min(planned)][0], planned[max(planned)][1]
        return {"temperature": {"kind": "schedule", "farrowing": first + by_k, "later": last + by_k}}

    return change


def _times(
    change: Callable[[list[float], Scenario], list[float]],
) -> Callable[[Mapping[str, str], Scenario], Changes | None]:
    def of(settings: Mapping[str, str], scenario: Scenario) -> Changes | None:
        if settings["feeding.kind"] != "hand":
            return None
        planned = [_hours(text) for text in json.loads(settings["feeding.times"])]
        times = change(planned, scenario)
        return {"feeding.times": [_clock(time) for time in times]} if times != planned else None

    return of


def _later(times: list[float], _: Scenario) -> list[float]:
    """All feeds later, the last by half an hour, so that it still falls into the shift."""
    shifted = sorted({min(time + _LATER_H, times[-1] + _LAST_LATER_H) for time in times})
    return shifted if len(shifted) == len(times) else times


def _without_last(times: list[float], scenario: Scenario) -> list[float]:
    """The last feed at an hour when nobody is there to give it; the same daily allowance in fewer feeds would be another fault.

    The same times where somebody works at that hour.
    """
    nobody = not any(_works_at(shift, _NIGHT_H) for shift in _core.roster(scenario._core))
    left_out = nobody and not _core.timetable(scenario._core)["night_people"]
    return [*times[:-1], _NIGHT_H] if left_out and len(times) > 1 and times[-1] < _NIGHT_H else times


def _works_at(shift: Mapping[str, Any], hour: float) -> bool:
    begin, end = shift["from_h"], shift["until_h"]
    return bool(begin <= hour < end if begin < end else hour >= begin or hour < end)


def _slow_drinkers(settings: Mapping[str, str], _: Scenario) -> Changes:
    return {"room.drinker_flow": max(_SLOW_SHARE * _number(settings["room.drinker_flow"]), 0.05)}


def _smaller_allowance(settings: Mapping[str, str], _: Scenario) -> Changes | None:
    keys = {
        "step_up": ("start", "step", "max"),
        "by_trough": ("start", "step", "max", "min"),
        "flat": ("amount",),
    }.get(settings.get("feeding.allowance.rule", ""))
    if not keys:
        return None
    paths = [f"feeding.allowance.{key}" for key in keys]
    return {path: _LESS * _number(settings[path]) for path in paths}


def _illness(settings: Mapping[str, str], _: Scenario) -> Changes | None:
    if settings["herd.health"] == "off":
        return None
    return {"herd.health_level": min(_number(settings["herd.health_level"]) + _ILL_LOGIT, 3)}


def _scours(settings: Mapping[str, str], _: Scenario) -> Changes | None:
    return {"herd.scours": "problem"} if settings["herd.health"] == "on" else None


FAULTS = (
    Fault(
        "hot_room",
        "the room is warmer than planned",
        "thermometer at sow height, controller, fans and inlets, heater",
        _warmer(_WARMER_K),
    ),
    Fault("cold_room", "the room is colder than planned", "thermometer, heater, draughts", _warmer(-_COLDER_K)),
    Fault(
        "slow_drinkers",
        "the drinkers give little water",
        "flow of some drinkers, filter, pressure, medicator",
        _slow_drinkers,
    ),
    Fault(
        "missed_feed",
        "one feed of the day is left out",
        "who feeds, and when; empty bin, auger",
        _times(_without_last),
    ),
    Fault("late_feeds", "feeds are given up to three hours late", "who feeds, and when", _times(_later)),
    Fault(
        "smaller_allowance",
        "less feed is given than planned",
        "scale or drop of the feeder, setting of the curve",
        _smaller_allowance,
    ),
    Fault(
        "illness",
        "more sows than usual are ill after farrowing",
        "rectal temperatures, udders; tell the herd veterinarian",
        _illness,
    ),
    Fault("scours", "more litters than usual have scours", "litters, hygiene; tell the herd veterinarian", _scours),
)


def blocked_drinkers(scenario: Scenario, hazard_per_day: float, *, wholly: bool) -> Scenario:
    """The scenario with drinkers that clog at random, wholly or in part, and are not mended: to try flags on."""
    hazards = {_FULL: hazard_per_day if wholly else 0.0, _PARTIAL: 0.0 if wholly else hazard_per_day}
    overlay = {name: {"value": value, "outside_range": True} for name, value in hazards.items()}
    return scenario.override(
        {"room.drinker_blockages": "on", "water": {"kind": "every_drinker", "every": 0}}
    ).with_coefficients(overlay)


def _number(text: str) -> float:
    return float(text.split()[0])


def _hours(text: str) -> float:
    hour, minute = text.split(":")
    return int(hour) + int(minute) / 60


def _clock(hours: float) -> str:
    return f"{int(hours):02d}:{round(60 * (hours % 1)):02d}"
